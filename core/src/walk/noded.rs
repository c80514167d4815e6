//! Straight lines as a graph: every crossing and every end that touches a line is a node.

use std::collections::BTreeMap;

use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Distance as _, Euclidean, Line, Point};
use petgraph::graph::{NodeIndex, UnGraph};
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

/// A graph of positions in m with lengths in m.
pub type Ways = UnGraph<Coord<f64>, f64>;

/// A line and its number.
type Numbered = GeomWithData<Line<f64>, usize>;

/// Positions nearer than this are one, m.
const SAME_M: f64 = 1e-6;
/// The end of a line that lies nearer than this to another line touches it, m: clipping and files round.
pub(super) const TOUCH_M: f64 = 0.01;
/// Lines that are further from a place than the nearest by less than this are as near, m.
const AS_NEAR_M: f64 = 1e-3;

/// Lines cut at their crossings.
#[derive(Debug)]
pub(super) struct Noded {
    nodes: Vec<Coord<f64>>,
    edges: Vec<(usize, usize)>,
    /// The edges by where they are, with their numbers.
    index: RTree<Numbered>,
}

impl Noded {
    /// The graph of some lines.
    pub(super) fn of(lines: &[Line<f64>]) -> Self {
        let index = indexed(lines.iter().copied());
        let mut cuts: Vec<Vec<Coord<f64>>> = lines.iter().map(|line| vec![line.start, line.end]).collect();
        let mut touches = Vec::new();
        for (own, line) in lines.iter().enumerate() {
            for other in index.locate_in_envelope_intersecting(&around(*line, TOUCH_M)) {
                let (number, other) = (other.data, other.geom());
                if number > own {
                    let shared = crossing(*line, *other);
                    cuts[own].extend(&shared);
                    cuts[number].extend(&shared);
                }
                if number != own {
                    for end in [line.start, line.end] {
                        let on = foot(*other, end);
                        if Euclidean.distance(on, end) < TOUCH_M {
                            cuts[number].push(on);
                            touches.push((end, on));
                        }
                    }
                }
            }
        }
        let mut positions = Positions::default();
        let mut edges = Vec::new();
        for (line, cuts) in lines.iter().zip(cuts) {
            let nodes: Vec<usize> = along(*line, cuts).into_iter().map(|at| positions.number(at)).collect();
            edges.extend(nodes.windows(2).map(|pair| (pair[0], pair[1])));
        }
        edges.extend(touches.into_iter().map(|(a, b)| (positions.number(a), positions.number(b))));
        for edge in &mut edges {
            *edge = (edge.0.min(edge.1), edge.0.max(edge.1));
        }
        edges.sort_unstable();
        edges.dedup();
        edges.retain(|edge| edge.0 != edge.1);
        let nodes = positions.all;
        let index = indexed(edges.iter().map(|edge| Line::new(nodes[edge.0], nodes[edge.1])));
        Self { nodes, edges, index }
    }

    /// The graph with the given places on it, and their nodes in the same order. A place off the lines is linked to the
    /// nearest point of them, or to several as near.
    pub(super) fn with_places(&self, places: &[Coord<f64>]) -> (Ways, Vec<NodeIndex>) {
        let mut positions = Extra { old: &self.nodes, new: Vec::new() };
        let mut cuts: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut links = Vec::new();
        let mut nodes = Vec::with_capacity(places.len());
        for place in places {
            let mut near = self.index.nearest_neighbor_iter_with_distance_2(&Point(*place));
            let Some((nearest, away2)) = near.next() else {
                nodes.push(positions.number(*place, None));
                continue;
            };
            // A gate in a corner may be as near to the one side of the loop as to the other: rounding must not choose.
            let as_near2 = (away2.sqrt() + AS_NEAR_M).powi(2);
            let others = near.take_while(|(_, other2)| *other2 <= as_near2).map(|(edge, _)| edge);
            let mut node = None;
            for line in std::iter::once(nearest).chain(others) {
                let edge = self.edges[line.data];
                let on = positions.number(foot(*line.geom(), *place), Some(edge));
                let own = *node
                    .get_or_insert_with(|| if same(positions.at(on), *place) { on } else { positions.number(*place, None) });
                if on != edge.0 && on != edge.1 {
                    cuts.entry(line.data).or_default().push(on);
                }
                links.push((own, on));
            }
            let Some(node) = node else { continue };
            nodes.push(node);
        }
        let mut ways = Ways::default();
        for node in 0..self.nodes.len() + positions.new.len() {
            ways.add_node(positions.at(node));
        }
        let mut join = |a: usize, b: usize| {
            if a != b {
                ways.update_edge(NodeIndex::new(a), NodeIndex::new(b), Euclidean.distance(positions.at(a), positions.at(b)));
            }
        };
        for (number, edge) in self.edges.iter().enumerate() {
            let mut chain = cuts.remove(&number).unwrap_or_default();
            let start = positions.at(edge.0);
            let away = |node: &usize| Euclidean.distance(start, positions.at(*node));
            chain.sort_by(|a, b| away(a).total_cmp(&away(b)));
            chain.dedup();
            chain.insert(0, edge.0);
            chain.push(edge.1);
            for pair in chain.windows(2) {
                join(pair[0], pair[1]);
            }
        }
        for (a, b) in links {
            join(a, b);
        }
        (ways, nodes.into_iter().map(NodeIndex::new).collect())
    }
}

