//! Cells in blocks, so that a place for one stop is weighed by looking only at the cells it would take from other stops.

use std::collections::BTreeMap;

use geo::Coord;

use crate::stops::Cell;
use crate::stops::balance::TIE;
use crate::stops::kmeans::{distance2, is_less};

/// Side of a block, m.
const BLOCK_M: f64 = 50.0;

/// Cells that the processor looks at side by side.
const LANES: usize = 8;
/// A cell without population that fills up a block, so far away that it is nearest to no place, m.
const FILLING_M: f64 = 1e7;

/// Cells sorted into square blocks.
pub(super) struct Blocks {
    /// In each block filled up to a multiple of [`LANES`].
    cells: Vec<Cell>,
    /// Where the cells lie, m.
    x: Vec<f64>,
    y: Vec<f64>,
    populations: Vec<f64>,
    weights: Vec<f64>,
    list: Vec<Block>,
    population: f64,
}

struct Block {
    first: usize,
    /// After its last cell, and after what fills it up.
    end: usize,
    filled: usize,
    low: Coord<f64>,
    high: Coord<f64>,
}

impl Blocks {
    pub fn of(cells: &[Cell]) -> Self {
        let mut sorted: BTreeMap<(i64, i64), Vec<Cell>> = BTreeMap::new();
        for cell in cells {
            let key = ((cell.at.x / BLOCK_M).floor() as i64, (cell.at.y / BLOCK_M).floor() as i64);
            sorted.entry(key).or_default().push(*cell);
        }
        let mut all = Vec::with_capacity(cells.len());
        let mut blocks = Vec::with_capacity(sorted.len());
        for part in sorted.into_values() {
            let first = all.len();
            let bound = |of: fn(&Cell) -> f64, pick: fn(f64, f64) -> f64, start: f64| part.iter().map(of).fold(start, pick);
            blocks.push(Block {
                first,
                end: first + part.len(),
                filled: first + part.len().next_multiple_of(LANES),
                low: Coord { x: bound(|c| c.at.x, f64::min, f64::INFINITY), y: bound(|c| c.at.y, f64::min, f64::INFINITY) },
                high: Coord {
                    x: bound(|c| c.at.x, f64::max, f64::NEG_INFINITY),
                    y: bound(|c| c.at.y, f64::max, f64::NEG_INFINITY),
                },
            });
            all.extend(part);
            let nothing = Cell { at: Coord { x: FILLING_M, y: FILLING_M }, population: 0.0, weight: 0.0 };
            all.resize(all.len().next_multiple_of(LANES), nothing);
        }
        Self {
            population: all.iter().map(|cell| cell.population).sum(),
            x: all.iter().map(|cell| cell.at.x).collect(),
            y: all.iter().map(|cell| cell.at.y).collect(),
            populations: all.iter().map(|cell| cell.population).collect(),
            weights: all.iter().map(|cell| cell.weight).collect(),
            cells: all,
            list: blocks,
        }
    }
}

/// Stops among cells: which of them each cell lies nearest to, and next.
pub(super) struct Standing<'a> {
    blocks: &'a Blocks,
    stops: Vec<Coord<f64>>,
    near: Vec<Near>,
}

/// The nearest stop of a cell and the next, each with its squared distance; infinite where there is none.
#[derive(Debug, Clone, Copy)]
struct Near {
    first: usize,
    first2: f64,
    next: usize,
    next2: f64,
}

impl Near {
    /// Of equals, but for rounding, the first.
    fn of(stops: &[Coord<f64>], at: Coord<f64>) -> Self {
        let mut near = Self { first: 0, first2: f64::INFINITY, next: 0, next2: f64::INFINITY };
        for (index, stop) in stops.iter().enumerate() {
            let away2 = distance2(*stop, at);
            if is_less(away2, near.first2) {
                near = Self { first: index, first2: away2, next: near.first, next2: near.first2 };
            } else if is_less(away2, near.next2) {
                (near.next, near.next2) = (index, away2);
            }
        }
        near
    }
}

impl<'a> Standing<'a> {
    pub fn of(blocks: &'a Blocks, stops: Vec<Coord<f64>>) -> Self {
        let near = blocks.cells.iter().map(|cell| Near::of(&stops, cell.at)).collect();
        Self { blocks, stops, near }
    }

    /// The cells as they are without one of the stops, ready to weigh other places for it.
    pub fn without(&self, own: usize) -> Around<'a> {
        let others = |near: &Near| if near.first == own { (near.next, near.next2) } else { (near.first, near.first2) };
        let (mut nearest, away2): (Vec<usize>, Vec<f64>) = self.near.iter().map(others).unzip();
        for block in &self.blocks.list {
            let last = nearest[block.end - 1];
            nearest[block.end..block.filled].fill(last);
        }
        let mut held = vec![0.0; self.stops.len()];
        let mut inertia = 0.0;
        let alone = self.stops.len() < 2;
        for (cell, (to, away2)) in self.blocks.cells.iter().zip(nearest.iter().zip(&away2)).filter(|_| !alone) {
            held[*to] += cell.population;
            inertia += cell.weight * away2;
        }
        let blocks = self.blocks.list.iter();
        let reach2 = blocks.map(|block| away2[block.first..block.end].iter().copied().fold(0.0, f64::max)).collect();
        let of_one = nearest.as_chunks::<LANES>().0.iter().map(|of| of.iter().all(|to| *to == of[0])).collect();
        Around { blocks: self.blocks, own, alone, reach2, nearest, of_one, away2, held, inertia }
    }

    /// Puts a stop somewhere else.
    pub fn put(&mut self, own: usize, place: Coord<f64>) {
        self.stops[own] = place;
        for (near, cell) in self.near.iter_mut().zip(&self.blocks.cells) {
            if near.first == own || near.next == own || distance2(place, cell.at) < near.next2 * (1.0 + TIE) {
                *near = Near::of(&self.stops, cell.at);
            }
        }
    }
}

