//! Measuring and choosing many fields: what presses mean while one of them is at work, and what is drawn of it.

use awn_core::{geometry, units};
use egui::{Align2, CursorIcon, FontId, Key, Painter, PointerButton, Pos2, Rect, Response, Shape, Stroke, Ui, vec2};
use geo::{Area as _, BooleanOps as _, Coord, Distance as _, Geodesic, LineString, MultiPolygon, Point, Polygon};

use super::Layers;
use super::mercator::Screen;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style::{self, Tokens};
use crate::gui::view::aim::{Aim, Trace};
use crate::gui::view::tool::Tool;

/// A press this near to the first corner closes the line, points.
const CLOSES: f32 = 10.0;
/// A field is chosen when more than this part of it lies inside.
const INSIDE: f64 = 0.5;

/// Follows the pointer. True while such a tool is in hand.
pub fn follow(ui: &Ui, screen: &Screen, layers: &Layers<'_>, ctx: &Ctx<'_>, response: &Response) -> bool {
    let at = response.interact_pointer_pos().or(response.hover_pos()).map(|pos| (pos, screen.lonlat(pos)));
    let add = ui.input(|input| input.modifiers.shift || input.modifiers.command);
    let Tool::Aim(aim) = &ctx.view.tool else { return false };
    match aim {
        Aim::Measure(sketch) => {
            if let Some(next) = drawn_on(ui, screen, sketch, at, response) {
                ctx.ask(Request::SetTool(Tool::Aim(Aim::Measure(next))));
            }
        }
        Aim::Outline(sketch) => match drawn_on(ui, screen, sketch, at, response) {
            Some(next) if next.ended => {
                choose(layers, ctx, &Polygon::new(LineString(next.corners), vec![]), add);
                ctx.ask(Request::SetTool(Tool::Choose));
            }
            Some(next) => ctx.ask(Request::SetTool(Tool::Aim(Aim::Outline(next)))),
            None => {}
        },
        Aim::Rectangle { from } => rectangle(ui, screen, layers, ctx, *from, add, response),
    }
    if response.hovered() {
        ui.ctx().set_cursor_icon(CursorIcon::Crosshair);
    }
    true
}

/// The line after this frame's presses and keys; none: unchanged.
fn drawn_on(ui: &Ui, screen: &Screen, sketch: &Trace, at: Option<(Pos2, Coord<f64>)>, response: &Response) -> Option<Trace> {
    let typing = ui.ctx().text_edit_focused();
    if !typing && !sketch.corners.is_empty() && ui.input(|input| input.key_pressed(Key::Backspace)) {
        return Some(sketch.without_last());
    }
    if !typing && !sketch.ended && sketch.corners.len() > 1 && ui.input(|input| input.key_pressed(Key::Enter)) {
        return Some(sketch.end(false));
    }
    // A double click ends the line; its first press has set the last corner.
    if response.double_clicked_by(PointerButton::Primary) {
        return Some(sketch.end(false));
    }
    let (pos, lonlat) = at.filter(|_| response.clicked_by(PointerButton::Primary))?;
    let first = sketch.corners.first().filter(|_| !sketch.ended && sketch.corners.len() > 2);
    if first.is_some_and(|first| screen.pos(*first).distance(pos) <= CLOSES) {
        return Some(sketch.end(true));
    }
    Some(sketch.with(lonlat))
}

fn rectangle(
    ui: &Ui,
    screen: &Screen,
    layers: &Layers<'_>,
    ctx: &Ctx<'_>,
    from: Option<Coord<f64>>,
    add: bool,
    response: &Response,
) {
    let pointer = response.interact_pointer_pos();
    let Some(from) = from else {
        if response.drag_started_by(PointerButton::Primary) {
            let start = ui.input(|input| input.pointer.press_origin()).or(pointer);
            ctx.ask(Request::SetTool(Tool::Aim(Aim::Rectangle { from: start.map(|pos| screen.lonlat(pos)) })));
        }
        return;
    };
    if !response.drag_stopped() && ui.input(|input| input.pointer.any_down()) {
        return;
    }
    if let Some(pos) = pointer.or(ui.input(|input| input.pointer.latest_pos())) {
        let rect = Rect::from_two_pos(screen.pos(from), pos);
        let corners = [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom()];
        choose(layers, ctx, &Polygon::new(corners.map(|pos| screen.lonlat(pos)).to_vec().into(), vec![]), add);
    }
    ctx.ask(Request::SetTool(Tool::Choose));
}

/// Chooses the fields that lie mostly inside an outline, degrees.
fn choose(layers: &Layers<'_>, ctx: &Ctx<'_>, outline: &Polygon<f64>, add: bool) {
    let outline = MultiPolygon(vec![outline.clone()]);
    let Some(bounds) = geometry::bounds(&outline) else { return };
    let chosen = |row: &&crate::gui::facts::Row| {
        let apart = row.bounds.max().x < bounds.min().x
            || row.bounds.min().x > bounds.max().x
            || row.bounds.max().y < bounds.min().y
            || row.bounds.min().y > bounds.max().y;
        // Within one field degrees are alike enough for a share of it.
        let share = |field: &awn_core::model::Field| {
            field.boundary.intersection(&outline).unsigned_area() / field.boundary.unsigned_area()
        };
        !apart && ctx.records.fields.get(&row.id).is_some_and(|field| share(field) > INSIDE)
    };
    let shown = ctx.facts.rows.iter().filter(|row| layers.shapes.get(row.id).is_some());
    let fields = shown.filter(chosen).map(|row| row.id).collect();
    ctx.ask(Request::SelectMany { fields, add });
}

