//! Cells in blocks, so that a place for one stop is weighed by looking only at the cells it would take from other stops.

use std::collections::BTreeMap;

use geo::Coord;

use crate::stops::Cell;
use crate::stops::balance::{TIE, is_tie};
use crate::stops::kmeans::{distance2, nearest_of};

/// Side of a block, m.
const BLOCK_M: f64 = 50.0;

/// Cells sorted into square blocks.
pub(super) struct Blocks {
    cells: Vec<Cell>,
    list: Vec<Block>,
    population: f64,
}

struct Block {
    first: usize,
    end: usize,
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
                low: Coord { x: bound(|c| c.at.x, f64::min, f64::INFINITY), y: bound(|c| c.at.y, f64::min, f64::INFINITY) },
                high: Coord {
                    x: bound(|c| c.at.x, f64::max, f64::NEG_INFINITY),
                    y: bound(|c| c.at.y, f64::max, f64::NEG_INFINITY),
                },
            });
            all.extend(part);
        }
        Self { population: all.iter().map(|cell| cell.population).sum(), cells: all, list: blocks }
    }

    /// The cells as some stops leave them, ready to weigh a place for one more.
    pub fn around(&self, others: &[Coord<f64>]) -> Around<'_> {
        let nearest: Vec<(usize, f64)> = self.cells.iter().map(|cell| nearest_of(others, cell.at)).collect();
        let mut held = vec![0.0; others.len() + 1];
        let mut inertia = 0.0;
        for (cell, (to, away2)) in self.cells.iter().zip(&nearest).filter(|_| !others.is_empty()) {
            held[*to] += cell.population;
            inertia += cell.weight * away2;
        }
        let reach2 =
            self.list.iter().map(|block| nearest[block.first..block.end].iter().map(|near| near.1).fold(0.0, f64::max));
        Around { blocks: self, reach2: reach2.collect(), nearest, held, inertia }
    }
}

/// See [`Blocks::around`].
pub(super) struct Around<'a> {
    blocks: &'a Blocks,
    nearest: Vec<(usize, f64)>,
    /// For each block the largest squared distance of a cell to its nearest stop.
    reach2: Vec<f64>,
    held: Vec<f64>,
    inertia: f64,
}

impl Around<'_> {
    /// Balance B and inertia with one more stop at a place. A cell as near to the new stop as to the nearest other
    /// is split between them.
    pub fn with(&self, place: Coord<f64>, held: &mut Vec<f64>) -> (f64, f64) {
        held.clone_from(&self.held);
        let own = held.len() - 1;
        let alone = own == 0;
        let mut inertia = self.inertia;
        for (block, reach2) in self.blocks.list.iter().zip(&self.reach2) {
            let away = |at: f64, low: f64, high: f64| (low - at).max(at - high).max(0.0);
            let (dx, dy) = (away(place.x, block.low.x, block.high.x), away(place.y, block.low.y, block.high.y));
            if dx * dx + dy * dy > reach2 * (1.0 + TIE) {
                continue;
            }
            let cells = &self.blocks.cells[block.first..block.end];
            for (cell, (from, away2)) in cells.iter().zip(&self.nearest[block.first..block.end]) {
                let own2 = distance2(place, cell.at);
                if !alone && is_tie(own2, *away2) {
                    held[own] += cell.population / 2.0;
                    held[*from] -= cell.population / 2.0;
                } else if own2 < *away2 {
                    held[own] += cell.population;
                    if alone {
                        inertia += cell.weight * own2;
                    } else {
                        held[*from] -= cell.population;
                        inertia -= cell.weight * (away2 - own2);
                    }
                }
            }
        }
        let n = held.len() as f64;
        let expected = self.blocks.population / n;
        let balance = held.iter().map(|held| (held / expected - 1.0).powi(2)).sum::<f64>() / n;
        (balance, inertia)
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
            let (own, spread) = blocks.around(others).with(place, &mut Vec::new());
            let mut all = others.to_vec();
            all.push(place);
            let expected = balance(&shares(&cells, &all));
            assert!((own - expected).abs() < 1e-9, "{own} {expected}");
            assert!((spread / inertia(&cells, &all) - 1.0).abs() < 1e-9);
        }
    }
}
