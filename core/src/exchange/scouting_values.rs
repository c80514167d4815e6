//! The value of a scouting row: a density, or a class by word or number.

use crate::exchange::row_errors::RowErrors;
use crate::exchange::{ImportError, PlaceColumns, columns};
use crate::formats::{Cell, Row, Table, plain_name};
use crate::model::{DensityClass, DensityUnit};
use crate::problem::Problems;

/// Names of columns with a value, most telling first.
const VALUES: &[&str] = &[
    "value",
    "density",
    "heads/m2",
    "heads per m2",
    "heads",
    "plants/m2",
    "plants per m2",
    "plants",
    "count",
    "class",
    "score",
    "state",
    "dichte",
    "ähren",
    "anzahl",
    "aantal",
    "antal",
    "tæthed",
    "densité",
    "dn",
    "gridcode",
];
/// Names of columns that hold no value.
const NO_VALUES: &[&str] = &[
    "lon",
    "lat",
    "longitude",
    "latitude",
    "long",
    "lng",
    "easting",
    "northing",
    "x",
    "y",
    "z",
    "id",
    "fid",
    "ogc_fid",
    "objectid",
    "gid",
    "area",
    "area_ha",
    "shape_area",
    "shape_length",
    "shape_leng",
    "elevation",
    "ele",
];
/// A denser stand has not been seen (common practice, no source).
const DENSEST: f64 = 10_000.0;

/// The column with the value: the one the user names, one of a known name, or the only one with numbers.
pub(super) fn column(
    table: &Table,
    named: Option<&str>,
    place: &PlaceColumns,
    problems: &mut Problems,
) -> Result<usize, ImportError> {
    if let Some(name) = named {
        return columns::named(table, name).map_err(|hint| {
            problems.error(&table.name, format!("it has no column “{name}”."), hint);
            ImportError::Problems
        });
    }
    if let Some(column) = table.column(VALUES) {
        return Ok(column);
    }
    let numeric: Vec<usize> = (0..table.columns.len())
        .filter(|column| {
            let name = table.columns.get(*column).map(|name| plain_name(name)).unwrap_or_default();
            let of_place = place.each().iter().any(|(_, used)| *used == table.columns.get(*column).map(String::as_str));
            !of_place
                && !NO_VALUES.iter().any(|other| plain_name(other) == name)
                && table.rows.iter().any(|row| matches!(*table.cell(row, *column), Cell::Number(_)))
        })
        .collect();
    if let [only] = numeric[..] {
        return Ok(only);
    }
    problems.error(
        &table.name,
        format!("it is not clear which column holds the density: {}.", table.columns.join(", ")),
        "Name the column: --value-column density, for example.",
    );
    Err(ImportError::Problems)
}

/// The value of a row in the survey's unit; none and an error if it has none that can be.
pub(super) fn value(
    table: &Table,
    row: Row<'_>,
    column: usize,
    unit: DensityUnit,
    errors: &mut RowErrors<'_>,
) -> Option<f64> {
    let cell = table.cell(row, column);
    let name = table.columns.get(column).map_or("", String::as_str);
    let mut wrong = |what: String, hint: &str| {
        errors.add(table.place(row), what, hint);
        None
    };
    if cell.is_empty() {
        return wrong(format!("column {name} is empty."), "Write 0 where nothing was seen, or delete the row.");
    }
    if unit == DensityUnit::Class {
        return class(&cell).or_else(|| {
            wrong(
                format!("“{}” in column {name} is no class.", cell.written()),
                "Write absent, low, medium, high, very high, or 0 to 4.",
            )
        });
    }
    match cell.number() {
        Some(number) if number.is_finite() && (0.0..=DENSEST).contains(&number) => Some(number),
        Some(number) if number.is_finite() && number < 0.0 => {
            wrong(format!("the density {number} in column {name} is below 0."), "Correct it, or delete the row.")
        }
        Some(number) if number.is_finite() => wrong(
            format!("the density {number} in column {name} is more than {DENSEST} {}.", unit.label()),
            "Correct it, or choose another column.",
        ),
        _ if class(&cell).is_some() => wrong(
            format!("“{}” in column {name} is a class, not a density in {}.", cell.written(), unit.label()),
            "Read the file with the unit class.",
        ),
        _ => wrong(
            format!("“{}” in column {name} is no number.", cell.written()),
            "Write a density, or choose another column.",
        ),
    }
}

/// The number of a class, by its number or word.
fn class(cell: &Cell) -> Option<f64> {
    if let Some(number) = cell.number() {
        return DensityClass::from_number(number).map(|class| f64::from(class as u8));
    }
    let word = plain_name(&cell.written());
    DensityClass::ALL.into_iter().find(|class| plain_name(class.label()) == word).map(|class| f64::from(class as u8))
}
