//! Control by several steps together.
//!
//! Steps are taken to act independently, so that the shares of plants that each leaves are multiplied: expected control of two
//! is X + Y - XY / 100 (Gowing 1960, Weeds 8:379-391), or in survivors as % of untreated X Y / 100 (Colby 1967, Weeds 15:20-22).
//! That is an assumption: steps may help or hinder each other.
//!
//! How sure the result is: each step's control is drawn from a triangle over the user's low, likely and high figures and from the
//! distribution of what tests leave of it ([`super::Share`]); 512 draws in which each figure comes once from each of 512 equal
//! parts of its range (Latin hypercube; McKay, Beckman & Conover 1979, Technometrics 21:239-245), from a fixed seed. The same
//! draws serve every field, so that two fields differ by their figures alone.

use std::sync::{OnceLock, PoisonError, RwLock};

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use crate::act::share::{Range, Share};
use crate::model::Control;

/// Number of draws.
pub const DRAWS: usize = 512;

/// Control of steps that act independently, % each.
///
/// ```
/// // Gowing 1960: X + Y (100 - X) / 100.
/// assert_eq!(awn_core::act::together([60.0, 50.0].into_iter()), 80.0);
/// ```
pub fn together(controls: impl Iterator<Item = f64>) -> f64 {
    100.0 * (1.0 - controls.map(|control| 1.0 - control / 100.0).product::<f64>())
}

/// One active of a step: what is left of it; none: not tested.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part<'a> {
    pub share: Option<&'a Share>,
}

/// A step as it is combined.
#[derive(Debug, Clone)]
pub(super) struct Step<'a> {
    /// What tells it from the others: when, and what.
    pub key: String,
    pub control: Control,
    pub parts: Vec<Part<'a>>,
}

/// What untested actives are taken to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Untested {
    /// As on susceptible plants.
    Works,
    /// Nothing.
    Fails,
}

impl Step<'_> {
    /// What is left of the step from the likely figures: the mean over its actives, as the share of each in the step's
    /// control is not known.
    pub fn likely_share(&self, untested: Untested) -> f64 {
        let left = |part: &Part<'_>| part.share.map_or(value_of(untested), |share| share.likely);
        self.parts.iter().map(left).sum::<f64>() / self.parts.len().max(1) as f64
    }

    /// The same in each draw. Weights of the actives are uniform over all ways to share out the step's control.
    fn shares(&self, untested: Untested, streams: &[Vec<f64>]) -> Vec<f64> {
        let alone = self.parts.len() < 2;
        (0..DRAWS)
            .map(|draw| {
                let (mut sum, mut weights) = (0.0, 0.0);
                for (at, part) in self.parts.iter().enumerate() {
                    let value = |stream: usize| streams.get(stream).and_then(|all| all.get(draw)).copied().unwrap_or(0.5);
                    let weight = if alone { 1.0 } else { -libm::log(value(2 * at + 1)) };
                    let left = part.share.map_or(value_of(untested), |share| share.quantile(value(2 * at)));
                    sum += weight * left;
                    weights += weight;
                }
                if weights > 0.0 { sum / weights } else { 1.0 }
            })
            .collect()
    }
}

fn value_of(untested: Untested) -> f64 {
    if untested == Untested::Works { 1.0 } else { 0.0 }
}

/// Streams that a step takes: one for its control, two for each active.
fn width(step: &Step<'_>) -> usize {
    1 + 2 * step.parts.len()
}

/// Control of each step, %, and of all together, with their bands, and what is lost of the steps' money.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outcome {
    pub steps: Vec<Range>,
    pub all: Range,
    /// Share of each step's cost that buys nothing, with its draws added up over the costs given.
    pub lost: Range,
}

