//! How a laboratory's table is laid out: where its heading stands, what each column means, one row a result or one a sample.

use crate::exchange::ImportError;
use crate::exchange::near;
use crate::exchange::results::actives::{active_in, active_of_cell, dose_in};
use crate::exchange::results::aside::is_units;
use crate::exchange::results::cells::{self, Number};
use crate::exchange::results::meaning::{Meaning, meaning, plain};
use crate::exchange::results::settle;
use crate::formats::{Cell, Grid, GridRow};
use crate::model::{AssayKind, Layout, Measure, Rating, Records};
use crate::problem::Problems;

/// The heading is looked for in so many rows: letters of a laboratory can stand above it.
const LOOKED_AT: usize = 60;

/// What one column holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its heading; with the one above it where two rows make the heading.
    pub name: String,
    /// What it means; none: it is not read.
    pub meaning: Option<Meaning>,
    /// Number of the pot in a heading such as "alive 2".
    pub replicate: Option<u32>,
    /// The active a column of a wide table is of.
    pub active: Option<String>,
    /// The dose in such a heading.
    pub dose: Option<String>,
    /// How many plants or seeds each pot held, by a heading such as "alive (of 18)".
    pub of: Option<f64>,
}

/// A table understood.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Index of the row of the heading (the lower one of two).
    pub heading: usize,
    /// Columns in the order of the table.
    pub columns: Vec<Column>,
    /// Values given for the whole file.
    pub constants: Vec<(Meaning, Cell)>,
    /// Whether a layout that was read before gave the mapping.
    pub remembered: bool,
}

impl Plan {
    /// The first column of a meaning that belongs to no active.
    pub fn column(&self, meaning: Meaning) -> Option<usize> {
        self.columns.iter().position(|column| column.meaning == Some(meaning) && column.active.is_none())
    }

    /// Whether a meaning has a column or a value for the whole file.
    pub fn has(&self, meaning: Meaning) -> bool {
        self.column(meaning).is_some() || self.constants.iter().any(|(constant, _)| *constant == meaning)
    }

    /// The cell of a meaning: the column's, or if that is empty the value for the whole file.
    pub fn cell<'a>(&'a self, row: &'a GridRow, meaning: Meaning) -> &'a Cell {
        let own = self.column(meaning).map_or(&Cell::Empty, |column| row.cell(column));
        let constant = self.constants.iter().find(|(constant, _)| *constant == meaning).map(|(_, cell)| cell);
        if own.is_empty() { constant.unwrap_or(own) } else { own }
    }

    /// The actives of a wide table with their doses, in order.
    pub fn wide(&self) -> Vec<(String, Option<String>)> {
        let mut list: Vec<(String, Option<String>)> = Vec::new();
        for column in &self.columns {
            if let Some(active) = column.active.clone().filter(|_| column.meaning.is_some()) {
                let entry = (active, column.dose.clone());
                if !list.contains(&entry) {
                    list.push(entry);
                }
            }
        }
        list
    }

    /// What no column tells, and without which nothing can be read: the sample, the active, a figure.
    pub fn lacking(&self) -> Vec<Meaning> {
        let wide = !self.wide().is_empty();
        let raw = self.columns.iter().any(|column| column.meaning.and_then(Meaning::measure).is_some());
        let figures = wide || raw || self.has(Meaning::Surviving) || self.has(Meaning::LabRating);
        let needed = [(Meaning::Sample, false), (Meaning::Active, wide), (Meaning::Reduction, figures)];
        needed
            .into_iter()
            .filter(|(meaning, otherwise)| !otherwise && !self.has(*meaning))
            .map(|(meaning, _)| meaning)
            .collect()
    }

    /// Headings, plain and in order: what a layout is known by.
    pub fn signature(&self) -> Vec<String> {
        let mut headings: Vec<String> = self.columns.iter().map(|column| plain(&column.name)).collect();
        headings.sort();
        headings
    }
}

