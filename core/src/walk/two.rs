//! Two tours from the same start past all stops between them, the longer of which is as short as can be.
//!
//! Up to [`EXACT_UP_TO`] stops exact: the shortest tour through every set of stops is known from one table, and every set is
//! tried against the rest. Above: one tour past all stops is cut in two where that is best (route first, cluster second:
//! Beasley 1983); then runs of stops move over and stops change places while the longer tour falls, from several such cuts and
//! after kicks. The same distances give the same tours.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use crate::walk::improve::{improved, settled};
use crate::walk::subsets::Subsets;
use crate::walk::table::{Ends, Table};
use crate::walk::tour::{EXACT_UP_TO, Tour, length, shortest_order};

/// Cuts of the one tour from which the search starts.
const CUTS: usize = 4;
/// Kicks from the best pair found, and kicks times stops, for the work that one takes grows with the stops.
const MOST_KICKS: usize = 200;
const MOST_WORK: usize = 6_000;
/// The search goes on from a pair that is longer than the best by less than this factor.
const WORSE: f64 = 1.005;
/// Changes that look best which are tried out before the search stops.
const TRIED: usize = 5;
/// The longest run of stops that moves over.
const LONGEST_RUN: usize = 3;

/// Two tours over `distance[a][b]`, symmetric, from place 0, past all other places between them, each with its ends; a stop
/// counts as `stop_cost` of distance. The one that costs more costs as little as can be; of such pairs the one that costs least
/// in all. Both have a stop where there are two; a tour without stops has the length 0. Lengths are without the stops.
pub fn two_tours(distance: &[Vec<f64>], ends: Ends, stop_cost: f64) -> [Tour; 2] {
    let table = Table::of(distance, ends);
    let exact = table.stops() <= EXACT_UP_TO;
    let pair = if exact { of_all_sets(&table, stop_cost) } else { searched(&table, stop_cost) };
    pair.map(|stops| {
        let order = table.whole(&stops);
        // Who has no stop stays where he is.
        let length = if stops.is_empty() { 0.0 } else { length(distance, ends, &order) };
        Tour { order, length, exact }
    })
}

fn of_all_sets(table: &Table, stop_cost: f64) -> [Vec<usize>; 2] {
    if table.stops() < 2 {
        return [(1..=table.stops()).collect(), Vec::new()];
    }
    let subsets = Subsets::of(table);
    let all = subsets.all();
    let cost = |set: usize| subsets.length(set) + stop_cost * f64::from(set.count_ones());
    let costs: Vec<f64> = (0..=all).map(cost).collect();
    let score = |set: usize| Score::of([costs[set], costs[all ^ set]]);
    let mut best = 1;
    // The first stop is always in the first set: the other way round is the same pair.
    for set in (1..all).filter(|set| set & 1 == 1) {
        if score(set).is_less(score(best), table.rounding()) {
            best = set;
        }
    }
    [subsets.order(best), subsets.order(all ^ best)]
}

/// What a pair of tours costs: the longer first, then both.
#[derive(Debug, Clone, Copy)]
struct Score {
    longer: f64,
    both: f64,
}

impl Score {
    fn of(costs: [f64; 2]) -> Self {
        Self { longer: costs[0].max(costs[1]), both: costs[0] + costs[1] }
    }

    fn is_less(self, than: Self, rounding: f64) -> bool {
        let apart = self.longer - than.longer;
        apart < -rounding || (apart <= rounding && self.both < than.both - rounding)
    }
}

/// The stops of two tours in order, and their score.
#[derive(Debug, Clone)]
struct Pair {
    stops: [Vec<usize>; 2],
    score: Score,
}

fn searched(table: &Table, stop_cost: f64) -> [Vec<usize>; 2] {
    let search = Search { table, stop_cost };
    let giant = improved(table, None);
    let mut cuts: Vec<Pair> = (1..giant.len()).map(|at| search.pair([giant[..at].to_vec(), giant[at..].to_vec()])).collect();
    cuts.sort_by(|a, b| a.score.longer.total_cmp(&b.score.longer));
    cuts.truncate(CUTS);
    let mut best = search.balanced(search.settled(cuts.remove(0).stops));
    for cut in cuts {
        let pair = search.balanced(search.settled(cut.stops));
        if pair.score.is_less(best.score, table.rounding()) {
            best = pair;
        }
    }
    let mut random = ChaCha8Rng::seed_from_u64(0);
    let mut here = best.clone();
    for _ in 0..MOST_KICKS.min(MOST_WORK / table.stops()).max(1) {
        let pair = search.balanced(search.settled(kicked(&here.stops, &mut random)));
        if pair.score.is_less(best.score, table.rounding()) {
            best = pair.clone();
        }
        if pair.score.longer < WORSE * best.score.longer {
            here = pair;
        }
    }
    best.stops.map(|stops| {
        let order: Vec<usize> = shortest_order(&table.part(&stops)).into_iter().map(|at| stops[at - 1]).collect();
        if table.length(&order) < table.length(&stops) { order } else { stops }
    })
}

