//! Weighted k-means (Lloyd 1982) from k-means++ starts (Arthur and Vassilvitskii 2007), with bounds that spare most distances
//! (Hamerly 2010), ended by exchanges of single cells (Hartigan and Wong 1979).
//!
//! In the plane, the density of centres follows weight^(1/2) (Gersho 1979; Du, Faber and Gunzburger 1999, SIAM Review
//! 41:637-676): so a weight of density^2 puts centres in proportion to density. Some centres may be fixed (prior points of Walvoort,
//! Brus and de Gruijter 2010): they take their cells and stay where they are.

use geo::Coord;
use rand::{Rng, RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use crate::stops::Cell;

/// Centres are still when none moves further than this, m.
const STILL_M: f64 = 0.05;
/// More rounds than this gain nothing that a stop on a tramline could show.
const MOST_ROUNDS: usize = 100;

/// Of squared distances that differ by less than this part the first counts as the less: cells lie on a lattice and starts are
/// cells, so that many cells lie as near to one centre as to another, and rounding must not say to which they belong.
const TIE: f64 = 1e-8;

/// Whether one sum or squared distance is less than another by more than rounding.
pub(super) fn is_less(a: f64, than: f64) -> bool {
    a < than * (1.0 - TIE)
}

/// The least of some and what belongs to it; of equals, but for rounding, the first.
pub(super) fn least<T>(some: impl Iterator<Item = (f64, T)>) -> Option<(f64, T)> {
    some.reduce(|held, next| if is_less(next.0, held.0) { next } else { held })
}

/// Centres and the inertia they leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Clusters {
    /// Centres, m; the fixed ones first.
    pub centres: Vec<Coord<f64>>,
    /// Sum over cells of weight times squared distance to the nearest centre.
    pub inertia: f64,
}

/// The best of several runs, each with random numbers of its own; the same for the same `seed`.
pub fn best_kmeans(cells: &[Cell], k: usize, runs: usize, seed: u64) -> Clusters {
    // Where many cells pull at each centre, runs over joined ones end in about the same places in a part of the time.
    let squares = if pulling(cells) > JOINED_FROM * k as f64 { joined(cells) } else { Vec::new() };
    let rough = if squares.is_empty() { cells } else { &squares };
    let run = |number: usize| {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(number as u64);
        // Greedy starts are better, plain ones more unlike each other: half of each.
        let draws = if number.is_multiple_of(2) { greedy_draws(k) } else { 1 };
        moved_to_middles(rough, first_centres(rough, &[], k, draws, &mut random))
    };
    let found = exchanged(rough, (0..runs.max(1)).into_par_iter().map(run).collect());
    let nothing = || Clusters { centres: Vec::new(), inertia: 0.0 };
    let mut best = least(found.into_iter().map(|run| (run.inertia, run))).map_or_else(nothing, |(_, run)| run);
    // A start may have left one centre too many in one place and one too few in another; Lloyd's rounds never carry it over.
    while let Some(better) = carried_over(rough, &best, TRIED) {
        best = better;
    }
    if !squares.is_empty() {
        best = from_start(cells, best.centres, 0);
        while let Some(better) = carried_over(cells, &best, TRIED_LAST) {
            best = better;
        }
    }
    best
}

/// With more cells that pull at each centre they are joined first.
const JOINED_FROM: f64 = 50.0;

/// How many cells pull, those of little weight next to nothing (Kish 1965).
fn pulling(cells: &[Cell]) -> f64 {
    let sum: f64 = cells.iter().map(|cell| cell.weight).sum();
    let squares: f64 = cells.iter().map(|cell| cell.weight * cell.weight).sum();
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}

