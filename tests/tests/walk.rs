//! Tramlines, network and walk, against shapely, networkx and all orders tried out.

#![allow(clippy::unwrap_used)] // helpers of tests stop where something is wrong

use awn_core::density::{Grid, inverse_distance};
use awn_core::walk::{EXACT_UP_TO, Network, Site, inset, shortest_tour, tramline_pieces};
use awn_tests::random_field::RandomField;
use geo::{Area as _, Coord, Euclidean, Length as _, MultiPolygon, polygon};
use petgraph::algo::dijkstra;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

/// A five-cornered field with a square hole, 156 550 m2.
fn five_corners() -> MultiPolygon<f64> {
    MultiPolygon(vec![polygon!(
        exterior: [(x: 0., y: 0.), (x: 420., y: 30.), (x: 450., y: 300.), (x: 300., y: 420.), (x: 20., y: 380.)],
        interiors: [[(x: 200., y: 150.), (x: 240., y: 150.), (x: 240., y: 200.), (x: 200., y: 200.)]],
    )])
}

#[test]
fn insets_and_lines_equal_those_of_geos() {
    // GEOS 3.14 through shapely: mitred insets by 12 and 24 m, and 24 m lines at 10 degrees through (225, 210) clipped to the latter.
    let field = five_corners();
    assert!((field.unsigned_area() - 156_550.0).abs() < 1e-6);
    let theirs = awn_tests::reference::run("inset", &json!({}));
    for (distance, printed) in [(12.0, 135_778.636), (24.0, 114_941.201)] {
        let ours = inset(&field, distance).unsigned_area();
        let shapely = theirs[format!("{distance:.0}")].as_f64().unwrap();
        assert!((ours - printed).abs() < 0.01 && (ours - shapely).abs() < 0.01, "{distance}: {ours} {shapely}");
    }
    let pieces = tramline_pieces(&inset(&field, 24.0), Coord { x: 225.0, y: 210.0 }, 10.0, 24.0);
    let length: f64 = pieces.iter().map(|piece| Euclidean.length(&piece.along)).sum();
    assert_eq!((pieces.len(), theirs["pieces"].as_u64()), (22, Some(22)));
    assert!((length - 4808.7277).abs() < 1e-3 && (length - theirs["length"].as_f64().unwrap()).abs() < 1e-3, "{length}");
}

#[test]
fn shortest_paths_equal_those_of_networkx() {
    for number in 0..6 {
        let land = RandomField::numbered(number);
        let site = Site::of(&land.records, &land.records.fields[&land.field]).unwrap();
        let network = Network::of(&site);
        let middles = network.tramlines.iter().step_by(2).map(|piece| (piece.along.start + piece.along.end) / 2.0);
        let places: Vec<Coord<f64>> = site.gates.iter().copied().chain(middles).collect();
        let (ways, nodes) = network.with_places(&places);
        let edges: Vec<Value> =
            ways.raw_edges().iter().map(|edge| json!([edge.source().index(), edge.target().index(), edge.weight])).collect();
        let wanted: Vec<usize> = nodes.iter().map(|node| node.index()).collect();
        let theirs = awn_tests::reference::run("paths", &json!({ "edges": edges, "nodes": wanted }));
        for (from, row) in nodes.iter().zip(theirs.as_array().unwrap()) {
            let ours = dijkstra(&ways, *from, None, |edge| *edge.weight());
            for (to, theirs) in nodes.iter().zip(row.as_array().unwrap()) {
                assert!((ours[to] - theirs.as_f64().unwrap()).abs() < 1e-6, "field {number}");
            }
        }
    }
}

/// Distances between random places in a square.
fn table(places: usize, random: &mut ChaCha8Rng) -> Vec<Vec<f64>> {
    let at: Vec<(f64, f64)> = (0..places).map(|_| (random.random::<f64>(), random.random::<f64>())).collect();
    at.iter().map(|a| at.iter().map(|b| (a.0 - b.0).hypot(a.1 - b.1)).collect()).collect()
}

/// The shortest closed tour by trying every order.
fn by_brute_force(distance: &[Vec<f64>], here: usize, left: &mut Vec<usize>) -> f64 {
    if left.is_empty() {
        return distance[here][0];
    }
    let mut best = f64::INFINITY;
    for index in 0..left.len() {
        let next = left.swap_remove(index);
        best = best.min(distance[here][next] + by_brute_force(distance, next, left));
        left.push(next);
        let last = left.len() - 1;
        left.swap(index, last);
    }
    best
}

#[test]
fn tours_are_the_shortest_of_all_orders() {
    let mut random = ChaCha8Rng::seed_from_u64(5);
    for places in 2..=9 {
        for _ in 0..8 {
            let distance = table(places, &mut random);
            let tour = shortest_tour(&distance);
            let best = by_brute_force(&distance, 0, &mut (1..places).collect());
            assert!(tour.exact && (tour.length - best).abs() < 1e-9, "{places} places: {} {best}", tour.length);
            let mut visited = tour.order.clone();
            visited.sort_unstable();
            assert_eq!(visited, (0..places).collect::<Vec<_>>());
        }
    }
}

#[test]
fn tours_of_many_places_visit_each_once_and_are_not_called_exact() {
    let mut random = ChaCha8Rng::seed_from_u64(6);
    for places in [EXACT_UP_TO + 2, 30, 60] {
        let tour = shortest_tour(&table(places, &mut random));
        let mut visited = tour.order.clone();
        visited.sort_unstable();
        assert_eq!((tour.order[0], visited, tour.exact), (0, (0..places).collect::<Vec<_>>(), false));
    }
}

#[test]
fn inverse_distance_equals_numpy() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let points: Vec<(Coord<f64>, f64)> = (0..60)
        .map(|_| {
            (
                Coord { x: random.random_range(0.0..300.0), y: random.random_range(0.0..200.0) },
                random.random_range(0.0..90.0),
            )
        })
        .collect();
    let grid = Grid { origin: Coord { x: 0.0, y: 0.0 }, cell_m: 20.0, columns: 15, rows: 10, values: vec![0.0; 150] };
    let ours = inverse_distance(&grid, &points);
    let given = json!({
        "points": points.iter().map(|(at, value)| json!([at.x, at.y, value])).collect::<Vec<_>>(),
        "cells": grid.cells().map(|(at, _)| json!([at.x, at.y])).collect::<Vec<_>>(),
    });
    let theirs = awn_tests::reference::run("idw", &given);
    for (ours, theirs) in ours.iter().zip(theirs.as_array().unwrap()) {
        assert!((ours - theirs.as_f64().unwrap()).abs() < 1e-9, "{ours} {theirs}");
    }
}
