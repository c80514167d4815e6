//! The Walk lens: where to take seed, how to walk there, and how good the plan is beside the same number of stops at the gate.

mod chart;
mod compare;
mod figures;
mod ground;
mod patches;
mod plan;
mod rounds;
mod settings;

use awn_core::units;
use egui::Ui;

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::widgets::{head, next_step, note};

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    head(ui, "Walk", "Where to take seed, so that the sample stands for the field, and the shortest walk from the gate.");
    if ctx.records.fields.is_empty() {
        next_step(ui, ctx, Action::ImportBoundaries, "Import boundaries…");
        return;
    }
    let fields = ctx.fields_to_plan();
    if fields.is_empty() {
        note(ui, "No field is due a test this harvest. Choose the fields to walk in the list or on the map.");
    }
    let text = match (fields.as_slice(), ctx.view.selected.is_empty()) {
        ([one], _) => format!("Propose stops for {}", ctx.facts.row(*one).map_or("the field", |row| row.name.as_str())),
        (many, true) => format!("Propose stops for the {} that are due", units::count(many.len(), "field")),
        (many, false) => format!("Propose stops for {}", units::count(many.len(), "field")),
    };
    next_step(ui, ctx, Action::ProposeStops, &text);
    settings::show(ui, ctx);
    let single = ctx.view.single();
    if let Some(field) = single.and_then(|field| ctx.records.fields.get(&field)) {
        ground::show(ui, ctx, field);
    }
    if let Some(field) = single {
        if let Some(found) = ctx.plan(field) {
            plan::one(ui, ctx, found);
        } else {
            note(ui, "No stops are planned in this field for this harvest.");
            chart::show(ui, ctx);
        }
    } else {
        plan::many(ui, ctx);
        // Rounds join walks: without one there is nothing to join.
        if ctx.facts.plans > 0 || ctx.records.rounds_of(ctx.view.year).is_some() {
            rounds::show(ui, ctx);
        }
    }
}