/// The point of a line nearest to a position.
pub(super) fn foot(line: Line<f64>, to: Coord<f64>) -> Coord<f64> {
    let along = line.delta();
    let length2 = along.x * along.x + along.y * along.y;
    if length2 == 0.0 {
        return line.start;
    }
    let from = to - line.start;
    line.start + along * ((from.x * along.x + from.y * along.y) / length2).clamp(0.0, 1.0)
}

/// Where two lines meet; the ends of what they share, if they lie on each other.
fn crossing(a: Line<f64>, b: Line<f64>) -> Vec<Coord<f64>> {
    match line_intersection(a, b) {
        Some(LineIntersection::SinglePoint { intersection, .. }) => vec![intersection],
        Some(LineIntersection::Collinear { intersection }) => vec![intersection.start, intersection.end],
        None => Vec::new(),
    }
}

/// Cuts of a line in the order along it.
fn along(line: Line<f64>, mut cuts: Vec<Coord<f64>>) -> Vec<Coord<f64>> {
    cuts.sort_by(|a, b| Euclidean.distance(line.start, *a).total_cmp(&Euclidean.distance(line.start, *b)));
    cuts
}

/// Lines by where they are, with their numbers.
pub(super) fn indexed(lines: impl Iterator<Item = Line<f64>>) -> RTree<Numbered> {
    RTree::bulk_load(lines.enumerate().map(|(number, line)| Numbered::new(line, number)).collect())
}

/// The box round a line, wider by a margin in m.
pub(super) fn around(line: Line<f64>, margin: f64) -> AABB<Point<f64>> {
    let (a, b) = (line.start, line.end);
    let low = Point::new(a.x.min(b.x) - margin, a.y.min(b.y) - margin);
    AABB::from_corners(low, Point::new(a.x.max(b.x) + margin, a.y.max(b.y) + margin))
}

fn same(a: Coord<f64>, b: Coord<f64>) -> bool {
    Euclidean.distance(a, b) < SAME_M
}

/// Positions numbered so that the same position has the same number.
#[derive(Default)]
struct Positions {
    all: Vec<Coord<f64>>,
    index: BTreeMap<(i64, i64), usize>,
}

impl Positions {
    fn number(&mut self, at: Coord<f64>) -> usize {
        let (x, y) = ((at.x / SAME_M).round() as i64, (at.y / SAME_M).round() as i64);
        // A position that was rounded the other way lies in a neighbouring cell.
        let near =
            (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (x + dx, y + dy))).find_map(|cell| self.index.get(&cell).copied());
        near.unwrap_or_else(|| {
            self.all.push(at);
            self.index.insert((x, y), self.all.len() - 1);
            self.all.len() - 1
        })
    }
}

/// The nodes of a graph, and those that places add to it.
struct Extra<'a> {
    old: &'a [Coord<f64>],
    new: Vec<Coord<f64>>,
}

impl Extra<'_> {
    fn at(&self, node: usize) -> Coord<f64> {
        if node < self.old.len() { self.old[node] } else { self.new[node - self.old.len()] }
    }

    /// The number of a position, which may be an end of the edge that it lies on, or have been added before.
    fn number(&mut self, at: Coord<f64>, on: Option<(usize, usize)>) -> usize {
        let ends = on.into_iter().flat_map(|edge| [edge.0, edge.1]);
        let added = self.old.len()..self.old.len() + self.new.len();
        if let Some(known) = ends.chain(added).find(|node| same(self.at(*node), at)) {
            return known;
        }
        self.new.push(at);
        self.old.len() + self.new.len() - 1
    }
}
