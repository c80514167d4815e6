//! Normal and Student's t: shares below a value, and values for a share.

use statrs::distribution::{ContinuousCDF as _, StudentsT};

/// 97.5 % point of the normal distribution.
pub(super) const Z95: f64 = 1.959_963_984_540_054;

/// Share of a standard normal below `z`.
pub(super) fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// Share of Student's t with `df` degrees of freedom below `t`.
pub(super) fn t_below(t: f64, df: f64) -> f64 {
    StudentsT::new(0.0, 1.0, df).map_or_else(|_| normal_below(t), |distribution| distribution.cdf(t))
}

/// The value below which a share `p` of Student's t lies.
pub(super) fn t_quantile(p: f64, df: f64) -> f64 {
    quantile(p, |t| t_below(t, df))
}

/// The value below which a share `p` of a standard normal lies.
pub(super) fn normal_quantile(p: f64) -> f64 {
    quantile(p, normal_below)
}

/// Where a distribution function that is symmetric about 0 reaches `p`, by halving.
fn quantile(p: f64, below: impl Fn(f64) -> f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return if p >= 1.0 { f64::INFINITY } else { f64::NEG_INFINITY };
    }
    let (mut low, mut high) = (-1.0, 1.0);
    while below(low) > p && low > -1e12 {
        low *= 2.0;
    }
    while below(high) < p && high < 1e12 {
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if below(middle) < p { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_as_printed_in_tables_of_t() {
        // Any table of Student's t: 97.5 % points for 1, 5, 10 and 30 degrees of freedom.
        for (df, printed) in [(1.0, 12.706), (5.0, 2.571), (10.0, 2.228), (30.0, 2.042)] {
            assert!((t_quantile(0.975, df) - printed).abs() < 6e-4, "{df}: {}", t_quantile(0.975, df));
        }
        assert!((normal_quantile(0.975) - Z95).abs() < 1e-12);
        assert!((t_below(-2.0, 4.0) + t_below(2.0, 4.0) - 1.0).abs() < 1e-12);
    }
}
