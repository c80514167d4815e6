//! Random draws and what is estimated from them, and plans beside each other.

#![allow(clippy::unwrap_used)] // helpers of tests stop where something is wrong

use awn_core::model::{Method, PlanSettings};
use awn_core::progress::Quiet;
use awn_core::stops::{self, PlanError, horvitz_thompson, local_pivotal};
use awn_tests::random_field::RandomField;
use geo::Coord;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

#[test]
fn every_place_is_drawn_as_often_as_its_chance_says() {
    // The ten-unit example of Grafström, Lundström and Schelin 2012 (Biometrics 68:514-520): 20 000 draws of five.
    let chances = [0.2, 0.25, 0.35, 0.4, 0.5, 0.5, 0.55, 0.65, 0.7, 0.9];
    let places: Vec<Coord<f64>> = (0..10).map(|x| Coord { x: f64::from(x), y: 0.0 }).collect();
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let draws = 20_000;
    let mut drawn = [0_u32; 10];
    for _ in 0..draws {
        let sample = local_pivotal(&places, &chances, &mut random);
        assert_eq!(sample.len(), 5);
        for index in sample {
            drawn[index] += 1;
        }
    }
    for (p, count) in chances.iter().zip(drawn) {
        let frequency = f64::from(count) / f64::from(draws);
        let z = (frequency - p) / (p * (1.0 - p) / f64::from(draws)).sqrt();
        assert!(z.abs() < 4.0, "{p}: {frequency}, z = {z}");
    }
}

#[test]
fn the_estimate_is_unbiased_and_its_error_honest() {
    // A value with a trend over 400 places, drawn with unequal chances: the mean of the estimates is the truth, and the mean of
    // the estimated variances is near the variance that the estimates have.
    let mut random = ChaCha8Rng::seed_from_u64(3);
    let places: Vec<Coord<f64>> =
        (0..400).map(|k| Coord { x: f64::from(k % 20) * 10.0, y: f64::from(k / 20) * 10.0 }).collect();
    let values: Vec<f64> = places.iter().map(|at| 2.0 + at.x / 50.0 + 2.0 * random.random::<f64>()).collect();
    let sizes: Vec<f64> = places.iter().map(|at| 1.0 + at.y / 100.0).collect();
    let chances = stops::inclusion_probabilities(&sizes, 20);
    let truth = values.iter().sum::<f64>() / 400.0;
    let (mut sum, mut squares, mut variances) = (0.0, 0.0, 0.0);
    let draws = 2_000;
    for _ in 0..draws {
        let sample = local_pivotal(&places, &chances, &mut random);
        let of = |list: &[f64]| sample.iter().map(|index| list[*index]).collect::<Vec<f64>>();
        let at: Vec<Coord<f64>> = sample.iter().map(|index| places[*index]).collect();
        let found = horvitz_thompson(&at, &of(&values), &of(&chances), 400.0).unwrap();
        sum += found.mean;
        squares += (found.mean - truth).powi(2);
        variances += found.standard_error.powi(2);
    }
    let (mean, variance, said) = (sum / f64::from(draws), squares / f64::from(draws), variances / f64::from(draws));
    assert!((mean - truth).abs() < 4.0 * (variance / f64::from(draws)).sqrt(), "{mean}, truth {truth}");
    println!("variance estimated / true: {:.2}", said / variance);
    assert!((0.7..2.0).contains(&(said / variance)), "{said} {variance}");
}

#[test]
fn a_draw_keeps_off_the_headland_and_is_left_where_it_fell() {
    for number in 0..12 {
        let land = RandomField::numbered(number);
        let settings = PlanSettings { method: Method::RandomDraw, stops: 10, ..PlanSettings::default() };
        let plan = stops::propose(&land.records, land.field, land.year, &settings, &Quiet).unwrap();
        assert_eq!((plan.stops.len(), plan.method), (10, Method::RandomDraw));
        assert!(plan.stops.iter().all(|stop| stop.inclusion.is_some_and(|chance| chance > 0.0 && chance <= 1.0)));
        // In proportion to density and read from the same surface, the estimate hardly errs.
        let estimate = plan.estimate.unwrap();
        assert!(estimate.mean > 0.0 && estimate.standard_error < 0.5 * estimate.mean, "{estimate:?}");
    }
}

#[test]
fn every_way_of_choosing_can_be_set_beside_a_plan() {
    let land = RandomField::numbered(4);
    let settings = PlanSettings { stops: 8, ..PlanSettings::default() };
    let plan = stops::propose(&land.records, land.field, land.year, &settings, &Quiet).unwrap();
    let others = stops::compare(&land.records, &plan, &Quiet).unwrap();
    let ways: Vec<Method> = others.iter().map(|plan| plan.method).collect();
    assert_eq!(ways, [Method::RandomDraw, Method::AtGate, Method::WalkedW, Method::OneTramline]);
    for other in &others {
        assert_eq!(other.stops.len(), 8, "{:?}", other.method);
        assert!(other.figures.balance > plan.figures.balance, "{:?}", other.method);
    }
    let mut gateless = land.records.clone();
    gateless.gates.clear();
    let at_gate = PlanSettings { method: Method::AtGate, ..settings };
    let error = stops::propose(&gateless, land.field, land.year, &at_gate, &Quiet).unwrap_err();
    assert!(matches!(&error, PlanError::NoRoom { why, .. } if why.contains("no gate")), "{error}");
}

