//! What is left of an active in a field: the sample's reduction over that of the susceptible standard in the same test, as a
//! distribution.
//!
//! Takes what both rest on ([`crate::rating::Evidence`], per cent); gives shares of 0 to 1. A sample that was controlled better
//! than the standard counts as 1, one that grew better than untreated as 0. That control in the field falls in proportion to this
//! share is an assumption, said wherever it is used.

use std::sync::OnceLock;

use statrs::distribution::{ContinuousCDF as _, Normal};

use crate::rating::Evidence;

/// Ends of the band that is shown: 8 times in 10 the value lies in it.
pub const BAND: [f64; 2] = [0.1, 0.9];

/// A figure with the band in which it lies 8 times in 10.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Range {
    /// Lower end of the band.
    pub low: f64,
    /// From the likely figures alone.
    pub likely: f64,
    /// Upper end of the band.
    pub high: f64,
}

impl Range {
    /// A figure that is known.
    pub fn exact(value: f64) -> Self {
        Self { low: value, likely: value, high: value }
    }

    /// The band of values in any order; the likely figure always lies in it.
    pub fn of(likely: f64, mut values: Vec<f64>) -> Self {
        values.sort_by(f64::total_cmp);
        let [low, high] = BAND.map(|p| quantile(&values, p).unwrap_or(likely));
        Self { low: low.min(likely), likely, high: high.max(likely) }
    }

    /// The figures times a positive number.
    #[must_use]
    pub fn times(self, by: f64) -> Self {
        Self { low: self.low * by, likely: self.likely * by, high: self.high * by }
    }
}

/// Value below which a share `p` of sorted values lies, between them in proportion (Hyndman & Fan 1996, type 5: the i-th of n
/// values stands at (i - 0.5) / n).
pub fn quantile(sorted: &[f64], p: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let at = (p * sorted.len() as f64 - 0.5).clamp(0.0, last as f64);
    let (below, part) = (at.floor() as usize, at.fract());
    let (low, high) = (sorted.get(below)?, sorted.get((below + 1).min(last))?);
    Some(low + part * (high - low))
}

/// Points of equal chance at which each of the two reductions is taken.
const POINTS: usize = 24;
/// Values of equal chance that stand for the share.
const KEPT: usize = 96;
/// Normal scores at which a reduction's confidence distribution is worked out; between them it is taken as straight.
const KNOTS: [f64; 9] = [-2.5, -1.75, -1.0, -0.5, 0.0, 0.5, 1.0, 1.75, 2.5];

/// The share of the standard's reduction that the sample still shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// From the two reductions as they are.
    pub likely: f64,
    /// Sorted values of equal chance; one if no error is known.
    values: Vec<f64>,
}

impl Share {
    /// The share of a sample's reduction in its standard's, both in %, with what each rests on if that is known. None if the
    /// standard is not above 0.
    pub fn of(sample: f64, standard: f64, evidence: Option<Evidence>, of_standard: Option<Evidence>) -> Option<Self> {
        if !(sample.is_finite() && standard > 0.0) {
            return None;
        }
        let ratio = |sample: f64, standard: f64| (sample / standard.clamp(0.01, 100.0)).clamp(0.0, 1.0);
        let spread = |evidence: Option<Evidence>, alone: f64| match evidence.filter(Evidence::has_spread) {
            Some(evidence) => points(&evidence),
            None => vec![alone],
        };
        let (samples, standards) = (spread(evidence, sample), spread(of_standard, standard));
        let mut values: Vec<f64> =
            samples.iter().flat_map(|sample| standards.iter().map(|standard| ratio(*sample, *standard))).collect();
        values.sort_by(f64::total_cmp);
        if values.len() > KEPT {
            values = (0..KEPT).filter_map(|at| quantile(&values, (at as f64 + 0.5) / KEPT as f64)).collect();
        }
        Some(Self { likely: ratio(sample, standard), values })
    }

    /// The value below which it lies with chance `p`.
    pub fn quantile(&self, p: f64) -> f64 {
        quantile(&self.values, p).unwrap_or(self.likely)
    }

    /// With its band.
    pub fn range(&self) -> Range {
        let [low, high] = BAND.map(|p| self.quantile(p));
        Range { low: low.min(self.likely), likely: self.likely, high: high.max(self.likely) }
    }

    /// Whether the error of the test is known.
    pub fn has_error(&self) -> bool {
        self.values.len() > 1
    }
}

/// Values of equal chance of a reduction, %.
fn points(evidence: &Evidence) -> Vec<f64> {
    static SCORES: OnceLock<(Vec<f64>, Vec<f64>)> = OnceLock::new();
    let (scores, chances) = SCORES.get_or_init(|| {
        let normal = Normal::standard();
        let scores = (0..POINTS).map(|at| normal.inverse_cdf((at as f64 + 0.5) / POINTS as f64)).collect();
        (scores, KNOTS.map(|z| normal.cdf(z)).to_vec())
    });
    let knots: Vec<f64> = chances.iter().map(|p| evidence.quantile(*p).clamp(-1000.0, 100.0)).collect();
    scores
        .iter()
        .map(|z| {
            let at = KNOTS.iter().skip(1).take(KNOTS.len() - 2).filter(|knot| *z >= **knot).count();
            match (KNOTS.get(at..at + 2), knots.get(at..at + 2)) {
                (Some([from, to]), Some([low, high])) => low + (z - from) / (to - from) * (high - low),
                _ => evidence.reduction(),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(reduction: f64, se: f64) -> Option<Evidence> {
        Evidence::printed(reduction, Some(se), None)
    }

    #[test]
    fn scaling_both_reductions_changes_nothing() {
        let share =
            |by: f64| Share::of(60.0 * by, 90.0 * by, printed(60.0 * by, 5.0 * by), printed(90.0 * by, 2.0 * by)).unwrap();
        let whole = share(1.0).range();
        for by in [0.9, 0.5, 0.25] {
            let scaled = share(by).range();
            for (a, b) in [(whole.low, scaled.low), (whole.likely, scaled.likely), (whole.high, scaled.high)] {
                assert!((a - b).abs() < 1e-12, "{by}: {whole:?} {scaled:?}");
            }
        }
    }

    #[test]
    fn the_band_of_one_normal_error_is_that_of_tables() {
        // 60 % with a standard error of 6 points beside a standard of exactly 100 %: 60 ± 1.2816 x 6 (normal table, 90 % point).
        let range = Share::of(60.0, 100.0, printed(60.0, 6.0), None).unwrap().range();
        assert!((range.low - 0.523_1).abs() < 2e-3 && (range.high - 0.676_9).abs() < 2e-3, "{range:?}");
    }

    #[test]
    fn shares_stay_between_none_and_all() {
        assert_eq!(Share::of(-22.0, 90.0, None, None).unwrap().range(), Range::exact(0.0));
        assert_eq!(Share::of(97.0, 90.0, None, None).unwrap().range(), Range::exact(1.0));
        assert_eq!(Share::of(50.0, 0.0, None, None), None);
        let unsure = Share::of(88.0, 90.0, printed(88.0, 10.0), None).unwrap().range();
        assert!(unsure.low < unsure.likely && unsure.high <= 1.0, "{unsure:?}");
    }
}
