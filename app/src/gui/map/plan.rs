//! Tramlines, gates, no-go areas, patches, stops and the walk.

use std::collections::BTreeMap;

use awn_core::model::{FieldId, Plan, Records, Walk};
use egui::{Align2, Painter, Pos2, Shape, Stroke, Vec2, vec2};
use geo::{Coord, LineString, MultiPolygon};

use super::hatch::{cross_hatch, hatch};
use super::mercator::Screen;
use crate::gui::ctx::Ctx;
use crate::gui::style::{self, Tokens};

/// A small arrow this often along the walk, m.
const ARROW_EVERY_M: f64 = 60.0;
/// Tramlines are drawn from this many points for a metre on.
const TRAMLINES_FROM: f64 = 0.15;
/// Length of the bar of a gate, points.
const GATE_BAR: f32 = 12.0;
/// Gates are drawn from this many points for a metre on.
const GATES_FROM: f64 = 0.12;

/// Tramlines of a field with their numbers, degrees.
pub type Lines = Vec<(Option<i32>, LineString<f64>)>;

/// Draws tramlines in view. Only the walk lens shows them: elsewhere they would look like hatching, which has a meaning.
pub fn draw_tramlines(painter: &Painter, screen: &Screen, tramlines: &BTreeMap<FieldId, Lines>, tokens: &Tokens) {
    if screen.points_per_m() >= TRAMLINES_FROM {
        for (number, line) in tramlines.values().flatten() {
            let on: Vec<Pos2> = line.coords().map(|c| screen.pos(*c)).collect();
            if on.len() < 2 || !egui::Rect::from_points(&on).intersects(screen.rect) {
                continue;
            }
            if number.is_some() {
                painter.line(on, Stroke::new(style::TRAMLINE, tokens.muted));
            } else {
                painter.extend(Shape::dashed_line(&on, Stroke::new(style::TRAMLINE, tokens.muted), 6.0, 4.0));
            }
        }
    }
}

/// Draws no-go areas in view.
pub fn draw_no_go(painter: &Painter, screen: &Screen, records: &Records, tokens: &Tokens) {
    for area in records.no_go.values() {
        let rings = rings(screen, &area.area);
        if seen(screen, &rings) {
            let phase = rings.first().and_then(|ring| ring.first()).copied().unwrap_or_default();
            cross_hatch(painter, &rings, 7.0, phase, Stroke::new(0.8, tokens.muted));
            outline(painter, &rings, Stroke::new(1.0, tokens.muted));
        }
    }
}

/// Draws gates in view.
pub fn draw_gates(painter: &Painter, screen: &Screen, records: &Records, tokens: &Tokens) {
    for gate in records.gates.values() {
        let pos = screen.pos(gate.position);
        if screen.points_per_m() >= GATES_FROM && screen.rect.contains(pos) {
            let along =
                records.fields.get(&gate.field).map_or(vec2(1.0, 0.0), |field| along_edge(screen, &field.boundary, pos));
            draw_gate(painter, pos, along, tokens);
        }
    }
}

/// A gap in the outline with a post at either end.
fn draw_gate(painter: &Painter, pos: Pos2, along: Vec2, tokens: &Tokens) {
    let half = along * (GATE_BAR / 2.0);
    painter.line_segment([pos - half, pos + half], Stroke::new(5.0, tokens.ground));
    for post in [pos - half, pos + half] {
        let out = along.rot90() * 4.5;
        painter.line_segment([post - out, post + out], Stroke::new(2.0, tokens.ink));
    }
}

/// Direction of the edge nearest to a place on the screen.
fn along_edge(screen: &Screen, boundary: &MultiPolygon<f64>, pos: Pos2) -> Vec2 {
    let mut best = (f32::INFINITY, vec2(1.0, 0.0));
    for ring in rings(screen, boundary) {
        let ends = ring.iter().cycle().skip(1);
        for (start, end) in ring.iter().zip(ends) {
            let edge = *end - *start;
            let part = ((pos - *start).dot(edge) / edge.length_sq().max(1e-6)).clamp(0.0, 1.0);
            let away = (*start + edge * part - pos).length_sq();
            if away < best.0 && edge.length_sq() > 1e-6 {
                best = (away, edge.normalized());
            }
        }
    }
    best.1
}

/// The sides of rings, one by one: a joined line sticks out far where it turns back on itself.
fn outline(painter: &Painter, rings: &[Vec<Pos2>], stroke: Stroke) {
    let sides = rings.iter().flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
    painter.extend(sides.map(|(start, end)| Shape::line_segment([*start, *end], stroke)));
}

/// Corners nearer than this to the one before are left out, px: nobody could see them.
const SAME_CORNER: f32 = 1.0;

