//! Fields simplified and cut into triangles for a scale: made when a field is first seen at it, kept until the scale changes.

use egui::{Color32, Mesh, Pos2, Vec2, vec2};
use geo::{Coord, LineString, Polygon, TriangulateEarcut as _};

use super::shapes::{FieldShape, Shapes};

/// The most that a simplified outline is off, points.
const OFF: f32 = 0.4;

/// A field at one scale; positions as in [`FieldShape`].
#[derive(Debug, Default)]
pub struct Detail {
    /// Corners, ring after ring.
    pub corners: Vec<Pos2>,
    /// Three indices a triangle.
    pub triangles: Vec<u32>,
    /// Where each ring ends in the corners.
    pub ring_ends: Vec<u32>,
}

impl Detail {
    /// The field without corners that weigh less.
    fn of(shape: &FieldShape, least: f32) -> Self {
        let mut detail = Self::default();
        for rings in &shape.polygons {
            let start = detail.corners.len() as u32;
            let mut lines = Vec::with_capacity(rings.len());
            for ring in rings {
                let kept: Vec<Pos2> = ring.iter().filter(|corner| corner.weight >= least).map(|corner| corner.pos).collect();
                // Only what was a ring is one still: holes too small to be seen are left out.
                if kept.len() < 3 {
                    continue;
                }
                lines.push(LineString::<f64>(
                    kept.iter().map(|at| Coord { x: f64::from(at.x), y: f64::from(at.y) }).collect(),
                ));
                detail.corners.extend(kept);
                detail.ring_ends.push(detail.corners.len() as u32);
            }
            if lines.is_empty() {
                continue;
            }
            // The triangulator counts the closing corner of each ring, which is not kept here.
            let mut numbers = Vec::new();
            let mut from = start;
            for line in &lines {
                let to = from + line.0.len() as u32;
                numbers.extend(from..to);
                numbers.push(from);
                from = to;
            }
            let outer = lines.remove(0);
            let raw = Polygon::new(outer, lines).earcut_triangles_raw();
            detail.triangles.extend(raw.triangle_indices.iter().filter_map(|at| numbers.get(*at)));
        }
        detail
    }

    /// The rings.
    pub fn rings(&self) -> impl Iterator<Item = &[Pos2]> {
        let starts = std::iter::once(0).chain(self.ring_ends.iter().copied());
        starts.zip(&self.ring_ends).filter_map(|(start, end)| self.corners.get(start as usize..*end as usize))
    }
}

/// The details in use.
#[derive(Default)]
pub struct Details {
    shapes: u64,
    kept: Vec<Option<(i32, Detail)>>,
}

impl Details {
    /// Forgets what belongs to other shapes.
    pub fn refresh(&mut self, number: u64, shapes: &Shapes) {
        if self.shapes != number || self.kept.len() != shapes.fields.len() {
            self.kept = std::iter::repeat_with(|| None).take(shapes.fields.len()).collect();
            self.shapes = number;
        }
    }

    /// A field at a scale, points for the side of the world; details are made for each doubling of it.
    pub fn get(&mut self, number: usize, shape: &FieldShape, scale: f64) -> Option<&Detail> {
        let level = scale.log2().ceil() as i32;
        let slot = self.kept.get_mut(number)?;
        if slot.as_ref().is_none_or(|(of, _)| *of != level) {
            let least = OFF / f64::from(level).exp2() as f32;
            *slot = Some((level, Detail::of(shape, least)));
        }
        slot.as_ref().map(|(_, detail)| detail)
    }
}

/// Adds a closed line of soft edges to a mesh: three vertices a corner, which costs a fraction of a line shape.
pub fn add_outline(mesh: &mut Mesh, ring: &[Pos2], width: f32, colour: Color32) {
    let count = ring.len() as u32;
    if count < 2 {
        return;
    }
    let first = mesh.vertices.len() as u32;
    for (at, pos) in ring.iter().enumerate() {
        let before = ring[(at + ring.len() - 1) % ring.len()];
        let after = ring[(at + 1) % ring.len()];
        let side = mitre(before, *pos, after) * width;
        mesh.colored_vertex(*pos - side, Color32::TRANSPARENT);
        mesh.colored_vertex(*pos, colour);
        mesh.colored_vertex(*pos + side, Color32::TRANSPARENT);
    }
    for at in 0..count {
        let (here, next) = (first + 3 * at, first + 3 * ((at + 1) % count));
        for strip in [0, 1] {
            mesh.add_triangle(here + strip, here + strip + 1, next + strip);
            mesh.add_triangle(next + strip, here + strip + 1, next + strip + 1);
        }
    }
}

/// The way to the side in which a line of half-width 1 ends at a corner; at sharp corners it is cut short.
fn mitre(before: Pos2, at: Pos2, after: Pos2) -> Vec2 {
    let normal = |from: Pos2, to: Pos2| {
        let along = (to - from).normalized();
        vec2(-along.y, along.x)
    };
    let (a, b) = (normal(before, at), normal(at, after));
    let sum = a + b;
    let square = sum.length_sq();
    if square < 0.5 { a } else { sum * (2.0 / square) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gui::map::shapes::shape;
    use awn_core::model::FieldId;
    use egui::pos2;
    use geo::{MultiPolygon, polygon};

    #[test]
    fn triangles_cover_a_concave_field_with_a_hole_and_no_more() {
        let area = MultiPolygon(vec![polygon![
            exterior: [(x: 0.0, y: 0.0), (x: 0.03, y: 0.0), (x: 0.03, y: 0.01), (x: 0.01, y: 0.01), (x: 0.01, y: 0.03), (x: 0.0, y: 0.03)],
            interiors: [[(x: 0.002, y: 0.002), (x: 0.006, y: 0.002), (x: 0.006, y: 0.006), (x: 0.002, y: 0.006)]],
        ]]);
        let shape = shape(FieldId::new(), &area).unwrap();
        let detail = Detail::of(&shape, 0.0);
        let covered: f64 = detail
            .triangles
            .chunks(3)
            .map(|t| {
                let [a, b, c] = [0, 1, 2].map(|k| detail.corners[t[k] as usize].to_vec2());
                f64::from(((b - a).x * (c - a).y - (b - a).y * (c - a).x).abs()) / 2.0
            })
            .sum();
        // The area is known by the shoelace sum of the same rings.
        assert!((covered / shape.size - 1.0).abs() < 1e-3, "{covered} {}", shape.size);
        assert_eq!(detail.rings().map(<[Pos2]>::len).collect::<Vec<_>>(), [6, 4]);
    }

    #[test]
    fn an_outline_is_as_wide_as_asked() {
        let square = [pos2(0.0, 0.0), pos2(100.0, 0.0), pos2(100.0, 100.0), pos2(0.0, 100.0)];
        let mut mesh = Mesh::default();
        add_outline(&mut mesh, &square, 1.5, Color32::BLACK);
        let xs = mesh.vertices.iter().map(|vertex| vertex.pos.x);
        // Soft to nothing at the full width on either side: half of it is seen on average.
        assert!((xs.clone().fold(f32::INFINITY, f32::min) + 1.5).abs() < 1e-4);
        assert!((xs.fold(f32::NEG_INFINITY, f32::max) - 101.5).abs() < 1e-4);
        assert!(mesh.is_valid());
    }
}