/// Cells joined in squares that hold about four: weight and population add up, the place is their middle. What single cells lie
/// off it adds the same to every inertia.
fn joined(cells: &[Cell]) -> Vec<Cell> {
    let span = |of: fn(&Cell) -> f64| {
        cells.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)))
    };
    let (x, y) = (span(|cell| cell.at.x), span(|cell| cell.at.y));
    let side = 2.0 * ((x.1 - x.0) * (y.1 - y.0) / cells.len() as f64).sqrt();
    if !(side > 0.0 && side.is_finite()) {
        return Vec::new();
    }
    let square = |at: f64, low: f64| ((at - low) / side) as usize;
    let columns = square(x.1, x.0) + 1;
    let mut sums = vec![(0.0, 0.0, 0.0, 0.0); columns * (square(y.1, y.0) + 1)];
    for cell in cells {
        let sum = &mut sums[square(cell.at.y, y.0) * columns + square(cell.at.x, x.0)];
        sum.0 += cell.weight * cell.at.x;
        sum.1 += cell.weight * cell.at.y;
        sum.2 += cell.weight;
        sum.3 += cell.population;
    }
    let held = sums.into_iter().filter(|sum| sum.2 > 0.0);
    held.map(|(x, y, weight, population)| Cell { at: Coord { x: x / weight, y: y / weight }, population, weight }).collect()
}

/// The best of some clusters, if it is better than what there is.
fn better_of(found: Vec<Clusters>, than: &Clusters) -> Option<Clusters> {
    let best = least(found.into_iter().map(|run| (run.inertia, run))).map(|(_, run)| run);
    best.filter(|best| is_less(best.inertia, than.inertia))
}

/// So many clusters that hold most inertia, and so many centres that are missed least, are tried with each other.
const TRIED: (usize, usize) = (4, 2);
/// As before, once the centres are near their places.
const TRIED_LAST: (usize, usize) = (2, 1);

/// Better clusters, after a centre that is missed little was put into a cluster that holds much inertia; none if none is better.
fn carried_over(cells: &[Cell], clusters: &Clusters, tried: (usize, usize)) -> Option<Clusters> {
    let centres = &clusters.centres;
    if centres.len() < 3 {
        return None;
    }
    let (mut missed, mut held) = (vec![0.0; centres.len()], vec![0.0; centres.len()]);
    let mut farthest = vec![(0.0, Coord { x: 0.0, y: 0.0 }); centres.len()];
    for cell in cells {
        let near = bound(centres, cell.at);
        let own = cell.weight * near.near * near.near;
        missed[near.nearest] += cell.weight * (near.other * near.other) - own;
        held[near.nearest] += own;
        if own > farthest[near.nearest].0 {
            farthest[near.nearest] = (own, cell.at);
        }
    }
    let mut most: Vec<usize> = (0..centres.len()).collect();
    most.sort_by(|a, b| held[*b].total_cmp(&held[*a]));
    let mut least: Vec<usize> = (0..centres.len()).collect();
    least.sort_by(|a, b| missed[*a].total_cmp(&missed[*b]));
    let pairs = most.iter().take(tried.0).flat_map(|to| least.iter().take(tried.1).map(move |from| (*from, *to)));
    let moved = |(from, to): (usize, usize)| {
        let mut centres = centres.clone();
        centres[from] = farthest[to].1;
        moved_to_middles(cells, centres)
    };
    let pairs: Vec<_> = pairs.filter(|(from, to)| from != to).collect();
    better_of(exchanged(cells, pairs.into_par_iter().map(moved).collect()), clusters)
}

/// One run of k-means with `k` centres; fewer if fewer cells have a weight.
pub fn kmeans(cells: &[Cell], k: usize, random: &mut impl Rng) -> Clusters {
    kmeans_around(cells, &[], k, random)
}

/// One run of k-means with `k` centres beside fixed ones; fewer if fewer cells have a weight.
pub fn kmeans_around(cells: &[Cell], fixed: &[Coord<f64>], k: usize, random: &mut impl Rng) -> Clusters {
    from_start(cells, first_centres(cells, fixed, k, greedy_draws(k), random), fixed.len())
}

/// Draws of which the best is taken: 2 + ln k, as Arthur and Vassilvitskii 2007 propose.
fn greedy_draws(k: usize) -> usize {
    2 + (k.max(1) as f64).ln() as usize
}

