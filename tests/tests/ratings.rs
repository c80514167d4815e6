//! Ratings beside published values and the libraries scipy and statsmodels.
#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stop where something is wrong

use awn_core::model::{Measure, Rating, Raw, Replicate};
use awn_core::rating::{self, Evidence, Shape, Share, Side};
use awn_tests::reference;
use proptest::prelude::*;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

fn counted(counts: &[(u32, u32)]) -> Vec<Replicate> {
    counts.iter().map(|(count, of)| Replicate { value: f64::from(*count), of: Some(f64::from(*of)) }).collect()
}

fn weighed(weights: &[f64]) -> Vec<Replicate> {
    weights.iter().map(|value| Replicate { value: *value, of: None }).collect()
}

/// Length of root by concentration of ferulic acid: Inderjit, Streibig and Olofsdotter 2002, Physiol. Plant. 114:422-428; the data
/// set `ryegrass` of R package drc.
const RYEGRASS: [(f64, &[f64]); 7] = [
    (0.0, &[7.58, 8.0, 8.328_571_429, 7.25, 7.375, 7.9625]),
    (0.94, &[8.355_555_556, 6.914_285_714, 7.75]),
    (1.88, &[6.871_428_571, 6.45, 5.922_222_222]),
    (3.75, &[1.925, 2.885_714_286, 4.233_333_333]),
    (7.5, &[1.1875, 0.857_142_857, 1.057_142_857]),
    (15.0, &[0.6875, 0.525, 0.825]),
    (30.0, &[0.25, 0.22, 0.44]),
];

#[test]
fn ryegrass_as_published() {
    let points: Vec<(f64, f64)> =
        RYEGRASS.iter().flat_map(|(dose, roots)| roots.iter().map(|root| (*dose, *root))).collect();
    assert_eq!(points.len(), 24);
    let curve = rating::fit(&points, Shape::Four).unwrap();
    // Four-parameter fit of R package drc (Ritz et al. 2015, PLoS ONE 10:e0146021, and its manual); the residual standard error of
    // 0.5196256 on 20 degrees of freedom as its summary prints it, from memory.
    for (found, printed) in [(curve.b, 2.98222), (curve.c, 0.48141), (curve.d, 7.79296), (curve.e, 3.05796)] {
        assert!((found - printed).abs() < 1e-4, "{found} {printed}");
    }
    assert!((curve.residual - 0.519_625_6).abs() < 1e-4 && curve.df == 20.0, "{curve:?}");
    let ed50 = curve.effective_dose(50.0);
    assert!((ed50.value - curve.e).abs() < 1e-12 && (ed50.se - curve.errors()[3]).abs() < 1e-12);
    // The same data by scipy, and the doses for 90 % from its parameters.
    let answer =
        reference::run("ratings", &json!({ "curve": [{ "points": points, "start": [2.0, 8.0, 3.0, 0.5], "four": true }] }));
    let theirs = numbers(&answer["curve"][0]["parameters"]);
    for (found, theirs) in [curve.b, curve.d, curve.e, curve.c].into_iter().zip(&theirs) {
        assert!((found - theirs).abs() < 1e-6 * theirs.abs(), "{found} {theirs}");
    }
    // Standard errors from the first derivatives, as scipy and R's nls have them.
    let [b, c, d, e] = curve.errors();
    for (found, theirs) in [b, d, e, c].into_iter().zip(numbers(&answer["curve"][0]["errors"])) {
        assert!((found - theirs).abs() < 1e-4 * theirs, "{found} {theirs}");
    }
    // drc prints 0.46506, 0.18857, 0.18573 and 0.21219 (from memory). They come from the second derivatives of the sum of squares at
    // the same parameters, which is the whole difference: here by differences, and ours lie within 2 % of them.
    let printed = [0.465_06, 0.188_57, 0.185_73, 0.212_19];
    for ((ours, second), printed) in [b, d, e, c].into_iter().zip(numbers(&answer["curve"][0]["second"])).zip(printed) {
        assert!((second - printed).abs() < 1e-4, "{second} {printed}");
        assert!((ours - printed).abs() < 0.02 * printed, "{ours} {printed}");
    }
    let ed90 = theirs[2] * 9f64.powf(1.0 / theirs[0]);
    assert!((curve.effective_dose(90.0).value - ed90).abs() < 1e-5 * ed90);
}