/// Works out steps together. `costs`: a hectare, one for each step.
pub(super) fn work_out(steps: &[Step<'_>], costs: &[f64], untested: Untested) -> Outcome {
    // The order of the steps must not matter: streams go by what a step is, not by where it stands.
    let mut order: Vec<usize> = (0..steps.len()).collect();
    order.sort_by(|a, b| compare(&steps[*a], costs[*a], &steps[*b], costs[*b]));
    let mut ranges = vec![Range::default(); steps.len()];
    let (mut survivors, mut lost) = (vec![1.0; DRAWS], vec![0.0; DRAWS]);
    let (mut likely_left, mut likely_lost) = (1.0, 0.0);
    let mut stream = 0;
    for at in order {
        let step = &steps[at];
        let own = streams(stream, width(step));
        stream += width(step);
        let shares = step.shares(untested, own.get(1..).unwrap_or_default());
        let share = step.likely_share(untested);
        let mut drawn = Vec::with_capacity(DRAWS);
        for draw in 0..DRAWS {
            let full = triangle(step.control, own[0][draw]);
            let control = full * shares[draw];
            survivors[draw] *= 1.0 - control / 100.0;
            lost[draw] += costs[at] * (1.0 - shares[draw]);
            drawn.push(control);
        }
        let likely = step.control.likely * share;
        likely_left *= 1.0 - likely / 100.0;
        likely_lost += costs[at] * (1.0 - share);
        ranges[at] = Range::of(likely, drawn);
    }
    let all = survivors.iter().map(|left| 100.0 * (1.0 - left)).collect();
    Outcome { steps: ranges, all: Range::of(100.0 * (1.0 - likely_left), all), lost: Range::of(likely_lost, lost) }
}

fn compare(a: &Step<'_>, cost_a: f64, b: &Step<'_>, cost_b: f64) -> std::cmp::Ordering {
    let key = |step: &Step<'_>, cost: f64| {
        let shares: Vec<f64> = step.parts.iter().map(|part| part.share.map_or(2.0, |share| share.likely)).collect();
        let Control { low, likely, high } = step.control;
        [vec![likely, low, high, cost], shares].concat()
    };
    let by_key = a.key.cmp(&b.key);
    let (a, b) = (key(a, cost_a), key(b, cost_b));
    by_key.then(a.iter().zip(&b).map(|(a, b)| a.total_cmp(b)).find(|order| order.is_ne()).unwrap_or(a.len().cmp(&b.len())))
}

/// The value below which a share `u` of a triangular distribution lies.
pub(super) fn triangle(control: Control, u: f64) -> f64 {
    let Control { low, likely, high } = control;
    let width = high - low;
    if width <= 0.0 {
        return likely;
    }
    let turn = (likely - low) / width;
    if u < turn { low + (u * width * (likely - low)).sqrt() } else { high - ((1.0 - u) * width * (high - likely)).sqrt() }
}

