//! A short tour of many stops: local search, kicked on from where it gets stuck.
//!
//! From the nearest-neighbour tour, 2-opt (Croes 1958) and Or-opt (Or 1976) over neighbours in order of distance, looking only
//! where something changed (don't-look bits, Bentley 1992), until neither helps; then two neighbouring stretches of the tour
//! change places (a local double bridge; iterated local search: Lourenço, Martin and Stützle 2003), the search goes on from
//! there, and what is not longer is kept. The kicks are drawn from a fixed seed, so the same table gives the same tour.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use crate::walk::table::Table;

/// Kicks for each place of the tour. With ten times as many, one of 200 random fields with 60 stops has a tour 0.5 % shorter, and
/// none of the others one that is shorter by 0.1 %.
const KICKS_A_PLACE: usize = 20;
/// The longest stretch that changes places.
const LONGEST_STRETCH: usize = 30;
/// The longest run that Or-opt moves.
const LONGEST_RUN: usize = 3;
/// Tours over fewer places are left as they are.
const FEWEST_PLACES: usize = 8;

/// The stops of a table in the order of a short tour; the search starts from `order` if one is given.
pub(super) fn improved(table: &Table, order: Option<&[usize]>) -> Vec<usize> {
    searched(table, order, KICKS_A_PLACE * table.places())
}

/// As [`improved`], without kicks.
pub(super) fn settled(table: &Table, order: &[usize]) -> Vec<usize> {
    searched(table, Some(order), 0)
}

fn searched(table: &Table, order: Option<&[usize]>, kicks: usize) -> Vec<usize> {
    let closed = table.closed();
    let start = order.map_or_else(|| nearest_neighbours(&closed), |stops| table.whole(stops));
    let mut search = Search::new(&closed, start);
    if closed.places() >= FEWEST_PLACES {
        search.settle();
        search.kicked(kicks);
    }
    let mut order = search.order;
    let zero = order.iter().position(|place| *place == 0).unwrap_or(0);
    order.rotate_left(zero);
    // The end of an open tour stands next to the start, on either side.
    if table.end() != 0 && order.get(1) == Some(&table.end()) && order.len() > 2 {
        order[1..].reverse();
    }
    order.into_iter().filter(|place| *place != 0 && *place != table.end()).collect()
}

fn nearest_neighbours(table: &Table) -> Vec<usize> {
    let mut left: Vec<usize> = (1..table.places()).collect();
    let mut order = vec![0];
    let mut here = 0;
    while let Some(nearest) =
        (0..left.len()).min_by(|a, b| table.between(here, left[*a]).total_cmp(&table.between(here, left[*b])))
    {
        here = left.remove(nearest);
        order.push(here);
    }
    order
}

/// A closed tour under search.
struct Search<'a> {
    table: &'a Table,
    rounding: f64,
    /// The other places of each, nearest first.
    near: Vec<Vec<usize>>,
    order: Vec<usize>,
    /// Where in the order each place stands.
    at: Vec<usize>,
    /// Places with a new neighbour in the tour, to be looked at.
    waiting: Vec<usize>,
    waits: Vec<bool>,
}

impl<'a> Search<'a> {
    fn new(table: &'a Table, order: Vec<usize>) -> Self {
        let near = (0..table.places()).map(|a| {
            let mut others: Vec<usize> = (0..table.places()).filter(|b| *b != a).collect();
            others.sort_by(|b, c| table.between(a, *b).total_cmp(&table.between(a, *c)));
            others
        });
        let mut search = Self {
            table,
            rounding: table.rounding(),
            near: near.collect(),
            at: vec![0; order.len()],
            waits: vec![true; order.len()],
            waiting: order.clone(),
            order,
        };
        search.count_places();
        search
    }

    fn count_places(&mut self) {
        for (at, place) in self.order.iter().enumerate() {
            self.at[*place] = at;
        }
    }

    fn length(&self) -> f64 {
        let next = self.order.iter().cycle().skip(1);
        self.order.iter().zip(next).map(|(a, b)| self.table.between(*a, *b)).sum()
    }

    /// The place after another, or the one before it.
    fn beside(&self, place: usize, after: bool) -> usize {
        let (at, count) = (self.at[place], self.order.len());
        let beside = match after {
            true if at + 1 == count => 0,
            true => at + 1,
            false if at == 0 => count - 1,
            false => at - 1,
        };
        self.order[beside]
    }

    fn wake(&mut self, places: &[usize]) {
        for place in places {
            if !std::mem::replace(&mut self.waits[*place], true) {
                self.waiting.push(*place);
            }
        }
    }

