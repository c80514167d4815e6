//! Which field and sample a row belongs to. Codes that nearly match are offered, never joined.

use std::sync::Arc;

use crate::exchange::near;
use crate::exchange::results::row::Line;
use crate::exchange::row_errors::RowErrors;
use crate::model::{Field, FieldId, Records};

/// The field and harvest year of a row: as written, or those of the sample whose code it has.
pub(super) fn place(records: &Records, line: &Line, errors: &mut RowErrors<'_>) -> Option<(FieldId, i32)> {
    let known = records.sample_coded(&line.sample);
    if line.field.is_empty() {
        let Some(sample) = known else {
            let codes = records.samples.values().map(|sample| sample.code.as_str());
            let what = format!("there is no sample “{}”, and no field is named.", line.sample);
            let hint = match near::like(&line.sample, codes) {
                Some(like) => format!("Did you mean {like}? Correct the code, or name the field."),
                None => "Name the field, or farm/field, in a column “field”.".to_owned(),
            };
            errors.add(line.place.clone(), what, hint);
            return None;
        };
        return Some((sample.field, line.year.unwrap_or(sample.year)));
    }
    let Some(year) = line.year.or_else(|| known.map(|sample| sample.year)) else {
        let hint = "Add a column year or date, or give it for the whole file: --set year=2026.";
        errors.add(line.place.clone(), "it has no harvest year.", hint);
        return None;
    };
    field(records, line, year, errors).map(|field| (field, year))
}

/// The one field of a row's name in the row's year.
fn field(records: &Records, line: &Line, year: i32, errors: &mut RowErrors<'_>) -> Option<FieldId> {
    named(records, &line.field, year, &line.place, errors)
}

/// The one field of a name, or of farm/field, in a year; else an error at `place` that says what there is.
pub(in crate::exchange) fn named(
    records: &Records,
    name: &str,
    year: i32,
    place: &str,
    errors: &mut RowErrors<'_>,
) -> Option<FieldId> {
    let found = records.fields_named(name, Some(year));
    if let [field] = &found[..] {
        return Some(field.id);
    }
    let (what, hint) = if let [first, ..] = &found[..] {
        let farm = records.farm_name(first);
        (format!("{} fields are called “{name}”.", found.len()), format!("Write farm/field, such as {farm}/{}.", first.name))
    } else {
        let other_years = records.fields_named(name, None);
        if other_years.is_empty() {
            let hint = match like(records, name) {
                Some(like) => format!("Did you mean {like}?"),
                None => "Correct the name, or add the field's boundary first.".to_owned(),
            };
            (format!("there is no field “{name}”."), hint)
        } else {
            let years = other_years.iter().map(span).collect::<Vec<_>>().join("; ");
            (
                format!("there was no field “{name}” in harvest year {year}."),
                format!("It is there {years}: correct the year, or name the field it was part of."),
            )
        }
    };
    errors.add(place.to_owned(), what, hint);
    None
}

fn span(field: &Arc<Field>) -> String {
    match (field.from_year, field.until_year) {
        (Some(from), Some(until)) => format!("from {from} to {until}"),
        (Some(from), None) => format!("from {from}"),
        (None, Some(until)) => format!("until {until}"),
        (None, None) => "in every year".to_owned(),
    }
}

fn like(records: &Records, name: &str) -> Option<String> {
    let plain: Vec<String> = records.fields.values().map(|field| field.name.clone()).collect();
    let full: Vec<String> =
        records.fields.values().map(|field| format!("{}/{}", records.farm_name(field), field.name)).collect();
    near::like(name, plain.iter().chain(&full).map(String::as_str)).map(str::to_owned)
}

/// A sample of the same field and year whose code is the same but for blanks, marks, and letters that look like digits.
pub(super) fn nearly<'a>(records: &'a Records, code: &str, field: FieldId, year: i32) -> Option<&'a str> {
    let mut there = records.samples.values().filter(|sample| sample.field == field && sample.year == year);
    there.find(|sample| looks(&sample.code) == looks(code)).map(|sample| sample.code.as_str())
}

/// A code as a tired eye sees it.
fn looks(code: &str) -> String {
    let seen = |c: char| match c {
        'o' => '0',
        'i' | 'l' => '1',
        'z' => '2',
        's' => '5',
        'b' => '8',
        other => other,
    };
    code.to_lowercase().chars().filter(|c| c.is_alphanumeric()).map(seen).collect()
}
