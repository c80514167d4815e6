//! Tables with a column for each sample and a row for each herbicide: turned round before they are read.

use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::layout::{self, Plan};
use crate::exchange::results::meaning::{Meaning, meaning};
use crate::formats::{Cell, Grid, GridRow};
use crate::model::{Rating, Records};
use crate::problem::Problems;

/// The table with its samples in rows. It is turned round only where it makes no sense as it stands, names no samples there, and makes
/// sense the other way; a note says so.
pub(super) fn upright(records: &Records, grid: Grid, map: &[(String, String)], problems: &mut Problems) -> Grid {
    let plan = |grid: &Grid| layout::plan(records, grid, map, &mut Problems::new()).ok();
    if plan(&grid).is_some_and(|plan| plan.has(Meaning::Sample) || plan.lacking().is_empty()) {
        return grid;
    }
    let mut turned = turned_round(&grid);
    name_the_corner(&mut turned, map);
    let makes_sense = |plan: Plan| plan.lacking().is_empty() && has_figures(&turned, &plan);
    if !plan(&turned).is_some_and(makes_sense) {
        return grid;
    }
    let what = "the samples stand in columns; the table is read turned round.";
    let hint = "In messages its rows are the columns of the file: row 2 is column B.";
    problems.note(&turned.name, what, hint);
    turned
}

/// Columns as rows, numbered from 1 as the columns are.
fn turned_round(grid: &Grid) -> Grid {
    let row = |column: usize| GridRow {
        number: column + 1,
        cells: grid.rows.iter().map(|row| row.cell(column).clone()).collect(),
    };
    let rows = (0..grid.width()).map(row).filter(|row| row.filled() > 0).collect();
    Grid { name: format!("{}, turned round", grid.name), sheet: grid.sheet.clone(), rows }
}

/// What stands where the actives and the samples meet speaks of one of them, or of nothing: below it are the samples.
fn name_the_corner(turned: &mut Grid, map: &[(String, String)]) {
    let at = layout::heading(turned, map);
    let Some(heading) = turned.rows.get(at) else { return };
    let means = |cell: &Cell, wanted: Meaning| meaning(&cell.written()).is_some_and(|(found, _)| found == wanted);
    if heading.cells.iter().any(|cell| means(cell, Meaning::Sample)) {
        return;
    }
    let below = turned.rows.get(at + 1..).unwrap_or_default();
    let full = |column: usize| 2 * below.iter().filter(|row| !row.cell(column).is_empty()).count() > below.len();
    let corner = heading.cells.iter().position(|cell| means(cell, Meaning::Active)).or_else(|| {
        let empty = |column: &usize| heading.cell(*column).is_empty() && full(*column);
        (0..heading.cells.len()).find(empty)
    });
    if let Some(cell) = corner.and_then(|corner| turned.rows.get_mut(at)?.cells.get_mut(corner)) {
        *cell = Cell::text(Meaning::Sample.heading());
    }
}

/// Whether each active has one column of its own, and figures or ratings stand in most of their cells.
fn has_figures(turned: &Grid, plan: &Plan) -> bool {
    let of_active = |column: &usize| plan.columns.get(*column).is_some_and(|column| column.active.is_some());
    let columns: Vec<usize> = (0..plan.columns.len()).filter(of_active).collect();
    let key =
        |column: usize| plan.columns.get(column).map(|found| (&found.active, &found.dose, found.replicate, found.meaning));
    let once = |column: &usize| columns.iter().filter(|other| key(**other) == key(*column)).count() == 1;
    let is_figure = |cell: &Cell| {
        !matches!(cells::number(cell), Number::Empty | Number::Unreadable) || cell.written().parse::<Rating>().is_ok()
    };
    let rows = turned.rows.iter().skip(plan.heading + 1);
    let cells = rows.flat_map(|row| columns.iter().map(|column| row.cell(*column))).filter(|cell| !cell.is_empty());
    let (figures, all) = cells.fold((0, 0), |(figures, all), cell| (figures + usize::from(is_figure(cell)), all + 1));
    !columns.is_empty() && columns.iter().all(once) && 2 * figures > all
}
