//! A sheet as it stands: rows of cells, before any row is taken for the heading.

use crate::formats::{Cell, RowData, Table};

/// The heading is looked for in so many rows that hold something; above it stand titles and dates.
const LOOKED_AT: usize = 25;

/// One row of a sheet or text file.
#[derive(Debug, Clone, PartialEq)]
pub struct GridRow {
    /// Number for messages: the line in a text file, the row of a spreadsheet.
    pub number: usize,
    /// Its cells from the first column on; as many as it has.
    pub cells: Vec<Cell>,
}

impl GridRow {
    /// How many cells hold something.
    pub fn filled(&self) -> usize {
        self.cells.iter().filter(|cell| !cell.is_empty()).count()
    }

    /// The cell of a column; empty if the row is shorter.
    pub fn cell(&self, column: usize) -> &Cell {
        self.cells.get(column).unwrap_or(&Cell::Empty)
    }
}

/// A sheet. Rows without anything in them are left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// The file's name, with the sheet's where there are several: the beginning of every message.
    pub name: String,
    /// The sheet's own name; empty for a text file.
    pub sheet: String,
    /// Rows that hold something, in the order of the file.
    pub rows: Vec<GridRow>,
}

impl Grid {
    /// Where a row stands, for messages: "results.xlsx, row 14".
    pub fn place(&self, row: &GridRow) -> String {
        format!("{}, row {}", self.name, row.number)
    }

    /// How many columns the widest row has.
    pub fn width(&self) -> usize {
        self.rows.iter().map(|row| row.cells.len()).max().unwrap_or(0)
    }

    /// Index of the row that looks like the heading: the first at least half as full as the fullest of the first rows.
    pub fn heading(&self) -> usize {
        let fullest = self.rows.iter().take(LOOKED_AT).map(GridRow::filled).max().unwrap_or(0);
        self.rows.iter().position(|row| 2 * row.filled() >= fullest).unwrap_or(0)
    }

    /// The rows below row `heading` as a table with its cells as names of columns.
    pub fn table(&self, heading: usize) -> Table {
        let width = self.width();
        let columns = match self.rows.get(heading) {
            Some(row) => (0..width).map(|column| row.cell(column).written()).collect(),
            None => Vec::new(),
        };
        let rows = self.rows.iter().skip(heading + 1).map(|row| {
            let cells = (0..width).map(|column| row.cell(column).clone()).collect();
            RowData { number: row.number, geometry: None, cells }
        });
        Table { name: self.name.clone(), columns, rows: rows.collect::<Vec<_>>().into(), crs: None }
    }
}
