//! One field, and how the cost grows with its size and the number of stops.

use awn_core::model::{Plan, PlanSettings};
use awn_core::progress::Quiet;
use awn_core::stops;

use crate::random_field::RandomField;
use crate::{on_threads, timed};

fn plan(land: &RandomField, stops: usize) -> (f64, Plan) {
    let settings = PlanSettings { stops, ..PlanSettings::default() };
    let work = || stops::propose(&land.records, land.field, land.year, &settings, &Quiet).expect("a plan");
    on_threads(1, || timed(3, work))
}

/// The random field whose area is nearest to so many hectares.
fn of_size(hectares: f64) -> RandomField {
    let away = |land: &RandomField| (land.hectares - hectares).abs();
    (0..72).map(RandomField::numbered).min_by(|a, b| away(a).total_cmp(&away(b))).expect("fields")
}

/// A field of 20 ha with 12 stops: density, stops, walk and figures on one core.
pub fn one_field() {
    let land = of_size(20.0);
    let (seconds, plan) = plan(&land, 12);
    println!(
        "{:.1} ha, 12 stops, density, stops, walk and figures on one core: {seconds:.3} s (asked: 0.2); B {:.4}",
        land.hectares, plan.figures.balance
    );
}

/// Seconds against hectares and stops, one core.
pub fn table() {
    let numbers = [5, 12, 30, 60];
    println!("| ha | {} |", numbers.map(|n| format!("{n} stops, s")).join(" | "));
    println!("|---|{}", "---|".repeat(numbers.len()));
    for hectares in [3.0, 6.0, 12.0, 24.0] {
        let land = of_size(hectares);
        let took = numbers.map(|n| format!("{:.3}", plan(&land, n).0));
        println!("| {:.1} | {} |", land.hectares, took.join(" | "));
    }
}
