//! Variograms: how the difference between two places grows with the distance between them.
//!
//! Takes points in metres of a local plane with a value each; gives half the mean squared difference by distance (Matheron
//! 1963) and a model fitted to it. Cut-off, number of bins and weights are those that gstat takes by default (Pebesma 2004,
//! Computers & Geosciences 30:683-691), so that the results can be laid beside it.

use geo::Coord;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Bins that the distances up to the cut-off fall into.
const BINS: usize = 15;

/// Ranges tried before the best of them is refined.
const RANGES: usize = 80;

/// Distances that differ by less than this part are equal.
const ROUNDING: f64 = 1e-8;

/// The part by which a structure must lower the weighted squares of a pure nugget to be believed. A judgement: it is low,
/// because leaving points out decides afterwards whether the structure is of use.
const NOTICEABLE: f64 = 0.1;

/// How the variogram rises.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum VariogramShape {
    /// No structure: the same difference at every distance.
    Nugget,
    /// 1.5 h/a - 0.5 (h/a)^3 up to the range a, 1 beyond.
    Spherical,
    /// 1 - exp(-h/a); 95 % of the way at three times a.
    Exponential,
}

/// A variogram model, parametrised as in gstat.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Variogram {
    /// How it rises.
    pub shape: VariogramShape,
    /// Its height just beside 0, in squares of the value's unit.
    pub nugget: f64,
    /// What it rises by above the nugget, in squares of the value's unit; of no effect in a pure nugget.
    pub partial_sill: f64,
    /// The range a, m; of no effect in a pure nugget.
    pub range_m: f64,
}

impl Variogram {
    /// Half the expected squared difference at distance `h` m; 0 at 0.
    pub fn gamma(&self, h: f64) -> f64 {
        if h == 0.0 { 0.0 } else { self.nugget + self.structure() * risen(self.shape, h / self.range_m) }
    }

    /// Covariance at distance `h` m: the sill less [`Self::gamma`].
    pub fn covariance(&self, h: f64) -> f64 {
        if h == 0.0 { self.sill() } else { self.structure() * (1.0 - risen(self.shape, h / self.range_m)) }
    }

    /// Its height far away: the variance of a place about the mean.
    pub fn sill(&self) -> f64 {
        self.nugget + self.structure()
    }

    /// The distance beyond which two places tell (almost) nothing of each other, m: the range, for an exponential three
    /// times that, 0 for a pure nugget.
    pub fn reach_m(&self) -> f64 {
        match self.shape {
            VariogramShape::Nugget => 0.0,
            VariogramShape::Spherical => self.range_m,
            VariogramShape::Exponential => 3.0 * self.range_m,
        }
    }

    fn structure(&self) -> f64 {
        if self.shape == VariogramShape::Nugget { 0.0 } else { self.partial_sill }
    }
}

/// How much of its structure a variogram has risen by at a distance of `r` ranges.
fn risen(shape: VariogramShape, r: f64) -> f64 {
    match shape {
        VariogramShape::Spherical if r < 1.0 => r * (1.5 - 0.5 * r * r),
        VariogramShape::Nugget | VariogramShape::Spherical => 1.0,
        VariogramShape::Exponential => -(-r).exp_m1(),
    }
}

/// Pairs of points at about the same distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VariogramBin {
    /// How many.
    pub pairs: usize,
    /// Their mean distance, m.
    pub distance_m: f64,
    /// Half their mean squared difference.
    pub gamma: f64,
}

/// The sample variogram (Matheron's estimator): pairs up to a third of the diagonal of the box about the points, in 15 equal
/// bins, each open below and closed above; empty ones are left out. Pairs at one place are not counted.
pub fn sample_variogram(points: &[(Coord<f64>, f64)]) -> Vec<VariogramBin> {
    sample_variogram_to(points, diagonal(points) / 3.0)
}

