//! Tramlines for a boundary of which only the sprayer's width is known, or the bearing as well.

use geo::{Coord, CoordsIter as _, Line, MultiPolygon};

use crate::crs::LocalPlane;
use crate::geometry;
use crate::model::{FieldId, Tramlines, TramlinesId};

/// An edge within this many degrees of a given bearing is taken for the one that the sprayer follows.
const ALONG_DEG: f64 = 5.0;

/// How far the first line lies from the edge that the sprayer follows, as a part of the spacing: lines start half a width in where
/// the first pass is driven along the edge, a whole width in where the headland is driven round first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FirstLine {
    /// Half a spacing from the edge.
    #[default]
    Half,
    /// A whole spacing from the edge.
    Whole,
}

/// Lines along `bearing_deg`, or along the longest edge; the first lies half a spacing or a whole one inside that edge. If no
/// edge runs along the bearing, it is measured from the outermost corner. None if the shape is empty.
pub fn suggest_tramlines(
    field: FieldId,
    boundary: &MultiPolygon<f64>,
    bearing_deg: Option<f64>,
    spacing_m: f64,
    first: FirstLine,
) -> Option<Tramlines> {
    let plane = LocalPlane::over(boundary)?;
    let metres = plane.to_metres(boundary);
    let wanted = bearing_deg.map(|bearing| bearing.rem_euclid(180.0));
    let longest = geometry::straight_edges(&metres)
        .into_iter()
        .filter(|edge| wanted.is_none_or(|bearing| turn(geometry::bearing_of(edge), bearing) <= ALONG_DEG))
        .max_by(|a, b| length(a).total_cmp(&length(b)));
    let bearing_deg = wanted.or_else(|| longest.map(|edge| geometry::bearing_of(&edge).rem_euclid(180.0)))?;
    // Unit vector across the lines.
    let (sin, cos) = bearing_deg.to_radians().sin_cos();
    let across = Coord { x: cos, y: -sin };
    let inside = match first {
        FirstLine::Half => spacing_m / 2.0,
        FirstLine::Whole => spacing_m,
    };
    let anchor = if let Some(edge) = longest {
        let middle = (edge.start + edge.end) / 2.0;
        let left = Coord { x: -(edge.end.y - edge.start.y), y: edge.end.x - edge.start.x };
        let inward = if left.x * across.x + left.y * across.y < 0.0 { -inside } else { inside };
        middle + across * inward
    } else {
        let offset = |c: &Coord<f64>| c.x * across.x + c.y * across.y;
        let corner = metres.exterior_coords_iter().min_by(|a, b| offset(a).total_cmp(&offset(b)))?;
        corner + across * inside
    };
    Some(Tramlines {
        id: TramlinesId::new(),
        field,
        anchor: plane.degrees(anchor),
        bearing_deg,
        spacing_m,
        headland_m: spacing_m,
        area: None,
        lines: Vec::new(),
    })
}

fn length(edge: &Line<f64>) -> f64 {
    edge.dx().hypot(edge.dy())
}

/// The angle between two bearings of lines without direction, 0 to 90.
fn turn(a: f64, b: f64) -> f64 {
    let between = (a - b).rem_euclid(180.0);
    between.min(180.0 - between)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(corners: &[(f64, f64)]) -> (LocalPlane, MultiPolygon<f64>) {
        let plane = LocalPlane::at(Coord { x: -0.4, y: 52.4 }).unwrap();
        let ring: geo::LineString<f64> = corners.to_vec().into();
        let shape = MultiPolygon(vec![geo::Polygon::new(ring, vec![])]);
        let degrees = plane.to_degrees(&shape);
        (plane, degrees)
    }

    #[test]
    fn along_the_longest_edge_and_half_a_spacing_inside() {
        // The long edge runs north on the western side; a kink of 2 m does not break it.
        let (plane, shape) = field(&[(0.0, 0.0), (200.0, 0.0), (200.0, 300.0), (0.0, 400.0), (-2.0, 200.0)]);
        for reversed in [false, true] {
            let mut shape = shape.clone();
            if reversed {
                shape.0[0].exterior_mut(|ring| ring.0.reverse());
            }
            let lines = suggest_tramlines(FieldId::new(), &shape, None, 24.0, FirstLine::Half).unwrap();
            let anchor = plane.metres(lines.anchor);
            assert!((lines.bearing_deg % 180.0).min(180.0 - lines.bearing_deg) < 0.01, "{}", lines.bearing_deg);
            assert!((anchor.x - 12.0).abs() < 0.1 && (anchor.y - 200.0).abs() < 0.1, "{anchor:?}");
        }
    }

    #[test]
    fn along_a_given_bearing() {
        let (plane, shape) = field(&[(0.0, 0.0), (200.0, 0.0), (200.0, 400.0), (0.0, 400.0)]);
        let east = suggest_tramlines(FieldId::new(), &shape, Some(270.0), 24.0, FirstLine::Half).unwrap();
        assert_eq!(east.bearing_deg, 90.0);
        let y = plane.metres(east.anchor).y;
        assert!((y - 12.0).abs() < 0.1 || (y - 388.0).abs() < 0.1, "{y}");
        let askew = suggest_tramlines(FieldId::new(), &shape, Some(45.0), 24.0, FirstLine::Half).unwrap();
        let anchor = plane.metres(askew.anchor);
        let offset = (anchor.x - anchor.y) / 2f64.sqrt();
        assert!((offset - (-400.0 / 2f64.sqrt() + 12.0)).abs() < 0.1, "{anchor:?}");
    }
}
