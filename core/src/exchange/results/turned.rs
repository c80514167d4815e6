//! Tables with a column for each sample and a row for each herbicide: turned round before they are read.

use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::layout::{self, Plan};
use crate::exchange::results::meaning::{Meaning, meaning};
use crate::formats::{Cell, Grid, GridRow};
use crate::model::{Rating, Records};
use crate::problem::Problems;

/// The table with its samples in rows. It is turned round only where it makes no sense as it stands and makes sense the other way; a note
/// says so.
pub(super) fn upright(records: &Records, grid: Grid, map: &[(String, String)], problems: &mut Problems) -> Grid {
    let plan = |grid: &Grid| layout::plan(records, grid, map, &mut Problems::new()).ok();
    // A heading that knows samples and an active or a figure besides only wants another name for a column.
    if plan(&grid).is_some_and(|plan| plan.lacking().len() < 2 && plan.has(Meaning::Sample) || plan.lacking().is_empty()) {
        return grid;
    }
    let mut turned = turned_round(&grid);
    if let Some(corner) = name_the_corner(&mut turned, map) {
        put_doses_to_actives(&mut turned, corner);
    }
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

/// What stands where the actives and the samples meet speaks of one of them, or of nothing: below it are the samples. Answers with the row
/// and the column of the corner; none: the samples have a heading of their own.
fn name_the_corner(turned: &mut Grid, map: &[(String, String)]) -> Option<(usize, usize)> {
    let at = layout::heading(turned, map);
    let heading = turned.rows.get(at)?;
    let means = |cell: &Cell, wanted: Meaning| meaning(&cell.written()).is_some_and(|(found, _)| found == wanted);
    if heading.cells.iter().any(|cell| means(cell, Meaning::Sample)) {
        return None;
    }
    let below = turned.rows.get(at + 1..).unwrap_or_default();
    let full = |column: usize| 2 * below.iter().filter(|row| !row.cell(column).is_empty()).count() > below.len();
    let corner =
        heading.cells.iter().position(|cell| means(cell, Meaning::Active) || means(cell, Meaning::Dose)).or_else(|| {
            let empty = |column: &usize| heading.cell(*column).is_empty() && full(*column);
            (0..heading.cells.len()).find(empty)
        });
    let corner = corner?;
    *turned.rows.get_mut(at)?.cells.get_mut(corner)? = Cell::text(Meaning::Sample.heading());
    Some((at, corner))
}

/// A row of doses below the actives becomes part of their headings: "cycloxydim 2x".
fn put_doses_to_actives(turned: &mut Grid, (at, corner): (usize, usize)) {
    let is_dose = |row: &GridRow| meaning(&row.cell(corner).written()).is_some_and(|(found, _)| found == Meaning::Dose);
    let Some(below) = turned.rows.iter().skip(at + 1).position(is_dose) else { return };
    let doses = turned.rows.remove(at + 1 + below);
    let Some(heading) = turned.rows.get_mut(at) else { return };
    for (column, cell) in heading.cells.iter_mut().enumerate().filter(|(column, _)| *column != corner) {
        *cell = Cell::text(&format!("{} {}", cell.written(), doses.cell(column).written()));
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