/// As [`sample_variogram`], up to a cut-off in m of one's own. The box about points changes as they are turned: what must not
/// depend on that takes a third of the largest distance, for points on a rectangle the same.
pub(super) fn sample_variogram_to(points: &[(Coord<f64>, f64)], cutoff: f64) -> Vec<VariogramBin> {
    let width = cutoff / BINS as f64;
    // Summed row by row and then in order, so that the number of threads does not show in the result.
    let rows: Vec<[VariogramBin; BINS]> =
        (0..points.len()).into_par_iter().map(|row| sums_of(points[row], &points[..row], cutoff, width)).collect();
    let mut sums = [VariogramBin { pairs: 0, distance_m: 0.0, gamma: 0.0 }; BINS];
    for row in &rows {
        for (sum, part) in sums.iter_mut().zip(row) {
            sum.pairs += part.pairs;
            sum.distance_m += part.distance_m;
            sum.gamma += part.gamma;
        }
    }
    let filled = sums.iter().filter(|sum| sum.pairs > 0);
    filled
        .map(|sum| {
            let n = sum.pairs as f64;
            VariogramBin { pairs: sum.pairs, distance_m: sum.distance_m / n, gamma: sum.gamma / (2.0 * n) }
        })
        .collect()
}

/// Sums of distances and squared differences between one point and others, by bin.
fn sums_of(one: (Coord<f64>, f64), others: &[(Coord<f64>, f64)], cutoff: f64, width: f64) -> [VariogramBin; BINS] {
    let mut sums = [VariogramBin { pairs: 0, distance_m: 0.0, gamma: 0.0 }; BINS];
    for other in others {
        let away = other.0 - one.0;
        let distance = away.x.hypot(away.y);
        // Points on a lattice lie at the edge of a bin exactly, but for rounding.
        if distance > 0.0 && distance <= cutoff * (1.0 + ROUNDING) {
            let bin = ((distance / width * (1.0 - ROUNDING)).ceil() as usize).clamp(1, BINS) - 1;
            sums[bin].pairs += 1;
            sums[bin].distance_m += distance;
            sums[bin].gamma += (other.1 - one.1).powi(2);
        }
    }
    sums
}

/// Diagonal of the box about points, m.
fn diagonal(points: &[(Coord<f64>, f64)]) -> f64 {
    let span = |of: fn(&Coord<f64>) -> f64| {
        let (low, high) = points
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (at, _)| (low.min(of(at)), high.max(of(at))));
        (high - low).max(0.0)
    };
    span(|at| at.x).hypot(span(|at| at.y))
}

/// A model and what it leaves.
#[derive(Debug, Clone, Copy)]
struct Fit {
    variogram: Variogram,
    /// Weighted sum of squares.
    residual: f64,
}

/// The model that leaves the least weighted squares, with weights pairs / distance^2 (Cressie 1985 in the form that gstat
/// takes by default): spherical or exponential, or a pure nugget if neither lowers them noticeably. None without bins, and
/// where values do not vary.
pub fn fit_variogram(bins: &[VariogramBin]) -> Option<Variogram> {
    let flat = fit(bins, VariogramShape::Nugget)?;
    let structures = [VariogramShape::Spherical, VariogramShape::Exponential];
    let best = structures.iter().filter_map(|shape| fit(bins, *shape)).min_by(|a, b| a.residual.total_cmp(&b.residual));
    let believed =
        best.filter(|best| best.variogram.partial_sill > 0.0 && best.residual < (1.0 - NOTICEABLE) * flat.residual);
    Some(believed.unwrap_or(flat).variogram).filter(|variogram| variogram.sill() > 0.0)
}

/// The best model of one shape. None with fewer bins than parameters.
pub fn fit_shape(bins: &[VariogramBin], shape: VariogramShape) -> Option<Variogram> {
    fit(bins, shape).map(|fit| fit.variogram)
}

