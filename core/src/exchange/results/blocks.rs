//! Tables below each other in one sheet: one for each herbicide, each with a title and a heading of its own.
//!
//! Read as one table, the rows of the second would be taken for those of the first herbicide.

use crate::exchange::ImportError;
use crate::exchange::results::actives::{active_in, dose_in};
use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::layout::{self, Plan};
use crate::exchange::results::meaning::plain;
use crate::formats::{Grid, GridRow};
use crate::model::Records;
use crate::problem::Problems;

/// A table: its rows from its first title on, and what its columns mean.
#[derive(Debug)]
pub(super) struct Block {
    pub grid: Grid,
    pub plan: Plan,
}

/// Takes a sheet apart into its tables. `map`: as in [`layout::plan`].
pub(super) fn blocks(
    records: &Records,
    grid: Grid,
    map: &[(String, String)],
    problems: &mut Problems,
) -> Result<Vec<Block>, ImportError> {
    let first = layout::heading(&grid, map);
    let mut cuts = vec![0];
    let mut above = first;
    for at in first + 1..grid.rows.len() {
        let (Some(heading), Some(row)) = (grid.rows.get(above), grid.rows.get(at)) else { break };
        if !repeats(heading, row) {
            continue;
        }
        let titles = grid.rows.get(above + 1..at).unwrap_or_default().iter().rev().take_while(|row| is_title(row));
        let names = |row: &&GridRow| {
            row.cells.iter().any(|cell| active_in(&cell.written()).is_some() || dose_in(&cell.written()).0.is_some())
        };
        let count = titles.clone().count();
        // The same heading once more, as on every printed page, is skipped as a row.
        if row.cells != heading.cells || titles.clone().any(|row| names(&row)) {
            cuts.push(at - count);
            above = at;
        }
    }
    cuts.push(grid.rows.len());
    let Grid { name, sheet, rows } = grid;
    let parts = cuts.windows(2).filter_map(|pair| rows.get(pair[0]..pair[1]));
    parts
        .map(|rows| {
            let grid = Grid { name: name.clone(), sheet: sheet.clone(), rows: rows.to_vec() };
            let plan = layout::plan(records, &grid, map, problems)?;
            Ok(Block { grid, plan })
        })
        .collect()
}

/// Whether a row is a heading like one above it: two of its cells at least stand there too, and none is a number.
fn repeats(heading: &GridRow, row: &GridRow) -> bool {
    let number = |row: &GridRow| row.cells.iter().any(|cell| matches!(cells::number(cell), Number::Exact(_)));
    let same = heading.cells.iter().zip(&row.cells).filter(|(above, below)| {
        !above.is_empty() && !below.is_empty() && plain(&above.written()) == plain(&below.written())
    });
    same.count() >= 2 && !number(row)
}

/// A row of words, or of actives and doses over the columns of a heading.
fn is_title(row: &GridRow) -> bool {
    let words = |text: &str| active_in(text).is_some() || dose_in(text).0.is_some();
    let no_figure = row.cells.iter().all(|cell| matches!(cells::number(cell), Number::Empty | Number::Unreadable));
    let filled = || row.cells.iter().filter(|cell| !cell.is_empty());
    no_figure && (row.filled() <= 2 || filled().all(|cell| words(&cell.written())))
}
