//! Which column holds what: by the names that such columns have in the files of farms and registers.

use std::collections::BTreeSet;

use crate::formats::{Cell, Table, plain_name};

/// Names of columns with a field's name, most telling first: English, Dutch, Danish, German, French, Swedish, Finnish.
const FIELD_NAMES: &[&str] = &[
    "name",
    "field",
    "field name",
    "fieldname",
    "field_nm",
    "label",
    "title",
    "naam",
    "perceelnaam",
    "perceel",
    "navn",
    "marknavn",
    "marknr",
    "marknummer",
    "mark",
    "schlagname",
    "schlagbez",
    "schlag",
    "feldname",
    "feld",
    "bezeichnung",
    "nom",
    "nom parcelle",
    "parcelle",
    "namn",
    "skifte",
    "nimi",
    "lohkonimi",
    "lohko",
    "parcel",
    "parcel id",
    "field id",
    "fieldid",
];

/// Names of columns with a farm's name.
const FARM_NAMES: &[&str] = &[
    "farm",
    "farm name",
    "holding",
    "bedrijf",
    "bedrift",
    "ejendom",
    "betrieb",
    "betriebsname",
    "hof",
    "ferme",
    "exploitation",
    "gård",
    "tila",
];

/// The column with the farm's name, if there is one.
pub(super) fn farm(table: &Table) -> Option<usize> {
    table.column(FARM_NAMES)
}

/// The column with the field's name: one of a known name that says anything, or else the first in which every row has
/// its own text.
pub(super) fn field_name(table: &Table) -> Option<usize> {
    let says_anything = |column: &usize| table.rows.iter().any(|row| !table.cell(row, *column).is_empty());
    let known = FIELD_NAMES.iter().filter_map(|name| table.column(&[name])).find(says_anything);
    known.or_else(|| (0..table.columns.len()).find(|column| all_different_texts(table, *column)))
}

fn all_different_texts(table: &Table, column: usize) -> bool {
    let mut seen = BTreeSet::new();
    !table.rows.is_empty()
        && table.rows.iter().all(|row| match &*table.cell(row, column) {
            Cell::Text(text) => seen.insert(text.to_lowercase()),
            _ => false,
        })
}

/// The column that the user names; case and `_` do not matter.
pub(super) fn named(table: &Table, name: &str) -> Result<usize, String> {
    table
        .columns
        .iter()
        .position(|column| column == name)
        .or_else(|| table.columns.iter().position(|column| plain_name(column) == plain_name(name)))
        .ok_or_else(|| format!("Its columns are: {}.", table.columns.join(", ")))
}
