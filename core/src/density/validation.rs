//! Leave-one-out: how well a rule of interpolation foretells each point from the others.

use geo::Coord;
use rayon::prelude::*;
use rstar::RTree;
use rstar::primitives::GeomWithData;

/// Neighbours and power of the inverse distance rule of [`crate::density::inverse_distance`].
const NEIGHBOURS: usize = 16;

/// What is left when every point is foretold from the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossValidation {
    /// Mean of value less estimate, in the value's unit; near 0 if there is no bias.
    pub mean_error: f64,
    /// Root mean squared error, in the value's unit.
    pub rmse: f64,
    /// Mean of the squared error over the variance that was foretold for it; near 1 if the variances are right. None for
    /// rules that foretell no variance.
    pub msdr: Option<f64>,
    /// Root mean squared error if each value is foretold by the plain mean of the others.
    pub rmse_of_mean: f64,
}

impl CrossValidation {
    /// From the errors (value less estimate), the values, and the variances where the rule gives them. Fewer than 2 values
    /// give NaN.
    pub(super) fn of(errors: &[f64], variances: Option<&[f64]>, values: &[f64]) -> Self {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        // The mean without a value lies n / (n - 1) times as far from it.
        let from_mean = values.iter().map(|value| ((value - mean) * n / (n - 1.0)).powi(2)).sum::<f64>();
        let ratios = |variances: &[f64]| errors.iter().zip(variances).map(|(e, v)| e * e / v).sum::<f64>() / n;
        Self {
            mean_error: errors.iter().sum::<f64>() / n,
            rmse: (errors.iter().map(|error| error * error).sum::<f64>() / n).sqrt(),
            msdr: variances.map(ratios),
            rmse_of_mean: (from_mean / n).sqrt(),
        }
    }
}

/// Leave-one-out of inverse distance (power 2, the nearest 16 of the other points). Points: metres, value; at different
/// places. None with fewer than 2.
pub fn leave_one_out_idw(points: &[(Coord<f64>, f64)]) -> Option<CrossValidation> {
    if points.len() < 2 {
        return None;
    }
    let leaf = |(index, (at, _)): (usize, &(Coord<f64>, f64))| GeomWithData::new([at.x, at.y], index);
    let tree = RTree::bulk_load(points.iter().enumerate().map(leaf).collect());
    let error = |(index, (at, value)): (usize, &(Coord<f64>, f64))| {
        let others = tree.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]).filter(|(other, _)| other.data != index);
        let (mut sum, mut weights) = (0.0, 0.0);
        for (other, distance2) in others.take(NEIGHBOURS) {
            // Two points at one place: as the rule does, the other's value stands.
            if distance2 == 0.0 {
                return value - points[other.data].1;
            }
            sum += points[other.data].1 / distance2;
            weights += 1.0 / distance2;
        }
        value - sum / weights
    };
    let errors: Vec<f64> = points.par_iter().enumerate().map(error).collect();
    let values: Vec<f64> = points.iter().map(|point| point.1).collect();
    Some(CrossValidation::of(&errors, None, &values))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_points_by_hand() {
        // At 0, 1 and 3 m with 2, 4 and 6: from 1 and 3 m away (4 + 6/9)/(1 + 1/9) = 4.2; from 1 and 2 m away
        // (2 + 6/4)/(1 + 1/4) = 2.8; from 3 and 2 m away (2/9 + 4/4)/(1/9 + 1/4) = 44/13.
        let points = [(0.0, 2.0), (1.0, 4.0), (3.0, 6.0)].map(|(x, value)| (Coord { x, y: 0.0 }, value));
        let found = leave_one_out_idw(&points).unwrap();
        let errors = [2.0 - 4.2, 4.0 - 2.8, 6.0 - 44.0 / 13.0];
        assert!((found.mean_error - errors.iter().sum::<f64>() / 3.0).abs() < 1e-12);
        assert!((found.rmse - (errors.iter().map(|e| e * e).sum::<f64>() / 3.0).sqrt()).abs() < 1e-12);
        // Means of the others: 5, 4 and 3.
        assert!((found.rmse_of_mean - 6.0_f64.sqrt()).abs() < 1e-12);
        assert_eq!(found.msdr, None);
        assert_eq!(leave_one_out_idw(&points[..1]), None);
    }
}