/// The rings of an area on the screen, each without its closing corner.
fn rings(screen: &Screen, area: &MultiPolygon<f64>) -> Vec<Vec<Pos2>> {
    area.iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .map(|ring| {
            let mut corners: Vec<Pos2> = Vec::with_capacity(ring.0.len());
            for corner in ring.coords().map(|c| screen.pos(*c)) {
                if corners.last().is_none_or(|last| last.distance(corner) >= SAME_CORNER) {
                    corners.push(corner);
                }
            }
            while corners.len() > 1 && corners.first().zip(corners.last()).is_some_and(|(a, b)| a.distance(*b) < SAME_CORNER)
            {
                corners.pop();
            }
            corners
        })
        .collect()
}

fn seen(screen: &Screen, rings: &[Vec<Pos2>]) -> bool {
    rings.iter().any(|ring| egui::Rect::from_points(ring).intersects(screen.rect))
}

/// Draws the plans of the fields in view.
pub fn draw_plans(painter: &Painter, screen: &Screen, ctx: &Ctx<'_>, tokens: &Tokens) {
    for row in ctx.facts.rows.iter().filter(|row| row.planned) {
        let corners = [row.bounds.min(), row.bounds.max()].map(|corner| screen.pos(corner));
        if !egui::Rect::from_two_pos(corners[0], corners[1]).intersects(screen.rect) {
            continue;
        }
        let Some(plan) = ctx.plan(row.id) else { continue };
        for patch in &plan.patches {
            let rings = rings(screen, &patch.outline);
            let phase = screen.pos(row.bounds.min());
            hatch(painter, &rings, 9.0, phase, Stroke::new(0.6, tokens.accent.gamma_multiply(0.6)));
            outline(painter, &rings, Stroke::new(1.2, tokens.accent));
        }
        draw_walks(painter, screen, plan, tokens);
        let drag = ctx.view.drag.as_ref().filter(|drag| drag.plan.field == row.id);
        if let Some(drag) = drag {
            if let Some(stop) = drag.plan.stops.get(drag.stop) {
                let ghost = Stroke::new(1.0, tokens.muted);
                painter.circle_stroke(screen.pos(stop.position), style::STOP_RADIUS, ghost);
            }
            if !drag.released {
                painter.circle_stroke(screen.pos(drag.at), style::STOP_RADIUS + 4.0, Stroke::new(2.0, tokens.accent));
            }
        }
        let chosen = ctx.view.stop.filter(|_| ctx.view.single() == Some(row.id));
        draw_stops(painter, screen, plan, chosen, tokens);
        if ctx.view.single() == Some(row.id) && plan.patches.len() > 1 {
            name_patches(painter, screen, plan, tokens);
        }
    }
    let beside = ctx.view.walk.beside.filter(|_| ctx.view.walk.comparing).and_then(|which| ctx.comparison?.plan(which));
    if let Some(plan) = beside.filter(|plan| ctx.view.single() == Some(plan.field)) {
        draw_beside(painter, screen, plan, tokens);
    }
}

/// The number of each patch above its northern end, as the list of patches has it.
fn name_patches(painter: &Painter, screen: &Screen, plan: &Plan, tokens: &Tokens) {
    for (number, patch) in (1..).zip(&plan.patches) {
        let corners = rings(screen, &patch.outline).into_iter().flatten();
        let Some(top) = corners.reduce(|held, next| if next.y < held.y { next } else { held }) else { continue };
        let number: usize = number;
        let text = painter.layout_no_wrap(format!("Patch {number}"), style::bold_of(style::SMALL), tokens.accent);
        let place = Align2::CENTER_BOTTOM.anchor_size(top - vec2(0.0, 3.0), text.size());
        painter.rect_filled(place.expand2(vec2(3.0, 0.0)), 2.0, tokens.raised.gamma_multiply(0.85));
        painter.galley(place.min, text, tokens.accent);
    }
}

/// Another plan beside the one in use: its walk dashed, its stops square.
fn draw_beside(painter: &Painter, screen: &Screen, plan: &Plan, tokens: &Tokens) {
    for walk in plan.walks() {
        let on: Vec<Pos2> = walk.line.coords().map(|c| screen.pos(*c)).collect();
        painter.extend(Shape::dashed_line(&on, Stroke::new(style::WALK, tokens.accent), 7.0, 5.0));
    }
    for (number, stop) in plan.stops.iter().enumerate() {
        let square = egui::Rect::from_center_size(screen.pos(stop.position), Vec2::splat(2.0 * style::STOP_RADIUS - 4.0));
        painter.rect(square, 0.0, tokens.raised, Stroke::new(1.6, tokens.accent), egui::StrokeKind::Middle);
        let text = (number + 1).to_string();
        painter.text(square.center(), Align2::CENTER_CENTER, text, style::bold_of(style::SMALL), tokens.accent);
    }
}

