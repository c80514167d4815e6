//! Rows below a heading that are no results: remarks, units, means and other figures over the rows above.

use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::layout::{Column, Plan};
use crate::exchange::results::meaning::{Meaning, plain};
use crate::formats::{Cell, GridRow};

/// What stands in the first filled cell of a row that sums others up; plain: lower case, letters and digits.
const SUMMARIES: [&str; 41] = [
    "mean",
    "means",
    "average",
    "avg",
    "grandmean",
    "overallmean",
    "meanofsamples",
    "total",
    "totals",
    "sum",
    "subtotal",
    "min",
    "minimum",
    "max",
    "maximum",
    "median",
    "range",
    "sd",
    "stddev",
    "standarddeviation",
    "se",
    "sem",
    "stderr",
    "standarderror",
    "sed",
    "sedf",
    "lsd",
    "lsd5pct",
    "lsd005",
    "lsdp005",
    "cv",
    "cvpct",
    "coefficientofvariation",
    "p",
    "pvalue",
    "fprob",
    "fpr",
    "prob",
    "df",
    "ci95pct",
    "95pctci",
];

/// What stands in the cells of a row of units.
const UNITS: [&str; 25] = [
    "pct",
    "ofuntreated",
    "pctofuntreated",
    "pctred",
    "pctreduction",
    "g",
    "mg",
    "kg",
    "gha",
    "lha",
    "gaiha",
    "gasha",
    "kgha",
    "ppm",
    "mgl",
    "no",
    "nr",
    "n",
    "number",
    "points",
    "plants",
    "seeds",
    "pots",
    "pctpoints",
    "rating",
];

/// Whether a row holds no result of a population.
pub(super) fn is_aside(plan: &Plan, row: &GridRow, is_first: bool) -> bool {
    is_note(plan, row) || is_summary(plan, row) || is_first && is_units(row)
}

/// A row of remarks: one cell, or two with neither an active nor a value.
pub(super) fn is_note(plan: &Plan, row: &GridRow) -> bool {
    let telling = |(index, column): (usize, &Column)| {
        let tells = column.meaning.is_some_and(|meaning| meaning.is_value() || meaning == Meaning::Active);
        tells && !row.cell(index).is_empty()
    };
    row.filled() <= 2 && !plan.columns.iter().enumerate().any(telling)
}

/// "Mean", "LSD (5 %)", "Total" in place of a sample that names no field.
fn is_summary(plan: &Plan, row: &GridRow) -> bool {
    let first = row.cells.iter().find(|cell| !cell.is_empty()).map(Cell::written).unwrap_or_default();
    let is = |text: &str| SUMMARIES.contains(&plain(text).as_str());
    let column = |meaning| plan.column(meaning).map(|column| row.cell(column)).filter(|cell| !cell.is_empty());
    let sample = column(Meaning::Sample).map(Cell::written);
    // The sample's own cell may be empty where the word stands in a column before it.
    (is(&first) || sample.as_deref().is_some_and(is))
        && sample.is_none_or(|sample| is(&sample))
        && column(Meaning::Field).is_none_or(|cell| is(&cell.written()))
}

/// A row of units: "%", "g/ha", and no number.
pub(super) fn is_units(row: &GridRow) -> bool {
    let mut filled = row.cells.iter().filter(|cell| !cell.is_empty()).peekable();
    filled.peek().is_some()
        && filled
            .all(|cell| !matches!(cells::number(cell), Number::Exact(_)) && UNITS.contains(&plain(&cell.written()).as_str()))
}
