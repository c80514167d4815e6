//! The closed walk: from a gate past all stops and back, on the network.

use geo::{Coord, Distance as _, Euclidean, LineString};
use petgraph::algo::{astar, dijkstra};
use petgraph::graph::NodeIndex;

use crate::walk::network::Ways;
use crate::walk::{Network, shortest_tour};

/// A closed walk.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// The way, closed; m.
    pub line: LineString<f64>,
    /// Its length, m.
    pub length_m: f64,
    /// Indices of the stops in walking order.
    pub order: Vec<usize>,
    /// The gate it starts from; none: it starts at the first stop.
    pub gate: Option<Coord<f64>>,
    /// Whether no shorter order exists.
    pub exact: bool,
}

/// The shortest closed walk past `stops` from whichever gate gives it. None without stops, or when a stop cannot be reached.
pub fn shortest_walk(network: &Network, gates: &[Coord<f64>], stops: &[Coord<f64>]) -> Option<Route> {
    if stops.is_empty() {
        return None;
    }
    let places: Vec<Coord<f64>> = gates.iter().chain(stops).copied().collect();
    let (ways, nodes) = network.with_places(&places);
    let from_each: Vec<Vec<f64>> = nodes.iter().map(|node| distances(&ways, *node, &nodes)).collect();
    let own: Vec<usize> = (gates.len()..places.len()).collect();
    let starts: Vec<Option<usize>> = if gates.is_empty() { vec![None] } else { (0..gates.len()).map(Some).collect() };
    let best = starts
        .into_iter()
        .map(|gate| {
            let visited: Vec<usize> = gate.into_iter().chain(own.iter().copied()).collect();
            let matrix: Vec<Vec<f64>> =
                visited.iter().map(|a| visited.iter().map(|b| from_each[*a][*b]).collect()).collect();
            (gate, visited, shortest_tour(&matrix))
        })
        .min_by(|a, b| a.2.length.total_cmp(&b.2.length))?;
    let (gate, visited, tour) = best;
    if !tour.length.is_finite() {
        return None;
    }
    let mut around: Vec<usize> = tour.order.iter().map(|at| visited[*at]).collect();
    if is_backward(&around, &places) {
        around[1..].reverse();
    }
    let line = line_along(&ways, &nodes, &around)?;
    let order = around.iter().filter(|at| **at >= gates.len()).map(|at| at - gates.len()).collect();
    Some(Route { line, length_m: tour.length, order, gate: gate.map(|gate| gates[gate]), exact: tour.exact })
}

fn distances(ways: &Ways, from: NodeIndex, to: &[NodeIndex]) -> Vec<f64> {
    let found = dijkstra(ways, from, None, |edge| *edge.weight());
    to.iter().map(|node| found.get(node).copied().unwrap_or(f64::INFINITY)).collect()
}

/// A closed tour is as long either way round; this settles which is walked, whatever order the stops were given in: to the
/// western of the two neighbours of the start first.
fn is_backward(around: &[usize], places: &[Coord<f64>]) -> bool {
    let key = |at: Option<&usize>| at.and_then(|at| places.get(*at)).map_or((0.0, 0.0), |place| (place.x, place.y));
    around.len() > 2 && key(around.get(1)) > key(around.last())
}

fn line_along(ways: &Ways, nodes: &[NodeIndex], around: &[usize]) -> Option<LineString<f64>> {
    let mut line: Vec<Coord<f64>> = vec![ways[nodes[*around.first()?]]];
    let next = around.iter().cycle().skip(1);
    for (a, b) in around.iter().zip(next) {
        let goal = nodes[*b];
        let ahead = |node: NodeIndex| Euclidean.distance(ways[node], ways[goal]);
        let (_, path) = astar(ways, nodes[*a], |node| node == goal, |edge| *edge.weight(), ahead)?;
        line.extend(path.iter().skip(1).map(|node| ways[*node]));
    }
    Some(LineString(line))
}
