//! The network people walk on: tramlines, a loop on the headland and round every hole and no-go area, and links to the gates.
//!
//! The loops run half a headland from the boundary; the tramlines end on them or, if they come from elsewhere, near them. Where
//! lines cross, people may turn. Parts that do not hang together (a field in two pieces, a neck narrower than the headland) are
//! joined by the shortest straight line between them.

use geo::{Closest, ClosestPoint as _, Coord, Distance as _, Euclidean, Length as _, Line, MultiPolygon, Point};
use petgraph::graph::NodeIndex;
use petgraph::unionfind::UnionFind;

use crate::walk::lines::{self, TramlinePiece, inset};
use crate::walk::noded::{Noded, TOUCH_M, Ways, around, foot, indexed};
use crate::walk::{Site, free};

/// A tramline that ends nearer than this to a loop leads on to it, m. Tramlines are often recorded as far as the headland only,
/// and half a headland is seldom wider (common practice, no source).
const LEADS_ON_M: f64 = 30.0;

/// The network of one field.
#[derive(Debug)]
pub struct Network {
    /// Tramline pieces with numbers counted from the field's western or southern side; none where tramlines are not known.
    pub tramlines: Vec<TramlinePiece>,
    /// Loops on the headland and round holes and no-go areas, as straight edges.
    pub loops: Vec<Line<f64>>,
    ground: Ground,
}

/// Where people walk.
#[derive(Debug)]
enum Ground {
    /// Along lines.
    Lines(Noded),
    /// Anywhere inside, as no tramlines are known.
    Free(MultiPolygon<f64>),
}

/// A position on a tramline of the network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Where, m.
    pub at: Coord<f64>,
    /// Number of the tramline; none where tramlines are not known.
    pub tramline: Option<i32>,
}

impl Network {
    /// The network of a site; without tramlines, or where none fits in, free ground.
    pub fn of(site: &Site) -> Self {
        if site.tramlines.is_empty() {
            return Self::free(site);
        }
        let reach = inset(&site.open, site.headland_m() / 2.0);
        let tramlines = lines::pieces_of_sets(&reach, &site.tramlines);
        if tramlines.is_empty() {
            return Self::free(site);
        }
        let loops = reach
            .iter()
            .flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()))
            .flat_map(|ring| ring.lines().collect::<Vec<_>>())
            .collect();
        Self::from_lines(tramlines, loops)
    }

    /// The network of a site where people walk anywhere.
    pub fn free(site: &Site) -> Self {
        Self { tramlines: Vec::new(), loops: Vec::new(), ground: Ground::Free(site.open.clone()) }
    }

    /// The network of tramlines, of one set or more, and loops; lines may cross and lie on each other. Numbers are kept.
    pub fn from_lines(mut tramlines: Vec<TramlinePiece>, mut loops: Vec<Line<f64>>) -> Self {
        let finite =
            |line: &Line<f64>| [line.start.x, line.start.y, line.end.x, line.end.y].iter().all(|value| value.is_finite());
        tramlines.retain(|piece| finite(&piece.along));
        loops.retain(finite);
        let mut lines: Vec<Line<f64>> = tramlines.iter().map(|piece| piece.along).chain(loops.iter().copied()).collect();
        lines.extend(ways_on(&lines, &loops, tramlines.len()));
        let mut noded = Noded::of(&lines);
        while let Some(link) = shortest_gap(&noded.with_places(&[]).0) {
            lines.push(link);
            noded = Noded::of(&lines);
        }
        Self { tramlines, loops, ground: Ground::Lines(noded) }
    }

    /// Whether tramlines are known.
    pub fn has_tramlines(&self) -> bool {
        matches!(self.ground, Ground::Lines(_))
    }

    /// The nearest position on a tramline; without tramlines, the nearest inside the field.
    pub fn snap(&self, to: Coord<f64>) -> Position {
        if let Ground::Free(open) = &self.ground {
            let at = match open.closest_point(&Point(to)) {
                Closest::SinglePoint(point) => point.0,
                Closest::Intersection(_) | Closest::Indeterminate => to,
            };
            return Position { at, tramline: None };
        }
        let nearest = self
            .tramlines
            .iter()
            .map(|piece| (foot(piece.along, to), piece.line))
            .min_by(|(a, _), (b, _)| Euclidean.distance(*a, to).total_cmp(&Euclidean.distance(*b, to)));
        nearest.map_or(Position { at: to, tramline: None }, |(at, line)| Position { at, tramline: Some(line) })
    }

    /// The graph with the given places on it, and their nodes in the same order. A place off the network, such as a gate,
    /// is linked to the nearest point of it.
    pub fn with_places(&self, places: &[Coord<f64>]) -> (Ways, Vec<NodeIndex>) {
        match &self.ground {
            Ground::Free(open) => free::ways(open, places),
            Ground::Lines(noded) => noded.with_places(places),
        }
    }
}

/// The ways from the dead ends of tramlines, which are the first of the lines, on to the nearest loop.
fn ways_on(lines: &[Line<f64>], loops: &[Line<f64>], tramlines: usize) -> Vec<Line<f64>> {
    let (all, round) = (indexed(lines.iter().copied()), indexed(loops.iter().copied()));
    let mut ways = Vec::new();
    for (own, line) in lines.iter().enumerate().take(tramlines) {
        for end in [line.start, line.end] {
            let beside = all
                .locate_in_envelope_intersecting(&around(Line::new(end, end), TOUCH_M))
                .any(|other| other.data != own && Euclidean.distance(foot(*other.geom(), end), end) < TOUCH_M);
            let nearest = round.nearest_neighbor(&Point(end)).map(|edge| foot(*edge.geom(), end));
            if let Some(on) = nearest.filter(|on| !beside && Euclidean.distance(*on, end) < LEADS_ON_M) {
                ways.push(Line::new(end, on));
            }
        }
    }
    ways
}

/// The shortest line between nodes of the first part of a graph and nodes of any other; none if it hangs together.
fn shortest_gap(ways: &Ways) -> Option<Line<f64>> {
    if ways.node_count() == 0 {
        return None;
    }
    let mut parts = UnionFind::new(ways.node_count());
    for edge in ways.raw_edges() {
        parts.union(edge.source(), edge.target());
    }
    let root = parts.find(NodeIndex::new(0));
    let (near, far): (Vec<_>, Vec<_>) = ways.node_indices().partition(|node| parts.equiv(*node, root));
    let pairs = near.iter().flat_map(|a| far.iter().map(move |b| Line::new(ways[*a], ways[*b])));
    pairs.min_by(|a, b| Euclidean.length(a).total_cmp(&Euclidean.length(b)))
}
