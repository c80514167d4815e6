//! Weighted k-means (Lloyd 1982) from k-means++ starts (Arthur and Vassilvitskii 2007).
//!
//! In the plane, the density of centres follows weight^(1/2) (Gersho 1979; Du, Faber and Gunzburger 1999, SIAM Review
//! 41:637-676): so a weight of density^2 puts centres in proportion to density.

use geo::Coord;
use rand::{Rng, RngExt as _};

use crate::stops::Cell;

/// Centres are still when none moves further than this, m.
const STILL_M: f64 = 0.05;
/// More rounds than this gain nothing that a stop on a tramline could show.
const MOST_ROUNDS: usize = 100;

/// Centres and the inertia they leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Clusters {
    /// Centres, m.
    pub centres: Vec<Coord<f64>>,
    /// Sum over cells of weight times squared distance to the nearest centre.
    pub inertia: f64,
}

/// One run of k-means with `k` centres; fewer if fewer cells have a weight.
pub fn kmeans(cells: &[Cell], k: usize, random: &mut impl Rng) -> Clusters {
    let mut centres = first_centres(cells, k, random);
    if centres.is_empty() {
        return Clusters { centres, inertia: 0.0 };
    }
    let mut nearest = vec![0_usize; cells.len()];
    for _ in 0..MOST_ROUNDS {
        let mut sums = vec![(0.0, 0.0, 0.0); centres.len()];
        for (cell, nearest) in cells.iter().zip(&mut nearest) {
            *nearest = nearest_of(&centres, cell.at).0;
            let sum = &mut sums[*nearest];
            sum.0 += cell.weight * cell.at.x;
            sum.1 += cell.weight * cell.at.y;
            sum.2 += cell.weight;
        }
        let mut moved = 0.0_f64;
        for (centre, (x, y, weight)) in centres.iter_mut().zip(sums) {
            if weight > 0.0 {
                let to = Coord { x: x / weight, y: y / weight };
                moved = moved.max(distance2(*centre, to));
                *centre = to;
            }
        }
        if moved < STILL_M * STILL_M {
            break;
        }
    }
    exchange(cells, &mut centres);
    Clusters { inertia: inertia(cells, &centres), centres }
}

