//! The table beside the chart: harvests down, scenarios across, every number explained on hover.

use awn_core::act::outlook::{FieldOutlook, YearOutlook, percent_with_band};
use egui::{Align, Color32, Grid, Layout, RichText, ScrollArea, Ui, vec2};

use super::{figure, letter};
use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::view::outlook::Figure;
use crate::gui::widgets::small;

/// Shows it.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, found: &FieldOutlook) {
    let chosen = ctx.view.outlook.figure;
    let currency = &ctx.records.settings.act.currency;
    let colours = style::series(ui);
    // Cells of one width, so that figures stand under each other on the right and the panel keeps its own.
    let columns = found.scenarios.len().max(1) as f32;
    let width = ((ui.available_width() - 72.0) / columns - 12.0).clamp(76.0, 150.0);
    let cell = |ui: &mut Ui, text: RichText, said: &str| {
        let right = Layout::right_to_left(Align::Center);
        ui.allocate_ui_with_layout(vec2(width, 18.0), right, |ui| {
            ui.add(egui::Label::new(text).truncate()).on_hover_text(said);
        });
    };
    ScrollArea::horizontal().id_salt("outlook table").show(ui, |ui| rows(ui, found, chosen, currency, colours, &cell));
}

fn rows(
    ui: &mut Ui,
    found: &FieldOutlook,
    chosen: Figure,
    currency: &str,
    colours: [Color32; 4],
    cell: &dyn Fn(&mut Ui, RichText, &str),
) {
    Grid::new("outlook").num_columns(found.scenarios.len() + 1).spacing([12.0, 2.0]).show(ui, |ui| {
        ui.label(small(ui, "Harvest"));
        for (at, scenario) in found.scenarios.iter().enumerate() {
            let name = RichText::new(format!("{} {}", letter(at), scenario.name)).font(style::bold_of(style::SMALL));
            cell(ui, name.color(colours[at % colours.len()]), &scenario.name);
        }
        ui.end_row();
        let years = found.scenarios.first().map_or(0, |scenario| scenario.years.len());
        for index in 0..years {
            let harvest =
                found.scenarios.first().and_then(|scenario| scenario.years.get(index)).map_or(0, |year| year.harvest);
            ui.label(small(ui, harvest.to_string()));
            for scenario in &found.scenarios {
                let Some(year) = scenario.years.get(index) else { continue };
                let text = chosen.of(year).map_or("–".to_owned(), |band| {
                    format!("{} ({}–{})", figure(band.median), figure(band.low), figure(band.high))
                });
                let said = explained(year, &scenario.name, chosen, currency);
                cell(ui, RichText::new(text).size(style::SMALL), &said);
            }
            ui.end_row();
        }
        ui.label(small(ui, "Stand still, %")).on_hover_text(HOLD);
        for scenario in &found.scenarios {
            let text = percent_with_band(scenario.hold);
            cell(ui, RichText::new(text).font(style::bold_of(style::SMALL)), HOLD);
        }
        ui.end_row();
    });
}

pub(super) const HOLD: &str = "Control of the plants in every crop, the same in all years, at which no more seed lies in the soil at the end than \
    at the start: median and 80 % band. For a growth of 5, 10, 20 and 30 a year it is 80, 90, 95 and 96.7 % (1 - 1/growth).";

/// A number in full.
fn explained(year: &YearOutlook, scenario: &str, chosen: Figure, currency: &str) -> String {
    let mut text = format!("{scenario}, harvest {}: {}. {}\n", year.harvest, year.crop, chosen.meaning());
    text += &format!(
        "Heads {} ({} to {})/m2, plants {} ({} to {})/m2.\n",
        figure(year.heads.median),
        figure(year.heads.low),
        figure(year.heads.high),
        figure(year.plants.median),
        figure(year.plants.low),
        figure(year.plants.high)
    );
    text += &format!(
        "Yield lost: {} ({} to {}) % by plants; {} ({} to {}) % by heads; {} ({} to {}) % as published for its density state.\n",
        figure(year.loss.median),
        figure(year.loss.low),
        figure(year.loss.high),
        figure(year.loss_by_heads.median),
        figure(year.loss_by_heads.low),
        figure(year.loss_by_heads.high),
        figure(year.loss_by_state.likely),
        figure(year.loss_by_state.low),
        figure(year.loss_by_state.high)
    );
    if year.late.high > 0.0 {
        text += &format!(
            "Drilled late: {} ({} to {}) % of yield given up.\n",
            figure(year.late.likely),
            figure(year.late.low),
            figure(year.late.high)
        );
    }
    let money = &year.money;
    if let (Some(value), Some(cost), Some(weed)) = (money.value, money.cost, money.lost_to_weed) {
        text += &format!(
            "Crop {currency}{}/ha, spent {currency}{}/ha, lost to the weed {currency}{} ({currency}{} to {currency}{})/ha.",
            figure(value),
            figure(cost),
            figure(weed.likely),
            figure(weed.low),
            figure(weed.high)
        );
    } else {
        text += &format!("Money is not counted: {} not given.", money.missing.join(", "));
    }
    text
}
