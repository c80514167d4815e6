//! Fitting the log-logistic curve by least squares: Levenberg-Marquardt (Marquardt 1963, J. Soc. Ind. Appl. Math. 11:431-441).
//!
//! Standard errors come from the first derivatives at the end, as in ordinary nonlinear regression; programs that use the second
//! derivatives too print ones that differ by a few per cent.
//!
//! The dose halfway is fitted as its logarithm, which keeps it above 0. Several starts; the least sum of squares stands.

use crate::rating::curve::{Curve, Shape, response};

/// Steps after which a start is given up.
const STEPS: usize = 300;

/// Fits a curve to points (dose, response). None with too few points or doses, or where no curve can be found.
pub fn fit(points: &[(f64, f64)], shape: Shape) -> Option<Curve> {
    let parameters = shape.parameters();
    let mut doses: Vec<f64> = points.iter().map(|point| point.0).filter(|dose| *dose > 0.0).collect();
    doses.sort_by(f64::total_cmp);
    doses.dedup();
    let sound = points.iter().all(|(dose, value)| dose.is_finite() && *dose >= 0.0 && value.is_finite());
    let with_zero = doses.len() + usize::from(points.iter().any(|point| point.0 == 0.0));
    if !sound || points.len() <= parameters || with_zero < parameters || doses.len() < 2 {
        return None;
    }
    let top = points.iter().map(|point| point.1).fold(f64::NEG_INFINITY, f64::max);
    let bottom = points.iter().map(|point| point.1).fold(f64::INFINITY, f64::min);
    if top - bottom <= 0.0 {
        return None;
    }
    let mut best: Option<(f64, [f64; 4])> = None;
    for dose in &doses {
        for b in [1.0, 3.0] {
            let c = if shape == Shape::Four { bottom } else { 0.0 };
            let found = descend(points, shape, [b, c, top, dose.ln()]);
            if best.is_none_or(|(sum, _)| found.0 < sum) {
                best = Some(found);
            }
        }
    }
    let (sum, at) = best?;
    let df = (points.len() - parameters) as f64;
    curve(points, shape, at, sum, df)
}

fn sum_of_squares(points: &[(f64, f64)], at: [f64; 4]) -> f64 {
    points.iter().map(|(dose, value)| (value - response(at, *dose)).powi(2)).sum()
}

/// Derivatives of the response by b, c, d and ln e.
fn gradient([b, c, d, log_e]: [f64; 4], dose: f64) -> [f64; 4] {
    if dose <= 0.0 {
        return if b > 0.0 { [0.0, 0.0, 1.0, 0.0] } else { [0.0, 1.0, 0.0, 0.0] };
    }
    let distance = dose.ln() - log_e;
    // Share of the way not yet gone, and its derivative by the exponent, without overflow.
    let share = 1.0 / (1.0 + (b * distance).exp());
    let slope = share * (1.0 - share);
    [-(d - c) * slope * distance, 1.0 - share, share, (d - c) * slope * b]
}

/// Which of b, c, d, ln e are fitted.
fn free(shape: Shape) -> &'static [usize] {
    match shape {
        Shape::Three => &[0, 2, 3],
        Shape::Four => &[0, 1, 2, 3],
    }
}

/// Cross products of the derivatives, and of derivatives and residuals, of the free parameters.
fn normal_equations(points: &[(f64, f64)], shape: Shape, at: [f64; 4]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let free = free(shape);
    let mut matrix = vec![vec![0.0; free.len()]; free.len()];
    let mut right = vec![0.0; free.len()];
    for (dose, value) in points {
        let gradient = gradient(at, *dose);
        let rest = value - response(at, *dose);
        for (i, a) in free.iter().enumerate() {
            right[i] += gradient[*a] * rest;
            for (j, b) in free.iter().enumerate() {
                matrix[i][j] += gradient[*a] * gradient[*b];
            }
        }
    }
    (matrix, right)
}