/// A run from given centres, of which the first are fixed.
fn from_start(cells: &[Cell], centres: Vec<Coord<f64>>, fixed: usize) -> Clusters {
    if centres.is_empty() {
        return Clusters { centres, inertia: 0.0 };
    }
    let mut run = Run::new(cells, centres, fixed);
    run.lloyd();
    run.exchange();
    Clusters { inertia: inertia(cells, &run.centres), centres: run.centres }
}

/// A run from given centres by Lloyd's rounds alone.
fn moved_to_middles(cells: &[Cell], centres: Vec<Coord<f64>>) -> Clusters {
    if centres.is_empty() {
        return Clusters { centres, inertia: 0.0 };
    }
    let mut run = Run::new(cells, centres, 0);
    run.lloyd();
    Clusters { inertia: inertia(cells, &run.centres), centres: run.centres }
}

/// So many of the best runs are worth exchanges, which take as long as all rounds before.
const EXCHANGED: usize = 2;

/// The best of some runs, ended by exchanges.
fn exchanged(cells: &[Cell], mut found: Vec<Clusters>) -> Vec<Clusters> {
    found.sort_by(|a, b| a.inertia.total_cmp(&b.inertia));
    found.truncate(EXCHANGED);
    found.into_par_iter().map(|run| from_start(cells, run.centres, 0)).collect()
}

/// What is known of one cell's centres.
#[derive(Debug, Clone, Copy)]
struct Bound {
    /// Its nearest centre.
    nearest: usize,
    /// No further from it than this, m.
    near: f64,
    /// No nearer to any other centre than this, m.
    other: f64,
}

/// One run.
struct Run<'a> {
    cells: &'a [Cell],
    centres: Vec<Coord<f64>>,
    fixed: usize,
    bounds: Vec<Bound>,
}

impl<'a> Run<'a> {
    fn new(cells: &'a [Cell], centres: Vec<Coord<f64>>, fixed: usize) -> Self {
        let bounds = cells.iter().map(|cell| bound(&centres, cell.at)).collect();
        Self { cells, centres, fixed, bounds }
    }

    /// Moves every free centre to the middle of its cells until all stand still.
    fn lloyd(&mut self) {
        for _ in 0..MOST_ROUNDS {
            let mut sums = vec![(0.0, 0.0, 0.0); self.centres.len()];
            for (cell, bound) in self.cells.iter().zip(&self.bounds) {
                let sum = &mut sums[bound.nearest];
                sum.0 += cell.weight * cell.at.x;
                sum.1 += cell.weight * cell.at.y;
                sum.2 += cell.weight;
            }
            let mut moved = vec![0.0; self.centres.len()];
            for (index, (x, y, weight)) in sums.into_iter().enumerate().skip(self.fixed) {
                if weight > 0.0 {
                    let to = Coord { x: x / weight, y: y / weight };
                    moved[index] = distance2(self.centres[index], to).sqrt();
                    self.centres[index] = to;
                }
            }
            let most = moved.iter().copied().fold(0.0, f64::max);
            if most < STILL_M {
                break;
            }
            for (cell, held) in self.cells.iter().zip(&mut self.bounds) {
                held.near += moved[held.nearest];
                held.other -= most;
                if is_less(held.near, held.other) {
                    continue;
                }
                held.near = distance2(self.centres[held.nearest], cell.at).sqrt();
                if !is_less(held.near, held.other) {
                    *held = bound(&self.centres, cell.at);
                }
            }
        }
    }