fn draw_walks(painter: &Painter, screen: &Screen, plan: &Plan, tokens: &Tokens) {
    for walk in plan.walks() {
        draw_walk(painter, screen, walk, tokens);
    }
}

fn draw_walk(painter: &Painter, screen: &Screen, walk: &Walk, tokens: &Tokens) {
    let on: Vec<Pos2> = walk.line.coords().map(|c| screen.pos(*c)).collect();
    if on.len() < 2 {
        return;
    }
    painter.line(on.clone(), Stroke::new(style::WALK + 2.0, tokens.ground.gamma_multiply(0.7)));
    painter.line(on.clone(), Stroke::new(style::WALK, tokens.ink));
    let every = (ARROW_EVERY_M * screen.points_per_m()) as f32;
    if every < 18.0 {
        return;
    }
    let mut left = every / 2.0;
    for pair in on.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let length = (to - from).length();
        let mut at = left;
        while at < length {
            arrow(painter, from + (to - from) * (at / length), (to - from) / length, tokens);
            at += every;
        }
        left = at - length;
    }
}

fn arrow(painter: &Painter, pos: Pos2, along: Vec2, tokens: &Tokens) {
    let side = along.rot90() * 4.0;
    let points = vec![pos + along * 5.0, pos - along * 4.0 + side, pos - along * 4.0 - side];
    painter.add(Shape::convex_polygon(points, tokens.ink, Stroke::new(1.0, tokens.ground)));
}

/// Stops as numbered rings, with a wedge that shows the share of the seed.
fn draw_stops(painter: &Painter, screen: &Screen, plan: &Plan, chosen: Option<usize>, tokens: &Tokens) {
    let small = screen.points_per_m() < 0.25;
    for (number, stop) in plan.stops.iter().enumerate() {
        let pos = screen.pos(stop.position);
        if !screen.rect.expand(20.0).contains(pos) {
            continue;
        }
        if small {
            painter.circle_filled(pos, 4.0, tokens.ink);
            painter.circle_filled(pos, 2.6, tokens.raised);
            continue;
        }
        let radius = style::STOP_RADIUS;
        painter.circle_filled(pos, radius + 1.5, tokens.ground);
        wedge(painter, pos, radius + 4.0, stop.share as f32, tokens);
        painter.circle(pos, radius, tokens.raised, Stroke::new(1.4, tokens.ink));
        if chosen == Some(number) {
            painter.circle_stroke(pos, radius + 8.0, Stroke::new(2.0, tokens.accent));
        }
        if stop.pinned {
            pin(painter, pos + vec2(radius * 0.75, -radius * 0.75), tokens);
        }
        let text = (number + 1).to_string();
        painter.text(pos, Align2::CENTER_CENTER, text, style::bold_of(style::SMALL), tokens.ink);
    }
}

/// A pin's head and needle.
fn pin(painter: &Painter, at: Pos2, tokens: &Tokens) {
    painter.line_segment([at, at + vec2(-4.0, 6.0)], Stroke::new(1.6, tokens.ink));
    painter.circle(at, 4.0, tokens.warn, Stroke::new(1.2, tokens.ink));
}

/// The share of a turn as a band outside the ring, from the top clockwise.
fn wedge(painter: &Painter, pos: Pos2, radius: f32, share: f32, tokens: &Tokens) {
    let steps = (48.0 * share).ceil().max(1.0) as usize;
    let points: Vec<Pos2> = (0..=steps)
        .map(|step| {
            let turn = std::f32::consts::TAU * share * step as f32 / steps as f32;
            pos + vec2(turn.sin(), -turn.cos()) * radius
        })
        .collect();
    painter.line(points, Stroke::new(4.0, tokens.accent));
}

/// The stop under the pointer.
pub fn stop_at(screen: &Screen, ctx: &Ctx<'_>, pos: Pos2) -> Option<(std::sync::Arc<Plan>, usize)> {
    if screen.points_per_m() < 0.25 {
        return None;
    }
    let near = |at: Coord<f64>| (screen.pos(at) - pos).length();
    let mut found: Option<(f32, std::sync::Arc<Plan>, usize)> = None;
    for row in ctx.facts.rows.iter().filter(|row| row.planned) {
        let Some(plan) = ctx.records.plan_of(row.id, ctx.view.year) else { continue };
        for (number, stop) in plan.stops.iter().enumerate() {
            let away = near(stop.position);
            if away <= style::STOP_RADIUS + 4.0 && found.as_ref().is_none_or(|(best, ..)| away < *best) {
                found = Some((away, plan.clone(), number));
            }
        }
    }
    found.map(|(_, plan, number)| (plan, number))
}
