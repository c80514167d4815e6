//! The equations of ordinary kriging over one set of places, solved once for many cells.
//!
//! With covariances C among the places and c from the places to a cell (Cressie 1993, section 3.2):
//! s = C^-1 1, S = 1's, m = s'z / S, mu = (1 - s'c) / S, value = m + c' C^-1 (z - m), variance = sill - c' C^-1 c + mu^2 S.
//! That is the solution of [G 1; 1' 0] [l; mu] = [g; 1] with variance l'g + mu, in a form that needs only C, which is
//! positive definite: C = L L', and c' C^-1 c = |L^-1 c|^2.

use geo::Coord;
use ndarray::linalg::general_mat_mul;
use ndarray::{Array2, Axis, Slice};

use crate::density::Variogram;

/// Points this near to each other, m, are at the same place.
pub const SAME_PLACE_M: f64 = 1e-6;

/// A kriged value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// In the unit of the points.
    pub value: f64,
    /// Kriging variance, in squares of that unit; never negative, 0 at a point.
    pub variance: f64,
    /// The Lagrange multiplier mu in squares of that unit, with the sign in which variance = sum of weight * gamma + mu.
    pub lagrange: f64,
}

/// Numbers that are added side by side.
const LANES: usize = 4;

/// Rows of L^-1 that are multiplied at a time: what lies right of them above the diagonal is left out.
const STRIP: usize = 64;

/// A pivot below this part of the sill is no longer told from rounding.
const LEAST_PIVOT: f64 = 1e-12;

/// The solved equations.
#[derive(Debug)]
pub struct System {
    places: Vec<(Coord<f64>, f64)>,
    variogram: Variogram,
    /// L^-1, 0 above the diagonal.
    inverse: Array2<f64>,
    /// s = C^-1 1.
    ones: Vec<f64>,
    /// S = 1' C^-1 1.
    total: f64,
    /// The mean by generalised least squares.
    mean: f64,
    /// C^-1 (z - m).
    dual: Vec<f64>,
}

impl System {
    /// Solves for places that differ. None if they are too near each other to be told apart.
    pub fn new(places: Vec<(Coord<f64>, f64)>, variogram: Variogram) -> Option<Self> {
        let n = places.len();
        let mut lower = vec![0.0; n * n];
        for row in 0..n {
            for column in 0..=row {
                lower[row * n + column] = covariance(&variogram, places[row].0, places[column].0);
            }
        }
        factor(&mut lower, n, LEAST_PIVOT * variogram.sill())?;
        let inverse = inverse_of_lower(&lower, n);
        let ones = solve(&inverse, &vec![1.0; n]);
        let total: f64 = ones.iter().sum();
        let mean = ones.iter().zip(&places).map(|(one, place)| one * place.1).sum::<f64>() / total;
        let dual = solve(&inverse, &places.iter().map(|place| place.1 - mean).collect::<Vec<f64>>());
        let inverse = Array2::from_shape_vec((n, n), inverse).ok()?;
        Some(Self { places, variogram, inverse, ones, total, mean, dual })
    }

    /// Value and variance at one cell.
    pub fn estimate(&self, at: Coord<f64>) -> Estimate {
        let c: Vec<f64> = self.places.iter().map(|place| covariance(&self.variogram, place.0, at)).collect();
        let squares = (0..c.len()).map(|row| dot(&self.row(row)[..=row], &c).powi(2)).sum();
        self.finished(dot(&self.dual, &c), dot(&self.ones, &c), squares)
    }

    /// Values and variances at cells. All are multiplied at once by a library that knows the processor, which takes a fraction of
    /// the time of one after the other.
    pub fn estimate_all(&self, cells: &[Coord<f64>]) -> Vec<Estimate> {
        let n = self.places.len();
        let to_cells = Array2::from_shape_fn((n, cells.len()), |(place, cell)| {
            covariance(&self.variogram, self.places[place].0, cells[cell])
        });
        let (mut value, mut weight, mut squares) = (vec![0.0; cells.len()], vec![0.0; cells.len()], vec![0.0; cells.len()]);
        for ((row, dual), one) in to_cells.rows().into_iter().zip(&self.dual).zip(&self.ones) {
            for ((c, value), weight) in row.iter().zip(&mut value).zip(&mut weight) {
                *value += c * dual;
                *weight += c * one;
            }
        }
        let mut part = Array2::zeros((STRIP, cells.len()));
        for start in (0..n).step_by(STRIP) {
            let end = (start + STRIP).min(n);
            let mut part = part.slice_axis_mut(Axis(0), Slice::from(..end - start));
            let rows = self.inverse.slice_axis(Axis(0), Slice::from(start..end));
            let rows = rows.slice_axis(Axis(1), Slice::from(..end));
            general_mat_mul(1.0, &rows, &to_cells.slice_axis(Axis(0), Slice::from(..end)), 0.0, &mut part);
            for row in part.rows() {
                row.iter().zip(&mut squares).for_each(|(part, sum)| *sum += part * part);
            }
        }
        let sums = value.into_iter().zip(weight).zip(squares);
        sums.map(|((value, weight), squares)| self.finished(value, weight, squares)).collect()
    }