    /// Moves single cells to another centre where that lessens the inertia with both centres following, until none does: Lloyd's
    /// rounds stand still a little before, because they move no centre while they compare.
    fn exchange(&mut self) {
        let mut mass = vec![0.0; self.centres.len()];
        for (cell, bound) in self.cells.iter().zip(&mut self.bounds) {
            *bound = self::bound(&self.centres, cell.at);
            mass[bound.nearest] += cell.weight;
        }
        // How far any centre may have moved since each bound was worked out.
        let (mut drift, mut since) = (0.0, vec![0.0; self.cells.len()]);
        for _ in 0..MOST_ROUNDS {
            let lightest = mass.iter().copied().filter(|mass| *mass > 0.0).fold(f64::INFINITY, f64::min);
            let mut moved = false;
            for (index, cell) in self.cells.iter().enumerate().filter(|(_, cell)| cell.weight > 0.0) {
                let (w, from) = (cell.weight, self.bounds[index].nearest);
                let is_fixed = |centre: usize| centre < self.fixed;
                if mass[from] <= w && !is_fixed(from) {
                    continue;
                }
                let leave = if is_fixed(from) { 1.0 } else { mass[from] / (mass[from] - w) };
                let slack = drift - since[index];
                let near = self.bounds[index].near + slack;
                let other = (self.bounds[index].other - slack).max(0.0);
                // The least that any other centre could make of it.
                if other * other * (lightest / (lightest + w)) >= near * near * leave {
                    continue;
                }
                let saved = w * leave * distance2(self.centres[from], cell.at);
                let cost = |to: usize| {
                    let join = if is_fixed(to) { 1.0 } else { mass[to] / (mass[to] + w) };
                    w * join * distance2(self.centres[to], cell.at)
                };
                let others = (0..self.centres.len()).filter(|to| *to != from);
                let Some((cost, to)) = least(others.map(|to| (cost(to), to))) else { return };
                if cost < saved * (1.0 - 1e-9) {
                    let mut step = 0.0_f64;
                    if !is_fixed(from) {
                        let by = (self.centres[from] - cell.at) * (w / (mass[from] - w));
                        self.centres[from] = self.centres[from] + by;
                        step = step.max(by.x.hypot(by.y));
                    }
                    if !is_fixed(to) {
                        let by = (cell.at - self.centres[to]) * (w / (mass[to] + w));
                        self.centres[to] = self.centres[to] + by;
                        step = step.max(by.x.hypot(by.y));
                    }
                    mass[from] -= w;
                    mass[to] += w;
                    drift += step;
                    moved = true;
                    self.bounds[index] = bound_of(&self.centres, cell.at, to);
                } else {
                    self.bounds[index] = bound_of(&self.centres, cell.at, from);
                }
                since[index] = drift;
            }
            if !moved {
                break;
            }
        }
    }
}

/// The nearest centre of a place and the distance to the next.
fn bound(centres: &[Coord<f64>], at: Coord<f64>) -> Bound {
    let (mut nearest, mut first, mut second) = (0, f64::INFINITY, f64::INFINITY);
    for (index, centre) in centres.iter().enumerate() {
        let away = distance2(*centre, at);
        if is_less(away, first) {
            (nearest, first, second) = (index, away, first);
        } else if away < second {
            second = away;
        }
    }
    Bound { nearest, near: first.sqrt(), other: second.sqrt() }
}

/// The bound of a place that belongs to a given centre, be it the nearest or not.
fn bound_of(centres: &[Coord<f64>], at: Coord<f64>, own: usize) -> Bound {
    let others = centres.iter().enumerate().filter(|(index, _)| *index != own);
    let other = others.map(|(_, centre)| distance2(*centre, at)).fold(f64::INFINITY, f64::min);
    Bound { nearest: own, near: distance2(centres[own], at).sqrt(), other: other.sqrt() }
}

/// Sum over cells of weight times squared distance to the nearest centre.
pub fn inertia(cells: &[Cell], centres: &[Coord<f64>]) -> f64 {
    cells.iter().map(|cell| cell.weight * nearest_of(centres, cell.at).1).sum()
}

