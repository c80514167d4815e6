//! Candidates: where a stop may be.

use geo::{ConvexHull as _, Coord, CoordsIter as _, Distance as _, Euclidean, Line, MultiPoint, MultiPolygon, Point};
use rstar::RTree;

use crate::model::PlanSettings;
use crate::stops::Spot;
use crate::stops::ground::Ground;
use crate::stops::kmeans::distance2;
use crate::walk::{Position, Site};

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
pub(super) fn candidates(ground: &Ground<'_>, settings: &PlanSettings, among: Among) -> Vec<Spot> {
    let (site, network) = (&ground.site, &ground.network);
    let allowed = |at: Coord<f64>| among != Among::OffHeadlandAndGate || !near_gate(site, settings, at);
    if !network.has_tramlines() {
        let open = |at: &Coord<f64>| geo::Contains::contains(&site.open, &Point(*at));
        let places = ground.surface.grid.cells().map(|(at, _)| at).filter(|at| open(at) && allowed(*at));
        return places.map(|at| ground.spot(Position { at, tramline: None })).collect();
    }
    let headland = if among == Among::All { 0.0 } else { site.headland_m() };
    let edges = Edges::of(&site.open);
    network
        .tramlines
        .iter()
        .flat_map(|piece| {
            along(piece.along, settings.candidate_step_m).map(|at| Position { at, tramline: Some(piece.line) })
        })
        .filter(|place| allowed(place.at) && edges.distance(place.at) >= headland - ROUNDING_M)
        .map(|place| ground.spot(place))
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

/// The largest distance between two of some places, m.
pub(super) fn extent(spots: &[Spot]) -> f64 {
    let points: MultiPoint<f64> = spots.iter().map(|spot| Point(spot.at)).collect();
    let hull: Vec<Coord<f64>> = points.convex_hull().exterior_coords_iter().collect();
    let pairs = hull.iter().enumerate().flat_map(|(i, a)| hull.iter().skip(i + 1).map(move |b| distance2(*a, *b)));
    pairs.fold(0.0, f64::max).sqrt()
}
