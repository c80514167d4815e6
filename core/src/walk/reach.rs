//! Shortest paths over the network from one place to all others (Dijkstra 1959).
//!
//! petgraph's own gives the distances in a hash map and without the paths; a walk asks for both from each of its places.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef as _;

use crate::walk::noded::Ways;

/// Distances from one node and the ways there.
pub(super) struct Reach {
    distance: Vec<f64>,
    before: Vec<NodeIndex>,
}

/// A node to go on from, the nearest first.
struct Waiting(f64, NodeIndex);

impl Reach {
    pub(super) fn from(ways: &Ways, start: NodeIndex) -> Self {
        let mut distance = vec![f64::INFINITY; ways.node_count()];
        let mut before = vec![start; ways.node_count()];
        distance[start.index()] = 0.0;
        let mut waiting = BinaryHeap::from([Waiting(0.0, start)]);
        while let Some(Waiting(so_far, node)) = waiting.pop() {
            if so_far > distance[node.index()] {
                continue;
            }
            for edge in ways.edges(node) {
                let (next, longer) = (edge.target(), so_far + edge.weight());
                if longer < distance[next.index()] {
                    distance[next.index()] = longer;
                    before[next.index()] = node;
                    waiting.push(Waiting(longer, next));
                }
            }
        }
        Self { distance, before }
    }

    /// Distance to a node, m; infinite if no way leads there.
    pub(super) fn distance(&self, to: NodeIndex) -> f64 {
        self.distance[to.index()]
    }

    /// The nodes on the way to a node, without the start; none if there is no way.
    pub(super) fn path(&self, to: NodeIndex) -> Option<Vec<NodeIndex>> {
        if self.distance(to).is_infinite() {
            return None;
        }
        let mut path = Vec::new();
        let mut here = to;
        while self.distance(here) > 0.0 {
            path.push(here);
            here = self.before[here.index()];
        }
        path.reverse();
        Some(path)
    }
}

impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> Ordering {
        // Turned round: the heap gives the greatest first.
        other.0.total_cmp(&self.0).then(other.1.cmp(&self.1))
    }
}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Waiting {}
