//! Free ground: straight ways inside a field, round its corners, holes and no-go areas (a visibility graph).

use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Contains as _, Coord, Distance as _, Euclidean, Line, MultiPolygon, Point, Simplify as _};
use petgraph::graph::{NodeIndex, UnGraph};

use crate::walk::lines::inset;
use crate::walk::noded::Ways;

/// Corners are walked round at this distance, m.
const CLEAR_M: f64 = 1.0;
/// Outlines are simplified to this, m: nobody walks every bend of a hedge.
const SIMPLE_M: f64 = 2.0;

/// The ways between places inside `open`, and the nodes of the places in their order.
pub(super) fn ways(open: &MultiPolygon<f64>, places: &[Coord<f64>]) -> (Ways, Vec<NodeIndex>) {
    let simple = open.simplify(SIMPLE_M);
    let edges: Vec<Line<f64>> = simple
        .iter()
        .flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()))
        .flat_map(|ring| ring.lines().collect::<Vec<_>>())
        .collect();
    let corners = inset(&simple, CLEAR_M).simplify(SIMPLE_M / 2.0);
    let mut graph = UnGraph::default();
    let nodes: Vec<NodeIndex> = places.iter().map(|place| graph.add_node(*place)).collect();
    for ring in corners.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors())) {
        for corner in ring.0.iter().skip(1) {
            graph.add_node(*corner);
        }
    }
    let all: Vec<NodeIndex> = graph.node_indices().collect();
    for (index, a) in all.iter().enumerate() {
        for b in all.iter().skip(index + 1) {
            let way = Line::new(graph[*a], graph[*b]);
            if sees(&simple, &edges, way) {
                graph.add_edge(*a, *b, Euclidean.distance(way.start, way.end));
            }
        }
    }
    join_blind(&mut graph, &all);
    (graph, nodes)
}

/// Whether a straight way stays inside: it crosses no edge, and its middle lies inside.
fn sees(shape: &MultiPolygon<f64>, edges: &[Line<f64>], way: Line<f64>) -> bool {
    let crosses = |edge: &Line<f64>| {
        matches!(line_intersection(way, *edge), Some(LineIntersection::SinglePoint { is_proper: true, .. }))
    };
    let middle = way.start + way.delta() / 2.0;
    !edges.iter().any(crosses) && shape.contains(&Point(middle))
}

/// A place that sees nothing, such as a gate outside the boundary, is linked to the nearest other node.
fn join_blind(graph: &mut Ways, all: &[NodeIndex]) {
    for node in all {
        if graph.neighbors(*node).next().is_some() {
            continue;
        }
        let at = graph[*node];
        let others = all.iter().filter(|other| *other != node);
        let nearest =
            others.min_by(|a, b| Euclidean.distance(graph[**a], at).total_cmp(&Euclidean.distance(graph[**b], at)));
        if let Some(nearest) = nearest {
            let length = Euclidean.distance(graph[*nearest], at);
            graph.add_edge(*node, *nearest, length);
        }
    }
}
