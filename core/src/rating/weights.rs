//! Fresh weights, pot by pot: the ratio of two means and its interval.
//!
//! Source: Fieller 1954, J. R. Stat. Soc. B 16:175-185; degrees of freedom for unequal variances after Welch 1947 and
//! Satterthwaite 1946, taken at the ratio seen.

use crate::model::Replicate;
use crate::rating::distributions::{t_below, t_quantile};

/// Mean of pots and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// Mean, g.
    pub mean: f64,
    /// Variance of the mean.
    pub variance: f64,
    /// Pots.
    pub pots: usize,
}

impl Mean {
    /// The mean of pots; none if there are none or one is no weight.
    pub fn of(pots: &[Replicate]) -> Option<Self> {
        if pots.is_empty() || pots.iter().any(|pot| !(pot.value.is_finite() && pot.value >= 0.0)) {
            return None;
        }
        let n = pots.len() as f64;
        let mean = pots.iter().map(|pot| pot.value).sum::<f64>() / n;
        let squares: f64 = pots.iter().map(|pot| (pot.value - mean).powi(2)).sum();
        let variance = if pots.len() > 1 { squares / (n - 1.0) / n } else { 0.0 };
        Some(Self { mean, variance, pots: pots.len() })
    }
}

/// The ratio of two means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    above: Mean,
    below: Mean,
    df: f64,
}

impl Ratio {
    /// The ratio; none if the lower mean is not above 0.
    pub fn of(above: Mean, below: Mean) -> Option<Self> {
        let ratio = above.mean / below.mean;
        if !(below.mean > 0.0 && ratio.is_finite()) {
            return None;
        }
        let (a, b) = (above.variance, ratio * ratio * below.variance);
        let part = |variance: f64, pots: usize| if pots > 1 { variance * variance / (pots - 1) as f64 } else { 0.0 };
        let by = part(a, above.pots) + part(b, below.pots);
        let df = if by > 0.0 { (a + b).powi(2) / by } else { f64::from(u8::from(above.pots.max(below.pots) > 1)) };
        Some(Self { above, below, df: df.max(1.0) })
    }

    /// The ratio seen.
    pub fn ratio(&self) -> f64 {
        self.above.mean / self.below.mean
    }

    /// Degrees of freedom.
    pub fn df(&self) -> f64 {
        self.df
    }

    /// Whether both means have a spread, so that an interval can be given.
    pub fn has_spread(&self) -> bool {
        self.above.pots > 1 && self.below.pots > 1 && self.above.variance + self.below.variance > 0.0
    }

    /// How likely the ratio is to lie above `ratio`, 0 to 1.
    pub fn chance_above(&self, ratio: f64) -> f64 {
        let spread = (self.above.variance + ratio * ratio * self.below.variance).sqrt();
        t_below((self.above.mean - ratio * self.below.mean) / spread, self.df)
    }

    /// Both ends of the interval with a share `tail` outside on each side; none if the lower mean may be 0.
    pub fn bounds(&self, tail: f64) -> Option<[f64; 2]> {
        let t = t_quantile(1.0 - tail, self.df);
        let (x, y) = (self.above.mean, self.below.mean);
        let a = y * y - t * t * self.below.variance;
        let c = x * x - t * t * self.above.variance;
        let root = (x * x * y * y - a * c).max(0.0).sqrt();
        (a > 0.0).then(|| [(x * y - root) / a, (x * y + root) / a])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pots(weights: &[f64]) -> Vec<Replicate> {
        weights.iter().map(|value| Replicate { value: *value, of: None }).collect()
    }

    #[test]
    fn the_ends_of_the_interval_cut_off_their_share() {
        let treated = Mean::of(&pots(&[2.1, 3.0, 2.6, 1.7])).unwrap();
        let untreated = Mean::of(&pots(&[8.9, 10.4, 9.6])).unwrap();
        let ratio = Ratio::of(treated, untreated).unwrap();
        let [low, high] = ratio.bounds(0.025).unwrap();
        assert!(low < ratio.ratio() && ratio.ratio() < high);
        // Fieller's interval is the set of ratios that the t test does not reject.
        assert!((ratio.chance_above(low) - 0.975).abs() < 1e-9 && (ratio.chance_above(high) - 0.025).abs() < 1e-9);
    }

    #[test]
    fn an_untreated_mean_that_may_be_nothing_has_no_interval() {
        let treated = Mean::of(&pots(&[2.0, 3.0])).unwrap();
        let ratio = Ratio::of(treated, Mean::of(&pots(&[0.1, 5.0])).unwrap()).unwrap();
        assert_eq!(ratio.bounds(0.025), None);
        assert!(Ratio::of(treated, Mean::of(&pots(&[0.0, 0.0])).unwrap()).is_none());
    }
}
