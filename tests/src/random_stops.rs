//! Stops drawn along the tramlines of random fields, and the tables of shortest ways between them, for tests of walks.

use awn_core::walk::{Network, Site};
use geo::{Coord, Euclidean, Length as _};
use petgraph::algo::dijkstra;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use crate::random_field::RandomField;

/// Fields whose walks are held against a peer.
pub const FIELDS: u64 = 200;

/// The network of a random field, its gates, and stops drawn along its tramlines.
pub fn stops_at_random(number: u64, count: usize) -> (Network, Vec<Coord<f64>>, Vec<Coord<f64>>) {
    let land = RandomField::numbered(number);
    let site = Site::of(&land.records, &land.records.fields[&land.field]).unwrap();
    let network = Network::of(&site);
    let mut random = ChaCha8Rng::seed_from_u64(number);
    let lengths: Vec<f64> = network.tramlines.iter().map(|piece| Euclidean.length(&piece.along)).collect();
    let draw = |_| {
        let mut left = random.random_range(0.0..lengths.iter().sum());
        let on = lengths.iter().position(|length| {
            left -= length;
            left < 0.0
        });
        let piece = network.tramlines[on.unwrap()].along;
        piece.start + piece.delta() * random.random::<f64>()
    };
    let stops = (0..count).map(draw).collect();
    (network, site.gates, stops)
}

/// Lengths of the shortest paths between places, by petgraph.
pub fn paths(network: &Network, places: &[Coord<f64>]) -> Vec<Vec<f64>> {
    let (ways, nodes) = network.with_places(places);
    let from = |node| {
        let found = dijkstra(&ways, node, None, |edge| *edge.weight());
        nodes.iter().map(|node| found[node]).collect()
    };
    nodes.iter().map(|node| from(*node)).collect()
}

/// Distances between the gate and 12 to 60 stops of one of the [`FIELDS`].
pub fn walk_table(number: u64) -> Vec<Vec<f64>> {
    let (network, gates, stops) = stops_at_random(number, [12, 15, 20, 30, 45, 60][number as usize % 6]);
    paths(&network, &[&gates[..1], &stops].concat())
}
