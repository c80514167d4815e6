//! The patches that a plan was made from, with their figures.

use awn_core::model::{DensityUnit, Plan};
use awn_core::units::ha;
use egui::{Align, Grid, Layout, Ui};
use geo::{Contains as _, Point};

use crate::gui::ctx::Ctx;
use crate::gui::map::figure;
use crate::gui::widgets::{note, small};

/// Headings of the table, and what each says.
const COLUMNS: [(&str, &str); 7] = [
    ("Patch", "The most populous first; the map names them alike."),
    ("ha", "Area, counted in cells of the density grid."),
    ("Mean", "Mean density inside."),
    ("Thickest", "Greatest density inside."),
    ("Plants, %", "Share of the field's population that stands in it."),
    ("Group", "Patches nearer to each other than the setting says are one group: one sample could stand for them."),
    ("Stops", "Stops inside its outline."),
];

/// Shows them, folded.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, plan: &Plan) {
    if plan.patches.is_empty() {
        return;
    }
    ui.collapsing("Patches", |ui| {
        Grid::new("patches").num_columns(COLUMNS.len()).spacing([10.0, 2.0]).min_row_height(20.0).show(ui, |ui| {
            for (name, tip) in COLUMNS {
                let text = small(ui, name);
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text).on_hover_text(tip));
            }
            ui.end_row();
            for (number, patch) in (1..).zip(&plan.patches) {
                let inside = plan.stops.iter().filter(|stop| patch.outline.contains(&Point(stop.position))).count();
                let number: usize = number;
                for text in [
                    number.to_string(),
                    ha(patch.area_m2),
                    figure(patch.mean_density),
                    figure(patch.greatest_density),
                    format!("{:.0}", 100.0 * patch.population_share),
                    patch.group.to_string(),
                    inside.to_string(),
                ] {
                    ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
                }
                ui.end_row();
            }
        });
        let units = units(ctx);
        note(ui, format!("Densities in {units}. Which ground counts as a patch is among the settings above."));
    });
}

/// The units of the surveys that the plan may have been made from.
fn units(ctx: &Ctx<'_>) -> String {
    let surveys = ctx.records.surveys.values().filter(|survey| survey.harvest_year() <= ctx.view.year);
    let mut units: Vec<DensityUnit> = surveys.map(|survey| survey.unit.surface_unit()).collect();
    units.dedup();
    match units.as_slice() {
        [] => "the unit of the survey".to_owned(),
        [first, rest @ ..] if rest.iter().all(|unit| unit == first) => first.label().to_owned(),
        _ => "the unit of the field's survey".to_owned(),
    }
}
