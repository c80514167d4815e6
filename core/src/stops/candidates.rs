//! Candidates: where a stop may be.
//!
//! They lie and follow each other in a way that goes with the field however it is turned, and that rounding does not change:
//! along each line at whole steps from the foot of the plane's origin (the field's centroid), lines and places in the order of the
//! field's grid. The ends of clipped lines, which are known to a micrometre only, say where candidates stop, not where they lie.

use geo::{
    Contains as _, ConvexHull as _, Coord, CoordsIter as _, Distance as _, Euclidean, Line, MultiPoint, MultiPolygon, Point,
};
use rstar::RTree;

use crate::density::Grid;
use crate::stops::Spot;
use crate::stops::ground::Ground;
use crate::stops::kmeans::distance2;
use crate::walk::{Position, Site, TramlinePiece};

/// Rounding in the clipping of lines must not push a candidate over a limit, m.
const ROUNDING_M: f64 = 1e-6;
/// Pieces that lie across from each other by less than this, m, are on one line.
const ONE_LINE_M: f64 = 0.01;

/// Which ground is looked at for candidates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Among {
    /// All tramlines, to their ends.
    All,
    /// Not nearer to the edge of the field or of a no-go area than the headland.
    OffHeadland,
    /// As before, and not within the exclusion of any gate.
    OffHeadlandAndGate,
}

/// Places along the tramlines each `candidate_step_m`. Without tramlines, the middles of the grid's cells on open ground.
pub(super) fn candidates(ground: &Ground<'_>, among: Among) -> Vec<Spot> {
    let (site, network, settings) = (&ground.site, &ground.network, &ground.settings);
    let allowed = |at: Coord<f64>| among != Among::OffHeadlandAndGate || !near_gate(site, settings.gate_exclusion_m, at);
    let places: Vec<Position> = if network.has_tramlines() {
        let headland = if among == Among::All { 0.0 } else { site.headland_m() };
        in_order(&network.tramlines, &ground.surface.grid)
            .iter()
            .flat_map(|piece| {
                along(piece.along, settings.candidate_step_m)
                    .into_iter()
                    .map(|at| Position { at, tramline: Some(piece.line) })
            })
            .filter(|place| allowed(place.at) && ground.edges.is_off(place.at, headland))
            .collect()
    } else {
        let middles = ground.surface.grid.cells().map(|(at, _)| at);
        let open = middles.filter(|at| site.open.contains(&Point(*at)) && allowed(*at));
        open.map(|at| Position { at, tramline: None }).collect()
    };
    places.into_iter().enumerate().map(|(rank, place)| Spot { rank, ..ground.spot(place) }).collect()
}

/// Whether a place lies within the exclusion of a gate, m.
pub(super) fn near_gate(site: &Site, exclusion_m: f64, at: Coord<f64>) -> bool {
    site.gates.iter().any(|gate| distance2(*gate, at) < exclusion_m * exclusion_m)
}

/// Pieces in the direction in which the rows of the grid follow each other, line after line across it, and along each.
fn in_order(pieces: &[TramlinePiece], grid: &Grid) -> Vec<TramlinePiece> {
    let (along, across) = (grid.along, grid.across());
    let part = |of: Coord<f64>, direction: Coord<f64>| of.x * direction.x + of.y * direction.y;
    let directed = |piece: &TramlinePiece| {
        let delta = piece.along.delta();
        let (v, u) = (part(delta, along), part(delta, across));
        let backward = if v.abs() > ONE_LINE_M { v < 0.0 } else { u < 0.0 };
        let line = if backward { Line::new(piece.along.end, piece.along.start) } else { piece.along };
        TramlinePiece { line: piece.line, along: line }
    };
    let middle = |piece: &TramlinePiece| (piece.along.start + piece.along.end) / 2.0;
    let mut ordered: Vec<TramlinePiece> = pieces.iter().map(directed).collect();
    ordered.sort_by(|a, b| part(middle(a), across).total_cmp(&part(middle(b), across)));
    let mut last = f64::NEG_INFINITY;
    let mut line = 0;
    let mut keyed: Vec<(usize, f64, TramlinePiece)> = Vec::with_capacity(ordered.len());
    for piece in ordered {
        let u = part(middle(&piece), across);
        line += usize::from(u - last > ONE_LINE_M);
        last = u;
        keyed.push((line, part(middle(&piece), along), piece));
    }
    keyed.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    keyed.into_iter().map(|(_, _, piece)| piece).collect()
}

/// Places on a line each `step` m, counted from the foot of the origin; the middle of a line that is shorter than a step, as
/// driven lines may have them in bends.
fn along(line: Line<f64>, step: f64) -> Vec<Coord<f64>> {
    let length = Euclidean.distance(line.start, line.end);
    if length < step {
        return vec![(line.start + line.end) / 2.0];
    }
    let direction = line.delta() / length;
    // How far before the start the foot of the origin lies, m; it may lie behind the line's end as well.
    let start = line.start.x * direction.x + line.start.y * direction.y;
    let foot = line.start - direction * start;
    let first = (start / step - ROUNDING_M).ceil() as i64;
    let last = ((start + length) / step + ROUNDING_M).floor() as i64;
    (first..=last).map(|k| foot + direction * (k as f64 * step)).collect()
}

/// The edges of a shape, to ask for the distance to the nearest.
#[derive(Debug)]
pub(super) struct Edges(RTree<rstar::primitives::Line<[f64; 2]>>);

impl Edges {
    pub fn of(shape: &MultiPolygon<f64>) -> Self {
        let point = |at: Coord<f64>| [at.x, at.y];
        let lines =
            shape.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors())).flat_map(|ring| {
                ring.lines().map(|line| rstar::primitives::Line::new(point(line.start), point(line.end))).collect::<Vec<_>>()
            });
        Self(RTree::bulk_load(lines.collect()))
    }

    /// Whether a place lies no nearer than so many m to an edge.
    pub fn is_off(&self, at: Coord<f64>, distance_m: f64) -> bool {
        let nearest = self.0.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]).next();
        nearest.is_none_or(|(_, away2)| away2.sqrt() >= distance_m - ROUNDING_M)
    }
}

/// The largest distance between two of some places, m.
pub(super) fn extent(spots: &[Spot]) -> f64 {
    let points: MultiPoint<f64> = spots.iter().map(|spot| Point(spot.at)).collect();
    let hull: Vec<Coord<f64>> = points.convex_hull().exterior_coords_iter().collect();
    let pairs = hull.iter().enumerate().flat_map(|(i, a)| hull.iter().skip(i + 1).map(move |b| distance2(*a, *b)));
    pairs.fold(0.0, f64::max).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_a_line_is_cut_does_not_move_its_places() {
        let at = |s: f64| Coord { x: 30.0 + 0.6 * s, y: -12.0 + 0.8 * s };
        let whole = along(Line::new(at(-70.0), at(90.0)), 2.5);
        assert!((63..=65).contains(&whole.len()), "{}", whole.len());
        for (start, end) in [(-61.3, 80.0), (3.0, 40.1), (20.0, 22.6)] {
            let part = along(Line::new(at(start), at(end)), 2.5);
            assert!(!part.is_empty());
            for place in part {
                assert!(whole.iter().any(|other| distance2(*other, place) < 1e-18), "{place:?}");
            }
        }
        assert_eq!(along(Line::new(at(0.0), at(1.0)), 2.5), [(at(0.0) + at(1.0)) / 2.0]);
    }
}
