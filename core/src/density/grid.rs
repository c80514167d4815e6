//! A regular grid of values.

use geo::Coord;

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

    /// Middle and value of every cell that has a value, row by row.
    pub fn cells(&self) -> impl Iterator<Item = (Coord<f64>, f64)> + '_ {
        self.values
            .iter()
            .enumerate()
            .filter(|(_, value)| !value.is_nan())
            .map(|(index, value)| (self.centre(index % self.columns, index / self.columns), *value))
    }
}
