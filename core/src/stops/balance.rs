//! Shares of the population, and the spatial balance of a plan.

use geo::Coord;

use crate::stops::Cell;
use crate::stops::kmeans::distance2;

/// Squared distances that differ by less than this part are equal: rounding must not say which stop a cell belongs to.
pub(super) const TIE: f64 = 1e-6;

/// Whether two squared distances are equal but for rounding.
pub(super) fn is_tie(a: f64, b: f64) -> bool {
    a.is_finite() && b.is_finite() && (a - b).abs() <= TIE * a.max(b)
}

/// The share of the population nearest to each stop; they add up to 1. A cell as near to several stops is split between them.
/// Without any population the shares are those of the ground.
pub fn shares(cells: &[Cell], stops: &[Coord<f64>]) -> Vec<f64> {
    let mut held = vec![0.0; stops.len()];
    let populated = cells.iter().any(|cell| cell.population > 0.0);
    let mut ties = Vec::new();
    let mut total = 0.0;
    for cell in cells {
        let population = if populated { cell.population } else { 1.0 };
        let mut least = f64::INFINITY;
        ties.clear();
        for (index, stop) in stops.iter().enumerate() {
            let away = distance2(*stop, cell.at);
            if is_tie(away, least) {
                ties.push(index);
            } else if away < least {
                least = away;
                ties.clear();
                ties.push(index);
            }
        }
        for index in &ties {
            held[*index] += population / ties.len() as f64;
        }
        total += population;
    }
    if total > 0.0 {
        for share in &mut held {
            *share /= total;
        }
    }
    held
}

/// Spatial balance B (Stevens and Olsen 2004, JASA 99:262-278): with v the share of each stop times the number of stops, the
/// mean of (v - 1)^2. 0 is perfect: every stop stands for as much of the population as every other.
pub fn balance(shares: &[f64]) -> f64 {
    let n = shares.len() as f64;
    shares.iter().map(|share| (share * n - 1.0).powi(2)).sum::<f64>() / n
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ten_unit_example_has_balance_0_105() {
        // Ten units on a line with these inclusion probabilities, of which 0, 3, 5, 8 and 9 are taken: v = 0.45, 1, 1.3, 1.35,
        // 0.9 and B = 0.105, ties split evenly (computed with two independent programs).
        let p = [0.2, 0.25, 0.35, 0.4, 0.5, 0.5, 0.55, 0.65, 0.7, 0.9];
        let at = |x: usize| Coord { x: x as f64, y: 0.0 };
        let cells: Vec<Cell> = p.iter().enumerate().map(|(x, p)| Cell { at: at(x), population: *p, weight: *p }).collect();
        let held = shares(&cells, &[0, 3, 5, 8, 9].map(at));
        for (share, v) in held.iter().zip([0.45, 1.0, 1.3, 1.35, 0.9]) {
            assert!((share * 5.0 - v).abs() < 1e-12, "{held:?}");
        }
        assert!((balance(&held) - 0.105).abs() < 1e-12);
    }
}
