//! What lies in the chosen field: tramlines by figures, gates and no-go areas.

use awn_core::model::{Field, Tramlines};
use awn_core::walk::{FirstLine, suggest_tramlines};
use egui::{DragValue, Grid, RichText, Ui};

use crate::commands;
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::logic::edits::USUAL_SPACING_M;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{action_button, note};

/// Shows them, folded.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, field: &Field) {
    ui.collapsing("Tramlines, gates and no-go areas", |ui| {
        let sets: Vec<_> = ctx.records.tramlines_of(field.id).collect();
        if sets.is_empty() {
            note(ui, "No tramlines are known here; the walk goes straight across the field.");
        }
        for (at, lines) in sets.iter().enumerate() {
            set(ui, ctx, field, lines, at, sets.len());
        }
        ui.horizontal_wrapped(|ui| {
            action_button(ui, ctx, Action::DrawTramlines);
            action_button(ui, ctx, Action::SuggestTramlines);
            if ctx.can_write() && !sets.is_empty() {
                let tip = "Lay another set beside those there are, across the first; change its figures then.";
                if ui.button("Add a set").on_hover_text(tip).clicked()
                    && let Some(lines) = another(field, sets.first().map(|lines| &***lines))
                {
                    ctx.ask(Request::ChangeGround(field.id, commands::lay_tramlines(ctx.records, &lines, false)));
                }
            }
        });
        let gates = ctx.records.gates_of(field.id).count();
        let areas = ctx.records.no_go_of(field.id).count();
        note(
            ui,
            format!(
                "{} and {}. Drag a gate on the map to move it; press it with the second button to remove it.",
                awn_core::units::count(gates, "gate"),
                awn_core::units::count(areas, "no-go area")
            ),
        );
        ui.horizontal_wrapped(|ui| {
            action_button(ui, ctx, Action::AddGate);
            action_button(ui, ctx, Action::DrawNoGo);
            action_button(ui, ctx, Action::ReshapeField);
        });
    });
}

fn another(field: &Field, first: Option<&Tramlines>) -> Option<Tramlines> {
    let spacing = first.map_or(USUAL_SPACING_M, |lines| lines.spacing_m);
    let across = first.map(|lines| (lines.bearing_deg + 90.0).rem_euclid(180.0));
    suggest_tramlines(field.id, &field.boundary, across, spacing, FirstLine::Half)
}

fn set(ui: &mut Ui, ctx: &Ctx<'_>, field: &Field, lines: &Tramlines, at: usize, of: usize) {
    // While a figure is being dragged or typed it lives in the window's memory.
    let id = ui.make_persistent_id(("tramlines being typed", lines.id));
    let held: Option<Tramlines> = ui.data(|data| data.get_temp(id)).flatten();
    let mut typed = held.unwrap_or_else(|| lines.clone());
    let mut first = None;
    if of > 1 {
        ui.label(RichText::new(format!("Set {}", at + 1)).font(style::bold_of(style::SMALL)));
    }
    if !lines.lines.is_empty() {
        note(ui, format!("{} as they were driven, from a file.", awn_core::units::count(lines.lines.len(), "line")));
    }
    let mut done = false;
    Grid::new(("tramlines", at)).num_columns(2).spacing([12.0, 4.0]).show(ui, |ui| {
        let drawn = !lines.lines.is_empty();
        let mut figure = |ui: &mut Ui, name: &str, value: &mut f64, range: std::ops::RangeInclusive<f64>, tip: &str| {
            ui.label(RichText::new(name).size(style::SMALL)).on_hover_text(tip);
            // Written when the hand lets go, so that one drag is one step of the history.
            let response = ui.add(DragValue::new(value).range(range).speed(0.25).max_decimals(1)).accessible_name(name);
            done |= response.drag_stopped() || response.lost_focus();
            ui.end_row();
        };
        if !drawn {
            figure(ui, "Bearing, degrees", &mut typed.bearing_deg, 0.0..=180.0, "Clockwise from true north.");
            figure(ui, "Spacing, m", &mut typed.spacing_m, 1.0..=200.0, "From line to line: the sprayer's width.");
        }
        figure(
            ui,
            "Headland, m",
            &mut typed.headland_m,
            0.0..=200.0,
            "Where lines end, from the boundary; driven round at half of it.",
        );
    });
    let kept = (typed != *lines && !done).then(|| typed.clone());
    ui.data_mut(|data| data.insert_temp(id, kept));
    ui.horizontal(|ui| {
        if lines.lines.is_empty() {
            for (text, which, tip) in [
                ("First at half", FirstLine::Half, "The first line half a spacing inside the edge it follows."),
                ("First at whole", FirstLine::Whole, "The first line a whole spacing inside the edge it follows."),
            ] {
                if ctx.can_write() && ui.add(egui::Button::new(text)).on_hover_text(tip).clicked() {
                    first = Some(which);
                }
            }
        }
        if ctx.can_write() && ui.add(egui::Button::new("Remove")).on_hover_text("Remove this set of tramlines.").clicked() {
            ctx.ask(Request::ChangeGround(field.id, commands::remove_tramlines(ctx.records, lines)));
        }
    });
    let wanted = match first {
        Some(which) => suggest_tramlines(field.id, &field.boundary, Some(typed.bearing_deg), typed.spacing_m, which)
            .map(|laid| Tramlines { anchor: laid.anchor, ..typed.clone() }),
        None if done => Some(typed),
        None => None,
    };
    if let Some(wanted) = wanted.filter(|wanted| wanted != lines && ctx.can_write()) {
        let mut ground = commands::lay_tramlines(ctx.records, &wanted, false);
        ground.name = format!("Change tramlines of {}", field.name);
        ui.data_mut(|data| data.insert_temp(id, None::<Tramlines>));
        ctx.ask(Request::ChangeGround(field.id, ground));
    }
}