#[test]
fn pinned_stops_stay_and_two_people_share_the_walk() {
    let land = RandomField::numbered(6);
    let settings = PlanSettings { stops: 8, ..PlanSettings::default() };
    let plan = stops::propose(&land.records, land.field, land.year, &settings, &Quiet).unwrap();
    let pin = plan.stops[2].position;
    let pair = PlanSettings { people: 2, seed: 5, ..settings };
    let again = stops::propose_around(&land.records, land.field, land.year, &pair, &[pin], &Quiet).unwrap();
    let kept: Vec<_> = again.stops.iter().filter(|stop| stop.pinned).collect();
    assert_eq!((again.stops.len(), kept.len()), (8, 1));
    assert!((kept[0].position.x - pin.x).abs() < 1e-9 && (kept[0].position.y - pin.y).abs() < 1e-9);
    assert!(again.second_walk.is_some() && again.stops.iter().any(|stop| stop.person == 2));
    assert!(again.minutes() < plan.minutes(), "two are back sooner than one");
}

#[test]
fn pinned_stops_stay_whatever_their_number_is_asked_by() {
    let land = RandomField::numbered(6);
    let settings = PlanSettings { stops: 8, ..PlanSettings::default() };
    let plan = stops::propose(&land.records, land.field, land.year, &settings, &Quiet).unwrap();
    let pins = [plan.stops[2].position, plan.stops[5].position];
    let kept = |plan: &awn_core::model::Plan| {
        let near = |pin: &Coord<f64>, at: &Coord<f64>| (at.x - pin.x).abs() < 1e-9 && (at.y - pin.y).abs() < 1e-9;
        assert_eq!(plan.pinned().len(), 2);
        assert!(pins.iter().all(|pin| plan.pinned().iter().any(|at| near(pin, at))), "{:?}", plan.pinned());
    };
    let within = |minutes: f64| {
        stops::propose_within(&land.records, land.field, land.year, &settings, minutes, &pins, &Quiet).unwrap()
    };
    let long = within(90.0);
    kept(&long);
    assert!(long.stops.len() > 2 && long.minutes() <= 90.0, "{}", long.minutes());
    // Less time than the pinned ones alone take: these, and a note.
    let short = within(1.0);
    kept(&short);
    assert!(short.stops.len() == 2 && short.notes.iter().any(|note| note.contains("2 pinned stops")), "{:?}", short.notes);
    let target: stops::Target = "detection=0.8".parse().unwrap();
    let reaching =
        stops::propose_for_target(&land.records, land.field, land.year, &settings, target, &pins, &Quiet).unwrap();
    kept(&reaching);
    assert!(reaching.figures.detection >= 0.8);
    let curve = stops::curve(&land.records, land.field, land.year, &settings, 6, &pins, &Quiet).unwrap();
    assert_eq!(curve.iter().map(|point| point.stops).collect::<Vec<_>>(), [2, 3, 4, 5, 6]);
    // A draw knows no pins, and says so.
    let draw = PlanSettings { method: Method::RandomDraw, ..settings };
    let drawn = stops::propose_around(&land.records, land.field, land.year, &draw, &pins, &Quiet).unwrap();
    assert!(drawn.pinned().is_empty() && drawn.notes.iter().any(|note| note.contains("not kept")), "{:?}", drawn.notes);
}

/// Asks to stop after so many questions.
struct StopAfter(std::sync::atomic::AtomicUsize);

impl awn_core::progress::Progress for StopAfter {
    fn step(&self, _done: usize, _total: usize) {}

    fn cancelled(&self) -> bool {
        use std::sync::atomic::Ordering::Relaxed;
        self.0.fetch_update(Relaxed, Relaxed, |left| Some(left.saturating_sub(1))) == Ok(0)
    }
}

#[test]
fn planning_stops_when_asked_to() {
    let land = RandomField::numbered(6);
    let settings = PlanSettings { stops: 12, ..PlanSettings::default() };
    for questions in [0, 1, 5, 13] {
        let stop = StopAfter(questions.into());
        let found = stops::propose(&land.records, land.field, land.year, &settings, &stop);
        assert!(matches!(found, Err(PlanError::Cancelled(_))), "after {questions} questions");
        let stop = StopAfter(questions.into());
        let found = stops::curve(&land.records, land.field, land.year, &settings, 30, &[], &stop);
        assert!(matches!(found, Err(PlanError::Cancelled(_))), "after {questions} questions");
    }
}

#[test]
fn targets_and_curves_agree() {
    let land = RandomField::numbered(8);
    let settings = PlanSettings::default();
    let curve = stops::curve(&land.records, land.field, land.year, &settings, 12, &[], &Quiet).unwrap();
    assert_eq!(curve.len(), 12);
    assert!(curve[11].figures.detection > curve[0].figures.detection);
    let target: stops::Target = "detection=0.8".parse().unwrap();
    let least = curve.iter().find(|point| point.figures.detection >= 0.8).unwrap().stops;
    let plan = stops::propose_for_target(&land.records, land.field, land.year, &settings, target, &[], &Quiet).unwrap();
    assert_eq!(plan.stops.len(), least);
    assert!("speed=3".parse::<stops::Target>().is_err());
}