fn descend(points: &[(f64, f64)], shape: Shape, start: [f64; 4]) -> (f64, [f64; 4]) {
    let mut at = start;
    let mut sum = sum_of_squares(points, at);
    let mut damping = 1e-3;
    for _ in 0..STEPS {
        let (matrix, right) = normal_equations(points, shape, at);
        let mut damped = matrix.clone();
        for (i, row) in damped.iter_mut().enumerate() {
            row[i] += damping * matrix[i][i].max(1e-12);
        }
        let Some(step) = solve(damped, right) else {
            damping *= 10.0;
            continue;
        };
        let mut next = at;
        free(shape).iter().zip(&step).for_each(|(parameter, step)| next[*parameter] += step);
        let next_sum = sum_of_squares(points, next);
        if next_sum <= sum {
            let small = step.iter().zip(free(shape)).all(|(step, a)| step.abs() <= 1e-11 * (at[*a].abs() + 1e-8));
            at = next;
            sum = next_sum;
            damping = (damping / 10.0).max(1e-15);
            if small {
                break;
            }
        } else {
            damping *= 10.0;
            if damping > 1e12 {
                break;
            }
        }
    }
    (sum, at)
}

fn curve(points: &[(f64, f64)], shape: Shape, at: [f64; 4], sum: f64, df: f64) -> Option<Curve> {
    let (matrix, _) = normal_equations(points, shape, at);
    let free = free(shape);
    let variance = sum / df;
    let mut covariance = [[0.0; 4]; 4];
    let e = at[3].exp();
    for (j, b) in free.iter().enumerate() {
        let unit = (0..free.len()).map(|i| f64::from(u8::from(i == j))).collect();
        let column = solve(matrix.clone(), unit)?;
        for (a, value) in free.iter().zip(column) {
            // From ln e to e: the derivative of e by ln e is e.
            let scale = |parameter: usize| if parameter == 3 { e } else { 1.0 };
            covariance[*a][*b] = value * variance * scale(*a) * scale(*b);
        }
    }
    let [b, c, d, _] = at;
    let curve = Curve { shape, b, c, d, e, covariance, residual: variance.sqrt(), df };
    let sound = b.is_finite() && b != 0.0 && e.is_finite() && e > 0.0 && curve.errors().iter().all(|se| se.is_finite());
    sound.then_some(curve)
}

/// Solves a small system by elimination with the largest pivot; none if it has no single answer.
fn solve(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Option<Vec<f64>> {
    let n = right.len();
    for column in 0..n {
        let pivot = (column..n).max_by(|a, b| matrix[*a][column].abs().total_cmp(&matrix[*b][column].abs()))?;
        if matrix[pivot][column].abs() < 1e-300 || !matrix[pivot][column].is_finite() {
            return None;
        }
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        for row in column + 1..n {
            let factor = matrix[row][column] / matrix[column][column];
            let (above, below) = matrix.split_at_mut(row);
            for (value, pivot) in below[0].iter_mut().zip(&above[column]).skip(column) {
                *value -= factor * pivot;
            }
            right[row] -= factor * right[column];
        }
    }
    for row in (0..n).rev() {
        let rest: f64 = (row + 1..n).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - rest) / matrix[row][row];
    }
    right.iter().all(|value| value.is_finite()).then_some(right)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_gives_itself_back() {
        let wanted = [2.0, 5.0, 100.0, 30.0_f64.ln()];
        let doses = [0.0, 3.0, 10.0, 30.0, 100.0, 300.0];
        let points: Vec<_> = doses.iter().map(|dose| (*dose, response(wanted, *dose))).collect();
        let curve = fit(&points, Shape::Four).unwrap();
        for (found, wanted) in [(curve.b, 2.0), (curve.c, 5.0), (curve.d, 100.0), (curve.e, 30.0)] {
            assert!((found - wanted).abs() < 1e-6, "{curve:?}");
        }
        assert!((curve.effective_dose(90.0).value - 90.0).abs() < 1e-5, "30 x 9^(1/2)");
    }

    #[test]
    fn too_little_gives_no_curve() {
        assert_eq!(fit(&[(0.0, 100.0), (10.0, 40.0)], Shape::Three), None);
        assert_eq!(fit(&[(0.0, 50.0), (1.0, 50.0), (2.0, 50.0), (4.0, 50.0)], Shape::Three), None);
        assert_eq!(fit(&[(0.0, 100.0), (1.0, f64::NAN), (2.0, 50.0), (4.0, 10.0)], Shape::Three), None);
    }
}
