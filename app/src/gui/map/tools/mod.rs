//! What the pointer does on the map besides panning and choosing: adding stops and gates, drawing shapes, moving corners.

mod card;
mod grab;
mod menu;
mod snap;

use egui::{Painter, Pos2, Response, Shape, Stroke, Ui};
use geo::Coord;

use super::mercator::Screen;
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style::{self, Tokens};
use crate::gui::view::tool::{Sketch, Tool};

pub use card::show as card;
pub use grab::{follow, held_at};
pub use menu::show as menu;

/// Whether clicks belong to the tool.
pub fn takes_clicks(ctx: &Ctx<'_>) -> bool {
    ctx.view.tool != Tool::Choose
}

/// Takes a click for the tool; true if it was one.
pub fn click(ui: &Ui, screen: &Screen, ctx: &Ctx<'_>, response: &Response) -> bool {
    if !takes_clicks(ctx) || !ctx.can_write() {
        return false;
    }
    ui.ctx().output_mut(|out| {
        if response.hovered() {
            out.cursor_icon = egui::CursorIcon::Crosshair;
        }
    });
    let Some(pos) = response.interact_pointer_pos().filter(|_| response.clicked()) else { return true };
    let at = screen.lonlat(pos);
    match &ctx.view.tool {
        Tool::Choose | Tool::Aim(_) => {}
        Tool::AddStop(field) => {
            ctx.ask(Request::AddStopAt(*field, at));
            ctx.ask(Request::SetTool(Tool::Choose));
        }
        Tool::SetBase => {
            ctx.ask(Request::SetBase(at));
            ctx.ask(Request::SetTool(Tool::Choose));
        }
        Tool::AddGate(field) => add_gate(ctx, *field, at),
        Tool::Sketch(sketch) => {
            if response.double_clicked() {
                // The first click of the two has set the last corner already.
                ctx.act(Action::FinishDrawing);
            } else if closes(screen, sketch, pos) {
                ctx.act(Action::FinishDrawing);
            } else {
                ctx.ask(Request::AddCorner(snap::snapped(screen, ctx, sketch.what, pos).unwrap_or(at)));
            }
        }
        Tool::Reshape(_) => {
            let chosen = grab::corner_at(screen, ctx, pos);
            ctx.ask(Request::ChooseCorner(chosen));
        }
    }
    true
}

/// A gate where the boundary is nearest to a place, degrees.
fn add_gate(ctx: &Ctx<'_>, field: awn_core::model::FieldId, at: Coord<f64>) {
    if let Some(held) = ctx.records.fields.get(&field) {
        let at = crate::gui::view::sketch::on_edge(&held.boundary, at);
        ctx.ask(Request::ChangeGround(field, crate::commands::add_gate(ctx.records, field, at)));
    }
    ctx.ask(Request::SetTool(Tool::Choose));
}

/// Whether a click lies on the first corner of an area that may be closed.
fn closes(screen: &Screen, sketch: &Sketch, pos: Pos2) -> bool {
    let first = sketch.corners.first().map(|corner| screen.pos(*corner));
    sketch.what.is_area() && sketch.is_enough() && first.is_some_and(|first| first.distance(pos) <= snap::REACH)
}

/// Draws what the tool is about.
pub fn draw(painter: &Painter, screen: &Screen, ctx: &Ctx<'_>, pointer: Option<Pos2>, tokens: &Tokens) {
    match &ctx.view.tool {
        Tool::Aim(_) => {}
        Tool::Choose | Tool::Reshape(_) => grab::draw(painter, screen, ctx, tokens),
        Tool::Sketch(sketch) => draw_sketch(painter, screen, ctx, sketch, pointer, tokens),
        Tool::AddStop(_) | Tool::AddGate(_) | Tool::SetBase => {
            if let Some(pos) = pointer {
                painter.circle_stroke(pos, style::STOP_RADIUS, Stroke::new(1.6, tokens.accent));
            }
        }
    }
}

fn draw_sketch(painter: &Painter, screen: &Screen, ctx: &Ctx<'_>, sketch: &Sketch, pointer: Option<Pos2>, tokens: &Tokens) {
    let mut on: Vec<Pos2> = sketch.corners.iter().map(|corner| screen.pos(*corner)).collect();
    let snapped = pointer.and_then(|pos| snap::snapped(screen, ctx, sketch.what, pos));
    if let Some(at) = snapped {
        painter.circle_stroke(screen.pos(at), 7.0, Stroke::new(1.6, tokens.accent));
    }
    let next = snapped.map(|at: Coord<f64>| screen.pos(at)).or(pointer);
    let line = Stroke::new(2.0, tokens.accent);
    for pair in on.windows(2) {
        painter.line_segment([pair[0], pair[1]], line);
    }
    if let (Some(last), Some(next)) = (on.last().copied(), next) {
        painter.extend(Shape::dashed_line(&[last, next], line, 6.0, 4.0));
        if let Some(first) = on.first().filter(|_| sketch.what.is_area() && on.len() > 1) {
            painter.extend(Shape::dashed_line(&[next, *first], Stroke::new(1.0, tokens.accent), 3.0, 4.0));
        }
    }
    for corner in on.drain(..) {
        painter.circle(corner, 4.0, tokens.raised, Stroke::new(1.6, tokens.accent));
    }
}