/// The sheet whose heading is best understood, by index.
pub(super) fn best_sheet(sheets: &[Grid]) -> usize {
    let score = |grid: &Grid| known(grid, heading(grid, &[]));
    let best = sheets.iter().map(score).max().unwrap_or(0);
    sheets.iter().position(|grid| score(grid) == best).unwrap_or(0)
}

fn known(grid: &Grid, heading: usize) -> usize {
    let cells = grid.rows.get(heading).map(|row| row.cells.as_slice()).unwrap_or_default();
    // Numbers stand below a heading, not in it.
    let numbers = cells.iter().filter(|cell| matches!(cell, Cell::Number(_))).count();
    cells.iter().filter(|cell| is_known(&cell.written())).count().saturating_sub(numbers)
}

fn is_known(heading: &str) -> bool {
    heading.chars().count() < 80 && (meaning(heading).is_some() || active_in(heading).is_some())
}

/// The row with the most headings that a mapping names; without a mapping, or without such a row, that with the most headings that
/// are understood, the first of equals; if none has two, the first full one.
pub(super) fn heading(grid: &Grid, map: &[(String, String)]) -> usize {
    let rows = grid.rows.len().min(LOOKED_AT);
    let names: Vec<String> = map
        .iter()
        .filter(|entry| is_column(entry) && !entry.0.starts_with('='))
        .map(|(name, _)| plain(name))
        .filter(|name| !name.is_empty())
        .collect();
    let named = |row: usize| {
        let cells = grid.rows.get(row).map(|row| row.cells.as_slice()).unwrap_or_default();
        cells.iter().filter(|cell| names.contains(&plain(&cell.written()))).count()
    };
    let most = if names.is_empty() { 0 } else { (0..rows).map(named).max().unwrap_or(0) };
    if most > 0 {
        return (0..rows).find(|row| named(*row) == most).unwrap_or(0);
    }
    let best = (0..rows).map(|row| known(grid, row)).max().unwrap_or(0);
    if best < 2 {
        return grid.heading();
    }
    let mut heading = (0..rows).find(|row| known(grid, *row) == best).unwrap_or(0);
    // Of a heading in several rows the lowest is meant.
    while grid.rows.get(heading + 1).is_some_and(goes_on) {
        heading += 1;
    }
    heading
}

/// Whether the row below a heading belongs to it: two of its cells at least are headings or doses, and none is a number or a word that
/// stands in the rows below.
fn goes_on(row: &GridRow) -> bool {
    let of_heading = |text: &str| {
        let dose = matches!(dose_in(text), (Some(_), rest) if rest.is_empty());
        let word = text.parse::<AssayKind>().is_ok() || text.parse::<Measure>().is_ok();
        dose || !word && text.chars().count() < 80 && meaning(text).is_some()
    };
    let filled = || row.cells.iter().filter(|cell| !cell.is_empty());
    let figures = filled().any(|cell| matches!(cells::number(cell), Number::Exact(_)));
    !figures && !is_units(row) && filled().filter(|cell| of_heading(&cell.written())).count() >= 2
}

/// Entries of a mapping that are no columns: the sheet that is meant, and codes in the file that stand for known ones.
pub(super) fn is_column(entry: &(String, String)) -> bool {
    !(entry.1.starts_with('=') || entry.0.starts_with('=') && plain(&entry.1) == "sheet")
}

