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

/// Seconds against hectares and stops, one core; and by which powers of both they grow where so many stops fit, beside what the
/// documentation says.
pub fn table() {
    let numbers = [5, 12, 30, 60];
    println!("| ha | {} |", numbers.map(|n| format!("{n} stops, s")).join(" | "));
    println!("|---|{}", "---|".repeat(numbers.len()));
    let mut seen = Vec::new();
    for hectares in [3.0, 6.0, 12.0, 24.0] {
        let land = of_size(hectares);
        let took = numbers.map(|n| {
            let (seconds, plan) = plan(&land, n);
            if plan.patches_hold.is_none_or(|held| held >= n) {
                seen.push([land.hectares.ln(), (n as f64).ln(), seconds.ln()]);
            }
            format!("{seconds:.3}")
        });
        println!("| {:.1} | {} |", land.hectares, took.join(" | "));
    }
    let (area, stops) = powers(&seen);
    println!(
        "Where so many fit, time grows as hectares^{area:.2} and stops^{stops:.2} (documented: no worse than ^1 and ^1)."
    );
}

/// Least squares of the third against the first two: their two slopes.
fn powers(seen: &[[f64; 3]]) -> (f64, f64) {
    let mean = |of: usize| seen.iter().map(|row| row[of]).sum::<f64>() / seen.len() as f64;
    let middle = [mean(0), mean(1), mean(2)];
    let sum = |a: usize, b: usize| seen.iter().map(|row| (row[a] - middle[a]) * (row[b] - middle[b])).sum::<f64>();
    let whole = sum(0, 0) * sum(1, 1) - sum(0, 1) * sum(0, 1);
    let slope = |own: usize, other: usize| (sum(own, 2) * sum(other, other) - sum(other, 2) * sum(own, other)) / whole;
    (slope(0, 1), slope(1, 0))
}
