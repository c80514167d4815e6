//! The equations of ordinary kriging over one set of places, solved once for many cells.
//!
//! With covariances C among the places and c from the places to a cell (Cressie 1993, section 3.2):
//! s = C^-1 1, S = 1's, m = s'z / S, mu = (1 - s'c) / S, value = m + c' C^-1 (z - m), variance = sill - c' C^-1 c + mu^2 S.
//! That is the solution of [G 1; 1' 0] [l; mu] = [g; 1] with variance l'g + mu, in a form that needs only C, which is
//! positive definite: C = L L', and c' C^-1 c = |L^-1 c|^2.

use geo::Coord;

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

/// Cells worked on side by side, and rows of L^-1 kept side by side: four by four sums stay in the registers.
pub const LANES: usize = 4;

/// A pivot below this part of the sill is no longer told from rounding.
const LEAST_PIVOT: f64 = 1e-12;

/// The solved equations.
#[derive(Debug)]
pub struct System {
    places: Vec<(Coord<f64>, f64)>,
    variogram: Variogram,
    /// L^-1 in strips of four rows: `4, 8, 12, ...` columns of the strip, each with its four rows.
    strips: Vec<[f64; LANES]>,
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
        let strips = strips(&inverse, n);
        Some(Self { places, variogram, strips, ones, total, mean, dual })
    }

    /// Values and variances at four cells.
    pub fn estimate(&self, at: [Coord<f64>; LANES]) -> [Estimate; LANES] {
        let covariances = |place: &(Coord<f64>, f64)| at.map(|at| covariance(&self.variogram, place.0, at));
        let mut to_cells: Vec<[f64; LANES]> = self.places.iter().map(covariances).collect();
        let (mut value, mut weight) = ([self.mean; LANES], [0.0; LANES]);
        for ((c, dual), one) in to_cells.iter().zip(&self.dual).zip(&self.ones) {
            for lane in 0..LANES {
                value[lane] += c[lane] * dual;
                weight[lane] += c[lane] * one;
            }
        }
        to_cells.resize(self.places.len().next_multiple_of(LANES), [0.0; LANES]);
        let explained = self.squares(&to_cells);
        std::array::from_fn(|lane| {
            let lagrange = (1.0 - weight[lane]) / self.total;
            let variance = self.variogram.sill() - explained[lane] + lagrange * lagrange * self.total;
            Estimate { value: value[lane], variance: variance.max(0.0), lagrange }
        })
    }

    /// |L^-1 c|^2 of four cells.
    fn squares(&self, to_cells: &[[f64; LANES]]) -> [f64; LANES] {
        let mut squares = [0.0; LANES];
        let mut rest = self.strips.as_slice();
        for strip in 1..=to_cells.len() / LANES {
            let (columns, after) = rest.split_at(strip * LANES);
            rest = after;
            let mut sums = [[0.0; LANES]; LANES];
            for (rows, c) in columns.iter().zip(to_cells) {
                for (sum, row) in sums.iter_mut().zip(rows) {
                    for lane in 0..LANES {
                        sum[lane] += row * c[lane];
                    }
                }
            }
            for sum in sums {
                for lane in 0..LANES {
                    squares[lane] += sum[lane] * sum[lane];
                }
            }
        }
        squares
    }

    /// For every place what is left when it is estimated from the others (value less estimate), and the variance of that
    /// estimate: Dubrule 1983, Mathematical Geology 15:687-699. With B = C^-1 - s s'/S these are (B z)_i / B_ii and 1 / B_ii.
    pub fn leave_one_out(&self) -> Vec<(f64, f64)> {
        let mut diagonal: Vec<f64> = self.ones.iter().map(|one| -one * one / self.total).collect();
        let mut rest = self.strips.as_slice();
        for strip in 1..=self.places.len().div_ceil(LANES) {
            let (columns, after) = rest.split_at(strip * LANES);
            rest = after;
            for (sum, rows) in diagonal.iter_mut().zip(columns) {
                *sum += rows.iter().map(|row| row * row).sum::<f64>();
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

/// The rows of L^-1 by fours, as [`System`] keeps them; missing rows and what lies above the diagonal are 0.
fn strips(inverse: &[f64], n: usize) -> Vec<[f64; LANES]> {
    let at = |row: usize, column: usize| if row < n && column <= row { inverse[row * n + column] } else { 0.0 };
    let starts = (0..n).step_by(LANES);
    starts
        .flat_map(|start| (0..start + LANES).map(move |column| std::array::from_fn(|row| at(start + row, column))))
        .collect()
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
