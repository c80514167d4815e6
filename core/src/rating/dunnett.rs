//! Several samples against one standard at once: Dunnett's test, one-sided and two-sided.
//!
//! Source: Dunnett 1955, J. Am. Stat. Assoc. 50:1096-1121. The chance that none of several correlated t values passes a
//! bound is a double integral over what they share, the standard's mean and the pooled spread; it is worked out on a grid.
//! Correlation of two samples' t is l(i) l(j) with l(i)^2 = n(i) / (n(i) + n(standard)).

use std::collections::BTreeMap;

use crate::rating::distributions::normal_below;

/// Which differences count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// A sample's mean below the standard's.
    Below,
    /// Either.
    Both,
}

/// For each group the chance, were all alike, of a difference from the control as large as its own or larger.
///
/// None where nothing can be said: fewer than two pots over, or no spread at all.
pub fn dunnett(groups: &[Vec<f64>], control: &[f64], side: Side) -> Option<Vec<f64>> {
    let test = Test::of(groups, control, side)?;
    Some(groups.iter().map(|group| test.chance(group)).collect())
}

/// The same for one of the groups alone, by its index.
pub(super) fn dunnett_of(groups: &[Vec<f64>], control: &[f64], side: Side, index: usize) -> Option<f64> {
    let group = groups.get(index)?;
    Test::of(groups, control, side).map(|test| test.chance(group))
}

/// What all groups of a test share.
struct Test<'a> {
    control: &'a [f64],
    side: Side,
    df: f64,
    spread: f64,
    /// l(i) and how many groups have it.
    loads: Vec<(f64, i32)>,
}

impl<'a> Test<'a> {
    fn of(groups: &[Vec<f64>], control: &'a [f64], side: Side) -> Option<Self> {
        let all = || groups.iter().map(Vec::as_slice).chain([control]);
        if all().any(<[f64]>::is_empty) || groups.is_empty() {
            return None;
        }
        let df = all().map(|group| group.len() - 1).sum::<usize>() as f64;
        let squares: f64 = all().map(|group| group.iter().map(|value| (value - mean(group)).powi(2)).sum::<f64>()).sum();
        let spread = (squares / df).sqrt();
        if df < 1.0 || spread.is_nan() || spread <= 0.0 {
            return None;
        }
        let mut loads: BTreeMap<usize, i32> = BTreeMap::new();
        for group in groups {
            *loads.entry(group.len()).or_default() += 1;
        }
        let load = |(n, times): (usize, i32)| ((n as f64 / (n + control.len()) as f64).sqrt(), times);
        Some(Self { control, side, df, spread, loads: loads.into_iter().map(load).collect() })
    }

    fn chance(&self, group: &[f64]) -> f64 {
        let error = self.spread * (1.0 / group.len() as f64 + 1.0 / self.control.len() as f64).sqrt();
        let t = (mean(self.control) - mean(group)) / error;
        let bound = if self.side == Side::Both { t.abs() } else { t };
        (1.0 - none_passes(bound, &self.loads, self.df, self.side)).clamp(0.0, 1.0)
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Steps of the grid over the standard's mean, and over the pooled spread.
const STEPS: (usize, usize) = (120, 160);

/// Chance that no t passes the bound. `loads`: l(i) and how many samples have it.
fn none_passes(bound: f64, loads: &[(f64, i32)], df: f64, side: Side) -> f64 {
    let reach = 9.0 / (2.0 * df).sqrt();
    let (from, to) = ((1.0 - reach).max(0.0), 1.0 + reach);
    let log_scale = std::f64::consts::LN_2 + 0.5 * df * (0.5 * df).ln() - libm::lgamma(0.5 * df);
    let step = (to - from) / STEPS.1 as f64;
    let (mut total, mut weight) = (0.0, 0.0);
    for i in 0..=STEPS.1 {
        let s = from + step * i as f64;
        // Density of the pooled spread as a share of the true one; Simpson's rule.
        let density = if s > 0.0 {
            (log_scale + (df - 1.0) * s.ln() - 0.5 * df * s * s).exp()
        } else {
            f64::from(u8::from(df <= 1.0)) * log_scale.exp()
        };
        let rule = if i == 0 || i == STEPS.1 { 1.0 } else { 2.0 + 2.0 * (i % 2) as f64 };
        weight += rule * density;
        if rule * density > 1e-14 {
            total += rule * density * given_spread(bound * s, loads, side);
        }
    }
    total / weight
}

fn given_spread(bound: f64, loads: &[(f64, i32)], side: Side) -> f64 {
    let step = 16.0 / STEPS.0 as f64;
    let (mut total, mut weight) = (0.0, 0.0);
    for i in 0..=STEPS.0 {
        let z = -8.0 + step * i as f64;
        let density = (-0.5 * z * z).exp();
        let product: f64 = loads
            .iter()
            .map(|(load, times)| {
                let rest = (1.0 - load * load).sqrt();
                let below = normal_below((bound + load * z) / rest);
                let both = below - if side == Side::Both { normal_below((load * z - bound) / rest) } else { 0.0 };
                both.powi(*times)
            })
            .product();
        total += density * product;
        weight += density;
    }
    total / weight
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rating::distributions::t_below;

    #[test]
    fn one_sample_is_an_ordinary_t_test() {
        let (group, control) = (vec![40.0, 55.0, 50.0], vec![88.0, 92.0, 95.0]);
        let p = dunnett(std::slice::from_ref(&group), &control, Side::Below).unwrap()[0];
        // By hand: means 48.333 and 91.667, pooled variance (116.667 + 24.667) / 4.
        let t = (91.666_667 - 48.333_333) / (141.333_333_f64 / 4.0 * (2.0 / 3.0)).sqrt();
        assert!((p - (1.0 - t_below(t, 4.0))).abs() < 1e-6, "{p}");
    }

    #[test]
    fn published_bounds_cut_off_five_per_cent() {
        // Samples, degrees of freedom, one-sided (Dunnett 1955) and two-sided bounds (revised: Dunnett 1964, Biometrics
        // 20:482-491) at 5 %, from memory; the tests beside another library have closer figures.
        for (samples, df, one, two) in [(3, 10.0, 2.34, 2.76), (4, 20.0, 2.30, 2.65), (2, 16.0, 2.06, 2.42)] {
            let loads = [(0.5_f64.sqrt(), samples)];
            assert!((none_passes(one, &loads, df, Side::Below) - 0.95).abs() < 2e-3, "{samples} {df} {one}");
            let both = none_passes(two, &loads, df, Side::Both);
            assert!((both - 0.95).abs() < 4e-3, "{samples} {df} {two} {both}");
        }
    }

    #[test]
    fn without_spread_nothing_is_said() {
        assert_eq!(dunnett(&[vec![90.0, 90.0]], &[90.0, 90.0], Side::Below), None);
        assert_eq!(dunnett(&[vec![90.0]], &[91.0], Side::Below), None);
    }
}
