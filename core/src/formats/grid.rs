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

    /// The rows below row `heading` as a table with its cells as names of columns. Where headings take two rows, as below cells that
    /// are merged sideways, both make the name.
    pub fn table(&self, heading: usize) -> Table {
        let width = self.width();
        let lower = self.rows.get(heading + 1).filter(|_| self.goes_on(heading));
        let name = |row: &GridRow, column: usize| row.cell(column).written();
        let columns = self.rows.get(heading).map_or_else(Vec::new, |row| {
            let names = |column| match lower {
                Some(lower) => format!("{} {}", name(row, column), name(lower, column)).trim().to_owned(),
                None => name(row, column),
            };
            (0..width).map(names).collect()
        });
        let rows = self.rows.iter().skip(heading + 1 + usize::from(lower.is_some())).map(|row| {
            let cells = (0..width).map(|column| row.cell(column).clone()).collect();
            RowData { number: row.number, geometry: None, cells }
        });
        Table { name: self.name.clone(), columns, rows: rows.collect::<Vec<_>>().into(), crs: None }
    }

    /// Whether the row below a heading belongs to it: words only, some of them where the heading has a gap, above a row with numbers.
    fn goes_on(&self, heading: usize) -> bool {
        let (Some(upper), Some(lower), Some(first)) =
            (self.rows.get(heading), self.rows.get(heading + 1), self.rows.get(heading + 2))
        else {
            return false;
        };
        let has_numbers = |row: &GridRow| row.cells.iter().any(|cell| matches!(cell, Cell::Number(_)));
        let fills_a_gap = (1..lower.cells.len()).any(|at| upper.cell(at).is_empty() && !lower.cell(at).is_empty());
        fills_a_gap && !has_numbers(upper) && !has_numbers(lower) && has_numbers(first)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_of_one_row_and_of_two() {
        let grid = |rows: &[&[&str]]| {
            let cell = |text: &&str| Cell::text(text).number_if_plain();
            let row =
                |(index, cells): (usize, &&[&str])| GridRow { number: index + 1, cells: cells.iter().map(cell).collect() };
            Grid { name: "a".into(), sheet: String::new(), rows: rows.iter().enumerate().map(row).collect() }
        };
        let two = grid(&[&["Place", "Position", "", "Heads"], &["", "Lat", "Lon"], &["A", "52.5", "0.4", "3"]]);
        let table = two.table(two.heading());
        assert_eq!(table.columns, ["Place", "Position Lat", "Lon", "Heads"]);
        assert_eq!((table.rows.len(), table.rows.get(0).map(crate::formats::Row::number)), (1, Some(3)));
        // A first row of texts below a heading with a gap, and one with numbers.
        for rows in
            [[["Name", "", "Note"], ["A", "x", "y"], ["B", "x", "z"]], [["Name", "", "ha"], ["A", "x", "3"], ["B", "", "4"]]]
        {
            let one = grid(&[&rows[0], &rows[1], &rows[2]]);
            assert_eq!(one.table(0).rows.len(), 2);
        }
    }
}