fn fit(bins: &[VariogramBin], shape: VariogramShape) -> Option<Fit> {
    let usable = |bin: &&VariogramBin| bin.pairs > 0 && bin.distance_m > 0.0 && bin.gamma.is_finite();
    let mut bins: Vec<VariogramBin> = bins.iter().filter(usable).copied().collect();
    bins.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m));
    let (first, last) = (bins.first()?.distance_m, bins.last()?.distance_m);
    // Shorter ranges than the first bin cannot be told from a nugget, much longer ones than the last not from a line.
    let (shortest, longest) = match shape {
        VariogramShape::Nugget => return Some(with_range(&bins, shape, first)),
        _ if bins.len() < 3 => return None,
        VariogramShape::Spherical => (first, 4.0 * last),
        VariogramShape::Exponential => (first / 3.0, 4.0 * last / 3.0),
    };
    let step = (longest / shortest).ln() / (RANGES - 1) as f64;
    let at = |steps: f64| with_range(&bins, shape, shortest * (steps * step).exp());
    let tried = (0..RANGES).map(|index| (index, at(index as f64).residual));
    let (best, _) = tried.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let (low, high) = (best.saturating_sub(1) as f64, (best + 1).min(RANGES - 1) as f64);
    Some(at(golden_section(low, high, |steps| at(steps).residual)))
}

/// The least weighted squares at a given range: linear in nugget and partial sill, neither of them negative.
fn with_range(bins: &[VariogramBin], shape: VariogramShape, range_m: f64) -> Fit {
    let weight = |bin: &VariogramBin| bin.pairs as f64 / (bin.distance_m * bin.distance_m);
    let (mut w, mut wf, mut wff, mut wg, mut wfg) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for bin in bins {
        let (weight, f) = (weight(bin), risen(shape, bin.distance_m / range_m));
        w += weight;
        wf += weight * f;
        wff += weight * f * f;
        wg += weight * bin.gamma;
        wfg += weight * f * bin.gamma;
    }
    let fitted = |nugget: f64, partial_sill: f64| {
        let variogram = Variogram { shape, nugget, partial_sill, range_m };
        let residual = bins.iter().map(|bin| weight(bin) * (bin.gamma - variogram.gamma(bin.distance_m)).powi(2)).sum();
        Fit { variogram, residual }
    };
    let flat = fitted(wg / w, 0.0);
    if shape == VariogramShape::Nugget {
        return flat;
    }
    // Two unknowns: the free solution if it is allowed, else the better of the two edges.
    let determinant = w * wff - wf * wf;
    let free = ((wff * wg - wf * wfg) / determinant, (w * wfg - wf * wg) / determinant);
    if determinant > 1e-12 * w * wff && free.0 >= 0.0 && free.1 >= 0.0 {
        return fitted(free.0, free.1);
    }
    let rising = fitted(0.0, wfg / wff);
    if rising.residual < flat.residual { rising } else { flat }
}

