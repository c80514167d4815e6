//! The Fields lens: which fields there are and what is known of them.

use awn_core::units;
use egui::{Grid, Ui};

use super::{due, field_page, ripe};
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::widgets::{action_button, head, next_step, note, section};

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    head(ui, "Fields", "Which fields you have, what is known of each, and how old that knowledge is.");
    let count = ctx.facts.rows.iter().filter(|row| row.due).count();
    if ctx.records.fields.is_empty() {
        next_step(ui, ctx, Action::ImportBoundaries, "Import boundaries…");
        note(
            ui,
            "Field boundaries come from a shapefile, GeoJSON or GeoPackage, in any coordinate system. You can drop the file on the window.",
        );
        return;
    }
    if count > 0 && ctx.view.selected.is_empty() {
        next_step(ui, ctx, Action::SelectDue, &format!("Choose the {} that are due", units::count(count, "field")));
    } else if !ctx.view.selected.is_empty() {
        next_step(ui, ctx, Action::LensWalk, "Plan the walk in the chosen fields");
    } else {
        next_step(ui, ctx, Action::LensResults, "See the results");
    }
    match ctx.view.single().and_then(|id| ctx.facts.row(id)) {
        Some(row) => field_page::show(ui, ctx, row),
        None if ctx.view.selected.is_empty() => {
            all(ui, ctx, count);
            due::list(ui, ctx);
            ripe::season(ui, ctx);
        }
        None => several(ui, ctx),
    }
}

fn all(ui: &mut Ui, ctx: &Ctx<'_>, due: usize) {
    section(ui, "All fields");
    let untested = ctx.facts.rows.iter().filter(|row| row.last_test.is_none()).count();
    let rows = &ctx.facts.rows;
    figures(
        ui,
        "all fields",
        &[
            ("Fields", rows.len().to_string()),
            ("Area, ha", format!("{:.1}", ctx.facts.area_m2() / units::M2_PER_HA)),
            ("Due a test", due.to_string()),
            ("Never tested", untested.to_string()),
        ],
    );
    note(
        ui,
        format!("A field is due again {} after its last test.", units::count(ctx.facts.interval.max(0) as usize, "harvest")),
    );
}

fn several(ui: &mut Ui, ctx: &Ctx<'_>) {
    let rows: Vec<&Row> = ctx.view.selected.iter().filter_map(|id| ctx.facts.row(*id)).collect();
    section(ui, &format!("{} chosen", units::count(rows.len(), "field")));
    let area: f64 = rows.iter().map(|row| row.area_m2).sum();
    figures(
        ui,
        "chosen fields",
        &[
            ("Area, ha", format!("{:.1}", area / units::M2_PER_HA)),
            ("Due a test", rows.iter().filter(|row| row.due).count().to_string()),
            ("Never tested", rows.iter().filter(|row| row.last_test.is_none()).count().to_string()),
        ],
    );
    ui.horizontal(|ui| {
        action_button(ui, ctx, Action::ZoomToSelection);
    });
    action_button(ui, ctx, Action::SelectNone);
}

/// A column of names and right-aligned figures.
fn figures(ui: &mut Ui, name: &str, lines: &[(&str, String)]) {
    Grid::new(name).num_columns(2).spacing([16.0, 2.0]).min_row_height(20.0).show(ui, |ui| {
        for (name, figure) in lines {
            ui.label(*name);
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| ui.label(figure));
            ui.end_row();
        }
    });
}
