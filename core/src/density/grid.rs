//! A regular grid of values.

use geo::{BoundingRect as _, Contains as _, Coord, MultiPolygon, Point};

/// No field is cut into more cells than this: a cell size in centimetres would fill the memory.
const MOST_CELLS: f64 = 4_000_000.0;

/// Square cells in rows from south to north, each row from west to east. Metres of a local plane.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// South-west corner of the grid.
    pub origin: Coord<f64>,
    /// Side of a cell, m.
    pub cell_m: f64,
    /// Cells from west to east.
    pub columns: usize,
    /// Cells from south to north.
    pub rows: usize,
    /// `columns * rows` values; NaN where there is none.
    pub values: Vec<f64>,
}

impl Grid {
    /// A grid over a shape: 0 in cells whose middle lies inside, NaN elsewhere. None if the shape is empty, or the cell no
    /// length, or there would be too many cells.
    pub fn over(shape: &MultiPolygon<f64>, cell_m: f64) -> Option<Self> {
        let rect = shape.bounding_rect()?;
        if !(cell_m > 0.0 && rect.width() * rect.height() / (cell_m * cell_m) < MOST_CELLS) {
            return None;
        }
        let columns = (rect.width() / cell_m).ceil().max(1.0) as usize;
        let rows = (rect.height() / cell_m).ceil().max(1.0) as usize;
        let mut grid = Self { origin: rect.min(), cell_m, columns, rows, values: vec![f64::NAN; columns * rows] };
        for row in 0..rows {
            for column in 0..columns {
                if shape.contains(&Point(grid.centre(column, row))) {
                    grid.values[row * columns + column] = 0.0;
                }
            }
        }
        Some(grid)
    }

    /// Middle of a cell.
    pub fn centre(&self, column: usize, row: usize) -> Coord<f64> {
        Coord { x: self.origin.x + (column as f64 + 0.5) * self.cell_m, y: self.origin.y + (row as f64 + 0.5) * self.cell_m }
    }

    /// Value of a cell; none outside the grid or where there is no value.
    pub fn value(&self, column: usize, row: usize) -> Option<f64> {
        if column >= self.columns || row >= self.rows {
            return None;
        }
        self.values.get(row * self.columns + column).copied().filter(|value| !value.is_nan())
    }

    /// Value of the cell that a position lies in.
    pub fn value_at(&self, at: Coord<f64>) -> Option<f64> {
        let column = ((at.x - self.origin.x) / self.cell_m).floor();
        let row = ((at.y - self.origin.y) / self.cell_m).floor();
        if column < 0.0 || row < 0.0 { None } else { self.value(column as usize, row as usize) }
    }

    /// Middle and value of every cell that has a value, row by row.
    pub fn cells(&self) -> impl Iterator<Item = (Coord<f64>, f64)> + '_ {
        self.values
            .iter()
            .enumerate()
            .filter(|(_, value)| !value.is_nan())
            .map(|(index, value)| (self.centre(index % self.columns, index / self.columns), *value))
    }
}
