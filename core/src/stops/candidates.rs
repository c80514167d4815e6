//! Candidates: where a stop may be.

use geo::{BoundingRect as _, Coord, CoordsIter as _, Distance as _, Euclidean, Line, MultiPolygon};
use rstar::RTree;

use crate::density::Grid;
use crate::model::PlanSettings;
use crate::stops::kmeans::distance2;
use crate::walk::{Network, Position, Site};

/// Rounding in the clipping of lines must not push a candidate over a limit, m.
const ROUNDING_M: f64 = 1e-6;

/// Places along the tramlines each `candidate_step_m`, counted from the middle of each piece, not nearer to the edge of the field or
/// of a no-go area than the headland, and, unless `at_gate` asks for them, not within the gate exclusion. Without tramlines, the
/// middles of the grid's cells on open ground.
pub(super) fn candidates(
    site: &Site,
    network: &Network,
    grid: &Grid,
    settings: &PlanSettings,
    at_gate: bool,
) -> Vec<Position> {
    let far_from_gates = |at: Coord<f64>| {
        let least = settings.gate_exclusion_m * settings.gate_exclusion_m;
        at_gate || site.gates.iter().all(|gate| distance2(*gate, at) >= least)
    };
    if !network.has_tramlines() {
        let open = |at: &Coord<f64>| geo::Contains::contains(&site.open, &geo::Point(*at));
        return grid
            .cells()
            .map(|(at, _)| at)
            .filter(|at| open(at) && far_from_gates(*at))
            .map(|at| Position { at, tramline: None })
            .collect();
    }
    let headland = if at_gate { 0.0 } else { site.tramlines.as_ref().map_or(0.0, |(_, lines)| lines.headland_m) };
    let edges = Edges::of(&site.open);
    let mut list = Vec::new();
    for piece in &network.tramlines {
        for at in along(piece.along, settings.candidate_step_m) {
            if far_from_gates(at) && edges.distance(at) >= headland - ROUNDING_M {
                list.push(Position { at, tramline: Some(piece.line) });
            }
        }
    }
    list
}

/// Places on a line each `step` m, symmetric about its middle.
fn along(line: Line<f64>, step: f64) -> impl Iterator<Item = Coord<f64>> {
    let length = Euclidean.distance(line.start, line.end);
    let count = (length / step).floor();
    let first = (length - count * step) / 2.0;
    (0..=count as usize).map(move |i| line.start + line.delta() * ((first + i as f64 * step) / length))
}

/// The edges of a shape, to ask for the distance to the nearest.
struct Edges(RTree<rstar::primitives::Line<[f64; 2]>>);

impl Edges {
    fn of(shape: &MultiPolygon<f64>) -> Self {
        let point = |at: Coord<f64>| [at.x, at.y];
        let lines =
            shape.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors())).flat_map(|ring| {
                ring.lines().map(|line| rstar::primitives::Line::new(point(line.start), point(line.end))).collect::<Vec<_>>()
            });
        Self(RTree::bulk_load(lines.collect()))
    }

    fn distance(&self, at: Coord<f64>) -> f64 {
        self.0.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]).next().map_or(f64::INFINITY, |(_, away2)| away2.sqrt())
    }
}

/// Distance from one end to the other of some places' bounds, m: never more than their true extent.
pub(super) fn extent(places: &[Position]) -> f64 {
    let points = geo::MultiPoint::from(places.iter().map(|place| geo::Point(place.at)).collect::<Vec<_>>());
    if points.coords_count() < 2 {
        return 0.0;
    }
    points.bounding_rect().map_or(0.0, |rect| rect.width().max(rect.height()))
}
