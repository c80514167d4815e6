//! The chance that a sample holds a biotype of a given frequency.
//!
//! Independent seeds: 1 - (1 - p)^n. Seeds of one stop are alike, because they come from few mothers of one patch: m seeds from one
//! stop with intraclass correlation rho follow a beta-binomial with a = p (1 - rho) / rho, b = (1 - p) (1 - rho) / rho, and hold
//! none of the biotype with chance B(a, b + m) / B(a, b) (Madden, Hughes and Munkvold 1996, Crop Protection 15:621-632).
//! Stops are taken as independent of each other. Effective number: n / (1 + (m - 1) rho) (Kish 1965).

use libm::lgamma;

/// Chance that `n` seeds hold at least one of a biotype of frequency `p`, when any two are correlated by `rho`.
pub fn chance_of_detection(p: f64, rho: f64, n: f64) -> f64 {
    let (p, rho) = (p.clamp(0.0, 1.0), rho.clamp(0.0, 1.0));
    if p == 0.0 || n <= 0.0 {
        return 0.0;
    }
    if p == 1.0 {
        return 1.0;
    }
    if rho == 0.0 {
        return 1.0 - (1.0 - p).powf(n);
    }
    if rho == 1.0 {
        return p;
    }
    let (a, b) = (p * (1.0 - rho) / rho, (1.0 - p) * (1.0 - rho) / rho);
    // ln B(a, b + n) - ln B(a, b); the gamma of a falls out.
    let log_none = lgamma(b + n) - lgamma(a + b + n) - lgamma(b) + lgamma(a + b);
    -libm::expm1(log_none)
}

/// Chance that `seeds` seeds, taken in equal parts at `stops` stops, hold at least one of the biotype.
pub fn chance_of_clusters(p: f64, rho: f64, stops: usize, seeds: f64) -> f64 {
    let k = stops as f64;
    if stops == 0 {
        return 0.0;
    }
    1.0 - (1.0 - chance_of_detection(p, rho, seeds / k)).powf(k)
}

/// `seeds` seeds in equal parts from `stops` stops, as a number of independent seeds.
pub fn effective_number(rho: f64, stops: usize, seeds: f64) -> f64 {
    if stops == 0 {
        return 0.0;
    }
    let each = seeds / stops as f64;
    seeds / (1.0 + (each - 1.0).max(0.0) * rho)
}

/// Independent seeds needed to hold at least one of a biotype of frequency `p` with a chance of `confidence`.
pub fn needed_for_detection(p: f64, confidence: f64) -> u32 {
    (libm::log1p(-confidence) / libm::log1p(-p)).ceil() as u32
}

/// When none of `n` independent seeds is of a biotype: the frequency that it does not exceed, with a chance of `confidence`.
pub fn upper_bound_if_none(n: u32, confidence: f64) -> f64 {
    1.0 - libm::pow(1.0 - confidence, 1.0 / f64::from(n.max(1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64) {
        assert!((value - expected).abs() < 1e-9, "{value}, expected {expected}");
    }

    #[test]
    fn beta_binomial_as_by_scipy() {
        near(chance_of_detection(0.05, 0.1, 30.0), 0.497_918_815_1);
        near(chance_of_detection(0.05, 0.3, 30.0), 0.284_751_550_4);
        near(chance_of_detection(0.1, 0.2, 20.0), 0.541_855_647_2);
        near(chance_of_detection(0.01, 0.1, 100.0), 0.205_140_867_8);
        near(chance_of_detection(0.05, 0.0, 30.0), 0.785_361_236_1);
    }

    #[test]
    fn more_stops_beat_more_heads_at_a_stop() {
        // 30 plants, p = 0.05, rho = 0.2, as k stops of m plants; computed with lgamma and with scipy.
        let cases = [(1, 0.366_364), (3, 0.559_997), (5, 0.637_226), (6, 0.661_060), (10, 0.716_394), (30, 0.785_361)];
        for (stops, chance) in cases {
            assert!((chance_of_clusters(0.05, 0.2, stops, 30.0) - chance).abs() < 5e-7, "{stops}");
        }
    }

    #[test]
    fn seeds_needed_as_printed() {
        // ceil(ln(1 - c) / ln(1 - p)), e.g. Fosgate 2009, J. Vet. Diagn. Invest. 21:3-14.
        let frequencies = [0.001, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2];
        for (confidence, needed) in [
            (0.90, [2302, 460, 230, 114, 45, 22, 11]),
            (0.95, [2995, 598, 299, 149, 59, 29, 14]),
            (0.99, [4603, 919, 459, 228, 90, 44, 21]),
        ] {
            assert_eq!(frequencies.map(|p| needed_for_detection(p, confidence)), needed);
        }
    }

    #[test]
    fn none_found_still_bounds_the_frequency() {
        // 1 - 0.05^(1/n): 0.0950338529, 0.0295130496 and 0.0099360819 for 30, 100 and 300 seeds.
        for (n, bound) in [(30, 0.095_033_852_9), (100, 0.029_513_049_6), (300, 0.009_936_081_9)] {
            near(upper_bound_if_none(n, 0.95), bound);
        }
    }

    #[test]
    fn effective_numbers_by_kish() {
        // Design effects 6.8, 2.8 and 1.8 for 30, 10 and 5 seeds a stop at rho 0.2.
        for (each, effect) in [(30.0, 6.8), (10.0, 2.8), (5.0, 1.8)] {
            near(effective_number(0.2, 4, 4.0 * each), 4.0 * each / effect);
        }
    }

    #[test]
    fn ends_of_the_scales() {
        assert_eq!(chance_of_detection(0.0, 0.2, 50.0), 0.0);
        assert_eq!(chance_of_detection(1.0, 0.2, 1.0), 1.0);
        near(chance_of_detection(0.05, 1.0, 50.0), 0.05);
    }
}