#[test]
fn random_curves_as_scipy_fits_them() {
    let mut dice = ChaCha8Rng::seed_from_u64(11);
    let mut cases = Vec::new();
    for number in 0..24 {
        let four = number % 2 == 0;
        let (b, d, e) = (dice.random_range(1.0..4.0), dice.random_range(80.0..120.0), dice.random_range(5.0..60.0));
        let c: f64 = if four { dice.random_range(2.0..15.0) } else { 0.0 };
        let mut points = Vec::new();
        for dose in [0.0, 2.0, 5.0, 12.0, 30.0, 75.0, 180.0] {
            for _ in 0..4 {
                let at: f64 = if dose > 0.0 { c + (d - c) / (1.0 + (b * (f64::ln(dose) - f64::ln(e))).exp()) } else { d };
                points.push((dose, at + dice.random_range(-6.0..6.0)));
            }
        }
        cases.push((points, [b, d, e, c], four));
    }
    let asked: Vec<Value> =
        cases.iter().map(|(points, start, four)| json!({ "points": points, "start": start, "four": four })).collect();
    let answer = reference::run("ratings", &json!({ "curve": asked }));
    for ((points, _, four), theirs) in cases.iter().zip(answer["curve"].as_array().unwrap()) {
        let curve = rating::fit(points, if *four { Shape::Four } else { Shape::Three }).unwrap();
        let ours = [curve.b, curve.d, curve.e, curve.c];
        let [b, c, d, e] = curve.errors();
        for ((found, error), (their, their_error)) in
            ours.iter().zip([b, d, e, c]).zip(numbers(&theirs["parameters"]).iter().zip(numbers(&theirs["errors"])))
        {
            assert!((found - their).abs() < 1e-4 * their.abs() + 1e-6, "{found} {their}");
            assert!((error - their_error).abs() < 2e-3 * their_error, "{error} {their_error}");
        }
        let residual = theirs["residual"].as_f64().unwrap();
        assert!((curve.residual - residual).abs() < 1e-6 * residual);
    }
}

#[test]
fn intervals_of_shares_as_statsmodels_gives_them() {
    let mut dice = ChaCha8Rng::seed_from_u64(3);
    let plain: Vec<(u32, u32)> = (0..200)
        .map(|_| {
            let n: u32 = dice.random_range(1..400);
            (dice.random_range(0..=n), n)
        })
        .collect();
    let pots: Vec<Vec<(u32, u32)>> =
        (0..60).map(|_| (0..dice.random_range(2..6)).map(|_| (dice.random_range(1..11), 12)).collect()).collect();
    let ratios: Vec<(u32, u32, u32, u32)> = (0..60)
        .map(|_| {
            let (n, m): (u32, u32) = (dice.random_range(30..200), dice.random_range(60..200));
            (dice.random_range(3..n * 7 / 10), n, dice.random_range(m * 7 / 10..m), m)
        })
        .collect();
    let answer = reference::run("ratings", &json!({ "wilson": plain, "overdispersion": pots, "ratio": ratios }));
    for ((count, n), theirs) in plain.iter().zip(answer["wilson"].as_array().unwrap()) {
        let share = Share::of(&counted(&[(*count, *n)])).unwrap();
        for (ours, theirs) in share.bounds(1.959_963_984_540_054).into_iter().zip(numbers(theirs)) {
            assert!((ours - theirs).abs() < 1e-9, "{count}/{n}: {ours} {theirs}");
        }
    }
    for (counts, theirs) in pots.iter().zip(answer["overdispersion"].as_array().unwrap()) {
        let theirs = theirs.as_f64().unwrap().max(1.0);
        let ours = Share::of(&counted(counts)).unwrap().overdispersion;
        assert!((ours - theirs).abs() < 1e-6 * theirs, "{counts:?}: {ours} {theirs}");
    }
    // Another method (score interval of Koopman and Miettinen-Nurminen): close, not the same.
    for ((x, n, y, m), theirs) in ratios.iter().zip(answer["ratio"].as_array().unwrap()) {
        let (above, below) = (Share::of(&counted(&[(*x, *n)])).unwrap(), Share::of(&counted(&[(*y, *m)])).unwrap());
        for (ours, theirs) in rating::ratio_bounds(&above, &below, 1.959_963_984_540_054).into_iter().zip(numbers(theirs)) {
            assert!((ours - theirs).abs() < 0.012, "{x}/{n} by {y}/{m}: {ours} {theirs}");
        }
    }
}