    /// Improves the tour until nothing near a waiting place helps.
    fn settle(&mut self) {
        while let Some(place) = self.waiting.pop() {
            self.waits[place] = false;
            while self.two_opt(place) || self.or_opt(place) {}
        }
    }

    fn kicked(&mut self, kicks: usize) {
        let mut random = ChaCha8Rng::seed_from_u64(0);
        let mut kept = self.order.clone();
        let mut held = self.length();
        for _ in 0..kicks {
            self.kick(&mut random);
            self.settle();
            let length = self.length();
            // As long is kept too: on a network many tours are, and from one of them a way on may lead.
            if length <= held + self.rounding {
                held = length;
                kept.copy_from_slice(&self.order);
            } else {
                self.order.copy_from_slice(&kept);
                self.count_places();
            }
        }
    }

    /// Two neighbouring stretches change places.
    fn kick(&mut self, random: &mut ChaCha8Rng) {
        let count = self.order.len();
        let longest = LONGEST_STRETCH.min((count - 2) / 2);
        let (first, second) = (random.random_range(1..=longest), random.random_range(1..=longest));
        self.order.rotate_left(random.random_range(0..count));
        self.order[..first + second].rotate_left(first);
        self.count_places();
        let ends = [count - 1, 0, second - 1, second, first + second - 1, first + second].map(|at| self.order[at]);
        self.wake(&ends);
    }

    /// Turns a stretch that begins or ends beside `a` round, if that shortens the tour.
    fn two_opt(&mut self, a: usize) -> bool {
        for after in [true, false] {
            let b = self.beside(a, after);
            let held = self.table.between(a, b);
            for near in 0..self.near[a].len() {
                let c = self.near[a][near];
                let gain = held - self.table.between(a, c);
                if gain <= self.rounding {
                    break;
                }
                let d = self.beside(c, after);
                if gain + self.table.between(c, d) - self.table.between(b, d) > self.rounding {
                    if after {
                        self.turn(b, c);
                    } else {
                        self.turn(c, b);
                    }
                    self.wake(&[a, b, c, d]);
                    return true;
                }
            }
        }
        false
    }

    /// Turns the stretch from one place on to another round, or all the rest, which comes to the same and may be shorter.
    fn turn(&mut self, from: usize, to: usize) {
        let count = self.order.len();
        let (mut first, mut last) = (self.at[from], self.at[to]);
        let mut length = (last + count - first) % count + 1;
        if 2 * length > count {
            (first, last) = ((last + 1) % count, (first + count - 1) % count);
            length = count - length;
        }
        for _ in 0..length / 2 {
            self.order.swap(first, last);
            self.at[self.order[first]] = first;
            self.at[self.order[last]] = last;
            first = (first + 1) % count;
            last = (last + count - 1) % count;
        }
    }

    /// Moves a run of places that begins with `a`, either way along the tour, to beside a place near `a`, if that shortens it.
    fn or_opt(&mut self, a: usize) -> bool {
        for after in [true, false] {
            let before = self.beside(a, !after);
            let mut run = vec![a];
            while run.len() <= LONGEST_RUN {
                let last = run[run.len() - 1];
                let behind = self.beside(last, after);
                let freed =
                    self.table.between(before, a) + self.table.between(last, behind) - self.table.between(before, behind);
                if let Some((c, d)) = self.better_place(&run, freed) {
                    self.move_run(&run, c, d);
                    self.wake(&[before, behind, a, last, c, d]);
                    return true;
                }
                run.push(behind);
            }
        }
        false
    }

    /// Two neighbours between which a run costs less than the way it frees; its first place comes beside the first of them.
    fn better_place(&self, run: &[usize], freed: f64) -> Option<(usize, usize)> {
        let (first, last) = (run[0], run[run.len() - 1]);
        for c in self.near[first].iter().copied() {
            let gain = freed - self.table.between(first, c);
            if gain <= self.rounding {
                return None;
            }
            if run.contains(&c) {
                continue;
            }
            for d in [self.beside(c, true), self.beside(c, false)] {
                let cost = self.table.between(last, d) - self.table.between(c, d);
                if !run.contains(&d) && gain - cost > self.rounding {
                    return Some((c, d));
                }
            }
        }
        None
    }

    fn move_run(&mut self, run: &[usize], c: usize, d: usize) {
        let behind = self.beside(c, true) == d;
        self.order.retain(|place| !run.contains(place));
        let at = self.order.iter().position(|place| *place == c).unwrap_or(0);
        let at = if behind { at + 1 } else { at };
        let turned = run.iter().rev();
        let moved: Vec<usize> = if behind { run.to_vec() } else { turned.copied().collect() };
        self.order.splice(at..at, moved);
        self.count_places();
    }
}
