//! How near the mean over stops comes to the mean of the field, when what is measured is alike nearby.
//!
//! With a covariance C that falls with distance, stops s with shares w, and the population A, the error of the mean over the stops has
//! the variance mean C(s, s') - 2 mean C(s, A) + mean C(A, A): the extension variance (Cressie 1993, Statistics for Spatial Data,
//! section 1.3; de Gruijter et al. 2006, Sampling for Natural Resource Monitoring, chapter 7). It is set beside that of one stop
//! drawn at random from the population, C(0) - mean C(A, A), so that the answer is a number of random stops.

use geo::{Coord, Distance as _, Euclidean};

use crate::stops::Cell;

/// Mean distance between two places at random in a square of side 1: (2 + sqrt 2 + 5 asinh 1) / 15.
const MEAN_IN_SQUARE: f64 = 0.521_405_433_164_720_7;

/// A place with a weight.
pub type Weighted = (Coord<f64>, f64);

/// Mean of a function of distance over all pairs of two sets of places, weighted; the weights of each add up to anything above 0.
pub fn mean_over_pairs(these: &[Weighted], those: &[Weighted], of: impl Fn(f64) -> f64) -> f64 {
    let total = |list: &[Weighted]| list.iter().map(|(_, weight)| weight).sum::<f64>();
    let sum: f64 = these
        .iter()
        .map(|(a, weight)| weight * those.iter().map(|(b, other)| other * of(Euclidean.distance(*a, *b))).sum::<f64>())
        .sum();
    sum / (total(these) * total(those))
}

/// Variance of the error that the mean over stops makes as the mean over an area, in the unit of the covariance.
///
/// `within`: mean covariance of two places at random in the area. `covariance`: of two places a distance apart, m; minus the
/// variogram does as well, because what is constant falls out.
pub fn extension_variance(stops: &[Weighted], area: &[Weighted], within: f64, covariance: impl Fn(f64) -> f64) -> f64 {
    mean_over_pairs(stops, stops, &covariance) - 2.0 * mean_over_pairs(stops, area, &covariance) + within
}

/// A population, ready to be compared with stops.
#[derive(Debug, Clone)]
pub(super) struct Likeness {
    /// Where it stands.
    area: Vec<Weighted>,
    /// Distance at which likeness has all but gone, m.
    range_m: f64,
    /// Mean covariance of two places at random in it, of a variance of 1.
    within: f64,
}

impl Likeness {
    /// `cells`: the population. `blocks`: the same in few parts of about `side_m` m each.
    pub fn of(cells: &[Cell], blocks: &[Cell], side_m: f64, range_m: f64) -> Self {
        let weighted = |list: &[Cell]| -> Vec<Weighted> {
            let populated = list.iter().any(|cell| cell.population > 0.0);
            list.iter().map(|cell| (cell.at, if populated { cell.population } else { 1.0 })).collect()
        };
        // Two places in one block are not at distance 0 but as far apart as in a square.
        let covariance = |away: f64| exponential(if away > 0.0 { away } else { MEAN_IN_SQUARE * side_m }, range_m);
        let blocks = weighted(blocks);
        Self { area: weighted(cells), range_m, within: mean_over_pairs(&blocks, &blocks, covariance) }
    }

    /// The number of stops drawn at random from the population whose mean would on average be as near to the population's as that
    /// of these stops with their shares; none without stops, or where everything is alike.
    pub fn random_stops(&self, stops: &[Weighted]) -> Option<f64> {
        let covariance = |away: f64| exponential(away, self.range_m);
        let one = 1.0 - self.within;
        let error = extension_variance(stops, &self.area, self.within, covariance);
        (!stops.is_empty() && one > 1e-9 && error > 1e-9).then(|| one / error)
    }
}

