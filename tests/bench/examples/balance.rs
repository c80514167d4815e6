//! Balance of even cover over random fields: `cargo run --release -p awn-bench --example balance [FIRST [COUNT [SPACING]]]`.
//!
//! Prints median and 90th percentile of B for several numbers of stops, over all fields and over those where the plan says that so
//! many fit. Fields beyond number 72 are in no test: what holds there was not tuned.

#![allow(clippy::expect_used, clippy::unwrap_used)] // stopping with a sentence is the answer; the random fields are code of tests

#[path = "../../src/random_field.rs"]
mod random_field;

use std::time::Instant;

use awn_core::model::PlanSettings;
use awn_core::progress::Quiet;
use awn_core::stops;
use random_field::RandomField;
use rayon::prelude::*;

fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(((values.len().max(1) - 1) as f64 * share).round() as usize).copied().unwrap_or(f64::NAN)
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, usual: f64| words.get(at).map_or(usual, |word| word.parse().expect("a number"));
    let (first, count) = (number(0, 0.0) as u64, number(1, 72.0) as u64);
    let usual = PlanSettings::default();
    let settings = PlanSettings { min_spacing_m: number(2, usual.min_spacing_m), ..usual };
    let lands: Vec<RandomField> = (first..first + count).map(RandomField::numbered).collect();
    println!(
        "| stops | B, all {count}: median | 90 % | most | above 0.03 | fields that hold n | median | 90 % | most | s |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    for n in [5, 8, 12, 20, 30] {
        let start = Instant::now();
        let plan = |land: &RandomField| {
            let settings = PlanSettings { stops: n, ..settings.clone() };
            stops::propose(&land.records, land.field, land.year, &settings, &Quiet).expect("a plan")
        };
        let plans: Vec<_> = lands.par_iter().map(plan).collect();
        let seconds = start.elapsed().as_secs_f64();
        let mut all: Vec<f64> = plans.iter().map(|plan| plan.figures.balance).collect();
        let fit = plans.iter().filter(|plan| plan.patches_hold.is_none_or(|held| held >= n));
        let mut roomy: Vec<f64> = fit.map(|plan| plan.figures.balance).collect();
        let over: Vec<String> = plans
            .iter()
            .zip(first..)
            .zip(&lands)
            .filter(|((plan, _), _)| plan.figures.balance > 0.03)
            .map(|((plan, number), land)| {
                let hectares = land.hectares;
                let (taken, b, hold) = (plan.stops.len(), plan.figures.balance, plan.patches_hold);
                format!("{number}, {hectares:.1} ha: {taken} stops, B {b:.3}, holds {hold:?}")
            })
            .collect();
        println!(
            "| {n} | {:.4} | {:.4} | {:.3} | {} | {} | {:.4} | {:.4} | {:.3} | {seconds:.2} |",
            quantile(&mut all, 0.5),
            quantile(&mut all, 0.9),
            quantile(&mut all, 1.0),
            over.len(),
            roomy.len(),
            quantile(&mut roomy, 0.5),
            quantile(&mut roomy, 0.9),
            quantile(&mut roomy, 1.0),
        );
        if std::env::var_os("AWN_LIST").is_some() {
            println!("{}", over.join("\n"));
        }
    }
}