/// Moves single cells to another centre where that lessens the inertia with both centres following (Hartigan and Wong 1979), until
/// none does: Lloyd's rounds stand still a little before, because they move no centre while they compare.
fn exchange(cells: &[Cell], centres: &mut [Coord<f64>]) {
    let mut nearest: Vec<usize> = cells.iter().map(|cell| nearest_of(centres, cell.at).0).collect();
    let mut mass = vec![0.0; centres.len()];
    for (cell, own) in cells.iter().zip(&nearest) {
        mass[*own] += cell.weight;
    }
    for _ in 0..MOST_ROUNDS {
        let mut moved = false;
        for (cell, own) in cells.iter().zip(&mut nearest).filter(|(cell, _)| cell.weight > 0.0) {
            let (w, from) = (cell.weight, *own);
            if mass[from] <= w {
                continue;
            }
            let saved = w * mass[from] / (mass[from] - w) * distance2(centres[from], cell.at);
            let cost = |to: usize| w * mass[to] / (mass[to] + w) * distance2(centres[to], cell.at);
            let others = (0..centres.len()).filter(|to| *to != from);
            let Some(to) = others.min_by(|a, b| cost(*a).total_cmp(&cost(*b))) else { return };
            if cost(to) < saved * (1.0 - 1e-9) {
                centres[from] = centres[from] - (cell.at - centres[from]) * (w / (mass[from] - w));
                centres[to] = centres[to] + (cell.at - centres[to]) * (w / (mass[to] + w));
                mass[from] -= w;
                mass[to] += w;
                *own = to;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
}

/// Sum over cells of weight times squared distance to the nearest centre.
pub fn inertia(cells: &[Cell], centres: &[Coord<f64>]) -> f64 {
    cells.iter().map(|cell| cell.weight * nearest_of(centres, cell.at).1).sum()
}

/// The nearest of some places and its squared distance; the first of equals.
pub(super) fn nearest_of(places: &[Coord<f64>], at: Coord<f64>) -> (usize, f64) {
    let mut best = (0, f64::INFINITY);
    for (index, place) in places.iter().enumerate() {
        let away = distance2(*place, at);
        if away < best.1 {
            best = (index, away);
        }
    }
    best
}

/// Squared distance, m2.
pub(super) fn distance2(a: Coord<f64>, b: Coord<f64>) -> f64 {
    let (dx, dy) = (a.x - b.x, a.y - b.y);
    dx * dx + dy * dy
}

/// The first centre by weight, each further one by weight times squared distance to those before: of a few drawn, the one that
/// leaves the least inertia (greedy k-means++, with the 2 + ln k draws of Arthur and Vassilvitskii 2007).
fn first_centres(cells: &[Cell], k: usize, random: &mut impl Rng) -> Vec<Coord<f64>> {
    let draws = 2 + (k as f64).ln() as usize;
    let mut pulls: Vec<f64> = cells.iter().map(|cell| cell.weight).collect();
    let mut away = vec![f64::INFINITY; cells.len()];
    let mut centres = Vec::with_capacity(k);
    while centres.len() < k {
        let left = |at: Coord<f64>| {
            let each = cells.iter().zip(&away).map(|(cell, away)| cell.weight * away.min(distance2(cell.at, at)));
            each.sum::<f64>()
        };
        let drawn: Vec<Coord<f64>> = (0..draws).filter_map(|_| drawn(&pulls, random)).map(|index| cells[index].at).collect();
        let best = drawn.into_iter().map(|at| (left(at), at)).min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, centre)) = best else { break };
        centres.push(centre);
        for ((pull, away), cell) in pulls.iter_mut().zip(&mut away).zip(cells) {
            *away = away.min(distance2(cell.at, centre));
            *pull = cell.weight * *away;
        }
    }
    centres
}

/// An index drawn in proportion to its pull; none if nothing pulls.
fn drawn(pulls: &[f64], random: &mut impl Rng) -> Option<usize> {
    let total: f64 = pulls.iter().sum();
    if !(total > 0.0 && total.is_finite()) {
        return None;
    }
    let mut left = random.random::<f64>() * total;
    let mut last = None;
    for (index, pull) in pulls.iter().enumerate().filter(|(_, pull)| **pull > 0.0) {
        last = Some(index);
        left -= pull;
        if left < 0.0 {
            break;
        }
    }
    last
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng as _;
    use rand_chacha::ChaCha8Rng;

    #[test]
    fn two_heaps_get_a_centre_each_at_their_weighted_middle() {
        let cell = |x: f64, weight: f64| Cell { at: Coord { x, y: 0.0 }, population: weight, weight };
        let cells = [cell(0.0, 1.0), cell(2.0, 3.0), cell(100.0, 1.0), cell(104.0, 1.0)];
        let found = kmeans(&cells, 2, &mut ChaCha8Rng::seed_from_u64(1));
        let mut x: Vec<f64> = found.centres.iter().map(|centre| centre.x).collect();
        x.sort_by(f64::total_cmp);
        assert!((x[0] - 1.5).abs() < 1e-9 && (x[1] - 102.0).abs() < 1e-9, "{x:?}");
        assert!((found.inertia - (1.5 * 1.5 + 3.0 * 0.25 + 4.0 + 4.0)).abs() < 1e-9);
    }

    #[test]
    fn without_weight_there_is_no_centre() {
        let cells = [Cell { at: Coord { x: 0.0, y: 0.0 }, population: 0.0, weight: 0.0 }];
        assert!(kmeans(&cells, 3, &mut ChaCha8Rng::seed_from_u64(1)).centres.is_empty());
    }
}
