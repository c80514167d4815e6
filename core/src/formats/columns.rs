//! Columns that come to light row by row, as in files where every feature names its own attributes.

use std::collections::BTreeMap;

use geo::Geometry;

use crate::crs::Crs;
use crate::formats::{Cell, RowData, Table};

/// A table in the making.
#[derive(Default)]
pub(super) struct Growing {
    columns: Vec<String>,
    index: BTreeMap<String, usize>,
    rows: Vec<RowData>,
}

impl Growing {
    /// Adds a row; of an attribute given twice the first value that says anything counts.
    pub fn push(&mut self, number: usize, geometry: Option<Geometry<f64>>, attributes: Vec<(String, Cell)>) {
        let mut cells = vec![Cell::Empty; self.columns.len()];
        for (name, value) in attributes {
            let columns = &mut self.columns;
            let column = *self.index.entry(name.clone()).or_insert_with(|| {
                columns.push(name);
                columns.len() - 1
            });
            cells.resize(self.columns.len(), Cell::Empty);
            if let Some(cell) = cells.get_mut(column).filter(|cell| cell.is_empty()) {
                *cell = value;
            }
        }
        self.rows.push(RowData { number, geometry, cells });
    }

    /// Rows so far.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The table.
    pub fn table(mut self, name: &str, crs: Option<Crs>) -> Table {
        for row in &mut self.rows {
            row.cells.resize(self.columns.len(), Cell::Empty);
        }
        Table { name: name.to_owned(), columns: self.columns, rows: self.rows.into(), crs }
    }
}
