//! Places that a drawn corner is taken to: corners and sides of boundaries near the pointer.

use egui::Pos2;
use geo::Coord;

use super::super::mercator::Screen;
use crate::gui::ctx::Ctx;
use crate::gui::tool::SketchOf;

/// How near the pointer must be, points.
pub const REACH: f32 = 9.0;

/// The corner of a boundary within reach, or else the place on a side; none for tramlines and cuts, which follow no boundary.
pub fn snapped(screen: &Screen, ctx: &Ctx<'_>, what: SketchOf, pos: Pos2) -> Option<Coord<f64>> {
    if !what.is_area() {
        return None;
    }
    let mut corner: Option<(f32, Coord<f64>)> = None;
    let mut side: Option<(f32, Coord<f64>)> = None;
    let around = egui::Rect::from_center_size(pos, egui::Vec2::splat(2.0 * REACH));
    for row in &ctx.facts.rows {
        if !screen.rect_of_degrees(row.bounds).intersects(around) {
            continue;
        }
        let Some(field) = ctx.records.fields.get(&row.id) else { continue };
        let rings = field.boundary.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
        for line in rings.flat_map(geo::LineString::lines) {
            let (start, end) = (screen.pos(line.start), screen.pos(line.end));
            keep_nearer(&mut corner, start.distance(pos), line.start);
            let along = end - start;
            let part = ((pos - start).dot(along) / along.length_sq().max(1e-6)).clamp(0.0, 1.0);
            let on = start + along * part;
            keep_nearer(&mut side, on.distance(pos), line.start + (line.end - line.start) * f64::from(part));
        }
    }
    corner.or(side).map(|(_, at)| at)
}

fn keep_nearer(best: &mut Option<(f32, Coord<f64>)>, away: f32, at: Coord<f64>) {
    if away <= REACH && best.is_none_or(|(nearest, _)| away < nearest) {
        *best = Some((away, at));
    }
}
