//! Taking hold of gates and corners.

use awn_core::model::FieldId;
use egui::{Painter, Pos2, Rect, Response, Stroke, Ui, Vec2};
use geo::{Coord, LineString, MultiPolygon};

use super::super::mercator::Screen;
use super::snap::dragged_to;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style::{self, Tokens};
use crate::gui::view::sketch;
use crate::gui::view::tool::{Corner, Held, Tool};

/// How near the pointer must be, points.
const REACH: f32 = 9.0;
/// Gates can be moved from this many points for a metre on.
const GATES_FROM: f64 = 0.25;

/// What a press would take hold of: a gate of the chosen field, or a corner or side while a field is reshaped.
pub fn held_at(screen: &Screen, ctx: &Ctx<'_>, pos: Pos2) -> Option<Held> {
    if !ctx.can_write() {
        return None;
    }
    match ctx.view.tool {
        Tool::Reshape(field) => {
            if let Some(corner) = corner_at(screen, ctx, pos) {
                return Some(Held::Corner { field, corner, new: false });
            }
            sides(ctx, field)
                .filter(|(.., start, end)| screen.pos(*start).lerp(screen.pos(*end), 0.5).distance(pos) <= REACH)
                .map(|(corner, ..)| Held::Corner { field, corner, new: true })
                .next()
        }
        Tool::Choose if screen.points_per_m() >= GATES_FROM => {
            let field = ctx.view.single()?;
            let near = |at: Coord<f64>| screen.pos(at).distance(pos);
            let gates = ctx.records.gates_of(field).filter(|gate| near(gate.position) <= REACH);
            gates.min_by(|a, b| near(a.position).total_cmp(&near(b.position))).map(|gate| Held::Gate(gate.id))
        }
        _ => None,
    }
}

/// The corner within reach of the pointer while a field is reshaped.
pub fn corner_at(screen: &Screen, ctx: &Ctx<'_>, pos: Pos2) -> Option<Corner> {
    let Tool::Reshape(field) = ctx.view.tool else { return None };
    let near = |at: Coord<f64>| screen.pos(at).distance(pos);
    let corners = sides(ctx, field).map(|(corner, at, _)| (corner, near(at))).filter(|(_, away)| *away <= REACH);
    corners.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(corner, _)| corner)
}

/// Every corner of a field's shapes, the boundary first.
pub fn corners(ctx: &Ctx<'_>, field: FieldId) -> Vec<Corner> {
    sides(ctx, field).map(|(corner, ..)| corner).collect()
}

/// Every side of a field's shapes: the corner that it begins with, and both ends in degrees.
fn sides<'a>(ctx: &'a Ctx<'_>, field: FieldId) -> impl Iterator<Item = (Corner, Coord<f64>, Coord<f64>)> + 'a {
    let boundary = ctx.records.fields.get(&field).map(|field| (None, &field.boundary));
    let areas = ctx.records.no_go_of(field).map(|area| (Some(area.id), &area.area));
    boundary.into_iter().chain(areas).flat_map(|(no_go, shape)| {
        rings(shape).flat_map(move |(part, ring, line)| {
            line.lines().enumerate().map(move |(index, side)| (Corner { no_go, part, ring, index }, side.start, side.end))
        })
    })
}

fn rings(shape: &MultiPolygon<f64>) -> impl Iterator<Item = (usize, usize, &LineString<f64>)> {
    shape.iter().enumerate().flat_map(|(part, polygon)| {
        let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
        rings.enumerate().map(move |(ring, line)| (part, ring, line))
    })
}

/// Follows what was taken hold of from press to release.
pub fn follow(ui: &Ui, screen: &Screen, ctx: &Ctx<'_>, held: Option<Held>, response: &Response) {
    let free = ui.input(|input| input.modifiers.alt);
    match (&ctx.view.grab, held, response.interact_pointer_pos()) {
        (None, Some(held), Some(pos)) if response.drag_started_by(egui::PointerButton::Primary) => {
            ctx.ask(Request::Grab(held, dragged_to(screen, ctx, held, pos, free)));
        }
        (Some(grab), _, Some(pos)) if response.dragged() => {
            let at = dragged_to(screen, ctx, grab.held, pos, free);
            if at != grab.at {
                ctx.ask(Request::Grab(grab.held, at));
            }
        }
        _ => {}
    }
    if ctx.view.grab.is_some() && (response.drag_stopped() || !ui.input(|input| input.pointer.any_down())) {
        ctx.ask(Request::LetGo);
    }
    if ctx.view.grab.is_some() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::Grabbing);
    } else if held.is_some() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::Grab);
    }
}

/// Draws corners while a field is reshaped, and what is being dragged.
pub fn draw(painter: &Painter, screen: &Screen, ctx: &Ctx<'_>, tokens: &Tokens) {
    if let Tool::Reshape(field) = ctx.view.tool {
        draw_corners(painter, screen, ctx, field, tokens);
    }
    let Some(grab) = ctx.view.grab else { return };
    if let Held::Corner { field, corner, new } = grab.held
        && let Some(shape) = sketch::shape_of(ctx.records, field, corner)
        && let Some(shape) = sketch::shape_with(&shape, corner, new, Some(grab.at))
    {
        for (_, _, ring) in rings(&shape) {
            let on: Vec<Pos2> = ring.coords().map(|corner| screen.pos(*corner)).collect();
            for side in on.windows(2) {
                painter.line_segment([side[0], side[1]], Stroke::new(2.0, tokens.accent));
            }
        }
    }
    painter.circle(screen.pos(grab.at), 6.0, tokens.raised, Stroke::new(2.0, tokens.accent));
}

fn draw_corners(painter: &Painter, screen: &Screen, ctx: &Ctx<'_>, field: FieldId, tokens: &Tokens) {
    let seen = screen.rect.expand(8.0);
    for (corner, start, end) in sides(ctx, field) {
        let (start, end) = (screen.pos(start), screen.pos(end));
        let middle = start.lerp(end, 0.5);
        if seen.contains(middle) && start.distance(end) > 4.0 * REACH {
            painter.circle(middle, 3.0, tokens.panel, Stroke::new(1.0, tokens.accent));
        }
        if seen.contains(start) {
            let chosen = ctx.view.corner == Some(corner);
            let square = Rect::from_center_size(start, Vec2::splat(if chosen { 11.0 } else { 8.0 }));
            let fill = if chosen { tokens.accent } else { tokens.raised };
            painter.rect(square, 0.0, fill, Stroke::new(style::OUTLINE, tokens.accent), egui::StrokeKind::Middle);
        }
    }
}