#[test]
fn ratios_of_weights_as_the_welch_t_does_not_reject_them() {
    let mut dice = ChaCha8Rng::seed_from_u64(5);
    let cases: Vec<(Vec<f64>, Vec<f64>)> = (0..60)
        .map(|_| {
            let untreated: f64 = dice.random_range(6.0..14.0);
            let share: f64 = dice.random_range(0.02..1.2);
            let mut pots =
                |mean: f64| (0..dice.random_range(3..8)).map(|_| (mean + dice.random_range(-0.9..0.9)).max(0.0)).collect();
            (pots(untreated * share), pots(untreated))
        })
        .collect();
    let answer = reference::run("ratings", &json!({ "fieller": cases }));
    for ((treated, untreated), theirs) in cases.iter().zip(answer["fieller"].as_array().unwrap()) {
        let raw = Raw { treated: weighed(treated), untreated: weighed(untreated) };
        let [low, high] = Evidence::from_raw(&raw, Measure::FreshWeight).unwrap().interval().unwrap();
        let theirs = numbers(theirs);
        // No reduction is above 100 %: ours ends there.
        for (ours, theirs) in [(low, 100.0 * (1.0 - theirs[1])), (high, (100.0 * (1.0 - theirs[0])).min(100.0))] {
            assert!((ours - theirs).abs() < 1e-6, "{treated:?} {untreated:?}: {ours} {theirs}");
        }
    }
}

#[test]
fn dunnett_as_scipy_gives_it() {
    let mut dice = ChaCha8Rng::seed_from_u64(7);
    let mut cases = Vec::new();
    for number in 0..16 {
        let mut pots = |mean: f64, n: usize| -> Vec<f64> { (0..n).map(|_| mean + dice.random_range(-9.0..9.0)).collect() };
        let control = pots(90.0, 4);
        let groups: Vec<Vec<f64>> = (0..2 + number % 4).map(|i| pots(90.0 - 4.0 * i as f64, 3 + (i + number) % 3)).collect();
        cases.push((groups, control, if number % 2 == 0 { Side::Below } else { Side::Both }));
    }
    let asked: Vec<Value> = cases
        .iter()
        .map(|(groups, control, side)| {
            json!({ "groups": groups, "control": control, "side": if *side == Side::Both { "two-sided" } else { "less" } })
        })
        .collect();
    let answer = reference::run("ratings", &json!({ "dunnett": asked }));
    for ((groups, control, side), theirs) in cases.iter().zip(answer["dunnett"].as_array().unwrap()) {
        for (ours, theirs) in rating::dunnett(groups, control, *side).unwrap().into_iter().zip(numbers(theirs)) {
            // scipy integrates by random points; its own error is up to about 0.001.
            assert!((ours - theirs).abs() < 2e-3, "{side:?}: {ours} {theirs}");
        }
    }
}

