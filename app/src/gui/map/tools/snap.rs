//! Places that a drawn corner is taken to: corners and sides of boundaries near the pointer.

use awn_core::model::FieldId;
use egui::Pos2;
use geo::Coord;

use super::super::mercator::Screen;
use crate::gui::ctx::Ctx;
use crate::gui::view::sketch::on_edge;
use crate::gui::view::tool::{Held, SketchOf};

/// How near the pointer must be, points.
pub const REACH: f32 = 9.0;

/// Where a corner of a drawn shape is taken to; nowhere for tramlines and cuts, which follow no boundary.
pub fn snapped(screen: &Screen, ctx: &Ctx<'_>, what: SketchOf, pos: Pos2) -> Option<Coord<f64>> {
    if what.is_area() { near_boundary(screen, ctx, None, pos) } else { None }
}

/// Where a gate or corner that is being dragged is taken to: a gate to the boundary of its field, a corner of a boundary to those of
/// other fields, a corner of a no-go area to any. With Alt held it stays under the pointer.
pub fn dragged_to(screen: &Screen, ctx: &Ctx<'_>, held: Held, pos: Pos2, free: bool) -> Coord<f64> {
    let at = screen.lonlat(pos);
    match held {
        Held::Gate(gate) => {
            let field = ctx.records.gates.get(&gate).and_then(|gate| ctx.records.fields.get(&gate.field));
            field.map_or(at, |field| on_edge(&field.boundary, at))
        }
        Held::Corner { .. } if free => at,
        Held::Corner { field, corner, .. } => {
            near_boundary(screen, ctx, corner.no_go.is_none().then_some(field), pos).unwrap_or(at)
        }
    }
}

/// The corner of a boundary within reach, or else the place on a side; those of one field may be left out.
fn near_boundary(screen: &Screen, ctx: &Ctx<'_>, but: Option<FieldId>, pos: Pos2) -> Option<Coord<f64>> {
    let mut corner: Option<(f32, Coord<f64>)> = None;
    let mut side: Option<(f32, Coord<f64>)> = None;
    let around = egui::Rect::from_center_size(pos, egui::Vec2::splat(2.0 * REACH));
    for row in &ctx.facts.rows {
        if Some(row.id) == but || !screen.rect_of_degrees(row.bounds).intersects(around) {
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
