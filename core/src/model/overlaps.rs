//! Areas that lie on one another.

use geo::{Area as _, BooleanOps as _, BoundingRect as _, MultiPolygon};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use crate::crs::LocalPlane;
use crate::geometry;

/// Common land of two neighbours below this is how an edge was drawn twice, m2.
const DRAWN_TWICE_M2: f64 = 100.0;
/// The same, as a share of the smaller of the two.
const DRAWN_TWICE: f64 = 0.01;

/// Pairs of shapes in degrees that share land, the earlier of the list first, with the common area in m2.
pub fn overlaps(shapes: &[&MultiPolygon<f64>]) -> Vec<(usize, usize, f64)> {
    let entry = |(index, shape): (usize, &&MultiPolygon<f64>)| {
        let rect = shape.bounding_rect()?;
        let corners = Rectangle::from_corners([rect.min().x, rect.min().y], [rect.max().x, rect.max().y]);
        Some(GeomWithData::new(corners, index))
    };
    let tree = RTree::bulk_load(shapes.iter().enumerate().filter_map(entry).collect());
    let mut found = Vec::new();
    for (index, shape) in shapes.iter().enumerate() {
        let Some(rect) = geometry::bounds(shape) else { continue };
        let Ok(plane) = LocalPlane::around(rect) else { continue };
        let window = AABB::from_corners([rect.min().x, rect.min().y], [rect.max().x, rect.max().y]);
        let later = tree.locate_in_envelope_intersecting(&window).map(|entry| entry.data).filter(|other| *other > index);
        let mut own = None;
        for other in later {
            let Some(second) = shapes.get(other) else { continue };
            let own = own.get_or_insert_with(|| plane.to_metres(*shape));
            let second = plane.to_metres(*second);
            let common = own.intersection(&second).unsigned_area();
            if common > DRAWN_TWICE_M2.max(DRAWN_TWICE * own.unsigned_area().min(second.unsigned_area())) {
                found.push((index, other, common));
            }
        }
    }
    found.sort_by_key(|(first, second, _)| (*first, *second));
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Rect, coord};

    #[test]
    fn neighbours_touch_and_others_overlap() {
        // 0.001 degrees of latitude are 111 m; of longitude at 52.5 N 68 m.
        let land = |x: f64, y: f64| {
            let rect = Rect::new(coord! { x: x, y: y }, coord! { x: x + 0.004, y: y + 0.003 });
            MultiPolygon(vec![rect.to_polygon()])
        };
        let shapes = [land(0.0, 52.5), land(0.004, 52.5), land(0.002, 52.502), land(0.003_99, 52.51)];
        let found = overlaps(&shapes.iter().collect::<Vec<_>>());
        let pairs: Vec<_> = found.iter().map(|(a, b, _)| (*a, *b)).collect();
        assert_eq!(pairs, [(0, 2), (1, 2)]);
        // 0.002 by 0.001 degrees: 135.7 m by 111.3 m.
        assert!((found[0].2 / 15_100.0 - 1.0).abs() < 0.01, "{found:?}");
    }
}
