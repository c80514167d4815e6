//! Candidates: where a stop may be.

use geo::{BoundingRect as _, Coord, CoordsIter as _, Distance as _, Euclidean, Line, MultiPolygon};
use rstar::RTree;

use crate::density::Grid;
use crate::model::PlanSettings;
use crate::stops::kmeans::distance2;
use crate::walk::{Network, Position, Site};

/// Rounding in the clipping of lines must not push a candidate over a limit, m.
const ROUNDING_M: f64 = 1e-6;

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

/// Places along the tramlines each `candidate_step_m`, counted from the middle of each piece. Without tramlines, the middles of the
/// grid's cells on open ground.
pub(super) fn candidates(
    site: &Site,
    network: &Network,
    grid: &Grid,
    settings: &PlanSettings,
    among: Among,
) -> Vec<Position> {
    let allowed = |place: &Position| among != Among::OffHeadlandAndGate || !near_gate(site, settings, place.at);
    if !network.has_tramlines() {
        let open = |at: &Coord<f64>| geo::Contains::contains(&site.open, &geo::Point(*at));
        let places = grid.cells().map(|(at, _)| at).filter(open).map(|at| Position { at, tramline: None });
        return places.filter(allowed).collect();
    }
    let headland =
        if among == Among::All { 0.0 } else { site.tramlines.as_ref().map_or(0.0, |(_, lines)| lines.headland_m) };
    let edges = Edges::of(&site.open);
    network
        .tramlines
        .iter()
        .flat_map(|piece| {
            along(piece.along, settings.candidate_step_m).map(|at| Position { at, tramline: Some(piece.line) })
        })
        .filter(|place| allowed(place) && edges.distance(place.at) >= headland - ROUNDING_M)
        .collect()
}

/// Whether a place lies within the exclusion of a gate.
pub(super) fn near_gate(site: &Site, settings: &PlanSettings, at: Coord<f64>) -> bool {
    let least = settings.gate_exclusion_m * settings.gate_exclusion_m;
    site.gates.iter().any(|gate| distance2(*gate, at) < least)
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