/// Covariance of places a distance apart, of a variance of 1: exponential, 5 % left at the range (Chilès and Delfiner 2012).
fn exponential(away_m: f64, range_m: f64) -> f64 {
    if range_m > 0.0 { libm::exp(-3.0 * away_m / range_m) } else { f64::from(away_m == 0.0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Middles of n by n squares of the square from 0 to 1.
    fn square(n: u32) -> Vec<Weighted> {
        let at = |k: u32| (f64::from(k) + 0.5) / f64::from(n);
        (0..n).flat_map(|row| (0..n).map(move |column| (Coord { x: at(column), y: at(row) }, 1.0))).collect()
    }

    fn near(value: f64, expected: f64, within: f64) {
        assert!((value - expected).abs() < within, "{value}, expected {expected}");
    }

    #[test]
    fn mean_distances_in_square_and_disc() {
        // (2 + sqrt 2 + 5 asinh 1) / 15 and (sqrt 2 + asinh 1) / 6 in the unit square, 128 / (45 pi) in the unit disc: exact, e.g.
        // Ghosh 1951, Bull. Calcutta Math. Soc. 43:17-24.
        let root2 = std::f64::consts::SQRT_2;
        near((2.0 + root2 + 5.0 * libm::asinh(1.0)) / 15.0, MEAN_IN_SQUARE, 1e-15);
        let area = square(60);
        let centre = [(Coord { x: 0.5, y: 0.5 }, 1.0)];
        near(mean_over_pairs(&area, &area, |away| away), MEAN_IN_SQUARE, 1e-4);
        near(mean_over_pairs(&centre, &area, |away| away), (root2 + libm::asinh(1.0)) / 6.0, 1e-4);
        near((root2 + libm::asinh(1.0)) / 6.0, 0.382_597_858_232_106_4, 1e-15);
        let disc: Vec<Weighted> = square(80)
            .into_iter()
            .map(|(at, _)| (Coord { x: 2.0 * at.x - 1.0, y: 2.0 * at.y - 1.0 }, 1.0))
            .filter(|(at, _)| at.x.hypot(at.y) <= 1.0)
            .collect();
        near(mean_over_pairs(&disc, &disc, |away| away), 128.0 / (45.0 * std::f64::consts::PI), 1e-3);
    }

    #[test]
    fn one_central_stop_of_a_square_with_a_linear_variogram() {
        // g(h) = h: 2 x 0.3825978582 - 0 - 0.5214054332 = 0.2437902833.
        let area = square(60);
        let minus = |away: f64| -away;
        let within = mean_over_pairs(&area, &area, minus);
        near(extension_variance(&[(Coord { x: 0.5, y: 0.5 }, 1.0)], &area, within, minus), 0.243_790_283_3, 2e-4);
    }

    #[test]
    fn alike_neighbours_are_worth_fewer_as_cressie_has_it() {
        // A row of 10 with correlation rho^|i - j|: worth 6.2 (Cressie 1993, section 1.3, rho 0.26) and 3.8455760853 (rho 0.5).
        let row: Vec<Weighted> = (0..10).map(|k| (Coord { x: f64::from(k), y: 0.0 }, 1.0)).collect();
        near(1.0 / mean_over_pairs(&row, &row, |away| libm::pow(0.26, away)), 6.219_899_526_8, 1e-9);
        near(1.0 / mean_over_pairs(&row, &row, |away| libm::pow(0.5, away)), 3.845_576_085_3, 1e-9);
        // Weights 1, 1, 2, 4 and nothing alike: (sum w)^2 / sum w^2 = 2.9090909 (Kish 1965).
        let weighted: Vec<Weighted> =
            [1.0, 1.0, 2.0, 4.0].into_iter().zip(0..).map(|(w, k)| (Coord { x: f64::from(k), y: 0.0 }, w)).collect();
        near(1.0 / mean_over_pairs(&weighted, &weighted, |away| f64::from(away == 0.0)), 32.0 / 11.0, 1e-12);
    }

    #[test]
    fn stops_in_a_corner_are_worth_one_and_stops_far_apart_their_number() {
        let cell = |(at, weight): Weighted| Cell { at: at * 400.0, population: weight, weight };
        let cells: Vec<Cell> = square(40).into_iter().map(cell).collect();
        let blocks: Vec<Cell> = square(20).into_iter().map(|part| cell((part.0, 4.0))).collect();
        let at = |list: &[[f64; 2]]| -> Vec<Weighted> { list.iter().map(|[x, y]| (Coord { x: *x, y: *y }, 0.25)).collect() };
        let worth = |range_m: f64, stops: &[[f64; 2]]| {
            Likeness::of(&cells, &blocks, 20.0, range_m).random_stops(&at(stops)).unwrap()
        };
        let quarters = [[100.0, 100.0], [300.0, 100.0], [100.0, 300.0], [300.0, 300.0]];
        let corner = [[10.0, 10.0], [12.0, 10.0], [10.0, 12.0], [12.0, 12.0]];
        near(worth(1.0, &quarters), 4.0, 0.05);
        // Long likeness favours stops that spread: more than as many at random, which may lie together.
        assert!(worth(200.0, &quarters) > 5.0, "{}", worth(200.0, &quarters));
        assert!(worth(200.0, &corner) < 1.0, "{}", worth(200.0, &corner));
        assert_eq!(Likeness::of(&cells, &blocks, 20.0, 50.0).random_stops(&[]), None);
    }
}
