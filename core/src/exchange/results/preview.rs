//! What an import would make of a file, to look at before it is done.

use std::path::Path;

use crate::exchange::ImportError;
use crate::exchange::results::blocks::Block;
use crate::exchange::results::layout::{self, Column};
use crate::exchange::results::place::Near;
use crate::exchange::results::{imported, sheet, understood};
use crate::formats;
use crate::model::Records;
use crate::problem::Problems;
use crate::progress::Progress;

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
    /// Codes in the file with the known ones that they nearly match.
    pub near: Vec<(String, String)>,
    /// Codes of rows that name no field and no known sample: perhaps standards.
    pub unknown: Vec<String>,
    /// Sheets of the workbook, and the one that is read; empty for a text file.
    pub sheets: Vec<String>,
    /// The sheet that is read.
    pub sheet: String,
    /// Everything found.
    pub problems: Problems,
}

impl Preview {
    fn shows(&mut self, Block { grid, plan }: Block) {
        self.sheet.clone_from(&grid.sheet);
        let rows = grid.rows.get(plan.heading + 1..).unwrap_or_default();
        self.heading = grid.rows.get(plan.heading).map_or(0, |row| row.number);
        let width = plan.columns.len();
        let cells = |row: &formats::GridRow| (0..width).map(|column| row.cell(column).written()).collect();
        self.rows = rows.iter().take(ROWS).map(cells).collect();
        self.columns = plan.columns;
        self.remembered = plan.remembered;
    }
}

/// Looks at a file with a mapping; see [`crate::exchange::results`]. Nothing is changed.
pub fn preview(records: &Records, file: &Path, map: &[(String, String)], progress: &dyn Progress) -> Preview {
    let mut preview = Preview::default();
    let mut found = Problems::new();
    match understood(records, file, map, &mut found) {
        Ok((blocks, sheets)) => {
            let mut problems = Problems::new();
            let mut near = Near::default();
            let made = imported(records, file, map, &blocks, &mut near, &mut problems, progress);
            (preview.near, preview.unknown) = (near.like, near.unknown);
            match made {
                Ok(import) => preview.outcome = Some((import.added, import.updated, import.skipped)),
                Err(ImportError::Problems | ImportError::Cancelled(_)) => {}
            }
            preview.near.sort();
            preview.near.dedup();
            preview.unknown.sort();
            preview.unknown.dedup();
            preview.sheets = sheets;
            found.extend(problems);
            let below = |block: &Block| block.grid.rows.len().saturating_sub(block.plan.heading + 1);
            preview.count = blocks.iter().map(below).sum();
            // Of several tables below each other the columns of the first are shown.
            if let Some(block) = blocks.into_iter().next() {
                preview.shows(block);
            }
        }
        Err(_) => {
            if let Ok((grid, sheets)) = sheet(file, map, &mut Problems::new()) {
                (preview.sheets, preview.sheet) = (sheets, grid.sheet.clone());
                if let Ok(plan) = layout::plan(records, &grid, &[], &mut Problems::new()) {
                    preview.count = grid.rows.len().saturating_sub(plan.heading + 1);
                    preview.shows(Block { grid, plan });
                }
            }
        }
    }
    preview.problems = found;
    preview
}