/// A run of stops of each tour changes over to the other.
fn kicked(stops: &[Vec<usize>; 2], random: &mut ChaCha8Rng) -> [Vec<usize>; 2] {
    let mut left = stops.clone();
    let runs = [0, 1].map(|own| {
        let count = left[own].len();
        let length = random.random_range(0..=(count / 2).min(8)).min(count - 1);
        let from = random.random_range(0..=count - length);
        left[own].drain(from..from + length).collect::<Vec<_>>()
    });
    let [first, second] = runs;
    left[0].extend(second);
    left[1].extend(first);
    left
}

struct Search<'a> {
    table: &'a Table,
    stop_cost: f64,
}

impl Search<'_> {
    fn cost(&self, stops: &[usize]) -> f64 {
        self.table.length(stops) + self.stop_cost * stops.len() as f64
    }

    fn pair(&self, stops: [Vec<usize>; 2]) -> Pair {
        let score = Score::of([self.cost(&stops[0]), self.cost(&stops[1])]);
        Pair { stops, score }
    }

    /// Each of the two in an order which local search does not improve.
    fn settled(&self, stops: [Vec<usize>; 2]) -> Pair {
        self.pair(stops.map(|stops| {
            let part = self.table.part(&stops);
            let order: Vec<usize> = (1..=stops.len()).collect();
            settled(&part, &order).into_iter().map(|at| stops[at - 1]).collect()
        }))
    }

    /// Moves stops over and lets stops change places while that helps.
    fn balanced(&self, mut pair: Pair) -> Pair {
        loop {
            let mut changes = self.changes(&pair);
            let by_score = |a: &Change, b: &Change| {
                a.score.longer.total_cmp(&b.score.longer).then(a.score.both.total_cmp(&b.score.both))
            };
            if changes.len() > TRIED {
                changes.select_nth_unstable_by(TRIED, by_score);
                changes.truncate(TRIED);
            }
            changes.sort_by(by_score);
            let better = changes
                .into_iter()
                .map(|change| self.settled(self.changed(&pair, &change)))
                .find(|changed| changed.score.is_less(pair.score, self.table.rounding()));
            match better {
                Some(better) => pair = better,
                None => return pair,
            }
        }
    }

    /// All runs of one tour that could move over to the other, and all stops that could change places, with the score that this
    /// promises.
    fn changes(&self, pair: &Pair) -> Vec<Change> {
        let [first, second] = &pair.stops;
        let costs = [self.cost(first), self.cost(second)];
        let mut changes = Vec::new();
        for from in [0, 1] {
            let (own, other) = (&pair.stops[from], &pair.stops[1 - from]);
            for start in 0..own.len() {
                for length in 1..=LONGEST_RUN.min(own.len() - 1).min(own.len() - start) {
                    let run = &own[start..start + length];
                    let moved = self.stop_cost * length as f64;
                    let less = costs[from] - self.freed(own, start, length) - moved;
                    let more = costs[1 - from] + self.cheapest(other, run) + moved;
                    let score = Score::of([less, more]);
                    changes.push(Change { score, runs: [(from, start, length), (1 - from, 0, 0)] });
                }
            }
        }
        let into_first: Vec<_> = second.iter().map(|stop| self.cheapest_gaps(first, *stop)).collect();
        let into_second: Vec<_> = first.iter().map(|stop| self.cheapest_gaps(second, *stop)).collect();
        for (a, gaps_of_a) in into_second.iter().enumerate() {
            for (b, gaps_of_b) in into_first.iter().enumerate() {
                let one = costs[0] - self.freed(first, a, 1) + self.instead(first, a, second[b], gaps_of_b);
                let two = costs[1] - self.freed(second, b, 1) + self.instead(second, b, first[a], gaps_of_a);
                changes.push(Change { score: Score::of([one, two]), runs: [(0, a, 1), (1, b, 1)] });
            }
        }
        changes
    }

    /// The way that a tour saves without a run.
    fn freed(&self, stops: &[usize], start: usize, length: usize) -> f64 {
        let (before, after) = (self.neighbour(stops, start), self.neighbour(stops, start + length + 1));
        let (head, tail) = (stops[start], stops[start + length - 1]);
        // The way within the run counts for neither tour here; the other adds it again.
        self.table.between(before, head) + self.table.between(tail, after) - self.table.between(before, after)
            + self.inside(&stops[start..start + length])
    }

    /// The least way that a run adds to a tour.
    fn cheapest(&self, stops: &[usize], run: &[usize]) -> f64 {
        let (head, tail) = (run[0], run[run.len() - 1]);
        let added = |gap: usize| {
            let (before, after) = (self.neighbour(stops, gap), self.neighbour(stops, gap + 1));
            let ahead = self.table.between(before, head) + self.table.between(tail, after);
            let turned = self.table.between(before, tail) + self.table.between(head, after);
            ahead.min(turned) - self.table.between(before, after)
        };
        (0..=stops.len()).map(added).fold(f64::INFINITY, f64::min) + self.inside(run)
    }

    /// The way that a stop adds between two places.
    fn added(&self, before: usize, stop: usize, after: usize) -> f64 {
        self.table.between(before, stop) + self.table.between(stop, after) - self.table.between(before, after)
    }

    /// The gaps of a tour in which a stop adds least, and what it adds; three, as leaving one stop out closes two.
    fn cheapest_gaps(&self, stops: &[usize], stop: usize) -> [(f64, usize); 3] {
        let mut least = [(f64::INFINITY, 0); 3];
        for gap in 0..=stops.len() {
            let added = self.added(self.neighbour(stops, gap), stop, self.neighbour(stops, gap + 1));
            if let Some(rank) = least.iter().position(|(held, _)| added < *held) {
                least[rank..].rotate_right(1);
                least[rank] = (added, gap);
            }
        }
        least
    }

    /// The least way that a stop adds to a tour instead of the stop `at`.
    fn instead(&self, stops: &[usize], at: usize, stop: usize, gaps: &[(f64, usize); 3]) -> f64 {
        let here = self.added(self.neighbour(stops, at), stop, self.neighbour(stops, at + 2));
        let elsewhere = gaps.iter().find(|(_, gap)| *gap != at && *gap != at + 1);
        elsewhere.map_or(here, |(added, _)| added.min(here))
    }

    fn inside(&self, run: &[usize]) -> f64 {
        run.windows(2).map(|pair| self.table.between(pair[0], pair[1])).sum()
    }

    /// The place before stop `at` of a tour: the start before the first, the end behind the last.
    fn neighbour(&self, stops: &[usize], at: usize) -> usize {
        match at {
            0 => 0,
            at => stops.get(at - 1).copied().unwrap_or(self.table.end()),
        }
    }

    fn changed(&self, pair: &Pair, change: &Change) -> [Vec<usize>; 2] {
        let mut stops = pair.stops.clone();
        let runs =
            change.runs.map(|(own, start, length)| (own, stops[own].drain(start..start + length).collect::<Vec<_>>()));
        for (own, run) in runs {
            self.put(&mut stops[1 - own], &run);
        }
        stops
    }

    /// Puts a run where it adds least.
    fn put(&self, stops: &mut Vec<usize>, run: &[usize]) {
        if run.is_empty() {
            return;
        }
        let turned: Vec<usize> = run.iter().rev().copied().collect();
        let tries = (0..=stops.len()).flat_map(|at| [(at, run), (at, turned.as_slice())]);
        let added = |(at, run): &(usize, &[usize])| {
            let (before, after) = (self.neighbour(stops, *at), self.neighbour(stops, *at + 1));
            self.table.between(before, run[0]) + self.table.between(run[run.len() - 1], after)
                - self.table.between(before, after)
        };
        if let Some((at, run)) = tries.min_by(|a, b| added(a).total_cmp(&added(b))) {
            stops.splice(at..at, run.iter().copied());
        }
    }
}