/// Understands a table. `map`: (column, heading), or ("=value", heading) for a value of the whole file.
pub(super) fn plan(
    records: &Records,
    grid: &Grid,
    map: &[(String, String)],
    problems: &mut Problems,
) -> Result<Plan, ImportError> {
    let heading = heading(grid, map);
    let mut plan = Plan { heading, columns: columns(grid, heading), constants: Vec::new(), remembered: false };
    settle::settle(&mut plan, grid, records);
    let mut map: Vec<_> = map.iter().filter(|entry| is_column(entry)).cloned().collect();
    if map.is_empty() {
        let signature = plan.signature();
        if let Some(known) = records.settings.results.layouts.iter().rev().find(|layout| layout.headings == signature) {
            map.clone_from(&known.map);
            plan.remembered = true;
        }
    }
    for (column, heading) in &map {
        rename(&mut plan, grid, column, heading, problems);
    }
    guess_bare_columns(&mut plan, grid);
    active_by_title(&mut plan, grid, problems);
    for column in plan.columns.iter().filter(|column| column.meaning.is_none() && !column.name.is_empty()) {
        problems.note(&grid.name, format!("the column “{}” is not read.", column.name), "");
    }
    if problems.has_errors() { Err(ImportError::Problems) } else { Ok(plan) }
}

/// Where no column names an active: the one that a title above the heading names, the nearest first, or else the sheet.
fn active_by_title(plan: &mut Plan, grid: &Grid, problems: &mut Problems) {
    if plan.has(Meaning::Active) || !plan.wide().is_empty() {
        return;
    }
    let titles = grid.rows.iter().take(plan.heading).rev().flat_map(|row| row.cells.iter().map(Cell::written));
    // Two actives in a sentence are a mixture only where nothing but its parts and dose stands there.
    let one = |text: &String| {
        let (active, rest) = active_in(text)?;
        (!active.contains('+') || active_of_cell(text).is_some()).then(|| (text.clone(), active, dose_in(&rest).0))
    };
    let Some((title, active, dose)) = titles.chain([grid.sheet.clone()]).find_map(|text| one(&text)) else { return };
    let what = format!("no column names the active; it is read as {active} throughout, from “{title}”.");
    problems.warning(&grid.name, what, "If that is wrong, give --set active=NAME, or add a column “active”.");
    plan.constants.push((Meaning::Active, Cell::Text(active)));
    if let Some(dose) = dose.filter(|_| !plan.has(Meaning::Dose)) {
        plan.constants.push((Meaning::Dose, Cell::Text(dose)));
    }
}

/// So many rows above the heading may name actives and doses.
const ABOVE: usize = 3;

/// The columns below a heading.
pub(super) fn columns(grid: &Grid, heading: usize) -> Vec<Column> {
    let of_active =
        |text: &str| active_of_cell(text).is_some() || matches!(dose_in(text), (Some(_), rest) if rest.is_empty());
    let mut levels: Vec<(&GridRow, String)> = Vec::new();
    for row in grid.rows.get(..heading).unwrap_or_default().iter().rev().take(ABOVE) {
        if !row.cells.iter().any(|cell| of_active(&cell.written())) {
            break;
        }
        levels.insert(0, (row, String::new()));
    }
    // What is headed in the row above alone has an empty cell here.
    let own = |index: usize| {
        let own = grid.rows.get(heading).map(|row| row.cell(index).written()).unwrap_or_default();
        let above = levels.iter().rev().map(|(row, _)| row.cell(index).written());
        let named = |text: &String| !of_active(text) && meaning(text).is_some();
        if own.is_empty() { above.into_iter().find(named).unwrap_or_default() } else { own }
    };
    let own: Vec<String> = (0..grid.width()).map(own).collect();
    let own = |index: usize| own.get(index).cloned().unwrap_or_default();
    let meanings: Vec<Option<Meaning>> =
        (0..grid.width()).map(|index| meaning(&own(index)).map(|(meaning, _)| meaning)).collect();
    let mut columns: Vec<Column> = Vec::new();
    for (index, meant) in meanings.iter().enumerate() {
        let mut fresh = false;
        for (row, span) in &mut levels {
            let over = row.cell(index).written();
            if !over.is_empty() {
                // What names no active ends the span of the one before.
                *span = if of_active(&over) { over } else { String::new() };
                fresh = true;
            } else if fresh {
                span.clear();
            }
        }
        // A figure that stands once, and last, speaks for the whole row; one that stands below an active for that active.
        let later = levels.iter().any(|(row, _)| row.cells.iter().skip(index + 1).any(|cell| of_active(&cell.written())));
        let once = meanings.iter().filter(|other| *other == meant).count() < 2 && !later;
        let of_row = meant.is_some_and(|meaning| match meaning {
            Meaning::Number | Meaning::StandardError | Meaning::StandardReduction => once,
            other => !other.is_value(),
        });
        let spans: Vec<&str> = levels.iter().map(|(_, span)| span.as_str()).filter(|span| !span.is_empty()).collect();
        let name = if of_row { own(index) } else { format!("{} {}", spans.join(" "), own(index)) };
        columns.push(column(name.trim()));
    }
    columns
}