    /// The estimate from c' C^-1 (z - m), s'c and |L^-1 c|^2.
    fn finished(&self, value: f64, weight: f64, squares: f64) -> Estimate {
        let lagrange = (1.0 - weight) / self.total;
        let variance = self.variogram.sill() - squares + lagrange * lagrange * self.total;
        Estimate { value: self.mean + value, variance: variance.max(0.0), lagrange }
    }

    fn row(&self, row: usize) -> &[f64] {
        let n = self.places.len();
        self.inverse.as_slice().map_or(&[], |all| &all[row * n..(row + 1) * n])
    }

    /// For every place what is left when it is estimated from the others (value less estimate), and the variance of that
    /// estimate: Dubrule 1983, Mathematical Geology 15:687-699. With B = C^-1 - s s'/S these are (B z)_i / B_ii and 1 / B_ii.
    pub fn leave_one_out(&self) -> Vec<(f64, f64)> {
        let mut diagonal: Vec<f64> = self.ones.iter().map(|one| -one * one / self.total).collect();
        for row in 0..self.places.len() {
            for (sum, value) in diagonal.iter_mut().zip(&self.row(row)[..=row]) {
                *sum += value * value;
            }
        }
        self.dual.iter().zip(diagonal).map(|(dual, diagonal)| (dual / diagonal, 1.0 / diagonal)).collect()
    }
}

/// Covariance between two places, m; a cell at a place takes its value, nugget or not.
fn covariance(variogram: &Variogram, a: Coord<f64>, b: Coord<f64>) -> f64 {
    let away = a - b;
    let distance = (away.x * away.x + away.y * away.y).sqrt();
    variogram.covariance(if distance <= SAME_PLACE_M { 0.0 } else { distance })
}

/// Turns the lower half of C into L with C = L L' (Cholesky), rows of `n`. None if a pivot is not above `least`.
fn factor(lower: &mut [f64], n: usize, least: f64) -> Option<()> {
    for row in 0..n {
        let (above, this) = lower.split_at_mut(row * n);
        for column in 0..row {
            let other = &above[column * n..=column * n + column];
            this[column] = (this[column] - dot(&this[..column], other)) / other[column];
        }
        let pivot = this[row] - dot(&this[..row], &this[..row]);
        if pivot.is_nan() || pivot <= least {
            return None;
        }
        this[row] = pivot.sqrt();
    }
    Some(())
}

/// L^-1, rows of `n`, zero above the diagonal.
fn inverse_of_lower(lower: &[f64], n: usize) -> Vec<f64> {
    let mut inverse = vec![0.0; n * n];
    for row in 0..n {
        let (above, this) = inverse.split_at_mut(row * n);
        let of = &lower[row * n..=row * n + row];
        for (column, factor) in of[..row].iter().enumerate() {
            for (sum, term) in this.iter_mut().zip(&above[column * n..=column * n + column]) {
                *sum -= factor * term;
            }
        }
        this[..row].iter_mut().for_each(|sum| *sum /= of[row]);
        this[row] = 1.0 / of[row];
    }
    inverse
}

/// C^-1 v from L^-1.
fn solve(inverse: &[f64], v: &[f64]) -> Vec<f64> {
    let n = v.len();
    let mut solved = vec![0.0; n];
    for row in 0..n {
        let of = &inverse[row * n..=row * n + row];
        let part = dot(of, v);
        for (sum, term) in solved.iter_mut().zip(of) {
            *sum += part * term;
        }
    }
    solved
}

/// Sum of products, as far as the shorter goes; in four sums, which the processor adds side by side.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let length = a.len().min(b.len());
    let (a, a_rest) = a[..length].as_chunks::<LANES>();
    let (b, b_rest) = b[..length].as_chunks::<LANES>();
    let mut sums = [0.0; LANES];
    for (a, b) in a.iter().zip(b) {
        for lane in 0..LANES {
            sums[lane] += a[lane] * b[lane];
        }
    }
    sums.iter().sum::<f64>() + a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum::<f64>()
}
