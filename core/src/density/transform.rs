//! The scale on which densities are kriged.
//!
//! Counts of weeds are skewed, with many zeros: a few great ones would make the variogram. Webster & Oliver 2007, section
//! 2.2, advise to transform where the skewness is beyond 1 (from memory). Here that is log(z + 1), with z counted in means of the
//! values, so that the unit of density changes nothing; kriged logarithms are taken
//! back with the correction of lognormal kriging, without which the estimate would be too low (Journel & Huijbregts 1978;
//! Cressie 1993, section 3.2.2: from memory, derived again in the test).

use crate::density::Estimate;

/// Skewness above which values are transformed.
const SKEWED: f64 = 1.0;

/// The scale on which densities are kriged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// As they are.
    Plain,
    /// log(z / unit + 1).
    Log1p {
        /// What z is counted in.
        unit: f64,
    },
}

impl Scale {
    /// The scale for values: logarithms if none is negative and their skewness (third central moment over the cube of the
    /// standard deviation) is above 1.
    pub fn of(values: &[f64]) -> Self {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let moment = |power: i32| values.iter().map(|value| (value - mean).powi(power)).sum::<f64>() / n;
        let skewness = moment(3) / moment(2).powf(1.5);
        let logs = values.iter().all(|value| *value >= 0.0) && skewness > SKEWED;
        if logs { Self::Log1p { unit: mean } } else { Self::Plain }
    }

    /// A density on this scale.
    pub fn to(self, value: f64) -> f64 {
        match self {
            Self::Plain => value,
            Self::Log1p { unit } => (value / unit).ln_1p(),
        }
    }

    /// The density that is expected where `estimate` was kriged on this scale; never negative. For logarithms
    /// unit (exp(y + variance/2 - mu) - 1), with mu in the sign of [`Estimate::lagrange`].
    pub fn back(self, estimate: &Estimate) -> f64 {
        let expected = match self {
            Self::Plain => estimate.value,
            Self::Log1p { unit } => unit * (estimate.value + estimate.variance / 2.0 - estimate.lagrange).exp_m1(),
        };
        expected.max(0.0)
    }

    /// The densities between which the truth lies, `z` standard deviations to either side on this scale (1.96 for 95 %);
    /// never negative.
    pub fn interval(self, estimate: &Estimate, z: f64) -> (f64, f64) {
        let away = z * estimate.variance.sqrt();
        let (low, high) = (estimate.value - away, estimate.value + away);
        match self {
            Self::Plain => (low.max(0.0), high.max(0.0)),
            Self::Log1p { unit } => (unit * low.exp_m1().max(0.0), unit * high.exp_m1().max(0.0)),
        }
    }

