//! How sure a rating is: a 95 % interval of the reduction, and the share of each class given that uncertainty.
//!
//! With a standard error: the normal interval, reduction ± 1.96 se. With a number of plants or seeds and no standard error: the
//! score interval of a proportion (Wilson 1927; Newcombe 1998, Stat. Med. 17:857-872). The share of a class is what the
//! matching confidence distribution puts between its limits. With neither there is nothing to say.
//! The standard is taken as known; its own error is not in the interval.

use crate::model::{Rating, TestResult};
use crate::rating::scale::limits;

/// Shares of the four ratings, best first; they add up to 1.
pub type ClassShares = [f64; 4];

/// 97.5 % point of the normal distribution.
const Z95: f64 = 1.959_963_984_540_054;

/// How sure a rating is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sureness {
    /// 95 % interval of the reduction, %.
    pub interval: [f64; 2],
    /// Share of each rating, in the order of [`Rating::ALL`].
    pub class_shares: ClassShares,
}

impl Sureness {
    /// The share of one rating.
    pub fn share(&self, rating: Rating) -> f64 {
        self.class_shares[rating as usize]
    }
}

/// How sure the rating of a result is; none when neither a standard error nor a number is known.
pub fn sureness(result: &TestResult) -> Option<Sureness> {
    let below: Box<dyn Fn(f64) -> f64>;
    let interval;
    if let Some(se) = result.se.filter(|se| *se > 0.0) {
        let reduction = result.reduction;
        interval = [reduction - Z95 * se, reduction + Z95 * se];
        below = Box::new(move |limit| normal_below((limit - reduction) / se));
    } else {
        let n = f64::from(result.n.filter(|n| *n > 0)?);
        let p = (result.reduction / 100.0).clamp(0.0, 1.0);
        interval = wilson(p, n).map(|share| 100.0 * share);
        below = Box::new(move |limit| {
            let at = (limit / 100.0).clamp(0.0, 1.0);
            let spread = (at * (1.0 - at) / n).sqrt();
            if spread > 0.0 { normal_below((at - p) / spread) } else { f64::from(u8::from(at > p)) }
        });
    }
    let [s, r_question, rr] = limits(result.standard).map(below);
    Some(Sureness { interval, class_shares: [1.0 - s, s - r_question, r_question - rr, rr] })
}

/// 95 % score interval of a proportion `p` seen in `n`.
fn wilson(p: f64, n: f64) -> [f64; 2] {
    let z2 = Z95 * Z95;
    let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z95 / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    [(middle - half).max(0.0), (middle + half).min(1.0)]
}

/// Normal distribution function.
fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{AssayId, ResultId, SampleId};

    fn result(reduction: f64, se: Option<f64>, n: Option<u32>) -> TestResult {
        TestResult {
            id: ResultId::new(),
            sample: SampleId::new(),
            assay: AssayId::new(),
            active: "cycloxydim".into(),
            group: "1".into(),
            reduction,
            standard: 90.0,
            se,
            n,
            dose: None,
            lab_rating: None,
        }
    }

    #[test]
    fn score_intervals_as_printed_by_newcombe_1998() {
        let cases = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)];
        for (x, n, low, high) in cases {
            let [a, b] = wilson(f64::from(x) / f64::from(n), f64::from(n));
            assert!((a - low).abs() < 5e-5 && (b - high).abs() < 5e-5, "{x}/{n}: {a} {b}");
        }
    }

    #[test]
    fn shares_add_up_and_follow_the_interval() {
        for (se, n) in [(Some(6.0), None), (None, Some(18)), (None, Some(400))] {
            let sure = sureness(&result(60.0, se, n)).unwrap();
            assert!((sure.class_shares.iter().sum::<f64>() - 1.0).abs() < 1e-12, "{sure:?}");
            assert!(sure.share(Rating::RR) > 0.5, "{sure:?}");
        }
        // On the limit of R? and RR the two sides share the chance evenly, for either kind of uncertainty.
        for (se, n) in [(Some(6.0), None), (None, Some(50))] {
            let sure = sureness(&result(72.0, se, n)).unwrap();
            assert!((sure.share(Rating::RR) + sure.share(Rating::RRR) - 0.5).abs() < 1e-9, "{sure:?}");
        }
        // The interval's ends cut 2.5 % off on each side.
        let sure = sureness(&result(72.0, Some(5.0), None)).unwrap();
        assert!((sure.interval[0] - 62.200_18).abs() < 1e-5, "{sure:?}");
    }

    #[test]
    fn nothing_is_said_without_error_or_number() {
        assert_eq!(sureness(&result(60.0, None, None)), None);
        assert_eq!(sureness(&result(60.0, Some(0.0), None)), None);
    }
}