/// The same meaning twice: the first stands.
pub(super) fn once_each(columns: &mut [Column]) {
    for index in 1..columns.len() {
        let (before, rest) = columns.split_at_mut(index);
        let Some(this) = rest.first_mut() else { continue };
        let same = |other: &Column| {
            other.meaning == this.meaning
                && other.active == this.active
                && other.dose == this.dose
                && other.replicate == this.replicate
        };
        if this.meaning.is_some() && before.iter().any(same) {
            this.meaning = None;
        }
    }
}

fn column(name: &str) -> Column {
    if let Some((counted, of)) = out_of(name) {
        let column = of_name(counted);
        if column.meaning.is_some_and(|meaning| matches!(meaning.measure(), Some(Measure::Survival | Measure::Shoots))) {
            return Column { name: name.to_owned(), of: Some(of), ..column };
        }
    }
    of_name(name)
}

/// "Survivors (out of 18)" is "Survivors" of 18; "No. alive /6" likewise.
fn out_of(name: &str) -> Option<(&str, f64)> {
    let bare = name.trim_end_matches(|c: char| !c.is_ascii_digit());
    if name[bare.len()..].contains(char::is_alphanumeric) {
        return None;
    }
    let before = bare.trim_end_matches(|c: char| c.is_ascii_digit());
    let of: f64 = bare.get(before.len()..)?.parse().ok().filter(|of| (1.0..1e6).contains(of))?;
    let lower = before.to_lowercase();
    let counted = ["out of ", "of ", "/ ", "/"].iter().find_map(|joint| lower.strip_suffix(joint))?;
    let counted = before.get(..counted.len())?.trim_end_matches(|c: char| !c.is_alphanumeric());
    Some((counted, of))
}

fn of_name(name: &str) -> Column {
    let plain = Column { name: name.to_owned(), meaning: None, replicate: None, active: None, dose: None, of: None };
    if let Some((meaning, replicate)) = meaning(name) {
        return Column { meaning: Some(meaning), replicate, ..plain };
    }
    let Some((active, rest)) = active_in(name) else { return plain };
    let (dose, words) = dose_in(&rest);
    if words.is_empty() {
        return Column { active: Some(active), dose, ..plain };
    }
    if let Some((meaning, replicate)) = meaning(&words) {
        return Column { meaning: Some(meaning), replicate, active: Some(active), dose, ..plain };
    }
    match free_dose(&words).filter(|_| dose.is_none()) {
        Some((dose, None)) => Column { active: Some(active), dose: Some(dose), ..plain },
        Some((dose, Some((meaning, replicate)))) => {
            Column { meaning: Some(meaning), replicate, active: Some(active), dose: Some(dose), ..plain }
        }
        None => plain,
    }
}

