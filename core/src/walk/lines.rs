//! Tramlines: parallel lines at a bearing and a spacing through an anchor, clipped to a shape.

use geo::algorithm::buffer::{BufferStyle, LineJoin};
use geo::{
    BooleanOps as _, BoundingRect as _, Buffer as _, Coord, Euclidean, Length as _, Line, LineString, MultiLineString,
    MultiPolygon,
};

/// Shorter pieces are left out, m: a sprayer does not drive in for them.
const SHORTEST_M: f64 = 5.0;

/// No field has more lines than this: a spacing in millimetres would fill the memory.
const MOST_LINES: f64 = 5_000.0;

/// A straight piece of one tramline.
#[derive(Debug, Clone, PartialEq)]
pub struct TramlinePiece {
    /// Which line: 0 runs through the anchor, higher numbers lie to the right of the bearing.
    pub line: i32,
    /// The piece, in the direction of the bearing.
    pub along: Line<f64>,
}

/// A shape drawn in by a distance in m, with corners kept sharp (mitre); the shape itself at 0.
pub fn inset(shape: &MultiPolygon<f64>, distance_m: f64) -> MultiPolygon<f64> {
    if distance_m <= 0.0 {
        return shape.clone();
    }
    // The join's limit is an angle: corners sharper than about 11 degrees are cut off.
    shape.buffer_with_style(BufferStyle::new(-distance_m).line_join(LineJoin::Miter(0.2)))
}

/// The pieces of tramlines inside a shape, by line and along it. Bearing in degrees clockwise from north.
pub fn tramline_pieces(
    shape: &MultiPolygon<f64>,
    anchor: Coord<f64>,
    bearing_deg: f64,
    spacing_m: f64,
) -> Vec<TramlinePiece> {
    let Some(rect) = shape.bounding_rect() else { return Vec::new() };
    let (sin, cos) = bearing_deg.to_radians().sin_cos();
    let (along, across) = (Coord { x: sin, y: cos }, Coord { x: cos, y: -sin });
    let corners =
        [rect.min(), rect.max(), Coord { x: rect.min().x, y: rect.max().y }, Coord { x: rect.max().x, y: rect.min().y }];
    let offsets = |direction: Coord<f64>| {
        let values = corners.map(|corner| (corner - anchor).x * direction.x + (corner - anchor).y * direction.y);
        (values.into_iter().fold(f64::INFINITY, f64::min), values.into_iter().fold(f64::NEG_INFINITY, f64::max))
    };
    let ((start, end), (first, last)) = (offsets(along), offsets(across));
    let wide = (last - first) / spacing_m;
    if wide.is_nan() || wide > MOST_LINES {
        return Vec::new();
    }
    let mut pieces = Vec::new();
    for line in (first / spacing_m).floor() as i32..=(last / spacing_m).ceil() as i32 {
        let foot = anchor + across * (f64::from(line) * spacing_m);
        let whole = LineString(vec![foot + along * (start - 1.0), foot + along * (end + 1.0)]);
        let clipped = shape.clip(&MultiLineString(vec![whole]), false);
        let place = |at: Coord<f64>| (at - foot).x * along.x + (at - foot).y * along.y;
        let mut own: Vec<(f64, f64)> = clipped
            .iter()
            .filter(|piece| Euclidean.length(*piece) >= SHORTEST_M)
            .filter_map(|piece| {
                let (a, b) = (place(*piece.0.first()?), place(*piece.0.last()?));
                Some((a.min(b), a.max(b)))
            })
            .collect();
        own.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Straight again: clipping rounds coordinates to a grid finer than a micrometre.
        pieces.extend(
            own.into_iter().map(|(a, b)| TramlinePiece { line, along: Line::new(foot + along * a, foot + along * b) }),
        );
    }
    pieces
}
