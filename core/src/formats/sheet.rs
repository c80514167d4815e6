//! What the readers of spreadsheets share: filled cells by their position, limits, values merged over rows, per cent as shown.

use std::collections::BTreeMap;

use crate::formats::{Cell, Grid, GridRow};
use crate::problem::Problems;

/// The most a workbook may unpack to, bytes.
pub(super) const MOST_BYTES: u64 = 256 << 20;
/// The most rows of a sheet.
const MOST_ROWS: u32 = 1 << 24;
/// The most columns of a sheet.
pub(super) const MOST_COLUMNS: u32 = 1024;
/// The most cells of a sheet, empty ones between filled ones counted.
pub(super) const MOST_CELLS: usize = 4_000_000;

/// First and last row and column of a merged region, from 0.
pub(super) type Region = ((u32, u32), (u32, u32));

/// A sheet as it is read.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    pub name: String,
    /// Filled cells by position (row, column), both from 0.
    pub cells: BTreeMap<(u32, u32), Cell>,
    pub merged: Vec<Region>,
    /// Formulas that have no value kept with them, as some writing programs leave them.
    pub without_value: usize,
}

impl Sheet {
    /// Puts a cell in its place; an empty one is none. An error once the sheet is too large.
    pub fn put(&mut self, row: u32, column: u32, cell: Cell) -> Result<(), String> {
        if cell.is_empty() {
            return Ok(());
        }
        if column >= MOST_COLUMNS {
            return Err(format!("sheet {} has more than {MOST_COLUMNS} columns", self.name));
        }
        if row >= MOST_ROWS {
            return Err(format!("sheet {} has more than {MOST_ROWS} rows", self.name));
        }
        self.cells.insert((row, column), cell);
        if self.cells.len() > MOST_CELLS {
            return Err(format!("sheet {} has more than {MOST_CELLS} cells", self.name));
        }
        Ok(())
    }

    /// Whether its rows, filled up to their last cell, stay within the limit.
    fn fits(&self) -> bool {
        let mut dense = 0_usize;
        let mut last = None;
        // Positions come in order, so that the last cell of a row says how wide it is.
        for (row, column) in self.cells.keys().rev() {
            if last != Some(*row) {
                dense += *column as usize + 1;
                last = Some(*row);
            }
        }
        dense <= MOST_CELLS
    }
}

/// The sheets as grids, empty ones left out. An error if one is too large.
pub(super) fn grids(place: &str, sheets: Vec<Sheet>, problems: &mut Problems) -> Result<Vec<Grid>, String> {
    let mut grids = Vec::new();
    for sheet in sheets {
        if !sheet.fits() {
            return Err(format!("sheet {} is too large", sheet.name));
        }
        if sheet.without_value > 0 {
            let what = format!("sheet {}: {} cells hold a formula without its value.", sheet.name, sheet.without_value);
            problems.warning(place, what, "Formulas are not worked out here: open the file, save it, and give it again.");
        }
        let rows = rows(sheet.cells, &sheet.merged);
        if !rows.is_empty() {
            grids.push(Grid { name: place.to_owned(), sheet: sheet.name, rows });
        }
    }
    if grids.len() > 1 {
        for grid in &mut grids {
            grid.name = format!("{place}, sheet {}", grid.sheet);
        }
    }
    Ok(grids)
}

/// Names the sheets that are hidden and so not read.
pub(super) fn hidden(place: &str, names: &[String], problems: &mut Problems) {
    if !names.is_empty() {
        problems.note(place, format!("hidden sheets are not read: {}.", names.join(", ")), "Show a sheet to have it read.");
    }
}

/// Runs a reader on a file from anywhere: should it stumble, the program must not. What it says is wrong is an error at `place`.
pub(super) fn guarded(
    place: &str,
    problems: &mut Problems,
    read: impl FnOnce(&mut Problems) -> Result<Vec<Grid>, String> + std::panic::UnwindSafe,
) -> Option<Vec<Grid>> {
    let read = std::panic::catch_unwind(|| {
        let mut found = Problems::new();
        read(&mut found).map(|grids| (grids, found))
    });
    match read.unwrap_or_else(|_| Err("it is damaged".to_owned())) {
        Ok((grids, found)) => {
            problems.extend(found);
            if grids.is_empty() {
                problems.error(place, "no sheet in it holds anything.", "Give a workbook with a visible sheet of rows.");
                return None;
            }
            Some(grids)
        }
        Err(why) => {
            problems.error(place, format!("{why}."), "Open it, and save the sheet alone as a new .xlsx or as CSV.");
            None
        }
    }
}

/// 0.57 shown as 57 % is 57, not 56.999…
pub(super) fn of_number(number: f64, percent: bool) -> Cell {
    if !number.is_finite() {
        return Cell::Empty;
    }
    Cell::Number(if percent { (number * 1e11).round() / 1e9 } else { number })
}

/// Whether a number format shows per cent: its sign stands neither in quotes nor behind a backslash, where it is a mere letter.
pub(super) fn shows_percent(format: &str) -> bool {
    let mut quoted = false;
    let mut escaped = false;
    format.chars().any(|c| {
        let sign = c == '%' && !quoted && !escaped;
        quoted ^= c == '"' && !escaped;
        escaped = c == '\\' && !escaped;
        sign
    })
}

fn rows(mut cells: BTreeMap<(u32, u32), Cell>, merged: &[Region]) -> Vec<GridRow> {
    for (start, end) in merged {
        // Only where there are rows anyway: a merged region may span the whole sheet.
        let Some(value) = cells.get(start).cloned().filter(|_| start.1 == end.1 && start.0 < end.0) else { continue };
        let below: Vec<u32> = cells.range((start.0 + 1, 0)..=(end.0, u32::MAX)).map(|((row, _), _)| *row).collect();
        for row in below {
            cells.entry((row, start.1)).or_insert_with(|| value.clone());
        }
    }
    let mut rows: Vec<GridRow> = Vec::new();
    for ((row, column), cell) in cells {
        let number = row as usize + 1;
        if rows.last().is_none_or(|last| last.number != number) {
            rows.push(GridRow { number, cells: Vec::new() });
        }
        if let Some(last) = rows.last_mut() {
            last.cells.resize(column as usize, Cell::Empty);
            last.cells.push(cell);
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn per_cent_signs_that_scale_and_that_are_letters() {
        // ECMA-376 part 1, 18.8.31: a per cent sign multiplies by 100, text in quotes or after a backslash is shown as it is.
        for (format, scales) in
            [("0%", true), ("0.0%;[Red]-0.0%", true), ("0.0\" %\"", false), ("0.0\\%", false), ("General", false)]
        {
            assert_eq!(shows_percent(format), scales, "{format}");
        }
    }
}
