//! Patches of the field: what taking one out costs, against what it would return; and chosen ones for a sprayer.

use awn_core::act::outlook::{Band, PatchCost};
use awn_core::model::{Cultivation, Patch};
use awn_core::units::ha;
use egui::{Grid, RichText, Ui};

use super::{costs_button, figure, show_view, wish};
use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::view::outlook::{OutlookView, OutlookWish};
use crate::gui::widgets::{note, section, small};

/// Shows the section.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, patches: &[(Patch, PatchCost)]) {
    section(ui, "Before seed sheds");
    if patches.is_empty() {
        note(ui, "No patch stands out of this field's density; its limit is set in the Walk lens.");
        return;
    }
    let view = &ctx.view.outlook;
    let currency = &ctx.records.settings.act.currency;
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(small(ui, "Next crop: winter wheat drilled in September;")).id;
        let mut cultivation = view.cultivation;
        let combo = egui::ComboBox::from_id_salt("cultivation after patches").selected_text(cultivation.name()).width(190.0);
        let shown = combo.show_ui(ui, |ui| {
            for choice in Cultivation::ALL {
                ui.selectable_value(&mut cultivation, *choice, choice.name());
            }
        });
        shown.response.labelled_by(label);
        if cultivation != view.cultivation {
            show_view(ctx, OutlookView { cultivation, ..view.clone() });
        }
    });
    Grid::new("patch costs").num_columns(6).spacing([12.0, 2.0]).show(ui, |ui| {
        for (name, tip) in [
            ("Patch".to_owned(), "Ticked ones go into the file for the sprayer; none ticked: all."),
            ("ha".to_owned(), "Area above the limit of a patch."),
            ("Seeds set".to_owned(), "Seeds on its heads, if it is left to shed."),
            ("Plants next".to_owned(), "Plants that this seed sends up in the next autumn-sown crop, before control."),
            (
                format!("Spray off {currency}"),
                "Spraying by area, and the crop on it, less what the weed takes of it anyway.",
            ),
            ("Pull, h".to_owned(), "Hours of one person at the rate you gave."),
        ] {
            ui.label(small(ui, name)).on_hover_text(tip);
        }
        ui.end_row();
        for (at, (patch, cost)) in patches.iter().enumerate() {
            row(ui, ctx, at, patch, cost);
            ui.end_row();
        }
    });
    if let Some((_, cost)) = patches.first().filter(|(_, cost)| !cost.missing.is_empty()) {
        let missing: Vec<_> = cost.missing.iter().copied().filter(|what| !what.starts_with("control")).collect();
        if !missing.is_empty() {
            note(ui, format!("Not given, so not counted: {}.", missing.join(", ")));
        }
    }
    note(
        ui,
        "The best case: all of it, and in time. Pulled heads are bagged and burnt or buried; gloves against ergot. Label and adviser \
         decide what is sprayed.",
    );
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Spray volume, l/ha")).id;
        let mut litres = view.litres;
        let drag = egui::DragValue::new(&mut litres).range(0.0..=2000.0).speed(1.0).max_decimals(0);
        let drag = ui.add(drag).labelled_by(label);
        drag.on_hover_text("Volume inside the patches, as label and adviser say; outside it is 0. Needed for ISO 11783-10.");
        if litres != view.litres {
            show_view(ctx, OutlookView { litres, ..view.clone() });
        }
        let tip = "Shapefile, GeoJSON, or ISO 11783-10 task data (TASKDATA.xml), by the ending of the name.";
        if ui.button("Patches for a sprayer…").on_hover_text(tip).clicked() {
            wish(ctx, OutlookWish::WritePatches);
        }
    });
    if ctx.can_write() {
        costs_button(ui, ctx);
    }
}

fn row(ui: &mut Ui, ctx: &Ctx<'_>, at: usize, patch: &Patch, cost: &PatchCost) {
    let view = &ctx.view.outlook;
    let mut on = view.patches.contains(&at);
    if ui.checkbox(&mut on, (at + 1).to_string()).on_hover_text(words(at, patch, cost)).changed() {
        let mut patches = view.patches.clone();
        if on {
            patches.push(at);
        } else {
            patches.retain(|held| *held != at);
        }
        show_view(ctx, OutlookView { patches, ..view.clone() });
    }
    let dash = || "–".to_owned();
    let spray = cost.spray_off.map(|spray| spray + cost.crop_lost.map_or(0.0, |crop| crop.median));
    let cells = [
        ha(cost.area_m2),
        figure(cost.seeds_set.median),
        figure(cost.plants_next.median),
        spray.map_or_else(dash, figure),
        cost.hours.map_or_else(dash, |hours| figure(hours.median)),
    ];
    for text in cells {
        ui.label(RichText::new(text).size(style::SMALL)).on_hover_text(words(at, patch, cost));
    }
}

fn band(band: Band) -> String {
    format!("{} ({} to {})", figure(band.median), figure(band.low), figure(band.high))
}

/// A patch in full.
fn words(at: usize, patch: &Patch, cost: &PatchCost) -> String {
    let mut text = format!(
        "Patch {}: {} ha, {:.0} % of the field's population.\nLeft to shed, it sets {} seeds, of which {} live until late September and {} \
         come up in the next crop.\nThat crop then needs {} % control so that the patch carries no more heads than now; {} % if \
         nothing sheds, because older seed comes up all the same.",
        at + 1,
        ha(cost.area_m2),
        100.0 * patch.population_share,
        band(cost.seeds_set),
        band(cost.seeds_alive),
        band(cost.plants_next),
        band(cost.control_if_left),
        band(cost.control_if_removed),
    );
    if let Some(spray) = cost.spray_off {
        text += &format!("\nSpraying it off costs {}", figure(spray));
        text += &cost
            .crop_lost
            .map_or(", the crop on it not counted.".to_owned(), |crop| format!(", and {} of crop.", band(crop)));
    }
    if let Some(hours) = cost.hours {
        text += &format!("\nPulling its {} plants takes {} hours", band(cost.plants), band(hours));
        text += &cost.pulling.map_or(".".to_owned(), |cost| format!(", which cost {}.", band(cost)));
    }
    text + "\nMedian and 80 % of the draws."
}