/// The nearest of some places and its squared distance; the first of equals, but for rounding.
pub(super) fn nearest_of(places: &[Coord<f64>], at: Coord<f64>) -> (usize, f64) {
    let mut best = (0, f64::INFINITY);
    for (index, place) in places.iter().enumerate() {
        let away = distance2(*place, at);
        if is_less(away, best.1) {
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

/// After the fixed centres the first by weight, each further one by weight times squared distance to those before: of a few drawn,
/// the one that leaves the least inertia (k-means++, greedy with more than one draw).
fn first_centres(cells: &[Cell], fixed: &[Coord<f64>], k: usize, draws: usize, random: &mut impl Rng) -> Vec<Coord<f64>> {
    let mut centres = fixed.to_vec();
    let nearest = |at: Coord<f64>| if fixed.is_empty() { f64::INFINITY } else { nearest_of(fixed, at).1 };
    let mut away: Vec<f64> = cells.iter().map(|cell| nearest(cell.at)).collect();
    let mut pulls: Vec<f64> = cells
        .iter()
        .zip(&away)
        .map(|(cell, away)| if fixed.is_empty() { cell.weight } else { cell.weight * away })
        .collect();
    while centres.len() < fixed.len() + k {
        let left = |at: Coord<f64>| {
            let each = cells.iter().zip(&away).map(|(cell, away)| cell.weight * away.min(distance2(cell.at, at)));
            each.sum::<f64>()
        };
        let drawn: Vec<Coord<f64>> = (0..draws).filter_map(|_| drawn(&pulls, random)).map(|index| cells[index].at).collect();
        let best = least(drawn.into_iter().map(|at| (left(at), at)));
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
    fn fixed_centres_stay_and_the_others_share_the_rest() {
        // Two heaps of equal cells, one with a fixed centre at its edge: the free one goes to the middle of the other heap.
        let heap = |x: f64| (0..5).map(move |k| Coord { x: x + f64::from(k), y: 0.0 });
        let cells: Vec<Cell> = heap(0.0).chain(heap(100.0)).map(|at| Cell { at, population: 1.0, weight: 1.0 }).collect();
        let fixed = [Coord { x: 4.0, y: 0.0 }];
        let found = kmeans_around(&cells, &fixed, 1, &mut ChaCha8Rng::seed_from_u64(3));
        assert_eq!(found.centres[0], fixed[0]);
        assert!((found.centres[1].x - 102.0).abs() < 1e-9, "{:?}", found.centres);
        assert!((found.inertia - (16.0 + 9.0 + 4.0 + 1.0 + 10.0)).abs() < 1e-9);
    }

    #[test]
    fn without_weight_there_is_no_centre() {
        let cells = [Cell { at: Coord { x: 0.0, y: 0.0 }, population: 0.0, weight: 0.0 }];
        assert!(kmeans(&cells, 3, &mut ChaCha8Rng::seed_from_u64(1)).centres.is_empty());
    }

    #[test]
    fn inertia_never_rises() {
        // From the start over Lloyd's rounds to the last exchange.
        let cells: Vec<Cell> = (0..900)
            .map(|k| {
                let at = Coord { x: f64::from(k % 30) * 5.0, y: f64::from(k / 30) * 5.0 };
                Cell { at, population: 1.0, weight: 1.0 + f64::from(k * 7919 % 31) }
            })
            .collect();
        for seed in 0..20 {
            let mut random = ChaCha8Rng::seed_from_u64(seed);
            let mut centres = first_centres(&cells, &[], 7, 1, &mut random);
            let mut held = inertia(&cells, &centres);
            for _ in 0..3 {
                let moved = moved_to_middles(&cells, centres);
                assert!(moved.inertia <= held * (1.0 + 1e-12), "seed {seed}: {} {held}", moved.inertia);
                (centres, held) = (moved.centres, moved.inertia);
            }
            let ended = from_start(&cells, centres, 0);
            assert!(ended.inertia <= held * (1.0 + 1e-12), "seed {seed}: {} {held}", ended.inertia);
        }
    }

    #[test]
    fn unequal_weights_count_as_fewer() {
        // (sum w)^2 / sum w^2 of 1, 1, 2 and 4 (Kish 1965): 2.9090909.
        let cells = [1.0, 1.0, 2.0, 4.0].map(|weight| Cell { at: Coord { x: 0.0, y: 0.0 }, population: 1.0, weight });
        assert!((pulling(&cells) - 32.0 / 11.0).abs() < 1e-12);
    }
}