    /// How uncertain the density is: the kriging standard deviation, and for logarithms half the width of the interval one
    /// standard deviation to either side.
    pub fn standard_error(self, estimate: &Estimate) -> f64 {
        match self {
            Self::Plain => estimate.variance.sqrt(),
            Self::Log1p { .. } => {
                let (low, high) = self.interval(estimate, 1.0);
                (high - low) / 2.0
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use geo::Coord;
    use rand::{RngExt as _, SeedableRng as _};
    use rand_chacha::ChaCha8Rng;

    use super::*;
    use crate::density::{Kriging, Variogram, VariogramShape};

    #[test]
    fn skewed_counts_are_kriged_as_logarithms() {
        assert_eq!(Scale::of(&[0.0, 0.0, 1.0, 0.0, 2.0, 0.0, 39.0]), Scale::Log1p { unit: 6.0 });
        assert_eq!(Scale::of(&[1.0, 2.0, 3.0, 4.0, 5.0]), Scale::Plain);
        assert_eq!(Scale::of(&[-1.0, 0.0, 0.0, 0.0, 0.0, 50.0]), Scale::Plain, "no logarithm of what is negative");
        assert_eq!(Scale::of(&[3.0; 9]), Scale::Plain, "no skewness without variation");
        assert_eq!(Scale::of(&[]), Scale::Plain);
        // Skewness of n - 1 zeros and a one: (n - 2) / sqrt(n - 1), 0.71 at n = 3 and 1.15 at 4.
        assert_eq!(Scale::of(&[0.0, 0.0, 1.0]), Scale::Plain);
        assert_eq!(Scale::of(&[0.0, 0.0, 0.0, 1.0]), Scale::Log1p { unit: 0.25 });
    }

    #[test]
    fn known_values_come_back() {
        for value in [0.0, 0.3, 12.0, 4000.0] {
            for scale in [Scale::Plain, Scale::Log1p { unit: 1.0 }] {
                let known = Estimate { value: scale.to(value), variance: 0.0, lagrange: 0.0 };
                assert!((scale.back(&known) - value).abs() < 1e-9);
                assert_eq!(scale.standard_error(&known), 0.0);
                let (low, high) = scale.interval(&known, 1.96);
                assert!((low - value).abs() < 1e-9 && (high - value).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn densities_are_never_negative() {
        let unsure = Estimate { value: -0.5, variance: 0.04, lagrange: 0.01 };
        for scale in [Scale::Plain, Scale::Log1p { unit: 1.0 }] {
            assert_eq!(scale.back(&unsure), 0.0);
            assert_eq!(scale.interval(&unsure, 1.96).0, 0.0);
        }
        // exp(1 + 0.5/2 - 0.1) - 1 and exp(1 -/+ 2 sqrt 0.5) - 1.
        let estimate = Estimate { value: 1.0, variance: 0.5, lagrange: 0.1 };
        assert!((Scale::Log1p { unit: 1.0 }.back(&estimate) - 1.15_f64.exp_m1()).abs() < 1e-12);
        let (low, high) = Scale::Log1p { unit: 1.0 }.interval(&estimate, 2.0);
        assert_eq!((low, high), (0.0, (1.0 + 2.0_f64.sqrt()).exp_m1()));
    }

    /// A normal deviate (Box & Muller 1958).
    fn normal(rng: &mut ChaCha8Rng) -> f64 {
        let (u, v): (f64, f64) = (rng.random_range(f64::MIN_POSITIVE..1.0), rng.random_range(0.0..1.0));
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    /// Simulates fields whose logarithms are normal (from the Cholesky root of their covariances) and kriges one place of
    /// each from eight others. With E exp(y) = exp(mean + variance/2) and y* of variance l'Cl = l'c + mu, the bias is undone
    /// by (sill - l'Cl)/2 = variance/2 - mu: the mean error must then be 0 within its own standard error.
    #[test]
    fn taken_back_the_estimate_is_unbiased() {
        let variogram = Variogram { shape: VariogramShape::Exponential, nugget: 0.1, partial_sill: 0.7, range_m: 30.0 };
        let at = [(50., 50.), (10., 12.), (90., 20.), (40., 75.), (75., 80.), (20., 60.), (55., 30.), (95., 60.), (5., 95.)];
        let at = at.map(|(x, y): (f64, f64)| Coord { x, y });
        let mut root = [[0.0_f64; 9]; 9];
        for row in 0..9 {
            for column in 0..=row {
                let away = at[row] - at[column];
                let known: f64 = (0..column).map(|k| root[row][k] * root[column][k]).sum();
                let left = variogram.covariance(away.x.hypot(away.y)) - known;
                root[row][column] = if row == column { left.sqrt() } else { left / root[column][column] };
            }
        }
        let mut rng = ChaCha8Rng::seed_from_u64(42);
        let (mut with, mut without) = (Vec::new(), Vec::new());
        for _ in 0..20_000 {
            let deviates: [f64; 9] = std::array::from_fn(|_| normal(&mut rng));
            let y: [f64; 9] = std::array::from_fn(|row| 4.0 + (0..=row).map(|k| root[row][k] * deviates[k]).sum::<f64>());
            let points: Vec<_> = at.into_iter().zip(y).skip(1).collect();
            let estimate = Kriging::new(&points, variogram, None).unwrap().estimate(at[0]);
            with.push(Scale::Log1p { unit: 1.0 }.back(&estimate) - y[0].exp_m1());
            without.push(estimate.value.exp_m1() - y[0].exp_m1());
        }
        let in_errors = |errors: &[f64]| {
            let n = errors.len() as f64;
            let mean = errors.iter().sum::<f64>() / n;
            let deviation = (errors.iter().map(|error| (error - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
            mean / (deviation / n.sqrt())
        };
        let (with, without) = (in_errors(&with), in_errors(&without));
        assert!(with.abs() < 3.0, "off by {with} standard errors");
        assert!(without < -10.0, "uncorrected it is too low, here by {without} standard errors");
    }
}