/// Streams `first` to `first + count`: the middle of each of the equal parts of 0 to 1 once, in an order of its own.
fn streams(first: usize, count: usize) -> Vec<Vec<f64>> {
    static MADE: OnceLock<RwLock<Vec<Vec<f64>>>> = OnceLock::new();
    let made = MADE.get_or_init(RwLock::default);
    let held = |all: &[Vec<f64>]| all.get(first..first + count).map(<[Vec<f64>]>::to_vec);
    if let Some(found) = held(&made.read().unwrap_or_else(PoisonError::into_inner)) {
        return found;
    }
    let mut all = made.write().unwrap_or_else(PoisonError::into_inner);
    while all.len() < first + count {
        let mut random = ChaCha8Rng::seed_from_u64(all.len() as u64);
        let mut stream: Vec<f64> = (0..DRAWS).map(|at| (at as f64 + 0.5) / DRAWS as f64).collect();
        for at in (1..DRAWS).rev() {
            stream.swap(at, random.random_range(0..=at));
        }
        all.push(stream);
    }
    held(&all).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rating::Evidence;

    fn control(low: f64, likely: f64, high: f64) -> Control {
        Control::new(low, likely, high).unwrap()
    }

    #[test]
    fn colby_in_survivors_is_gowing_in_control() {
        // Colby 1967: with X and Y the growth as % of untreated, E = X Y / 100, and for three herbicides X Y Z / 10,000; Gowing
        // 1960: X + Y (100 - X) / 100 in % inhibition.
        for (x, y) in [(60.0, 50.0), (0.0, 35.0), (100.0, 12.0), (79.5, 23.25)] {
            let survivors = (100.0 - x) * (100.0 - y) / 100.0;
            let expected = together([x, y].into_iter());
            assert!((100.0 - expected - survivors).abs() < 1e-12);
            assert!((expected - (x + y - x * y / 100.0)).abs() < 1e-12);
            assert!((expected - (x + y * (100.0 - x) / 100.0)).abs() < 1e-12);
        }
        let three = together([40.0, 70.0, 25.0].into_iter());
        assert!((100.0 - three - 60.0 * 30.0 * 75.0 / 10_000.0).abs() < 1e-12);
    }

    #[test]
    fn figures_without_spread_have_none_together() {
        let steps = [control(60.0, 60.0, 60.0), control(50.0, 50.0, 50.0)];
        let steps = steps.map(|control| Step { key: String::new(), control, parts: vec![Part { share: None }] });
        let found = work_out(&steps, &[10.0, 20.0], Untested::Works);
        assert!((found.all.likely - 80.0).abs() < 1e-12 && (found.all.low - 80.0).abs() < 1e-9);
        assert_eq!(found.lost, Range::exact(0.0));
        let fails = work_out(&steps, &[10.0, 20.0], Untested::Fails);
        assert_eq!((fails.all, fails.lost), (Range::exact(0.0), Range::exact(30.0)));
    }

    #[test]
    fn neither_the_order_of_steps_nor_repeats_of_the_work_count() {
        let share = Share::of(50.0, 92.0, Evidence::printed(50.0, Some(6.0), None), None).unwrap();
        let step = |low, likely, high, share| Step {
            key: String::new(),
            control: control(low, likely, high),
            parts: vec![Part { share }],
        };
        let (a, b, c) =
            (step(40.0, 60.0, 75.0, Some(&share)), step(40.0, 60.0, 75.0, None), step(70.0, 80.0, 95.0, Some(&share)));
        let one = work_out(&[a.clone(), b.clone(), c.clone()], &[10.0, 20.0, 30.0], Untested::Works);
        let other = work_out(&[c, a, b], &[30.0, 10.0, 20.0], Untested::Works);
        assert_eq!((one.all, one.lost), (other.all, other.lost));
        assert_eq!(one.steps[0], other.steps[1]);
        assert!(one.all.low < one.all.likely && one.all.likely < one.all.high);
    }

    #[test]
    fn of_several_actives_the_share_of_each_is_open() {
        let (none, all) = (Share::of(0.0, 90.0, None, None).unwrap(), Share::of(90.0, 90.0, None, None).unwrap());
        let parts = vec![Part { share: Some(&none) }, Part { share: Some(&all) }];
        let step = Step { key: String::new(), control: control(80.0, 80.0, 80.0), parts };
        let found = work_out(&[step], &[50.0], Untested::Works);
        // One works, the other does not: anything between nothing and the whole step, evenly.
        assert!((found.all.likely - 40.0).abs() < 1e-9 && (found.lost.likely - 25.0).abs() < 1e-9);
        assert!((found.all.low - 8.0).abs() < 4.0 && (found.all.high - 72.0).abs() < 4.0, "{:?}", found.all);
    }

    #[test]
    fn triangles_have_their_corners_and_quarter_points() {
        let even = control(0.0, 50.0, 100.0);
        assert_eq!([0.0, 0.5, 1.0].map(|u| triangle(even, u)), [0.0, 50.0, 100.0]);
        // Under the left half of an even triangle lies the square of the distance: a quarter at 50 / sqrt 2.
        assert!((triangle(even, 0.25) - 50.0 / std::f64::consts::SQRT_2).abs() < 1e-12);
        assert_eq!(triangle(control(70.0, 70.0, 70.0), 0.3), 70.0);
        assert_eq!(triangle(control(40.0, 80.0, 80.0), 1.0), 80.0);
    }
}
