//! The scenarios beside each other over all their harvests: in one field, or over all.

use awn_core::act::money;
use awn_core::act::outlook::{Band, FieldOutlook, Overall, with_band};
use egui::{Grid, RichText, Ui};

use super::letter;
use crate::gui::ctx::Ctx;
use crate::gui::outlook_view::Expected;
use crate::gui::style;
use crate::gui::widgets::{note, section, small};

/// What a column holds, and what stands on its hover.
type Heading = (String, &'static str);

/// Shows the scenarios of a field.
pub fn of_field(ui: &mut Ui, ctx: &Ctx<'_>, found: &FieldOutlook) {
    section(ui, "Over all harvests, a year");
    let currency = &ctx.records.settings.act.currency;
    let headings: [Heading; 5] = [
        ("Stand still, %".into(), super::table::HOLD),
        (
            "Yield lost, %".into(),
            "What the weed takes, mean of the harvests with a crop to sell; hyperbola of Cousens (1985) on plants.",
        ),
        (format!("Lost {currency}/ha"), "What the weed takes and late drilling gives up, money a hectare a year."),
        (format!("Spent {currency}/ha"), "Programmes, measures and cultivation, money a hectare a year."),
        (format!("Left {currency}/ha"), "What the crops bring less what is spent and lost, money a hectare a year."),
    ];
    let rows = found.scenarios.iter().map(|scenario| {
        let money = scenario.mean.money;
        let cells = [
            with_band(scenario.hold),
            with_band(scenario.mean.loss),
            sums(money.map(|money| money.lost)),
            money.map_or("–".to_owned(), |money| whole(money.cost)),
            sums(money.map(|money| money.left)),
        ];
        (scenario.name.as_str(), cells)
    });
    table(ui, &headings, rows.collect());
    let missing = found.scenarios.iter().any(|scenario| scenario.mean.money.is_none());
    if missing {
        note(ui, "– : a price, yield or cost was not given; the harvests below say which on hover.");
    }
}

/// Shows the scenarios over all fields.
pub fn over_all(ui: &mut Ui, ctx: &Ctx<'_>, found: &Expected) {
    let currency = &ctx.records.settings.act.currency;
    section(ui, &format!("All fields with a density, to harvest {}", found.harvest));
    let headings: [Heading; 5] = [
        ("Heads/m2".into(), "In the last harvest, mean by area."),
        ("Stand still, %".into(), super::table::HOLD),
        ("Yield lost, %".into(), "What the weed takes, mean by area and harvest."),
        (format!("Weed takes {currency}"), "Of all fields a year."),
        (format!("Spent {currency}"), "Programmes, measures and cultivation on all fields a year."),
    ];
    let cells = |one: &Overall| {
        [
            with_band(one.heads),
            with_band(one.hold),
            with_band(one.loss),
            sums(one.weed),
            one.cost.map_or("–".to_owned(), whole),
        ]
    };
    table(ui, &headings, found.all.iter().map(|one| (one.name.as_str(), cells(one))).collect());
    let fields = awn_core::units::count(found.heads.len(), "field");
    let without = ctx.facts.rows.len().saturating_sub(found.heads.len());
    let rest = if without > 0 { format!("; {without} without a density are left out") } else { String::new() };
    note(
        ui,
        format!("{fields} together{rest}. Bands are the fields' bands put together: fields of a farm often share a fate."),
    );
}

fn whole(value: f64) -> String {
    money("", value.round())
}

fn sums(band: Option<Band>) -> String {
    band.map_or("–".to_owned(), |band| format!("{} ({} to {})", whole(band.median), whole(band.low), whole(band.high)))
}

fn table(ui: &mut Ui, headings: &[Heading; 5], rows: Vec<(&str, [String; 5])>) {
    let colours = style::series(ui);
    egui::ScrollArea::horizontal().id_salt("compare").show(ui, |ui| {
        Grid::new("compare scenarios").num_columns(6).spacing([12.0, 2.0]).show(ui, |ui| {
            ui.label(small(ui, "Scenario"));
            for (heading, tip) in headings {
                ui.label(small(ui, heading.as_str())).on_hover_text(*tip);
            }
            ui.end_row();
            for (at, (name, cells)) in rows.into_iter().enumerate() {
                let text = RichText::new(format!("{} {name}", letter(at))).font(style::bold_of(style::SMALL));
                super::super::cell(ui, 96.0, text.color(colours[at % colours.len()])).on_hover_text(name);
                for (text, (heading, tip)) in cells.into_iter().zip(headings) {
                    let label = ui.label(RichText::new(&text).size(style::SMALL));
                    label.on_hover_text(format!(
                        "{name}, {heading}: {text}. {tip} Median, and 80 % of the draws in brackets."
                    ));
                }
                ui.end_row();
            }
        });
    });
}
