//! The network people walk on: tramlines, a loop on the headland and round every hole and no-go area, and links to the gates.
//!
//! The loops run half a headland from the boundary; the tramlines end on them. Parts that do not hang together (a field in two
//! pieces, a neck narrower than the headland) are joined by the shortest straight line between them.

use geo::{Closest, ClosestPoint as _, Coord, Distance as _, Euclidean, Length as _, Line, MultiPolygon, Point};
use petgraph::graph::{NodeIndex, UnGraph};
use petgraph::unionfind::UnionFind;

use crate::walk::lines::{TramlinePiece, inset, tramline_pieces};
use crate::walk::{Site, free};

/// A graph of positions in m with lengths in m.
pub type Ways = UnGraph<Coord<f64>, f64>;

/// Positions nearer than this are one, m.
const SAME_M: f64 = 1e-6;

/// The network of one field.
#[derive(Debug)]
pub struct Network {
    /// Tramline pieces with numbers counted from the field's western or southern side; none where tramlines are not known.
    pub tramlines: Vec<TramlinePiece>,
    /// Loops on the headland and round holes and no-go areas, as straight edges.
    pub loops: Vec<Line<f64>>,
    /// Where tramlines and loops do not hang together.
    links: Vec<Line<f64>>,
    /// Where people walk freely, if there are no tramlines.
    free: Option<MultiPolygon<f64>>,
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
        let found = site.tramlines.as_ref().and_then(|(anchor, lines)| {
            let reach = inset(&site.open, lines.headland_m / 2.0);
            let mut tramlines = tramline_pieces(&reach, *anchor, lines.bearing_deg, lines.spacing_m);
            number_from_west(&mut tramlines);
            let loops: Vec<Line<f64>> = reach
                .iter()
                .flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()))
                .flat_map(|ring| ring.lines().collect::<Vec<_>>())
                .collect();
            (!tramlines.is_empty()).then_some((tramlines, loops))
        });
        let Some((tramlines, loops)) = found else {
            return Self { tramlines: Vec::new(), loops: Vec::new(), links: Vec::new(), free: Some(site.open.clone()) };
        };
        let mut network = Self { tramlines, loops, links: Vec::new(), free: None };
        network.links = network.missing_links();
        network
    }

    /// Whether tramlines are known.
    pub fn has_tramlines(&self) -> bool {
        self.free.is_none()
    }

    /// The nearest position on a tramline; without tramlines, the nearest inside the field.
    pub fn snap(&self, to: Coord<f64>) -> Position {
        if let Some(open) = &self.free {
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
        if let Some(open) = &self.free {
            return free::ways(open, places);
        }
        let edges: Vec<Line<f64>> = self
            .tramlines
            .iter()
            .map(|piece| piece.along)
            .chain(self.loops.iter().copied())
            .chain(self.links.iter().copied())
            .collect();
        // Where each edge is cut: by the ends of tramlines and links on it, and by the places.
        let mut cuts: Vec<Vec<Coord<f64>>> = edges.iter().map(|edge| vec![edge.start, edge.end]).collect();
        let ends = self
            .tramlines
            .iter()
            .map(|piece| piece.along)
            .chain(self.links.iter().copied())
            .flat_map(|line| [line.start, line.end]);
        let mut links = Vec::new();
        for at in ends {
            let (edge, on, _) = self.nearest_loop(&edges, at);
            cuts[edge].push(on);
            links.push(Line::new(at, on));
        }
        for place in places {
            let (edge, on, _) = nearest(edges.iter().copied().enumerate(), *place);
            cuts[edge].push(on);
            links.push(Line::new(*place, on));
        }
        let mut graph = Graph::default();
        for (edge, mut cuts) in edges.iter().zip(cuts) {
            cuts.sort_by(|a, b| Euclidean.distance(edge.start, *a).total_cmp(&Euclidean.distance(edge.start, *b)));
            for pair in cuts.windows(2) {
                graph.edge(pair[0], pair[1]);
            }
        }
        for link in links {
            graph.edge(link.start, link.end);
        }
        let nodes = places.iter().map(|place| graph.node(*place)).collect();
        (graph.ways, nodes)
    }

    /// The loop's edge nearest to the end of a tramline; any other edge where there is no loop.
    fn nearest_loop(&self, edges: &[Line<f64>], at: Coord<f64>) -> (usize, Coord<f64>, f64) {
        let loops = self.tramlines.len()..self.tramlines.len() + self.loops.len();
        let own = edges.iter().copied().enumerate().filter(|(index, _)| loops.contains(index));
        let (edge, on, away) = nearest(own, at);
        // A link ends on whatever edge is there.
        if away < 0.01 {
            (edge, on, away)
        } else {
            nearest(edges.iter().copied().enumerate().filter(|(_, e)| e.start != at && e.end != at), at)
        }
    }

    /// Straight lines that join parts of the network that do not hang together, shortest first.
    fn missing_links(&self) -> Vec<Line<f64>> {
        let mut links = Vec::new();
        loop {
            let joined = Self {
                tramlines: self.tramlines.clone(),
                loops: self.loops.clone(),
                links: std::mem::take(&mut links),
                free: None,
            };
            let (ways, _) = joined.with_places(&[]);
            links = joined.links;
            let Some(link) = shortest_gap(&ways) else { return links };
            links.push(link);
        }
    }
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

/// The point of a line nearest to a position.
fn foot(line: Line<f64>, to: Coord<f64>) -> Coord<f64> {
    let along = line.delta();
    let length2 = along.x * along.x + along.y * along.y;
    if length2 == 0.0 {
        return line.start;
    }
    let from = to - line.start;
    line.start + along * ((from.x * along.x + from.y * along.y) / length2).clamp(0.0, 1.0)
}

/// The nearest of some edges: its index, the point on it, and how far that is.
fn nearest(edges: impl Iterator<Item = (usize, Line<f64>)>, to: Coord<f64>) -> (usize, Coord<f64>, f64) {
    edges
        .map(|(index, edge)| {
            let on = foot(edge, to);
            (index, on, Euclidean.distance(on, to))
        })
        .min_by(|a, b| a.2.total_cmp(&b.2))
        .unwrap_or((0, to, f64::INFINITY))
}

/// A graph under construction, in which the same position is the same node.
#[derive(Default)]
struct Graph {
    ways: Ways,
    index: std::collections::BTreeMap<(i64, i64), NodeIndex>,
}

impl Graph {
    fn node(&mut self, at: Coord<f64>) -> NodeIndex {
        let key = |x: i64, y: i64| (x, y);
        let (x, y) = ((at.x / SAME_M).round() as i64, (at.y / SAME_M).round() as i64);
        // A position that was rounded the other way lies in a neighbouring cell.
        let near = (-1..=1)
            .flat_map(|dx| (-1..=1).map(move |dy| key(x + dx, y + dy)))
            .find_map(|key| self.index.get(&key).copied());
        near.unwrap_or_else(|| {
            let node = self.ways.add_node(at);
            self.index.insert((x, y), node);
            node
        })
    }

    fn edge(&mut self, a: Coord<f64>, b: Coord<f64>) {
        let (from, to) = (self.node(a), self.node(b));
        if from != to {
            self.ways.update_edge(from, to, Euclidean.distance(a, b));
        }
    }
}
