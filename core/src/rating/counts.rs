//! Plants alive and seeds with shoots, pot by pot: shares, how unevenly the pots came out, and score intervals.
//!
//! Sources: score interval of a share: Wilson 1927; Newcombe 1998, Stat. Med. 17:857-872. Pots differ more than chance
//! allows: Pearson's chi-square by its degrees of freedom, never below 1, divides the number of plants (quasi-likelihood,
//! McCullagh and Nelder 1989, Generalized Linear Models, from memory). Interval of the ratio of two shares from their two
//! score intervals: MOVER-R (Newcombe 2016, Stat. Methods Med. Res. 25:1774-1778; formula from memory, checked by
//! simulation and beside the score interval of another library in the tests).

use crate::model::Replicate;

/// A share seen in several pots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Plants alive or seeds with a shoot.
    pub count: f64,
    /// Plants sprayed or seeds sown.
    pub of: f64,
    /// Pots or dishes.
    pub pots: usize,
    /// How much more the pots differ than chance allows; 1: as chance allows, or one pot.
    pub overdispersion: f64,
}

impl Share {
    /// Adds pots up; none if one has no number of plants or seeds, or more alive than there were.
    pub fn of(pots: &[Replicate]) -> Option<Self> {
        let (mut count, mut of) = (0.0, 0.0);
        for pot in pots {
            let plants = pot.of.filter(|plants| plants.is_finite() && *plants > 0.0)?;
            if !(pot.value >= 0.0 && pot.value <= plants) {
                return None;
            }
            count += pot.value;
            of += plants;
        }
        (of > 0.0).then(|| Self { count, of, pots: pots.len(), overdispersion: overdispersion(pots, count / of) })
    }

    /// The share, 0 to 1.
    pub fn share(&self) -> f64 {
        self.count / self.of
    }

    /// So many plants taken singly would say as much.
    pub fn effective(&self) -> f64 {
        self.of / self.overdispersion
    }

    /// Score interval `z` standard errors to each side.
    pub fn bounds(&self, z: f64) -> [f64; 2] {
        wilson(self.share(), self.effective(), z)
    }
}

/// Pearson's chi-square of pots about their common share, by its degrees of freedom; at least 1.
fn overdispersion(pots: &[Replicate], share: f64) -> f64 {
    let spread = share * (1.0 - share);
    if pots.len() < 2 || spread <= 0.0 {
        return 1.0;
    }
    let chi: f64 = pots
        .iter()
        .filter_map(|pot| Some((pot.value, pot.of?)))
        .map(|(value, of)| (value - of * share).powi(2) / (of * spread))
        .sum();
    (chi / (pots.len() - 1) as f64).max(1.0)
}

/// Score interval of a share `p` seen in `n`, `z` standard errors to each side.
pub fn wilson(p: f64, n: f64, z: f64) -> [f64; 2] {
    let z2 = z * z;
    let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = z / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    [(middle - half).max(0.0), (middle + half).min(1.0)]
}

/// Interval of the ratio of two shares from the interval of each, `z` standard errors to each side; the upper end is
/// infinite if the divisor may be 0.
pub fn ratio_bounds(above: &Share, below: &Share, z: f64) -> [f64; 2] {
    let (p, q) = (above.share(), below.share());
    let ([l, u], [m, v]) = (above.bounds(z), below.bounds(z));
    let low = (p * q - ((p * q).powi(2) - l * (2.0 * p - l) * v * (2.0 * q - v)).max(0.0).sqrt()) / (v * (2.0 * q - v));
    let divisor = m * (2.0 * q - m);
    let high = if divisor > 0.0 {
        (p * q + ((p * q).powi(2) - u * (2.0 * p - u) * divisor).max(0.0).sqrt()) / divisor
    } else {
        f64::INFINITY
    };
    // An upper limit of the divisor beyond twice its share leaves the formula's range; the ratio is then at least 0.
    [if low.is_finite() { low.max(0.0) } else { 0.0 }, high]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rating::distributions::Z95;

    fn pots(counts: &[(f64, f64)]) -> Vec<Replicate> {
        counts.iter().map(|(value, of)| Replicate { value: *value, of: Some(*of) }).collect()
    }

    #[test]
    fn score_intervals_as_printed_by_newcombe_1998() {
        // The first four stand in the paper; 18/18, 17/18 and 340/400 were worked out from the same formula by R's prop.test
        // without continuity correction.
        let cases = [
            (81.0, 263.0, 0.2553, 0.3662),
            (15.0, 148.0, 0.0624, 0.1605),
            (0.0, 20.0, 0.0, 0.1611),
            (1.0, 29.0, 0.0061, 0.1718),
            (18.0, 18.0, 0.8241, 1.0),
            (17.0, 18.0, 0.7424, 0.9901),
            (340.0, 400.0, 0.811_686, 0.881_655),
        ];
        for (x, n, low, high) in cases {
            let [a, b] = wilson(x / n, n, Z95);
            assert!((a - low).abs() < 5e-5 && (b - high).abs() < 5e-5, "{x}/{n}: {a} {b}");
        }
    }

    #[test]
    fn uneven_pots_say_less() {
        let even = Share::of(&pots(&[(3.0, 6.0), (3.0, 6.0), (3.0, 6.0)])).unwrap();
        let uneven = Share::of(&pots(&[(0.0, 6.0), (3.0, 6.0), (6.0, 6.0)])).unwrap();
        assert_eq!((even.overdispersion, even.effective()), (1.0, 18.0));
        // By hand: (9 + 0 + 9) / 1.5 / 2 = 6.
        assert!((uneven.overdispersion - 6.0).abs() < 1e-12 && (uneven.effective() - 3.0).abs() < 1e-12);
        assert!(Share::of(&pots(&[(7.0, 6.0)])).is_none());
    }

    #[test]
    fn a_certain_divisor_leaves_the_interval_of_the_share() {
        let some = Share { count: 9.0, of: 30.0, pots: 1, overdispersion: 1.0 };
        let all = Share { count: 1e9, of: 1e9, pots: 1, overdispersion: 1.0 };
        for (ratio, share) in ratio_bounds(&some, &all, Z95).iter().zip(some.bounds(Z95)) {
            assert!((ratio - share).abs() < 1e-6, "{ratio} {share}");
        }
    }
}
