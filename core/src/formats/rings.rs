//! Rings of a shapefile record to polygons.
//!
//! The format says that outer rings run clockwise and holes the other way (shapefile whitepaper, 1998), but not in which
//! order rings stand, and files exist with every ring in the wrong direction. So a ring is a hole if it runs
//! anticlockwise and lies inside a clockwise ring; if no ring runs clockwise, nesting alone decides.

use geo::{Area as _, BoundingRect as _, Contains as _, Coord, LineString, MultiPolygon, Point, Polygon};

/// Polygons of rings in any order.
pub(super) fn polygons(rings: Vec<LineString<f64>>) -> MultiPolygon<f64> {
    if let [_only] = rings.as_slice() {
        // Most fields: nothing to be a hole of.
        return MultiPolygon(
            rings.into_iter().filter(|ring| ring.0.len() >= 3).map(|ring| Polygon::new(ring, vec![])).collect(),
        );
    }
    let rings: Vec<Polygon<f64>> =
        rings.into_iter().filter(|ring| ring.0.len() >= 3).map(|ring| Polygon::new(ring, vec![])).collect();
    let clockwise = |ring: &Polygon<f64>| ring.signed_area() < 0.0;
    let directed = rings.iter().any(clockwise);
    let holds = |outer: &Polygon<f64>, inner: &Polygon<f64>| {
        outer.unsigned_area() > inner.unsigned_area() && covers_box(outer, inner) && inside(outer, inner)
    };
    let hole = |index: usize, ring: &Polygon<f64>| {
        let around = rings.iter().enumerate().filter(|(other, _)| *other != index);
        if directed {
            !clockwise(ring) && around.into_iter().any(|(_, outer)| clockwise(outer) && holds(outer, ring))
        } else {
            around.filter(|(_, outer)| holds(outer, ring)).count() % 2 == 1
        }
    };
    let is_hole: Vec<bool> = rings.iter().enumerate().map(|(index, ring)| hole(index, ring)).collect();
    let mut outers: Vec<Polygon<f64>> =
        rings.iter().zip(&is_hole).filter(|(_, hole)| !**hole).map(|(ring, _)| ring.clone()).collect();
    let shells = outers.clone();
    for ring in rings.iter().zip(&is_hole).filter(|(_, hole)| **hole).map(|(ring, _)| ring) {
        let smallest = shells
            .iter()
            .enumerate()
            .filter(|(_, outer)| holds(outer, ring))
            .min_by(|a, b| a.1.unsigned_area().total_cmp(&b.1.unsigned_area()));
        if let Some(owner) = smallest.and_then(|(index, _)| outers.get_mut(index)) {
            owner.interiors_push(ring.exterior().clone());
        }
    }
    MultiPolygon(outers)
}

fn covers_box(outer: &Polygon<f64>, inner: &Polygon<f64>) -> bool {
    match (outer.bounding_rect(), inner.bounding_rect()) {
        (Some(a), Some(b)) => {
            a.min().x <= b.min().x && a.min().y <= b.min().y && a.max().x >= b.max().x && a.max().y >= b.max().y
        }
        _ => false,
    }
}

/// Whether most corners and edge middles of `inner` that are not on the edge of `outer` lie inside it. One point would
/// not do, since holes may touch their outer ring.
fn inside(outer: &Polygon<f64>, inner: &Polygon<f64>) -> bool {
    let middle = |line: geo::Line<f64>| Coord {
        x: f64::midpoint(line.start.x, line.end.x),
        y: f64::midpoint(line.start.y, line.end.y),
    };
    let ring = inner.exterior();
    let tried: Vec<Coord<f64>> = ring.lines().take(64).flat_map(|line| [line.start, middle(line)]).collect();
    let held = tried.iter().filter(|at| outer.contains(&Point(**at))).count();
    2 * held > tried.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(x: f64, y: f64, size: f64, clockwise: bool) -> LineString<f64> {
        let mut corners = vec![(x, y), (x, y + size), (x + size, y + size), (x + size, y), (x, y)];
        if !clockwise {
            corners.reverse();
        }
        corners.into()
    }

    #[test]
    fn holes_find_their_outer_ring_whatever_the_order_and_direction() {
        let rings = |outer, hole| {
            vec![
                ring(1.0, 1.0, 2.0, hole),
                ring(20.0, 0.0, 10.0, outer),
                ring(0.0, 0.0, 10.0, outer),
                ring(22.0, 2.0, 3.0, hole),
            ]
        };
        for (outer, hole) in [(true, false), (false, false)] {
            let shape = polygons(rings(outer, hole));
            assert_eq!(shape.0.len(), 2);
            assert_eq!(shape.unsigned_area(), 200.0 - 4.0 - 9.0);
        }
        // An island in a hole is a part of its own.
        let island = polygons(vec![ring(0.0, 0.0, 10.0, true), ring(2.0, 2.0, 6.0, false), ring(4.0, 4.0, 2.0, true)]);
        assert_eq!((island.0.len(), island.unsigned_area()), (2, 100.0 - 36.0 + 4.0));
    }
}
