//! Whether a sample differs from the susceptible standard of its test: pots against pots, by Dunnett's test.
//!
//! Compared are the reductions of single pots, each against the mean of its population's untreated pots; all samples of the
//! same assay, active, dose and measure share one test.

use crate::model::{Measure, Raw, Records, TestResult};
use crate::rating::assess::susceptible;
use crate::rating::dunnett::{Side, dunnett_of};

/// From this chance on a difference counts as none.
pub const SIGNIFICANT: f64 = 0.05;

/// The chance of a sample controlled so much less than the standard if there were no difference; none without pots of both.
pub fn chance(records: &Records, result: &TestResult) -> Option<f64> {
    let standard = susceptible(records, result)?;
    let control = pots(standard.raw.as_ref()?, result.measure?)?;
    let mut groups = Vec::new();
    let mut own = None;
    for other in records.results.values().filter(|other| same_test(other, result)) {
        let Some(reductions) = other.raw.as_ref().and_then(|raw| pots(raw, result.measure?)) else { continue };
        if other.id == result.id {
            own = Some(groups.len());
        }
        groups.push(reductions);
    }
    dunnett_of(&groups, &control, Side::Below, own?)
}

/// Whether it differs; none where the pots are not known.
pub(super) fn significant(records: &Records, result: &TestResult) -> Option<bool> {
    chance(records, result).map(|chance| chance <= SIGNIFICANT)
}

fn same_test(a: &TestResult, b: &TestResult) -> bool {
    a.assay == b.assay && a.active == b.active && a.dose == b.dose && a.measure == b.measure
}

/// The reduction of each treated pot, %.
fn pots(raw: &Raw, measure: Measure) -> Option<Vec<f64>> {
    let value = |pot: &crate::model::Replicate| match measure {
        Measure::FreshWeight => Some(pot.value),
        Measure::Survival | Measure::Shoots => Some(pot.value / pot.of?),
    };
    let untreated: Vec<f64> = raw.untreated.iter().map(value).collect::<Option<_>>()?;
    let mean = if untreated.is_empty() { 1.0 } else { untreated.iter().sum::<f64>() / untreated.len() as f64 };
    let treated: Vec<f64> = raw.treated.iter().map(value).collect::<Option<_>>()?;
    (mean > 0.0).then(|| treated.iter().map(|pot| 100.0 * (1.0 - pot / mean)).collect())
}