/// A change of a pair: of each tour the run that goes over (tour, first stop, length), and the score that this promises.
#[derive(Debug)]
struct Change {
    score: Score,
    runs: [(usize, usize, usize); 2],
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Distances between places of a square of 100 m, scattered by a low-discrepancy sequence (Halton, bases 2 and 3).
    fn scattered(places: usize, from: usize) -> Vec<Vec<f64>> {
        let turned = |mut k: usize, base: usize| {
            let (mut value, mut part) = (0.0, 1.0);
            while k > 0 {
                part /= base as f64;
                value += part * (k % base) as f64;
                k /= base;
            }
            100.0 * value
        };
        let at: Vec<(f64, f64)> = (from..from + places).map(|k| (turned(k, 2), turned(k, 3))).collect();
        at.iter().map(|a| at.iter().map(|b| (a.0 - b.0).hypot(a.1 - b.1)).collect()).collect()
    }

    #[test]
    fn the_search_finds_the_best_pair_of_all_sets() {
        for from in 1..20 {
            for ends in [Ends::AtStart, Ends::AtLast] {
                for stop_cost in [0.0, 25.0] {
                    let table = Table::of(&scattered(12, from), ends);
                    let search = Search { table: &table, stop_cost };
                    let exact = search.pair(of_all_sets(&table, stop_cost)).score;
                    let found = search.pair(searched(&table, stop_cost)).score;
                    let more = found.longer / exact.longer;
                    assert!((1.0 - 1e-9..1.01).contains(&more), "from {from}, {ends:?}: {more}");
                }
            }
        }
    }

    #[test]
    fn one_stop_is_one_walk() {
        let [first, second] = two_tours(&scattered(2, 1), Ends::AtStart, 5.0);
        assert_eq!((first.order.len(), second.order, second.length), (2, vec![0], 0.0));
    }
}
