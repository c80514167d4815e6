//! What an import would make of a file, to look at before it is done.

use std::path::Path;

use crate::exchange::results::layout::{self, Column};
use crate::exchange::results::understood;
use crate::exchange::{ImportError, results};
use crate::formats;
use crate::model::Records;
use crate::problem::Problems;
use crate::progress::Quiet;

/// So many rows are shown.
const ROWS: usize = 6;

/// A file before it is imported.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Preview {
    /// Line or row of the heading, as the file counts.
    pub heading: usize,
    /// Columns with what they are read as.
    pub columns: Vec<Column>,
    /// The first rows, cell by cell.
    pub rows: Vec<Vec<String>>,
    /// Rows below the heading.
    pub count: usize,
    /// Whether the mapping of an earlier import of such a table is used.
    pub remembered: bool,
    /// Results that would be added and replaced, rows and cells left out; none: there are errors.
    pub outcome: Option<(usize, usize, usize)>,
    /// Everything found.
    pub problems: Problems,
}

/// Looks at a file with a mapping; see [`results`]. Nothing is changed.
pub fn preview(records: &Records, file: &Path, map: &[(String, String)]) -> Preview {
    let mut preview = Preview::default();
    let mut problems = Problems::new();
    match understood(records, file, map, &mut problems) {
        Ok((grid, plan)) => {
            let rows = grid.rows.get(plan.heading + 1..).unwrap_or_default();
            preview.heading = grid.rows.get(plan.heading).map_or(0, |row| row.number);
            preview.count = rows.len();
            let width = plan.columns.len();
            let cells = |row: &formats::GridRow| (0..width).map(|column| row.cell(column).written()).collect();
            preview.rows = rows.iter().take(ROWS).map(cells).collect();
            preview.columns = plan.columns;
            preview.remembered = plan.remembered;
            problems = Problems::new();
            match results(records, file, map, &mut problems, &Quiet) {
                Ok(import) => preview.outcome = Some((import.added, import.updated, import.skipped)),
                Err(ImportError::Problems | ImportError::Cancelled(_)) => {}
            }
        }
        Err(_) => preview.columns = columns_of(records, file),
    }
    preview.problems = problems;
    preview
}

/// The columns of a file that is not understood yet, so that they can be told what they are.
fn columns_of(records: &Records, file: &Path) -> Vec<Column> {
    let mut ignored = Problems::new();
    let Some(sheets) = formats::sheets(file, &mut ignored) else { return Vec::new() };
    let Some(grid) = sheets.get(layout::best_sheet(&sheets)) else { return Vec::new() };
    layout::plan(records, grid, &[], &mut ignored).map(|plan| plan.columns).unwrap_or_default()
}