/// A dose in words of its own, such as "double rate", and what the column holds besides.
#[allow(clippy::type_complexity)] // the dose, and a meaning as `meaning` gives it
fn free_dose(words: &str) -> Option<(String, Option<(Meaning, Option<u32>)>)> {
    const RATES: [&str; 11] =
        ["low", "high", "full", "half", "double", "quarter", "rate", "dose", "field", "label", "recommended"];
    let tokens: Vec<&str> = words.split_whitespace().collect();
    let is_dose = |tokens: &[&str]| {
        !tokens.is_empty() && tokens.iter().all(|token| RATES.contains(&token.trim_matches(|c: char| !c.is_alphanumeric())))
    };
    let clean = |tokens: &[&str]| tokens.join(" ").trim_matches(|c: char| !c.is_alphanumeric()).to_owned();
    if is_dose(&tokens) {
        return Some((clean(&tokens), None));
    }
    (1..tokens.len()).find_map(|at| {
        let (first, last) = tokens.split_at(at);
        let (dose, other) = if is_dose(first) { (first, last) } else { (last, first) };
        is_dose(dose).then(|| meaning(&other.join(" ")).map(|found| (clean(dose), Some(found))))?
    })
}

fn rename(plan: &mut Plan, grid: &Grid, column: &str, heading: &str, problems: &mut Problems) {
    let place = format!("--map {column}={heading}");
    let Some(wanted) = Meaning::of_heading(heading) else {
        let known: Vec<&str> = Meaning::all().map(Meaning::heading).collect();
        problems.error(
            place,
            format!("“{heading}” is no heading that is read."),
            format!("Use one of: {}.", known.join(", ")),
        );
        return;
    };
    if let Some(value) = column.strip_prefix('=') {
        plan.constants.retain(|(meaning, _)| *meaning != wanted);
        plan.constants.push((wanted, Cell::text(value)));
        return;
    }
    let Some(index) = plan.columns.iter().position(|found| plain(&found.name) == plain(column)) else {
        let names: Vec<&str> =
            plan.columns.iter().map(|column| column.name.as_str()).filter(|name| !name.is_empty()).collect();
        let what = format!("{} has no column “{column}”.", grid.name);
        let like =
            near::like(column, names.iter().copied()).map_or(String::new(), |like| format!("Did you mean “{like}”? "));
        problems.error(place, what, format!("{like}Its columns are: {}.", names.join(", ")));
        return;
    };
    // The column that has the meaning by itself gives way.
    for other in plan.columns.iter_mut().filter(|other| other.meaning == Some(wanted) && other.active.is_none()) {
        other.meaning = None;
    }
    if let Some(found) = plan.columns.get_mut(index) {
        let name = found.name.clone();
        let of = out_of(&name).map(|(_, of)| of).filter(|_| wanted.measure().is_some());
        *found = Column { meaning: Some(wanted), replicate: None, active: None, dose: None, of, name };
    }
}

/// A column headed by an active alone holds reductions, or ratings if that is how most of its cells read.
fn guess_bare_columns(plan: &mut Plan, grid: &Grid) {
    if plan.has(Meaning::Active) {
        plan.columns.iter_mut().filter(|column| column.active.is_some()).for_each(|column| column.meaning = None);
        return;
    }
    for index in 0..plan.columns.len() {
        let Some(column) = plan.columns.get(index).filter(|column| column.active.is_some() && column.meaning.is_none())
        else {
            continue;
        };
        let cells = grid.rows.iter().skip(plan.heading + 1).map(|row| row.cell(index)).filter(|cell| !cell.is_empty());
        let (ratings, all) = cells
            .fold((0, 0), |(ratings, all), cell| (ratings + usize::from(cell.written().parse::<Rating>().is_ok()), all + 1));
        let wanted = if 2 * ratings > all { Meaning::LabRating } else { Meaning::Reduction };
        let same =
            |other: &Column| other.meaning == Some(wanted) && other.active == column.active && other.dose == column.dose;
        if !plan.columns.iter().any(same) {
            plan.columns[index].meaning = Some(wanted);
        }
    }
}

/// The layout to remember: the mapping that was given for these headings.
pub(super) fn remembered(plan: &Plan, map: &[(String, String)]) -> Layout {
    Layout { headings: plan.signature(), map: map.iter().filter(|entry| is_column(entry)).cloned().collect() }
}
