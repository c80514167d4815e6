//! The equations of ordinary kriging over one set of places, solved once for many cells.
//!
//! With covariances C among the places and c from the places to a cell (Cressie 1993, section 3.2):
//! s = C^-1 1, S = 1's, m = s'z / S, mu = (1 - s'c) / S, value = m + c' C^-1 (z - m), variance = sill - c' C^-1 c + mu^2 S.
//! That is the solution of [G 1; 1' 0] [l; mu] = [g; 1] with variance l'g + mu, in a form that needs only C, which is
//! positive definite: C = L L', and c' C^-1 c = |L^-1 c|^2.

use geo::Coord;
use ndarray::linalg::general_mat_mul;
use ndarray::{Array2, Axis, Slice};

use crate::density::{Variogram, VariogramShape};

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
        let all: Vec<Coord<f64>> = places.iter().map(|place| place.0).collect();
        for (row, at) in all.iter().enumerate() {
            covariances(&variogram, *at, &all[..=row], &mut lower[row * n..=row * n + row]);
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
    /// the time of one after the other. Places that no cell can have anything in common with are left out: it pays to give cells
    /// that lie near each other.
    pub fn estimate_all(&self, cells: &[Coord<f64>]) -> Vec<Estimate> {
        let n = self.places.len();
        let kept = self.within_reach(cells);
        let mut to_cells = Array2::zeros((kept.len(), cells.len()));
        for (place, mut row) in kept.iter().zip(to_cells.rows_mut()) {
            if let Some(row) = row.as_slice_mut() {
                covariances(&self.variogram, self.places[*place].0, cells, row);
            }
        }
        let (mut value, mut weight, mut squares) = (vec![0.0; cells.len()], vec![0.0; cells.len()], vec![0.0; cells.len()]);
        for (row, place) in to_cells.rows().into_iter().zip(&kept) {
            let (dual, one) = (self.dual[*place], self.ones[*place]);
            for ((c, value), weight) in row.iter().zip(&mut value).zip(&mut weight) {
                *value += c * dual;
                *weight += c * one;
            }
        }
        let gathered = (kept.len() < n).then(|| self.inverse.select(Axis(1), &kept));
        let inverse = gathered.as_ref().unwrap_or(&self.inverse);
        let mut part = Array2::zeros((STRIP, cells.len()));
        for start in (0..n).step_by(STRIP) {
            let end = (start + STRIP).min(n);
            let columns = kept.partition_point(|place| *place < end);
            let mut part = part.slice_axis_mut(Axis(0), Slice::from(..end - start));
            let rows = inverse.slice_axis(Axis(0), Slice::from(start..end));
            let rows = rows.slice_axis(Axis(1), Slice::from(..columns));
            general_mat_mul(1.0, &rows, &to_cells.slice_axis(Axis(0), Slice::from(..columns)), 0.0, &mut part);
            for row in part.rows() {
                row.iter().zip(&mut squares).for_each(|(part, sum)| *sum += part * part);
            }
        }
        let sums = value.into_iter().zip(weight).zip(squares);
        sums.map(|((value, weight), squares)| self.finished(value, weight, squares)).collect()
    }

    /// The places near enough to the box about cells for a covariance that is not 0; at most a few too many.
    fn within_reach(&self, cells: &[Coord<f64>]) -> Vec<usize> {
        let reach = match self.variogram.shape {
            VariogramShape::Exponential => return (0..self.places.len()).collect(),
            VariogramShape::Spherical => self.variogram.range_m,
            VariogramShape::Nugget => SAME_PLACE_M,
        };
        let span = |of: fn(&Coord<f64>) -> f64| {
            let (low, high) =
                cells.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(of(at)), high.max(of(at))));
            (low - reach, high + reach)
        };
        let (x, y) = (span(|at| at.x), span(|at| at.y));
        let near = |at: &Coord<f64>| at.x >= x.0 && at.x <= x.1 && at.y >= y.0 && at.y <= y.1;
        (0..self.places.len()).filter(|place| near(&self.places[*place].0)).collect()
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
    let mut found = [0.0];
    covariances(variogram, a, &[b], &mut found);
    found[0]
}

/// Covariances between a place and others, m, as [`Variogram::covariance`] gives them; the shape is looked at once, so that the
/// processor takes several at a time.
fn covariances(variogram: &Variogram, place: Coord<f64>, others: &[Coord<f64>], found: &mut [f64]) {
    let (sill, structure) = (variogram.sill(), variogram.partial_sill);
    let part = 1.0 / variogram.range_m;
    match variogram.shape {
        VariogramShape::Nugget => by_distance(place, others, found, sill, |_| 0.0),
        VariogramShape::Spherical => by_distance(place, others, found, sill, |distance| {
            let r = (distance * part).min(1.0);
            structure * (1.0 - r * (1.5 - 0.5 * r * r))
        }),
        VariogramShape::Exponential => {
            by_distance(place, others, found, sill, |distance| structure * (-distance * part).exp());
        }
    }
}

/// A function of the distance, m, from a place to each of others; `at_place` where they are the same.
fn by_distance(place: Coord<f64>, others: &[Coord<f64>], found: &mut [f64], at_place: f64, of: impl Fn(f64) -> f64) {
    for (other, found) in others.iter().zip(found) {
        let (x, y) = (other.x - place.x, other.y - place.y);
        let distance = (x * x + y * y).sqrt();
        *found = if distance <= SAME_PLACE_M { at_place } else { of(distance) };
    }
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
