//! Tramlines, network and walk, against shapely, networkx, OR-tools, TSPLIB and all orders tried out.

#![allow(clippy::unwrap_used)] // helpers of tests stop where something is wrong

#[path = "support/aisles.rs"]
mod aisles;

use awn_core::density::{Grid, inverse_distance};
use awn_core::walk::{
    EXACT_UP_TO, Ends, Network, Route, Site, TramlinePiece, WalkWish, inset, shortest_open_tour, shortest_tour,
    shortest_walk, shortest_walks, tramline_pieces, two_tours,
};
use awn_tests::random_field::RandomField;
use awn_tests::random_stops::{FIELDS, paths, stops_at_random, walk_table};
use geo::{Area as _, Coord, Distance as _, Euclidean, Length as _, Line, MultiPolygon, polygon};
use petgraph::algo::{dijkstra, min_spanning_tree};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
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

/// The shortest way from a place past some others to `end` by trying every order.
fn by_brute_force(distance: &[Vec<f64>], here: usize, left: &mut Vec<usize>, end: usize) -> f64 {
    if left.is_empty() {
        return distance[here][end];
    }
    let mut best = f64::INFINITY;
    for index in 0..left.len() {
        let next = left.swap_remove(index);
        best = best.min(distance[here][next] + by_brute_force(distance, next, left, end));
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
            let best = by_brute_force(&distance, 0, &mut (1..places).collect(), 0);
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
fn open_tours_are_the_shortest_of_all_orders() {
    let mut random = ChaCha8Rng::seed_from_u64(8);
    for places in 2..=9 {
        for _ in 0..8 {
            let distance = table(places, &mut random);
            let tour = shortest_open_tour(&distance);
            let best = by_brute_force(&distance, 0, &mut (1..places - 1).collect(), places - 1);
            assert!(tour.exact && (tour.length - best).abs() < 1e-9, "{places} places: {} {best}", tour.length);
            assert_eq!((tour.order.first(), tour.order.last()), (Some(&0), Some(&(places - 1))));
        }
    }
}

#[test]
fn two_tours_are_the_best_of_all_divisions_and_orders() {
    let mut random = ChaCha8Rng::seed_from_u64(9);
    for stops in 2..=7_usize {
        for (ends, stop_cost) in [(Ends::AtStart, 0.0), (Ends::AtStart, 0.3), (Ends::AtLast, 0.0), (Ends::AtLast, 0.3)] {
            let places = stops + if ends == Ends::AtStart { 1 } else { 2 };
            let end = if ends == Ends::AtStart { 0 } else { places - 1 };
            let distance = table(places, &mut random);
            let cost = |set: usize| {
                let mut own: Vec<usize> = (0..stops).filter(|stop| set >> stop & 1 == 1).map(|stop| stop + 1).collect();
                by_brute_force(&distance, 0, &mut own.clone(), end) + stop_cost * own.drain(..).count() as f64
            };
            let all = (1 << stops) - 1;
            let best = (1..all).map(|set| cost(set).max(cost(all ^ set))).fold(f64::INFINITY, f64::min);
            let tours = two_tours(&distance, ends, stop_cost);
            let taken = |order: &[usize]| order.len() - (places - stops);
            let ours = tours.iter().map(|tour| tour.length + stop_cost * taken(&tour.order) as f64).fold(0.0, f64::max);
            assert!((ours - best).abs() < 1e-9, "{stops} stops, {ends:?}: {ours} {best}");
            assert!(tours.iter().all(|tour| tour.exact && taken(&tour.order) > 0));
        }
    }
}

/// Whole-number distances of a file of TSPLIB (Reinelt 1991): rounded Euclidean ones of coordinates, or a lower triangle.
fn tsplib(name: &str) -> Vec<Vec<f64>> {
    let text = std::fs::read_to_string(awn_tests::project_path("tests/data").join(name)).unwrap();
    let section = |line: &&str| !line.ends_with("_SECTION");
    let values: Vec<Vec<f64>> = text
        .lines()
        .map(str::trim)
        .skip_while(section)
        .skip(1)
        .take_while(|line| *line != "EOF")
        .map(|line| line.split_whitespace().map(|value| value.parse().unwrap()).collect())
        .collect();
    if text.contains("EUC_2D") {
        let between = |a: &Vec<f64>, b: &Vec<f64>| (a[1] - b[1]).hypot(a[2] - b[2]).round();
        return values.iter().map(|a| values.iter().map(|b| between(a, b)).collect()).collect();
    }
    assert!(text.contains("LOWER_DIAG_ROW"));
    (0..values.len()).map(|a| (0..values.len()).map(|b| values[a.max(b)][a.min(b)]).collect()).collect()
}

#[test]
fn tours_of_tsplib_have_their_published_lengths() {
    // Optima as published with TSPLIB: gr17 2085, berlin52 7542.
    for (name, optimum) in [("gr17.tsp", 2085.0), ("berlin52.tsp", 7542.0)] {
        assert_eq!(shortest_tour(&tsplib(name)).length, optimum, "{name}");
    }
}

#[test]
fn tours_on_ladders_equal_those_of_ratliff_and_rosenthal() {
    let mut random = ChaCha8Rng::seed_from_u64(10);
    let mut worst = 1.0_f64;
    for stops in [4, 8, 12, 20, 30, 40, 50, 60] {
        for _ in 0..12 {
            let (lines, apart, height) =
                (random.random_range(2..16_usize), if random.random_bool(0.5) { 24.0 } else { 36.0 }, 300.0);
            let mut on = vec![Vec::new(); lines];
            let mut places = vec![(0.0, 0.0)];
            for _ in 0..stops {
                let (line, y) = (random.random_range(0..lines), random.random_range(0.0..height));
                on[line].push(y);
                places.push((apart * line as f64, y));
            }
            let between = |a: &(f64, f64), b: &(f64, f64)| {
                let up = if a.0 == b.0 { (a.1 - b.1).abs() } else { (a.1 + b.1).min(2.0 * height - a.1 - b.1) };
                (a.0 - b.0).abs() + up
            };
            let distance: Vec<Vec<f64>> = places.iter().map(|a| places.iter().map(|b| between(a, b)).collect()).collect();
            let (tour, optimum) = (shortest_tour(&distance), aisles::shortest(&on, apart, height));
            let ratio = tour.length / optimum;
            assert!(ratio > 1.0 - 1e-9 && (!tour.exact || ratio < 1.0 + 1e-9), "{stops} stops: {ratio}");
            worst = worst.max(ratio);
        }
    }
    println!("ladders: at worst {worst:.4} of the optimum");
    assert!(worst <= 1.001, "{worst}");
}

#[test]
fn tours_are_no_longer_than_those_of_or_tools() {
    // Guided local search by OR-tools 9.15 over 200 random fields: 0.1 s for up to 20 stops, 0.4 s for more.
    let tables: Vec<Vec<Vec<f64>>> = (0..FIELDS).into_par_iter().map(walk_table).collect();
    let seconds = |distance: &Vec<Vec<f64>>| if distance.len() > 21 { 0.4 } else { 0.1 };
    let case =
        |distance: &Vec<Vec<f64>>| json!({ "distance": distance, "people": 1, "end": 0, "seconds": seconds(distance) });
    let theirs = awn_tests::reference::run("tour", &tables.iter().map(case).collect());
    let ours: Vec<f64> = tables.par_iter().map(|distance| shortest_tour(distance).length).collect();
    let (mut sum, mut worst) = (0.0, 0.0_f64);
    for (number, ((distance, ours), theirs)) in tables.iter().zip(&ours).zip(theirs.as_array().unwrap()).enumerate() {
        let (stops, ratio) = (distance.len() - 1, ours / theirs.as_f64().unwrap());
        // Exact to 12 stops; the peer counts in millimetres.
        let most = if stops <= EXACT_UP_TO { 1.0 + 1e-5 } else { 1.02 };
        assert!(ratio <= most, "field {number}, {stops} stops: {ratio}");
        sum += ratio;
        worst = worst.max(ratio);
    }
    println!("{FIELDS} fields: {:.4} of OR-tools on average, {worst:.4} at worst", sum / FIELDS as f64);
    assert!(sum <= FIELDS as f64 * (1.0 + 1e-6), "{}", sum / FIELDS as f64);
}

#[test]
fn tours_lie_between_the_spanning_tree_and_twice_that() {
    // On shortest paths the triangle inequality holds: a tour is no shorter than the least spanning tree (petgraph's), and the
    // shortest no longer than twice that.
    for number in 0..40 {
        let distance = walk_table(number);
        let mut graph = petgraph::graph::UnGraph::<(), f64>::new_undirected();
        let nodes: Vec<_> = distance.iter().map(|_| graph.add_node(())).collect();
        for (a, row) in distance.iter().enumerate() {
            for (b, away) in row.iter().enumerate().skip(a + 1) {
                graph.add_edge(nodes[a], nodes[b], *away);
            }
        }
        let tree: f64 = min_spanning_tree(&graph)
            .filter_map(|part| match part {
                petgraph::data::Element::Edge { weight, .. } => Some(weight),
                petgraph::data::Element::Node { .. } => None,
            })
            .sum();
        let tour = shortest_tour(&distance).length;
        assert!(tour >= tree - 1e-6 && tour <= 2.0 * tree + 1e-6, "field {number}: {tour} for a tree of {tree}");
    }
}

#[test]
fn open_and_double_tours_are_no_longer_than_those_of_or_tools() {
    // The end is the last stop drawn. Of two tours OR-tools minimises the longer (global span).
    let tables = (20..24).map(|number| {
        let (network, gates, stops) = stops_at_random(number, if number % 2 == 0 { 20 } else { 40 });
        paths(&network, &[&gates[..1], &stops].concat())
    });
    for distance in tables {
        let last = distance.len() - 1;
        let case = |people: usize, end: usize| json!({ "distance": distance, "people": people, "end": end, "seconds": 1.5 });
        let theirs = awn_tests::reference::run("tour", &json!([case(1, last), case(2, 0), case(2, last)]));
        let longer = |ends| two_tours(&distance, ends, 0.0).iter().map(|tour| tour.length).fold(0.0, f64::max);
        let ours = [shortest_open_tour(&distance).length, longer(Ends::AtStart), longer(Ends::AtLast)];
        for (ours, theirs) in ours.iter().zip(theirs.as_array().unwrap()) {
            let ratio = ours / theirs.as_f64().unwrap();
            println!("{} places: {ratio:.4}", distance.len());
            assert!(ratio <= 1.02, "{} places: {ratio}", distance.len());
        }
    }
}

/// A walk keeps its word: its line is as long as it says, passes its stops in order, and starts and ends where it should.
fn hold(route: &Route, stops: &[Coord<f64>]) {
    assert!((Euclidean.length(&route.line) - route.length_m).abs() < 1e-6);
    let (first, last) = (route.line.0[0], route.line.0[route.line.0.len() - 1]);
    assert!(route.gate.is_none_or(|gate| Euclidean.distance(gate, first) < 1e-5));
    assert!(Euclidean.distance(route.end.unwrap_or(first), last) < 1e-5);
    let mut wanted = route.order.iter().map(|stop| stops[*stop]).peekable();
    for at in &route.line.0 {
        while wanted.next_if(|stop| Euclidean.distance(*stop, *at) < 1e-5).is_some() {}
    }
    assert_eq!(wanted.next(), None, "a stop is not on the walk");
}

#[test]
fn walks_keep_to_what_is_wished() {
    for (number, count) in [(30, 1), (31, 2), (32, 9), (33, 25)] {
        let (network, gates, stops) = stops_at_random(number, count);
        // A second gate where the tramlines end.
        let gates = [gates[0], network.tramlines[network.tramlines.len() / 2].along.end];
        let one = shortest_walk(&network, &gates, &stops).unwrap();
        for people in [1, 2] {
            for start in [None, Some(0), Some(1)] {
                for end in [None, Some(0), Some(1)] {
                    let wish = WalkWish { people, start, end, stop_cost_m: 40.0 };
                    let routes = shortest_walks(&network, &gates, &stops, &wish).unwrap();
                    let mut visited: Vec<usize> = routes.iter().flat_map(|route| route.order.clone()).collect();
                    visited.sort_unstable();
                    assert_eq!((visited, routes.len()), ((0..count).collect(), people.min(count)));
                    for route in &routes {
                        hold(route, &stops);
                        assert!(start.is_none_or(|start| route.gate == Some(gates[start])));
                        let ends_at = route.end.or(route.gate);
                        assert!(end.is_none_or(|end| ends_at == Some(gates[end])));
                        assert!(
                            people == 1 || count == 1 || route.length_m <= one.length_m + 1e-6 || start.or(end).is_some()
                        );
                    }
                }
            }
        }
        // Without gates: from a stop.
        for people in [1, 2] {
            let routes = shortest_walks(&network, &[], &stops, &WalkWish { people, ..WalkWish::default() }).unwrap();
            let mut visited: Vec<usize> = routes.iter().flat_map(|route| route.order.clone()).collect();
            visited.sort_unstable();
            assert_eq!(visited, (0..count).collect::<Vec<_>>());
            for route in &routes {
                hold(route, &stops);
            }
        }
        let missing = WalkWish { end: Some(2), ..WalkWish::default() };
        assert_eq!(shortest_walks(&network, &gates, &stops, &missing), None);
    }
}

fn pieces(lines: impl IntoIterator<Item = Line<f64>>) -> Vec<TramlinePiece> {
    lines.into_iter().zip(1..).map(|(along, line)| TramlinePiece { line, along }).collect()
}

#[test]
fn on_a_grid_of_two_sets_paths_are_manhattan() {
    let upright = (0..9).map(|k| Line::new((24.0 * f64::from(k), -10.0), (24.0 * f64::from(k), 250.0)));
    let level = (0..11).map(|k| Line::new((-7.0, 24.0 * f64::from(k)), (200.0, 24.0 * f64::from(k))));
    let network = Network::from_lines(pieces(upright.chain(level)), Vec::new());
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let crossings: Vec<Coord<f64>> = (0..20)
        .map(|_| Coord { x: 24.0, y: 24.0 })
        .map(|at| Coord { x: at.x * f64::from(random.random_range(0..9)), y: at.y * f64::from(random.random_range(0..11)) })
        .collect();
    for (a, row) in crossings.iter().zip(paths(&network, &crossings)) {
        for (b, ours) in crossings.iter().zip(row) {
            assert!((ours - (a.x - b.x).abs() - (a.y - b.y).abs()).abs() < 1e-9, "{a:?} {b:?}: {ours}");
        }
    }
}

#[test]
fn paths_on_two_crossing_sets_equal_those_of_shapely_and_networkx() {
    for number in 40..44 {
        let land = RandomField::numbered(number);
        let site = Site::of(&land.records, &land.records.fields[&land.field]).unwrap();
        let lines = site.tramlines[0].clone();
        let anchor = lines.anchor;
        let reach = inset(&site.open, lines.headland_m / 2.0);
        let first = Network::of(&site);
        let second = tramline_pieces(&reach, anchor, lines.bearing_deg + 67.0, 40.0);
        let both = [first.tramlines.clone(), second].concat();
        let network = Network::from_lines(both.clone(), first.loops.clone());
        let lines: Vec<Line<f64>> = both.iter().map(|piece| piece.along).chain(first.loops.iter().copied()).collect();
        let places: Vec<Coord<f64>> =
            both.iter().step_by(5).flat_map(|piece| [piece.along.start, piece.along.end]).collect();
        let given = json!({
            "lines": lines.iter().map(|line| json!([line.start.x, line.start.y, line.end.x, line.end.y])).collect::<Vec<_>>(),
            "places": places.iter().map(|at| json!([at.x, at.y])).collect::<Vec<_>>(),
        });
        let theirs = awn_tests::reference::run("crossings", &given);
        let (ours, apart) = (paths(&network, &places), paths(&first, &places));
        let mut shorter = 0;
        for (a, row) in theirs.as_array().unwrap().iter().enumerate() {
            for (b, theirs) in row.as_array().unwrap().iter().enumerate() {
                // Snap rounding moves every corner of a path by up to 0.1 mm.
                assert!((ours[a][b] - theirs.as_f64().unwrap()).abs() < 0.02, "field {number}: {} {theirs}", ours[a][b]);
                shorter += usize::from(ours[a][b] < apart[a][b] - 1.0);
            }
        }
        assert!(shorter > 0, "field {number}: the second set shortens nothing");
    }
}

#[test]
fn tramlines_that_end_short_of_the_headland_loop_lead_on_to_it() {
    // Lines recorded as far as a headland of 24 m, a loop in the middle of it: 24 m along it, and 2 x 88 m to it and back.
    let lines = (0..6).map(|k| 36.0 + 24.0 * f64::from(k)).map(|x| Line::new((x, 24.0), (x, 176.0)));
    let corners = [(12.0, 12.0), (188.0, 12.0), (188.0, 188.0), (12.0, 188.0), (12.0, 12.0)];
    let round = corners.windows(2).map(|pair| Line::new(pair[0], pair[1])).collect();
    let network = Network::from_lines(pieces(lines), round);
    let between = paths(&network, &[Coord { x: 36.0, y: 100.0 }, Coord { x: 60.0, y: 100.0 }])[0][1];
    assert!((between - 200.0).abs() < 1e-9, "{between}");
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
    let grid = Grid {
        origin: Coord { x: 0.0, y: 0.0 },
        along: Coord { x: 0.0, y: 1.0 },
        cell_m: 20.0,
        columns: 15,
        rows: 10,
        values: vec![0.0; 150],
    };
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
