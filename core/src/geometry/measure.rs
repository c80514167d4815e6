//! Areas, bounds and the point where a label sits.

use geo::{
    Area as _, BoundingRect as _, Coord, GeodesicArea as _, InteriorPoint as _, Line, MultiPolygon, Rect, Simplify as _,
};

/// Area in m2 of a shape in degrees on the WGS 84 ellipsoid, less holes.
///
/// Karney 2013 (J. Geodesy 87:43-55), whatever the direction of the rings.
pub fn geodesic_area_m2(shape: &MultiPolygon<f64>) -> f64 {
    shape
        .iter()
        .map(|polygon| {
            let ring = |line: &geo::LineString<f64>| geo::Polygon::new(line.clone(), vec![]).geodesic_area_signed().abs();
            ring(polygon.exterior()) - polygon.interiors().iter().map(ring).sum::<f64>()
        })
        .sum()
}

/// Bounds of a shape, in its own coordinates; none if it is empty.
pub fn bounds(shape: &MultiPolygon<f64>) -> Option<Rect<f64>> {
    shape.bounding_rect()
}

/// Smallest rectangle around all of the given ones; none if there are none.
pub fn merged_bounds(rects: impl IntoIterator<Item = Rect<f64>>) -> Option<Rect<f64>> {
    rects.into_iter().reduce(|a, b| {
        Rect::new(
            Coord { x: a.min().x.min(b.min().x), y: a.min().y.min(b.min().y) },
            Coord { x: a.max().x.max(b.max().x), y: a.max().y.max(b.max().y) },
        )
    })
}

/// Centre of about the largest circle inside the largest part of a shape: where a label has most room.
///
/// The shape may be in degrees: it is stretched so that a degree of longitude is as long as one of latitude.
pub fn label_point(shape: &MultiPolygon<f64>) -> Option<Coord<f64>> {
    let largest = shape.iter().max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()))?;
    let rect = largest.bounding_rect()?;
    let squeeze = if rect.max().y.abs() <= 90.0 && rect.max().x.abs() <= 180.0 {
        rect.center().y.to_radians().cos().max(0.01)
    } else {
        1.0
    };
    let flat = geo::MapCoords::map_coords(largest, |c| Coord { x: c.x * squeeze, y: c.y });
    let tolerance = (rect.width() * squeeze).max(rect.height()) / 100.0;
    // Where the outline is kept to a part of the tolerance, so is the middle; but a sliver may vanish.
    let found = |shape: &geo::Polygon<f64>| {
        let inside = polylabel::polylabel(shape, &tolerance).ok();
        inside.filter(|point| geo::Contains::contains(&flat, point))
    };
    let point = if tolerance > 0.0 { found(&flat.simplify(tolerance / 8.0)).or_else(|| found(&flat)) } else { None };
    let point = point.or_else(|| flat.interior_point())?;
    Some(Coord { x: point.x() / squeeze, y: point.y() })
}

/// Bends of less than this, m, do not break a straight edge.
const STRAIGHT_M: f64 = 5.0;

/// The straight edges of the largest part of a shape in metres, small bends taken out; the inside lies to the left of each.
pub fn straight_edges(shape: &MultiPolygon<f64>) -> Vec<Line<f64>> {
    let largest = shape.iter().max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()));
    let Some(largest) = largest else { return Vec::new() };
    let mut outline = largest.exterior().simplify(STRAIGHT_M);
    if geo::Polygon::new(outline.clone(), vec![]).signed_area() < 0.0 {
        outline.0.reverse();
    }
    outline.lines().collect()
}

/// The longest straight edge of a shape in metres.
pub fn longest_edge(shape: &MultiPolygon<f64>) -> Option<Line<f64>> {
    let length = |edge: &Line<f64>| edge.dx().hypot(edge.dy());
    // Of edges equally long, such as two sides of a rectangle, the first: rounding must not say which.
    let longer = |held: Line<f64>, edge: Line<f64>| if length(&edge) > length(&held) * (1.0 + 1e-9) { edge } else { held };
    straight_edges(shape).into_iter().reduce(longer)
}

/// Bearing of a line in a plane, degrees clockwise from north, 0 to 360.
pub fn bearing_of(line: &Line<f64>) -> f64 {
    line.dx().atan2(line.dy()).to_degrees().rem_euclid(360.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn geodesic_area_of_a_hundredth_degree_square() {
        // 764077.6183 m2 on GRS 80 at 52 N 1 W by pyproj 3.7 and geographiclib; WGS 84 differs in the 9th digit.
        let square = polygon![(x: -1.0, y: 52.0), (x: -0.99, y: 52.0), (x: -0.99, y: 52.01), (x: -1.0, y: 52.01)];
        let area = geodesic_area_m2(&MultiPolygon(vec![square]));
        assert!((area - 764_077.618_3).abs() < 0.01, "{area}");
    }

    #[test]
    fn direction_of_rings_does_not_matter() {
        let hole = geo::LineString::from(vec![(0.2, 0.2), (0.4, 0.2), (0.4, 0.4), (0.2, 0.4), (0.2, 0.2)]);
        let mut turned = hole.clone();
        turned.0.reverse();
        let outer = geo::LineString::from(vec![(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)]);
        let area = |h| geodesic_area_m2(&MultiPolygon(vec![geo::Polygon::new(outer.clone(), vec![h])]));
        let (one, other) = (area(hole), area(turned));
        assert!((one - other).abs() < 1.0 && one < 1.24e10, "{one} {other}");
    }

    #[test]
    fn label_of_an_l_shape_lies_inside() {
        let l = polygon![(x: 0.0, y: 0.0), (x: 4.0, y: 0.0), (x: 4.0, y: 1.0), (x: 1.0, y: 1.0), (x: 1.0, y: 4.0), (x: 0.0, y: 4.0)];
        let shape = MultiPolygon(vec![l]);
        let at = label_point(&shape).unwrap();
        assert!(geo::Contains::contains(&shape, &geo::Point(at)));
    }
}
