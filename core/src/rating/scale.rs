//! The R rating scale.
//!
//! Source: Moss et al. 1999 (Proc. BCPC Conf. Weeds, 179-184). The published figure is drawn for a susceptible standard of
//! 90 %: S 100 to 81, R? 81 to 72, RR 72 to 36, RRR below 36. That is 0.90, 0.80 and 0.40 of the standard: the range from 0 to
//! the standard in five equal bands, the top one halved.

use crate::model::Rating;

/// Lower limits of S, R? and RR as shares of the standard's reduction.
pub const LIMITS: [f64; 3] = [0.90, 0.80, 0.40];

/// Reductions are printed with a few decimals; this keeps a value that stands on a limit there despite binary rounding.
const ON_LIMIT: f64 = 1e-9;

/// Lower limits of S, R? and RR in % reduction beside a standard of `standard` %.
///
/// ```
/// assert_eq!(awn_core::rating::limits(90.0), [81.0, 72.0, 36.0]);
/// ```
pub fn limits(standard: f64) -> [f64; 3] {
    LIMITS.map(|share| share * standard)
}

/// The rating of a reduction beside the susceptible standard of the same test, both in %.
///
/// A value on a limit takes the more susceptible class (the source does not say; our rule). A negative reduction
/// (treated plants grew better than untreated) is RRR. None when the standard is not above 0 and up to 100, or a number
/// is not finite: without a working standard there is no rating.
pub fn rate(reduction: f64, standard: f64) -> Option<Rating> {
    if !(reduction.is_finite() && standard > 0.0 && standard <= 100.0) {
        return None;
    }
    let below = limits(standard).iter().filter(|limit| reduction < **limit - ON_LIMIT).count();
    Rating::ALL.get(below).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use Rating::{RQuestion, RR, RRR, S};

    #[test]
    fn classes_beside_a_standard_of_90_as_printed() {
        // The limits 81, 72 and 36 of the published figure, each from above, on it and from below.
        let cases = [
            (100.0, S),
            (90.0, S),
            (81.0, S),
            (80.9, RQuestion),
            (72.0, RQuestion),
            (71.9, RR),
            (54.0, RR),
            (36.0, RR),
            (35.9, RRR),
            (18.0, RRR),
            (0.0, RRR),
            (-22.0, RRR),
            (-59.0, RRR),
        ];
        for (reduction, class) in cases {
            assert_eq!(rate(reduction, 90.0), Some(class), "{reduction}");
        }
    }

    #[test]
    fn classes_beside_a_standard_of_100() {
        let cases = [(100.0, S), (90.0, S), (89.9, RQuestion), (80.0, RQuestion), (79.9, RR), (40.0, RR), (39.9, RRR)];
        for (reduction, class) in cases {
            assert_eq!(rate(reduction, 100.0), Some(class), "{reduction}");
        }
    }

    #[test]
    fn scaling_sample_and_standard_alike_leaves_the_class() {
        for reduction in 0..=95 {
            let (reduction, standard) = (f64::from(reduction), 95.0);
            for factor in [0.5, 0.83, 0.99] {
                assert_eq!(rate(reduction, standard), rate(reduction * factor, standard * factor), "{reduction} {factor}");
            }
        }
    }

    #[test]
    fn without_a_working_standard_there_is_no_rating() {
        for standard in [0.0, -5.0, 100.5, f64::NAN, f64::INFINITY] {
            assert_eq!(rate(50.0, standard), None, "{standard}");
        }
        assert_eq!(rate(f64::NAN, 90.0), None);
    }
}
