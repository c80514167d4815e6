//! The shortest tours through every set of stops at once, by dynamic programming (Held and Karp 1962, Bellman 1962).

use crate::walk::table::Table;

/// No stop comes before the first.
const NONE: u8 = u8::MAX;

/// For every set of stops and every last stop of it, the shortest way from the start.
pub(super) struct Subsets<'a> {
    table: &'a Table,
    stops: usize,
    /// `best[set * stops + last]`: length of the way through the places of `set` that ends in place `last + 1`.
    best: Vec<f64>,
    /// The stop before the last on that way.
    before: Vec<u8>,
}

impl<'a> Subsets<'a> {
    /// Takes time and memory in proportion to 2 to the power of the number of stops.
    pub(super) fn of(table: &'a Table) -> Self {
        let stops = table.stops();
        let mut best = vec![f64::INFINITY; stops << stops];
        let mut before = vec![NONE; stops << stops];
        for last in 0..stops {
            best[(1 << last) * stops + last] = table.between(0, last + 1);
        }
        for set in 1..1_usize << stops {
            for last in (0..stops).filter(|last| set >> last & 1 == 1) {
                let so_far = best[set * stops + last];
                for next in (0..stops).filter(|next| set >> next & 1 == 0) {
                    let longer = so_far + table.between(last + 1, next + 1);
                    let slot = (set | 1 << next) * stops + next;
                    if longer < best[slot] {
                        best[slot] = longer;
                        before[slot] = last as u8;
                    }
                }
            }
        }
        Self { table, stops, best, before }
    }

    /// The set of all stops; bit k stands for place k + 1.
    pub(super) fn all(&self) -> usize {
        (1 << self.stops) - 1
    }

    /// Length of the shortest tour from the start past the stops of a set to the end.
    pub(super) fn length(&self, set: usize) -> f64 {
        self.last(set).map_or(0.0, |last| self.ended(set, last))
    }

    /// The stops of a set in the order of the shortest tour.
    pub(super) fn order(&self, mut set: usize) -> Vec<usize> {
        let mut order = Vec::new();
        let mut last = self.last(set);
        while let Some(stop) = last {
            order.push(stop + 1);
            let previous = self.before[set * self.stops + stop];
            set &= !(1 << stop);
            last = (previous != NONE).then_some(usize::from(previous));
        }
        order.reverse();
        order
    }

    fn last(&self, set: usize) -> Option<usize> {
        let own = (0..self.stops).filter(|last| set >> last & 1 == 1);
        own.min_by(|a, b| self.ended(set, *a).total_cmp(&self.ended(set, *b)))
    }

    fn ended(&self, set: usize, last: usize) -> f64 {
        self.best[set * self.stops + last] + self.table.between(last + 1, self.table.end())
    }
}
