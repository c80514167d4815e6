//! Fields as rings for drawing, worked out once in the background for each state of the boundaries, with what is needed to draw
//! them simpler from farther away.
//!
//! Each corner carries the distance by which the outline would change if it were left out (Ramer 1972, Douglas & Peucker 1973,
//! run once to the end), so that the outline for any scale is the corners above a limit.

use std::collections::BTreeMap;

use awn_core::model::{FieldId, Records};
use egui::{Pos2, pos2};
use geo::{Coord, MultiPolygon};
use rayon::prelude::*;

use super::mercator::{Screen, world};

/// Corner of a ring relative to the shape's anchor, and how much it matters, both in sides of the world.
#[derive(Debug, Clone, Copy)]
pub struct Corner {
    /// Position.
    pub pos: Pos2,
    /// How far the outline moves without it.
    pub weight: f32,
}

/// One field. Positions are in the unit square relative to the anchor, in f32: less than a millimetre of error over 10 km.
#[derive(Debug, Clone)]
pub struct FieldShape {
    /// The field.
    pub id: FieldId,
    /// Corner of the bounds that positions are relative to.
    pub anchor: Coord<f64>,
    /// The corner opposite.
    pub far: Coord<f64>,
    /// Polygons, each its outer ring and then its holes; rings without the closing corner.
    pub polygons: Vec<Vec<Vec<Corner>>>,
    /// Area as drawn, for putting large labels first.
    pub size: f64,
}

/// All fields of a harvest year.
#[derive(Debug, Default)]
pub struct Shapes {
    /// The shapes by farm and name.
    pub fields: Vec<FieldShape>,
    /// Their numbers, largest first.
    pub by_size: Vec<usize>,
    index: BTreeMap<FieldId, usize>,
}

impl Shapes {
    /// Works out the shapes of a harvest year.
    pub fn of(records: &Records, year: i32) -> Self {
        let fields: Vec<FieldShape> =
            records.fields_in(year).par_iter().filter_map(|field| shape(field.id, &field.boundary)).collect();
        let index = fields.iter().enumerate().map(|(at, shape)| (shape.id, at)).collect();
        let mut by_size: Vec<usize> = (0..fields.len()).collect();
        by_size.sort_by(|a, b| fields[*b].size.total_cmp(&fields[*a].size).then(a.cmp(b)));
        Self { fields, by_size, index }
    }

    /// The shape of a field.
    pub fn get(&self, field: FieldId) -> Option<&FieldShape> {
        self.number(field).and_then(|at| self.fields.get(at))
    }

    /// The number of a field's shape.
    pub fn number(&self, field: FieldId) -> Option<usize> {
        self.index.get(&field).copied()
    }
}

impl FieldShape {
    /// The bounds on the screen.
    pub fn rect(&self, screen: &Screen) -> egui::Rect {
        screen.rect_of(self.anchor, self.far)
    }

    /// The rings on the screen, without corners that move the outline by less than a third of a point.
    pub fn rings_on(&self, screen: &Screen) -> Vec<Vec<Pos2>> {
        let (zero, scale) = (screen.pos_from_world(self.anchor), screen.scale as f32);
        let least = 0.3 / scale;
        let rings = self.polygons.iter().flatten().map(|ring| {
            let kept = ring.iter().filter(|corner| corner.weight >= least);
            kept.map(|corner| pos2(zero.x + corner.pos.x * scale, zero.y + corner.pos.y * scale)).collect::<Vec<_>>()
        });
        rings.filter(|ring| ring.len() > 2).collect()
    }
}

/// The shape of an area; none if it is empty.
pub fn shape(id: FieldId, area: &MultiPolygon<f64>) -> Option<FieldShape> {
    let bounds = awn_core::geometry::bounds(area)?;
    let (west_north, east_south) =
        (world(Coord { x: bounds.min().x, y: bounds.max().y }), world(Coord { x: bounds.max().x, y: bounds.min().y }));
    let relative = |lonlat: Coord<f64>| {
        let at = world(lonlat);
        Coord { x: at.x - west_north.x, y: at.y - west_north.y }
    };
    let near = geo::MapCoords::map_coords(area, relative);
    let polygons = near
        .iter()
        .map(|polygon| {
            let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
            rings.map(|ring| weighed(&ring.0)).filter(|ring| ring.len() > 2).collect()
        })
        .collect();
    Some(FieldShape { id, anchor: west_north, far: east_south, polygons, size: geo::Area::unsigned_area(&near) })
}