/// Where a function with one low between two ends is lowest (Kiefer 1953).
fn golden_section(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let part = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut left, mut right) = (high - part * (high - low), low + part * (high - low));
    let (mut f_left, mut f_right) = (f(left), f(right));
    while high - low > 1e-7 {
        if f_left <= f_right {
            (high, right, f_right) = (right, left, f_left);
            left = high - part * (high - low);
            f_left = f(left);
        } else {
            (low, left, f_left) = (left, right, f_right);
            right = low + part * (high - low);
            f_right = f(right);
        }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPHERICAL: Variogram =
        Variogram { shape: VariogramShape::Spherical, nugget: 0.5, partial_sill: 2.0, range_m: 80.0 };

    fn bins_of(variogram: &Variogram) -> Vec<VariogramBin> {
        let at = |bin: usize| 10.0 * (bin as f64 + 0.5);
        (0..BINS).map(|bin| VariogramBin { pairs: 50 + bin, distance_m: at(bin), gamma: variogram.gamma(at(bin)) }).collect()
    }

    #[test]
    fn models_rise_from_nothing_to_the_sill() {
        // By hand from the formulae of Webster & Oliver 2007, section 5.2 (from memory): at half the range 11/16 of the
        // way; at three exponential ranges 1 - e^-3.
        assert_eq!(SPHERICAL.gamma(0.0), 0.0);
        assert!((SPHERICAL.gamma(40.0) - (0.5 + 2.0 * 11.0 / 16.0)).abs() < 1e-15);
        assert_eq!(SPHERICAL.gamma(80.0), 2.5);
        assert_eq!(SPHERICAL.gamma(1e9), SPHERICAL.sill());
        let exponential = Variogram { shape: VariogramShape::Exponential, ..SPHERICAL };
        assert!((exponential.gamma(exponential.reach_m()) - 0.5 - 2.0 * (1.0 - (-3.0_f64).exp())).abs() < 1e-15);
        let nugget = Variogram { shape: VariogramShape::Nugget, ..SPHERICAL };
        assert_eq!((nugget.gamma(1.0), nugget.sill(), nugget.covariance(1.0)), (0.5, 0.5, 0.0));
        for variogram in [SPHERICAL, exponential, nugget] {
            for h in [0.0, 1e-9, 3.0, 79.0, 81.0, 1e4] {
                assert!((variogram.covariance(h) + variogram.gamma(h) - variogram.sill()).abs() < 1e-14, "{h}");
            }
        }
    }

    #[test]
    fn a_line_of_points_by_hand() {
        // 0, 1, 2, ..., 9 m: the cut-off is 3 m, a bin 0.2 m; pairs 1, 2 and 3 m apart differ by as much.
        let points: Vec<_> = (0..10).map(|x| (Coord { x: f64::from(x), y: 0.0 }, f64::from(x))).collect();
        let bins = sample_variogram(&points);
        let seen: Vec<_> = bins.iter().map(|bin| (bin.pairs, bin.distance_m, bin.gamma)).collect();
        assert_eq!(seen, [(9, 1.0, 0.5), (8, 2.0, 2.0), (7, 3.0, 4.5)]);
    }

    #[test]
    fn nothing_to_fit() {
        assert!(sample_variogram(&[]).is_empty());
        assert!(sample_variogram(&[(Coord { x: 1.0, y: 1.0 }, 1.0); 5]).is_empty(), "pairs at one place");
        assert_eq!(fit_variogram(&[]), None);
        let level = bins_of(&Variogram { nugget: 0.0, partial_sill: 0.0, ..SPHERICAL });
        assert_eq!(fit_variogram(&level), None, "values that do not vary");
        assert_eq!(fit_shape(&level[..2], VariogramShape::Spherical), None, "fewer bins than parameters");
    }

    #[test]
    fn the_model_that_made_the_bins_comes_back() {
        for shape in [VariogramShape::Spherical, VariogramShape::Exponential] {
            for nugget in [0.0, 0.5] {
                let made = Variogram { shape, nugget, partial_sill: 2.0, range_m: 47.0 };
                let found = fit_variogram(&bins_of(&made)).unwrap();
                assert_eq!(found.shape, shape);
                assert!((found.nugget - nugget).abs() < 1e-4, "{found:?}");
                assert!((found.partial_sill - 2.0).abs() < 1e-4, "{found:?}");
                assert!((found.range_m - 47.0).abs() < 1e-2, "{found:?}");
            }
        }
        let flat = Variogram { shape: VariogramShape::Nugget, ..SPHERICAL };
        let found = fit_variogram(&bins_of(&flat)).unwrap();
        assert_eq!((found.shape, found.nugget), (VariogramShape::Nugget, 0.5));
    }

    #[test]
    fn neither_part_is_negative() {
        // A variogram that falls, and one that is hollow at the start.
        for gamma in [|h: f64| 5.0 - h / 50.0, |h: f64| h * h] {
            let mut bins = bins_of(&SPHERICAL);
            for bin in &mut bins {
                bin.gamma = gamma(bin.distance_m);
            }
            for shape in [VariogramShape::Spherical, VariogramShape::Exponential] {
                let found = fit_shape(&bins, shape).unwrap();
                assert!(found.nugget >= 0.0 && found.partial_sill >= 0.0, "{found:?}");
            }
        }
    }
}