/// Draws the line or rectangle at work and what it measures.
pub fn draw(painter: &Painter, screen: &Screen, aim: &Aim, pointer: Option<Pos2>, tokens: &Tokens) {
    match aim {
        Aim::Rectangle { from } => {
            if let (Some(from), Some(pos)) = (from, pointer) {
                let rect = Rect::from_two_pos(screen.pos(*from), pos);
                painter.rect_filled(rect, 0.0, tokens.accent.gamma_multiply(0.12));
                painter.rect_stroke(rect, 0.0, Stroke::new(1.6, tokens.accent), egui::StrokeKind::Middle);
            }
        }
        Aim::Outline(sketch) => {
            draw_sketch(painter, screen, sketch, pointer, true, tokens);
        }
        Aim::Measure(sketch) => {
            draw_sketch(painter, screen, sketch, pointer, false, tokens);
            let mut corners = sketch.corners.clone();
            if let (false, Some(pos)) = (sketch.ended, pointer) {
                corners.push(screen.lonlat(pos));
            }
            let words = measured(&corners, sketch.closed);
            let at = if sketch.ended { corners.last().map(|last| screen.pos(*last)) } else { pointer };
            if let (Some(at), false) = (at, words.is_empty()) {
                let galley = painter.layout_no_wrap(words, style::bold_of(style::SMALL), tokens.ink);
                let place = Align2::LEFT_BOTTOM.anchor_size(at + vec2(12.0, -10.0), galley.size());
                painter.rect_filled(place.expand2(vec2(6.0, 4.0)), 2.0, tokens.raised);
                painter.rect_stroke(
                    place.expand2(vec2(6.0, 4.0)),
                    2.0,
                    Stroke::new(1.0, tokens.line),
                    egui::StrokeKind::Inside,
                );
                painter.galley(place.min, galley, tokens.ink);
            }
        }
    }
    let galley = painter.layout_no_wrap(help(aim).to_owned(), FontId::proportional(style::SMALL), tokens.ink);
    let place = Align2::CENTER_TOP.anchor_size(screen.rect.center_top() + vec2(0.0, 14.0), galley.size());
    painter.rect_filled(place.expand2(vec2(8.0, 5.0)), 2.0, tokens.raised);
    painter.rect_stroke(place.expand2(vec2(8.0, 5.0)), 2.0, Stroke::new(1.0, tokens.accent), egui::StrokeKind::Inside);
    painter.galley(place.min, galley, tokens.ink);
}

fn help(aim: &Aim) -> &'static str {
    match aim {
        Aim::Measure(sketch) if sketch.ended => "Click to measure anew. Esc puts the measure away.",
        Aim::Measure(sketch) if sketch.corners.len() > 2 => {
            "Click the first corner to close it and get the area; double-click to end. Backspace takes a corner back."
        }
        Aim::Measure(_) => "Click along what to measure; double-click to end. Esc puts the measure away.",
        Aim::Rectangle { .. } => "Drag a rectangle over the fields to choose. Esc ends it.",
        Aim::Outline(_) => "Click corners round the fields to choose; double-click to end. Backspace takes a corner back.",
    }
}

/// The line with its corners, up to the pointer while it is being drawn; `area` closes it already.
fn draw_sketch(painter: &Painter, screen: &Screen, sketch: &Trace, pointer: Option<Pos2>, area: bool, tokens: &Tokens) {
    let corners: Vec<Pos2> = sketch.corners.iter().map(|corner| screen.pos(*corner)).collect();
    let mut line = corners.clone();
    if let (false, Some(pos), false) = (sketch.ended, pointer, corners.is_empty()) {
        line.push(pos);
    }
    if sketch.closed || area && line.len() > 2 {
        line.extend(corners.first());
    }
    painter.add(Shape::line(line.clone(), Stroke::new(4.0, tokens.ground)));
    painter.add(Shape::line(line, Stroke::new(1.8, tokens.accent)));
    for pos in corners {
        painter.circle(pos, 3.5, tokens.raised, Stroke::new(1.4, tokens.accent));
    }
}

/// What a line measures on the ellipsoid, in words: its length, and once closed its area and the way round.
pub fn measured(corners: &[Coord<f64>], closed: bool) -> String {
    let mut length_m: f64 = corners.windows(2).map(|pair| Geodesic.distance(Point(pair[0]), Point(pair[1]))).sum();
    if corners.len() < 2 {
        return String::new();
    }
    if !closed {
        return units::length(length_m);
    }
    if let (Some(first), Some(last)) = (corners.first(), corners.last()) {
        length_m += Geodesic.distance(Point(*last), Point(*first));
    }
    let area = MultiPolygon(vec![Polygon::new(LineString(corners.to_vec()), vec![])]);
    let area_m2 = geometry::geodesic_area_m2(&area);
    format!("{} ha, {} round", units::ha(area_m2), units::length(length_m))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measures_agree_with_the_ellipsoid() {
        // A degree of longitude at 60 N and of latitude there: 55 800 m and 111 412 m (published tables of WGS 84 degree lengths,
        // NGA; from memory).
        let corners = [(10.0, 59.5), (11.0, 59.5), (11.0, 60.5), (10.0, 60.5)].map(|(x, y)| Coord { x, y });
        assert_eq!(measured(&corners[..1], false), "");
        let up = Geodesic.distance(Point(corners[1]), Point(corners[2]));
        assert!((up - 111_412.0).abs() < 15.0, "{up}");
        assert!(measured(&corners, true).contains(" ha, "));
        assert!(measured(&corners[1..3], false).contains("km"), "{}", measured(&corners[1..3], false));
    }
}
