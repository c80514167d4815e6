//! A row of a results table: its cells read and checked, without a look at the records.

use crate::exchange::ImportError;
use crate::exchange::near;
use crate::exchange::row_errors::RowErrors;
use crate::formats::{Row, Table, plain_name};
use crate::model::{AssayKind, Rating, mode_of_action, modes_of_action};
use crate::problem::Problems;

/// The headings that must be there.
const NEEDED: [&str; 7] = ["sample", "field", "year", "assay", "active", "reduction_percent", "standard_percent"];
/// The headings that may be there.
const OPTIONAL: [&str; 4] = ["se", "n", "dose", "lab_rating"];

/// The lowest reduction that is taken for a measurement, %: treated plants five times as heavy as untreated ones
/// (five times: our choice; 159 % of untreated occurs in published survey data).
const LOWEST: f64 = -400.0;

/// Columns by heading.
pub(super) struct Headings {
    needed: [usize; 7],
    optional: [Option<usize>; 4],
}

/// One result as the file gives it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub place: String,
    pub sample: String,
    pub field: String,
    pub year: i32,
    pub assay: AssayKind,
    pub active: String,
    pub group: String,
    pub reduction: f64,
    pub standard: f64,
    pub se: Option<f64>,
    pub n: Option<u32>,
    pub dose: Option<String>,
    pub lab_rating: Option<Rating>,
}

/// Finds the columns. `map` renames: (column in the file, heading).
pub(super) fn headings(table: &Table, map: &[(String, String)], problems: &mut Problems) -> Result<Headings, ImportError> {
    let known = || NEEDED.iter().chain(&OPTIONAL).copied();
    let mut names: Vec<String> = table.columns.iter().map(|name| plain_name(name)).collect();
    for (column, heading) in map {
        let place = format!("--map {column}={heading}");
        let Some(heading) = known().find(|known| plain_name(known) == plain_name(heading)) else {
            let hint = format!("Use one of: {}.", known().collect::<Vec<_>>().join(", "));
            problems.error(place, format!("“{heading}” is no heading that is read."), hint);
            continue;
        };
        match table.columns.iter().position(|name| plain_name(name) == plain_name(column)) {
            Some(index) => {
                // The column that has the heading by itself gives way.
                names.iter_mut().filter(|name| **name == plain_name(heading)).for_each(String::clear);
                if let Some(name) = names.get_mut(index) {
                    *name = plain_name(heading);
                }
            }
            None => problems.error(
                place,
                format!("{} has no column “{column}”.", table.name),
                format!("Its columns are: {}.", table.columns.join(", ")),
            ),
        }
    }
    let find = |heading: &str| names.iter().position(|name| *name == plain_name(heading));
    let mut needed = [0; 7];
    for (heading, slot) in NEEDED.iter().zip(&mut needed) {
        if let Some(index) = find(heading) {
            *slot = index;
            continue;
        }
        let like = near::like(heading, table.columns.iter().map(String::as_str)).unwrap_or("COLUMN");
        problems.error(
            &table.name,
            format!("the column {heading} is missing."),
            format!("Rename the column that holds it, or give --map {like}={heading}."),
        );
    }
    for (column, name) in table.columns.iter().zip(&names) {
        if !known().any(|known| plain_name(known) == *name) {
            problems.note(&table.name, format!("the column “{column}” is not read."), "");
        }
    }
    if problems.has_errors() { Err(ImportError::Problems) } else { Ok(Headings { needed, optional: OPTIONAL.map(find) }) }
}

/// Reads a row; none and errors if something in it cannot be.
pub(super) fn line(table: &Table, row: &Row, headings: &Headings, errors: &mut RowErrors<'_>) -> Option<Line> {
    let place = table.place(row);
    let [sample, field, year, assay, active, reduction, standard] = headings.needed.map(|column| table.cell(row, column));
    let [se, n, dose, lab] = headings.optional.map(|column| column.map(|column| table.cell(row, column)));
    let mut sound = true;
    let mut wrong = |what: String, hint: &str| {
        errors.add(place.clone(), what, hint);
        sound = false;
    };
    let (sample, field) = (sample.written(), field.written());
    if sample.is_empty() {
        wrong("it has no sample code.".to_owned(), "Write the code that stands on the envelope.");
    }
    if field.is_empty() {
        wrong("it names no field.".to_owned(), "Write the field's name, or farm/field.");
    }
    let year = match year.number() {
        Some(number) if (1950.0..=2100.0).contains(&number) && number.fract() == 0.0 => number as i32,
        _ => {
            wrong(format!("“{}” is no harvest year.", year.written()), "Write a year with four digits.");
            0
        }
    };
    let assay = assay.written().parse::<AssayKind>().map_err(|why| wrong(sentence(&why), "")).ok();
    let active = plain_active(&active.written());
    let group = mode_of_action(&active).map(|mode| mode.group.to_owned());
    if group.is_none() {
        let all = modes_of_action().iter().flat_map(|mode| mode.actives.iter().copied());
        let hint = match near::like(&active, all) {
            Some(like) => format!("Did you mean {like}?"),
            None => "Write the active ingredient's common name; join mixtures of one mode of action by +.".to_owned(),
        };
        wrong(format!("the mode of action of “{active}” is not known."), &hint);
    }
    let mut percent = |cell: &crate::formats::Cell, name: &str, low: f64, low_in: bool| match cell.number() {
        Some(number) if number.is_finite() && number <= 100.0 && (number > low || low_in && number == low) => Some(number),
        Some(number) if number.is_finite() => {
            let limits = if low_in { "at most 100" } else { "above 0 and at most 100" };
            wrong(format!("{name} is {number}; it must be {limits} %."), "Correct it, or leave the row out.");
            None
        }
        _ if cell.is_empty() => {
            wrong(format!("{name} is empty."), "Write the percentage, or leave the row out.");
            None
        }
        _ => {
            wrong(format!("“{}” in {name} is no number.", cell.written()), "Write the percentage without the sign.");
            None
        }
    };
    let reduction = percent(reduction, "reduction_percent", LOWEST, true);
    let standard = percent(standard, "standard_percent", 0.0, false);
    let filled = |cell: Option<&crate::formats::Cell>| cell.filter(|cell| !cell.is_empty()).cloned();
    let se = filled(se).and_then(|cell| {
        let number = cell.number().filter(|number| (0.0..=100.0).contains(number));
        if number.is_none() {
            wrong(format!("“{}” is no standard error in percentage points.", cell.written()), "Write 0 to 100, or nothing.");
        }
        number
    });
    let n = filled(n).and_then(|cell| {
        let number = cell.number().filter(|number| (1.0..=1e6).contains(number) && number.fract() == 0.0);
        if number.is_none() {
            wrong(format!("“{}” is no number of plants or seeds.", cell.written()), "Write a whole number, or nothing.");
        }
        number.map(|number| number as u32)
    });
    let lab_rating =
        filled(lab).and_then(|cell| cell.written().parse::<Rating>().map_err(|why| wrong(sentence(&why), "")).ok());
    if !sound {
        return None;
    }
    Some(Line {
        place,
        sample,
        field,
        year,
        assay: assay?,
        active,
        group: group?,
        reduction: reduction?,
        standard: standard?,
        se,
        n,
        dose: filled(dose).map(|cell| cell.written()),
        lab_rating,
    })
}

/// Lower case, parts joined by "+" without blanks.
fn plain_active(text: &str) -> String {
    text.split('+').map(|part| part.trim().to_lowercase()).collect::<Vec<_>>().join("+")
}

fn sentence(text: &str) -> String {
    format!("{}.", text.trim_end_matches('.'))
}
