//! How stops spread: known values of spatial samples, and surveys that say little or nothing.

#![allow(clippy::unwrap_used)] // helpers of tests stop where something is wrong

use awn_core::model::{Method, Plan, PlanSettings, Record, ScoutPoint, Survey};
use awn_core::progress::Quiet;
use awn_core::stops::{self, Cell, best_kmeans, inertia, kmeans, shares};
use awn_core::walk::Site;
use awn_tests::random_field::RandomField;
use geo::{Coord, Distance as _, Euclidean, Point};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

/// Square cells over a square of 1000 m with its corner at `left`, `side` to a side, all of one density.
fn square(left: f64, side: u32, density: f64) -> Vec<Cell> {
    let middle = |k: u32| (f64::from(k) + 0.5) * 1000.0 / f64::from(side);
    let cell = |k: u32| Cell {
        at: Coord { x: left + middle(k % side), y: middle(k / side) },
        population: density,
        weight: density.powi(2),
    };
    (0..side * side).map(cell).collect()
}

#[test]
fn a_square_is_covered_as_well_as_can_be() {
    // Mean squared distance to the nearest of n centres on a square of side 1: 1 / (6 n) for n = k^2 on the square lattice, a known
    // optimum for few centres (0.04167, 0.01852, 0.01042); within 2 %.
    let cells = square(0.0, 100, 1.0);
    for n in [4, 9, 16] {
        let found = best_kmeans(&cells, n, 10, 1).inertia / cells.len() as f64 / 1e6;
        let known = 1.0 / (6.0 * n as f64);
        assert!((found / known - 1.0).abs() < 0.02, "{n}: {found}, not {known}");
    }
}

#[test]
fn patches_as_large_and_dense_get_as_many_each() {
    let cells = [square(0.0, 40, 2.0), square(5_000.0, 40, 2.0)].concat();
    for n in [2, 6, 10, 20] {
        let centres = best_kmeans(&cells, n, 10, 1).centres;
        assert_eq!(centres.iter().filter(|centre| centre.x < 3_000.0).count(), n / 2, "{n}");
    }
}

#[test]
fn centres_are_the_weighted_middles_of_their_cells() {
    // The condition of Lloyd (1982): each centre is the weighted centroid of the cells nearest to it.
    let land = RandomField::numbered(2);
    let surface = awn_core::density::surface(&land.records, &land.records.fields[&land.field], land.year, 5.0).unwrap();
    let cells: Vec<Cell> =
        surface.grid.cells().map(|(at, value)| Cell { at, population: value, weight: value * value }).collect();
    for n in [3, 8, 20] {
        let found = kmeans(&cells, n, &mut ChaCha8Rng::seed_from_u64(5));
        assert!((found.inertia / inertia(&cells, &found.centres) - 1.0).abs() < 1e-12);
        let mut sums = vec![(0.0, 0.0, 0.0); n];
        for cell in &cells {
            let away = |centre: &Coord<f64>| (centre.x - cell.at.x).powi(2) + (centre.y - cell.at.y).powi(2);
            let nearest = (0..n).min_by(|a, b| away(&found.centres[*a]).total_cmp(&away(&found.centres[*b]))).unwrap();
            sums[nearest].0 += cell.weight * cell.at.x;
            sums[nearest].1 += cell.weight * cell.at.y;
            sums[nearest].2 += cell.weight;
        }
        for (centre, (x, y, weight)) in found.centres.iter().zip(sums) {
            let off = (centre.x - x / weight).hypot(centre.y - y / weight);
            assert!(off < 0.1, "{n} centres: one lies {off} m off");
        }
    }
}

#[test]
fn shares_of_the_ten_unit_example_are_as_even_as_pielou_has_it() {
    // Ten units on a line, of which 0, 3, 5, 8 and 9 are taken: 1 - J = 0.0362936419 with Pielou's J = -sum q ln q / ln n of the
    // shares q (by two independent programs).
    let p = [0.2, 0.25, 0.35, 0.4, 0.5, 0.5, 0.55, 0.65, 0.7, 0.9];
    let at = |x: usize| Coord { x: x as f64, y: 0.0 };
    let cells: Vec<Cell> = p.iter().enumerate().map(|(x, p)| Cell { at: at(x), population: *p, weight: *p }).collect();
    let held = shares(&cells, &[0, 3, 5, 8, 9].map(at));
    let evenness = -held.iter().map(|share| share * share.ln()).sum::<f64>() / 5.0_f64.ln();
    assert!((1.0 - evenness - 0.036_293_641_9).abs() < 1e-10, "{}", 1.0 - evenness);
}

