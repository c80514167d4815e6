//! The log-logistic dose-response curve: y = c + (d - c) / (1 + exp(b (ln x - ln e))).
//!
//! y is the response (per cent of untreated, weight, count) at dose x; d the response without herbicide, c that at endless
//! doses (0 with three parameters), e the dose halfway between (ED50), b the steepness, positive for a response that falls.
//! Source: Seefeldt, Jensen and Fuerst 1995, Weed Technol. 9:218-227 (from memory). Intervals by the delta method with Student's t.

use crate::rating::distributions::t_quantile;

/// How many parameters a curve has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// The lower end is 0.
    Three,
    /// The lower end is fitted.
    Four,
}

impl Shape {
    /// The number.
    pub fn parameters(self) -> usize {
        match self {
            Self::Three => 3,
            Self::Four => 4,
        }
    }
}

/// A figure with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The figure.
    pub value: f64,
    /// Standard error.
    pub se: f64,
    /// 95 % interval.
    pub interval: [f64; 2],
}

/// A fitted curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Three or four parameters.
    pub shape: Shape,
    /// Steepness.
    pub b: f64,
    /// Lower end.
    pub c: f64,
    /// Upper end.
    pub d: f64,
    /// Dose halfway.
    pub e: f64,
    /// Variances and covariances of b, c, d and e; rows and columns of c are 0 with three parameters.
    pub covariance: [[f64; 4]; 4],
    /// Residual standard error, in the unit of the response.
    pub residual: f64,
    /// Degrees of freedom.
    pub df: f64,
}

impl Curve {
    /// The response at a dose.
    pub fn at(&self, dose: f64) -> f64 {
        response([self.b, self.c, self.d, self.e.ln()], dose)
    }

    /// Standard errors of b, c, d and e.
    pub fn errors(&self) -> [f64; 4] {
        std::array::from_fn(|i| self.covariance[i][i].max(0.0).sqrt())
    }

    /// The dose that takes `percent` of the way from d to c, such as 50 or 90.
    pub fn effective_dose(&self, percent: f64) -> Estimate {
        let odds = percent / (100.0 - percent);
        let factor = odds.powf(1.0 / self.b);
        let value = self.e * factor;
        let by_b = -value * odds.ln() / (self.b * self.b);
        let cov = &self.covariance;
        let variance = by_b * by_b * cov[0][0] + factor * factor * cov[3][3] + 2.0 * by_b * factor * cov[0][3];
        let se = variance.max(0.0).sqrt();
        let half = t_quantile(0.975, self.df) * se;
        Estimate { value, se, interval: [value - half, value + half] }
    }

    /// How many times more it takes than for `standard` to get halfway: ED50 by ED50, its interval on the scale of logarithms.
    pub fn resistance_factor(&self, standard: &Curve) -> Estimate {
        let (own, other) = (self.effective_dose(50.0), standard.effective_dose(50.0));
        let value = own.value / other.value;
        let log_se = ((own.se / own.value).powi(2) + (other.se / other.value).powi(2)).sqrt();
        let half = t_quantile(0.975, self.df + standard.df) * log_se;
        Estimate { value, se: value * log_se, interval: [value * (-half).exp(), value * half.exp()] }
    }
}

/// The response at a dose for b, c, d and ln e.
pub(super) fn response([b, c, d, log_e]: [f64; 4], dose: f64) -> f64 {
    if dose <= 0.0 {
        return if b > 0.0 { d } else { c };
    }
    c + (d - c) / (1.0 + (b * (dose.ln() - log_e)).exp())
}