/// See [`Standing::without`].
pub(super) struct Around<'a> {
    blocks: &'a Blocks,
    /// The stop that is missing, and whether it is the only one.
    own: usize,
    alone: bool,
    /// For each cell the nearest other stop, and its squared distance.
    nearest: Vec<usize>,
    away2: Vec<f64>,
    /// For each [`LANES`] cells whether they are nearest to the same stop.
    of_one: Vec<bool>,
    /// For each block the largest squared distance of a cell to its nearest stop.
    reach2: Vec<f64>,
    held: Vec<f64>,
    inertia: f64,
}

impl Around<'_> {
    /// Balance B and inertia with the missing stop at a place. A cell as near to it as to the nearest other is split between them.
    pub fn with(&self, place: Coord<f64>, held: &mut Vec<f64>) -> (f64, f64) {
        if self.alone {
            return (0.0, self.blocks.cells.iter().map(|cell| cell.weight * distance2(place, cell.at)).sum());
        }
        held.clone_from(&self.held);
        let (mut taken, mut inertia) = (0.0, self.inertia);
        for (block, reach2) in self.blocks.list.iter().zip(&self.reach2) {
            let away = |at: f64, low: f64, high: f64| (low - at).max(at - high).max(0.0);
            let (dx, dy) = (away(place.x, block.low.x, block.high.x), away(place.y, block.low.y, block.high.y));
            if dx * dx + dy * dy > reach2 * (1.0 + TIE) {
                continue;
            }
            for chunk in block.first / LANES..block.filled / LANES {
                let (parts, gain) = self.taken(chunk, place);
                let all: f64 = parts.iter().sum();
                if all == 0.0 {
                    continue;
                }
                taken += all;
                inertia -= gain;
                let nearest = &self.nearest.as_chunks::<LANES>().0[chunk];
                if self.of_one[chunk] {
                    held[nearest[0]] -= all;
                } else {
                    for (from, part) in nearest.iter().zip(parts) {
                        held[*from] -= part;
                    }
                }
            }
        }
        held[self.own] += taken;
        let n = held.len() as f64;
        let expected = self.blocks.population / n;
        let balance = held.iter().map(|held| (held / expected - 1.0).powi(2)).sum::<f64>() / n;
        (balance, inertia)
    }

    /// What a stop at a place takes of the population of [`LANES`] cells, and by how much their inertia falls. Without branches, so
    /// that the processor looks at the cells side by side.
    #[inline]
    fn taken(&self, chunk: usize, place: Coord<f64>) -> ([f64; LANES], f64) {
        let of = |list: &'_ [f64]| list.as_chunks::<LANES>().0[chunk];
        let blocks = self.blocks;
        let (x, y, others2) = (of(&blocks.x), of(&blocks.y), of(&self.away2));
        let (mut own2, mut any) = ([0.0; LANES], false);
        for lane in 0..LANES {
            let (dx, dy) = (x[lane] - place.x, y[lane] - place.y);
            own2[lane] = dx * dx + dy * dy;
            any |= own2[lane] <= others2[lane] * (1.0 + TIE);
        }
        let (mut parts, mut gain) = ([0.0; LANES], 0.0);
        if any {
            let (populations, weights) = (of(&blocks.populations), of(&blocks.weights));
            for lane in 0..LANES {
                // Nearer for certain, as near but for rounding, or further off.
                let nearer = f64::from(own2[lane] < others2[lane] * (1.0 - TIE));
                let as_near = f64::from(own2[lane] <= others2[lane] * (1.0 + TIE));
                parts[lane] = populations[lane] * (nearer + as_near) / 2.0;
                gain += weights[lane] * (others2[lane] - own2[lane]) * nearer;
            }
        }
        (parts, gain)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stops::{balance, inertia, shares};

    #[test]
    fn weighing_in_blocks_is_weighing_all_cells() {
        let cells: Vec<Cell> = (0..400)
            .map(|k| {
                let at = Coord { x: f64::from(k % 20) * 9.7, y: f64::from(k / 20) * 11.3 };
                let population = 1.0 + f64::from(k * 7919 % 13);
                Cell { at, population, weight: population * population }
            })
            .collect();
        let others = [Coord { x: 20.3, y: 31.7 }, Coord { x: 150.1, y: 88.2 }, Coord { x: 60.9, y: 190.4 }];
        let blocks = Blocks::of(&cells);
        for (others, place) in [(&others[..], Coord { x: 101.2, y: 140.6 }), (&others[..], others[0]), (&[], others[1])] {
            // One stop more, which stood somewhere else before: first, in the middle, last.
            for own in 0..=others.len() {
                let mut all = others.to_vec();
                all.insert(own, Coord { x: 77.0, y: 5.0 });
                let mut standing = Standing::of(&blocks, all.clone());
                all[own] = place;
                let expected = (balance(&shares(&cells, &all)), inertia(&cells, &all));
                for moved in [false, true] {
                    if moved {
                        standing.put(own, place);
                    }
                    let (found, spread) = standing.without(own).with(place, &mut Vec::new());
                    assert!((found - expected.0).abs() < 1e-9, "{found} {expected:?}");
                    assert!((spread / expected.1 - 1.0).abs() < 1e-9);
                }
            }
        }
    }
}