/// A plan of a random field of which the survey holds other points.
fn surveyed(number: u64, settings: &PlanSettings, points: impl Fn(&[ScoutPoint]) -> Vec<ScoutPoint>) -> Plan {
    let land = RandomField::numbered(number);
    let mut records = land.records.clone();
    let survey = (**records.surveys.values().next().unwrap()).clone();
    let points = points(&survey.points);
    records.put(Record::Survey(Survey { points, ..survey }));
    stops::propose(&records, land.field, land.year, settings, &Quiet).unwrap()
}

#[test]
fn surveys_that_say_nothing_of_where_spread_stops_evenly() {
    let value = |points: &[ScoutPoint], value: f64| {
        points.iter().map(|point| ScoutPoint { value, ..point.clone() }).collect::<Vec<_>>()
    };
    for number in 0..6 {
        for method in [Method::EvenCover, Method::RandomDraw] {
            let settings = PlanSettings { stops: 8, method, ..PlanSettings::default() };
            let none = surveyed(number, &settings, |points| value(points, 0.0));
            let same = surveyed(number, &settings, |points| value(points, 7.0));
            let one = surveyed(number, &settings, |points| points[..1].to_vec());
            for plan in [&none, &same, &one] {
                assert_eq!(plan.stops.len(), 8);
                assert!(plan.stops.iter().all(|stop| stop.share.is_finite()));
                let most = if method == Method::EvenCover { 0.05 } else { 0.6 };
                assert!(plan.figures.balance <= most, "field {number}, {method:?}: {:?}", plan.figures);
            }
            let positions = |plan: &Plan| plan.stops.iter().map(|stop| stop.position).collect::<Vec<_>>();
            assert_eq!(positions(&none), positions(&same), "field {number}, {method:?}");
        }
    }
}

#[test]
fn stops_stand_round_the_one_place_where_the_weed_was_seen() {
    // Counts lie on a lattice of 20 m and a cell is read from the nearest 16, which lie within two of its diagonals: so far the one
    // count that is not nought reaches.
    let reach = 2.0 * 2.0_f64.sqrt() * 20.0;
    let mut looked_at = 0;
    for number in 0..24 {
        let land = RandomField::numbered(number);
        let site = Site::of(&land.records, &land.records.fields[&land.field]).unwrap();
        let points = land.records.surveys.values().next().unwrap().points.clone();
        let metres = |point: &ScoutPoint| site.plane.metres(point.position);
        let depth = |point: &ScoutPoint| {
            let rings = site.open.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
            rings.map(|ring| Euclidean.distance(ring, &Point(metres(point)))).fold(f64::INFINITY, f64::min)
        };
        // The count farthest from all edges, where headlands take nothing of what it reaches.
        let only = (0..points.len()).max_by(|a, b| depth(&points[*a]).total_cmp(&depth(&points[*b]))).unwrap();
        if depth(&points[only]) < site.headland_m() + reach {
            continue;
        }
        looked_at += 1;
        let settings = PlanSettings { stops: 5, ..PlanSettings::default() };
        let plan = surveyed(number, &settings, |points| {
            let value = |at: usize| if at == only { 30.0 } else { 0.0 };
            points.iter().enumerate().map(|(at, point)| ScoutPoint { value: value(at), ..point.clone() }).collect()
        });
        assert_eq!(plan.stops.len(), 5);
        let seen = metres(&points[only]);
        let away = |at: Coord<f64>| Euclidean.distance(site.plane.metres(at), seen);
        let farthest = plan.stops.iter().map(|stop| away(stop.position)).fold(0.0, f64::max);
        // From there a tramline lies within 18 m; balance may take a stop two spacings further.
        assert!(farthest < reach + 18.0 + 25.0, "field {number}: a stop lies {farthest} m off");
        assert!(plan.figures.weighted_distance_m < reach, "field {number}: {:?}", plan.figures);
    }
    assert!(looked_at >= 4, "only {looked_at} fields are wide enough");
}

#[test]
fn more_stops_than_places_are_as_many_as_fit_and_said() {
    let land = RandomField::numbered(1);
    for method in [Method::EvenCover, Method::RandomDraw] {
        // A place each 80 m: fewer than 200.
        let settings = PlanSettings { stops: 200, candidate_step_m: 80.0, method, ..PlanSettings::default() };
        let plan = stops::propose(&land.records, land.field, land.year, &settings, &Quiet).unwrap();
        assert!(plan.stops.len() < 200 && !plan.stops.is_empty());
        assert!(plan.notes.iter().any(|note| note.starts_with("Only ")), "{method:?}: {:?}", plan.notes);
    }
}
