//! What a press of the second button offers, by what lies under the pointer.

use egui::{Response, Ui};
use geo::{Coord, Intersects as _};

use super::super::mercator::Screen;
use super::super::plan::stop_at;
use super::grab;
use crate::commands;
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::request::Request;
use crate::gui::view::Lens;
use crate::gui::view::sketch;
use crate::gui::view::tool::{Held, Tool};
use crate::gui::widgets::menu_item;

/// Opens the menu where the second button was pressed.
pub fn show(ui: &Ui, screen: &Screen, ctx: &Ctx<'_>, row_at: impl Fn(Coord<f64>) -> Option<Row>, response: &Response) {
    let id = response.id.with("pressed at");
    // A gate lies on the boundary, half of it outside its field: it belongs to the chosen field before what lies under it does.
    let row_at = |at: Coord<f64>| match grab::held_at(screen, ctx, screen.pos(at)) {
        Some(Held::Gate(gate)) => ctx.records.gates.get(&gate).and_then(|gate| ctx.facts.row(gate.field)).cloned(),
        _ => row_at(at),
    };
    if response.secondary_clicked()
        && let Some(pos) = response.interact_pointer_pos()
    {
        let at = screen.lonlat(pos);
        ui.data_mut(|data| data.insert_temp(id, at));
        // What the menu says is about the field under the pointer.
        if let Some(row) = row_at(at).filter(|row| ctx.view.single() != Some(row.id)) {
            ctx.ask(Request::Select { field: Some(row.id), add: false, scroll: true });
        }
    }
    response.context_menu(|ui| {
        ui.set_min_width(220.0);
        let Some(at) = ui.data(|data| data.get_temp::<Coord<f64>>(id)) else { return };
        let Some(row) = row_at(at) else {
            for action in [Action::DrawField, Action::ZoomToAll] {
                menu_item(ui, ctx, action, None);
            }
            return;
        };
        if ctx.view.lens == Lens::Walk {
            stops(ui, screen, ctx, &row, at);
        }
        things(ui, screen, ctx, &row, at);
        for action in [Action::AddGate, Action::DrawNoGo, Action::DrawTramlines, Action::ReshapeField, Action::SplitField] {
            menu_item(ui, ctx, action, None);
        }
        ui.separator();
        menu_item(ui, ctx, Action::ZoomToSelection, Some(&format!("Zoom to {}", row.name)));
    });
}

fn stops(ui: &mut Ui, screen: &Screen, ctx: &Ctx<'_>, row: &Row, at: Coord<f64>) {
    let Some(plan) = ctx.plan(row.id).filter(|_| ctx.can_write()) else { return };
    match stop_at(screen, ctx, screen.pos(at)).filter(|(found, _)| found.field == row.id) {
        Some((found, stop)) => {
            let pinned = found.stops.get(stop).is_some_and(|stop| stop.pinned);
            let text = if pinned { "Let go of stop" } else { "Pin stop" };
            if item(ui, &format!("{text} {}", stop + 1)) {
                ctx.ask(Request::PinStop(row.id, stop, !pinned));
            }
            if plan.stops.len() > 1 && item(ui, &format!("Remove stop {}", stop + 1)) {
                ctx.ask(Request::RemoveStop(row.id, stop));
            }
        }
        None => {
            if item(ui, "Add a stop here") {
                ctx.ask(Request::AddStopAt(row.id, at));
            }
        }
    }
    ui.separator();
}

fn things(ui: &mut Ui, screen: &Screen, ctx: &Ctx<'_>, row: &Row, at: Coord<f64>) {
    if !ctx.can_write() {
        return;
    }
    let mut any = false;
    let pos = screen.pos(at);
    if matches!(ctx.view.tool, Tool::Reshape(field) if field == row.id) {
        if let Some(corner) = grab::corner_at(screen, ctx, pos) {
            any = true;
            if item(ui, "Remove this corner")
                && let Ok(ground) = sketch::without_corner(ctx.records, row.id, corner)
            {
                ctx.ask(Request::ChangeGround(row.id, ground));
            }
        }
    } else if let Some(Held::Gate(gate)) = grab::held_at(screen, ctx, pos)
        && let Some(gate) = ctx.records.gates.get(&gate)
    {
        any = true;
        if item(ui, "Remove this gate") {
            ctx.ask(Request::ChangeGround(row.id, commands::remove_gate(ctx.records, gate)));
        }
    }
    if let Some(area) = ctx.records.no_go_of(row.id).find(|area| area.area.intersects(&at)) {
        any = true;
        if item(ui, "Remove this no-go area") {
            ctx.ask(Request::ChangeGround(row.id, commands::remove_no_go(ctx.records, area)));
        }
    }
    if any {
        ui.separator();
    }
}

fn item(ui: &mut Ui, text: &str) -> bool {
    let clicked = ui.add(egui::Button::new(text).frame_when_inactive(false)).clicked();
    if clicked {
        ui.close();
    }
    clicked
}