/// The corners of a closed ring with their weights. The first corner, the one farthest from it and the one farthest from both
/// are always kept: a ring needs three.
fn weighed(ring: &[Coord<f64>]) -> Vec<Corner> {
    let mut ring = ring;
    while let [first, .., last] = ring
        && first == last
    {
        ring = &ring[..ring.len() - 1];
    }
    let count = ring.len();
    let mut weights = vec![0.0_f64; count];
    if count < 3 {
        return Vec::new();
    }
    let at = |number: usize| ring[number % count];
    let square = |a: Coord<f64>, b: Coord<f64>| (a.x - b.x).powi(2) + (a.y - b.y).powi(2);
    let farthest = (1..count).max_by(|a, b| square(at(*a), at(0)).total_cmp(&square(at(*b), at(0)))).unwrap_or(1);
    weights[0] = f64::INFINITY;
    weights[farthest] = f64::INFINITY;
    let mut third = (0.0, None);
    // Stretches between kept corners, and the most that a corner in them may weigh: no more than the one that opened it.
    let mut open = vec![(0, farthest, f64::INFINITY), (farthest, count, f64::INFINITY)];
    while let Some((from, to, most)) = open.pop() {
        let (start, end) = (at(from), at(to));
        let away = |number: &usize| distance(at(*number), start, end);
        let Some(split) = (from + 1..to).max_by(|a, b| away(a).total_cmp(&away(b))) else { continue };
        let weight = away(&split).min(most);
        weights[split] = weight;
        if third.1.is_none() || weight > third.0 {
            third = (weight, Some(split));
        }
        open.push((from, split, weight));
        open.push((split, to, weight));
    }
    if let (_, Some(third)) = third {
        weights[third] = f64::INFINITY;
    }
    let corner = |(at, weight): (&Coord<f64>, f64)| Corner { pos: pos2(at.x as f32, at.y as f32), weight: weight as f32 };
    ring.iter().zip(weights).map(corner).collect()
}

/// From a point to a line between two others.
fn distance(point: Coord<f64>, start: Coord<f64>, end: Coord<f64>) -> f64 {
    let (dx, dy) = (end.x - start.x, end.y - start.y);
    let length = dx * dx + dy * dy;
    let (px, py) = (point.x - start.x, point.y - start.y);
    if length == 0.0 {
        return px.hypot(py);
    }
    let part = ((px * dx + py * dy) / length).clamp(0.0, 1.0);
    (px - part * dx).hypot(py - part * dy)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn coords(list: &[(f64, f64)]) -> Vec<Coord<f64>> {
        list.iter().map(|(x, y)| Coord { x: *x, y: *y }).collect()
    }

    #[test]
    fn corners_weigh_what_the_outline_loses_without_them() {
        // A square with a bump of 0.1 in one side and a corner that lies on a side.
        let ring = weighed(&coords(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (2.0, 2.0), (1.0, 2.1), (0.0, 2.0), (0.0, 0.0)]));
        assert_eq!(ring.len(), 6, "the closing corner is not kept twice");
        let weights: Vec<f32> = ring.iter().map(|corner| corner.weight).collect();
        assert!(weights[1] < 1e-6, "on a side: {weights:?}");
        assert!((weights[4] - 0.1).abs() < 0.01, "{weights:?}");
        assert!([0, 2, 3, 5].iter().all(|at| weights[*at] > 0.9), "{weights:?}");
    }

    #[test]
    fn the_outline_above_a_limit_is_no_farther_from_the_whole_than_the_limit() {
        let wavy: Vec<Coord<f64>> = (0..400)
            .map(|step| {
                let turn = f64::from(step) / 400.0 * std::f64::consts::TAU;
                let radius = 1.0 + 0.08 * (7.0 * turn).sin() + 0.01 * (61.0 * turn).cos();
                Coord { x: radius * turn.cos(), y: radius * turn.sin() }
            })
            .collect();
        let ring = weighed(&wavy);
        for limit in [0.002_f64, 0.01, 0.05] {
            let kept: Vec<Coord<f64>> =
                wavy.iter().zip(&ring).filter(|(_, corner)| f64::from(corner.weight) >= limit).map(|(at, _)| *at).collect();
            assert!(kept.len() > 2 && kept.len() < wavy.len());
            for point in &wavy {
                let ends = kept.iter().cycle().skip(1);
                let nearest = kept.iter().zip(ends).map(|(a, b)| distance(*point, *a, *b)).fold(f64::INFINITY, f64::min);
                assert!(nearest <= limit * 1.001, "{nearest} > {limit}");
            }
        }
    }
}