#[test]
fn slopes_as_scipy_gives_them() {
    let mut dice = ChaCha8Rng::seed_from_u64(9);
    let cases: Vec<Vec<(f64, f64)>> = (0..40)
        .map(|_| (0..dice.random_range(3..9)).map(|i| (2015.0 + f64::from(i), dice.random_range(0.0..100.0))).collect())
        .collect();
    let answer = reference::run("ratings", &json!({ "slope": cases }));
    for (points, theirs) in cases.iter().zip(answer["slope"].as_array().unwrap()) {
        let found = rating::slope(points).unwrap();
        for (ours, theirs) in [found.a_year, found.interval[0], found.interval[1]].into_iter().zip(numbers(theirs)) {
            assert!((ours - theirs).abs() < 1e-7 * (1.0 + theirs.abs()), "{points:?}: {ours} {theirs}");
        }
    }
}

#[test]
fn intervals_of_abbott_reductions_hold_what_they_promise() {
    // By simulation: of 4000 tests with 18 plants treated and untreated, the share whose interval holds the true reduction.
    let mut dice = ChaCha8Rng::seed_from_u64(13);
    for (kill, germination) in [(0.2, 0.9), (0.6, 0.95), (0.9, 0.8)] {
        let mut held = 0;
        let mut count = |n: u32, p: f64| (0..n).filter(|_| dice.random_range(0.0..1.0) < p).count() as u32;
        for _ in 0..4000 {
            let treated = count(50, germination * (1.0 - kill));
            let untreated = count(50, germination).max(1);
            let raw = Raw { treated: counted(&[(treated, 50)]), untreated: counted(&[(untreated, 50)]) };
            let [low, high] = Evidence::from_raw(&raw, Measure::Shoots).unwrap().interval().unwrap();
            held += usize::from(low <= 100.0 * kill && 100.0 * kill <= high);
        }
        let share = held as f64 / 4000.0;
        assert!((0.935..=0.98).contains(&share), "{kill} {germination}: {share}");
    }
}

proptest! {
    /// The limits are shares of the standard: whatever scales both leaves the class.
    #[test]
    fn scaling_sample_and_standard_alike_leaves_the_class(
        reduction in -100.0..100.0f64, standard in 1.0..100.0f64, factor in 0.01..1.0f64
    ) {
        prop_assume!(rating::limits(standard).iter().all(|limit| (reduction - limit).abs() > 1e-6));
        let class = rating::rate(reduction, standard);
        prop_assert_eq!(class, rating::rate(reduction * factor, standard * factor));
        let worse = rating::rate(reduction - 1.0, standard);
        prop_assert!(worse >= class, "less control is never a better class");
    }

    /// Whatever is counted, the chances add up and the likeliest classes are neighbours of the rating.
    #[test]
    fn chances_of_classes_add_up(alive in 0u32..=30, untreated in 1u32..=30, standard in 50.0..100.0f64) {
        let raw = Raw { treated: counted(&[(alive, 30)]), untreated: counted(&[(untreated, 30)]) };
        let evidence = Evidence::from_raw(&raw, Measure::Survival).unwrap();
        let mut last = 0.0;
        for limit in rating::limits(standard).into_iter().rev() {
            let below = evidence.chance_below(limit);
            prop_assert!((0.0..=1.0).contains(&below) && below >= last - 1e-9);
            last = below;
        }
        prop_assert!(rating::rate(evidence.reduction(), standard).is_some());
    }
}

#[test]
fn published_limits_and_the_split_in_use() {
    // 28 % survival beside a standard of 90 % was used as the cut between S or R? and RR or RRR in a national survey.
    assert_eq!(rating::rate(72.0, 90.0), Some(Rating::RQuestion));
    assert_eq!(rating::rate(71.9, 90.0), Some(Rating::RR));
    // Treated plants of 122 and 159 % of untreated weight occur in its data.
    for reduction in [-22.0, -59.0] {
        assert_eq!(rating::rate(reduction, 90.0), Some(Rating::RRR));
    }
}
