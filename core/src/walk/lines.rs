//! Tramlines: parallel lines at a bearing and a spacing through an anchor, clipped to a shape.

use geo::algorithm::buffer::{BufferStyle, LineJoin};
use geo::{
    BooleanOps as _, BoundingRect as _, Buffer as _, Coord, Euclidean, Length as _, Line, LineString, MultiLineString,
    MultiPolygon,
};

use crate::walk::site::TramlineSet;

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

/// The pieces of several sets inside `reach`, numbered 1, 2, … set after set: parallel lines from the west or south, driven ones
/// as they were given.
pub(super) fn pieces_of_sets(reach: &MultiPolygon<f64>, sets: &[TramlineSet]) -> Vec<TramlinePiece> {
    let mut all: Vec<TramlinePiece> = Vec::new();
    for set in sets {
        let own = set.area.as_ref().map_or_else(|| reach.clone(), |area| reach.intersection(area));
        let mut pieces = if set.lines.is_empty() {
            let mut pieces = tramline_pieces(&own, set.anchor, set.bearing_deg, set.spacing_m);
            number_from_west(&mut pieces);
            pieces
        } else {
            driven_pieces(&own, &set.lines)
        };
        let before = all.iter().map(|piece| piece.line).max().unwrap_or(0);
        for piece in &mut pieces {
            piece.line += before;
        }
        all.extend(pieces);
    }
    all
}

/// The straight pieces of driven lines inside a shape, by line and along it.
fn driven_pieces(shape: &MultiPolygon<f64>, lines: &[LineString<f64>]) -> Vec<TramlinePiece> {
    let mut pieces = Vec::new();
    for (number, line) in (1..).zip(lines) {
        let clipped = shape.clip(&MultiLineString(vec![line.clone()]), false);
        let long = clipped.iter().filter(|piece| Euclidean.length(*piece) >= SHORTEST_M);
        pieces.extend(
            long.flat_map(|piece| piece.lines().map(|along| TramlinePiece { line: number, along }).collect::<Vec<_>>()),
        );
    }
    pieces
}

/// Numbers lines 1, 2, … from the west, or from the south when they run more east than north.
fn number_from_west(pieces: &mut [TramlinePiece]) {
    let Some(first) = pieces.first().map(|piece| piece.along) else { return };
    let (dx, dy) = (first.dx(), first.dy());
    // Lines are counted to the right of the bearing; turn the count where that is west or north.
    let right_is_east = if dy.abs() >= dx.abs() { dy > 0.0 } else { dx < 0.0 };
    if !right_is_east {
        for piece in pieces.iter_mut() {
            piece.line = -piece.line;
        }
        pieces.sort_by_key(|piece| piece.line);
    }
    let mut used: Vec<i32> = pieces.iter().map(|piece| piece.line).collect();
    used.dedup();
    for piece in pieces {
        piece.line = used.binary_search(&piece.line).map_or(0, |index| index as i32 + 1);
    }
}
