//! Which field and sample a row belongs to. Codes that nearly match are offered, never joined.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::exchange::near;
use crate::exchange::results::row::Line;
use crate::exchange::row_errors::RowErrors;
use crate::model::{Field, FieldId, Records, Sample, SampleId, TestResult};

/// What the project knows of samples, fields and results, ready to be asked once a row.
pub(super) struct Known<'a> {
    records: &'a Records,
    samples: BTreeMap<String, &'a Arc<Sample>>,
    by_looks: BTreeMap<(FieldId, i32, String), &'a str>,
    fields: BTreeMap<String, Vec<&'a Arc<Field>>>,
    results: BTreeMap<SampleId, Vec<&'a Arc<TestResult>>>,
}

impl<'a> Known<'a> {
    /// Everything that is known.
    pub fn of(records: &'a Records) -> Self {
        let mut known = Self {
            records,
            samples: BTreeMap::new(),
            by_looks: BTreeMap::new(),
            fields: BTreeMap::new(),
            results: BTreeMap::new(),
        };
        for sample in records.samples.values() {
            known.samples.entry(plain(&sample.code)).or_insert(sample);
            known.by_looks.entry((sample.field, sample.year, looks(&sample.code))).or_insert(&sample.code);
        }
        for field in records.fields.values() {
            let full = format!("{}/{}", records.farm_name(field), field.name);
            for name in [plain(&field.name), plain(&full)] {
                known.fields.entry(name).or_default().push(field);
            }
        }
        for result in records.results.values() {
            known.results.entry(result.sample).or_default().push(result);
        }
        known
    }

    /// The sample of a code, letter case ignored.
    pub fn sample(&self, code: &str) -> Option<&'a Arc<Sample>> {
        self.samples.get(&plain(code)).copied()
    }

    /// Results of a sample.
    pub fn results(&self, sample: SampleId) -> &[&'a Arc<TestResult>] {
        self.results.get(&sample).map(Vec::as_slice).unwrap_or_default()
    }

    /// A sample of the same field and year whose code is the same but for blanks, marks, and letters that look like digits.
    pub fn nearly(&self, code: &str, field: FieldId, year: i32) -> Option<&'a str> {
        self.by_looks.get(&(field, year, looks(code))).copied()
    }

    /// The code that is most like one that is not known.
    fn like(&self, code: &str) -> Option<&'a str> {
        near::like(code, self.samples.values().map(|sample| sample.code.as_str()))
    }

    fn fields(&self, name: &str, year: Option<i32>) -> Vec<&'a Arc<Field>> {
        let found = self.fields.get(&plain(name)).map(Vec::as_slice).unwrap_or_default();
        found.iter().copied().filter(|field| year.is_none_or(|year| field.exists_in(year))).collect()
    }
}

/// A name without what programs change in it: letter case, kinds of blanks, apostrophes and dashes.
fn plain(name: &str) -> String {
    let same = |c: char| match c {
        '’' | '‘' | '`' | '´' => '\'',
        '–' | '—' | '‐' | '‑' => '-',
        other => other,
    };
    let words: Vec<&str> = name.split_whitespace().collect();
    words.join(" ").to_lowercase().chars().map(same).collect()
}

/// Codes in a file that the project does not know.
#[derive(Debug, Default)]
pub(super) struct Near {
    /// Those that nearly match a known code, with it.
    pub like: Vec<(String, String)>,
    /// Those of rows that name no field either: perhaps standards.
    pub unknown: Vec<String>,
}

/// The field and harvest year of a row: as written, or those of the sample whose code it has.
pub(super) fn place(known: &Known<'_>, line: &Line, near: &mut Near, errors: &mut RowErrors<'_>) -> Option<(FieldId, i32)> {
    let sample = known.sample(&line.sample);
    if line.field.is_empty() {
        let Some(sample) = sample else {
            let like = if errors.is_full() { None } else { known.like(&line.sample) };
            let what = format!("there is no sample “{}”, and no field is named.", line.sample);
            let standard = format!("or, if it is a standard, give --same \"{}=S standard\".", line.sample);
            let hint = match like {
                Some(like) => {
                    format!(
                        "Did you mean {like}? Then give --same \"{}={like}\"; or name the field; {standard}",
                        line.sample
                    )
                }
                None => format!("Name the field, or farm/field, in a column “field”; {standard}"),
            };
            near.like.extend(like.map(|like| (line.sample.clone(), like.to_owned())));
            near.unknown.push(line.sample.clone());
            errors.add(line.place.clone(), what, hint);
            return None;
        };
        return Some((sample.field, line.year.unwrap_or(sample.year)));
    }
    let Some(year) = line.year.or_else(|| sample.map(|sample| sample.year)) else {
        let hint = "Add a column year or date, or give it for the whole file: --set year=2026.";
        errors.add(line.place.clone(), "it has no harvest year.", hint);
        return None;
    };
    field(known, line, year, errors).map(|field| (field, year))
}

/// The one field of a row's name in the row's year.
fn field(known: &Known<'_>, line: &Line, year: i32, errors: &mut RowErrors<'_>) -> Option<FieldId> {
    let (records, name) = (known.records, line.field.as_str());
    let mut found = known.fields(name, Some(year));
    // A client's or grower's name that is no farm of the project does not hide a field that has its name alone.
    if found.is_empty()
        && let Some((farm, bare)) = name.split_once('/')
        && records.farm_named(farm).is_none()
        && let [only] = known.fields(bare, Some(year))[..]
    {
        found = vec![only];
    }
    if let [field] = &found[..] {
        return Some(field.id);
    }
    refuse(records, (name, year, &line.place), found.first().copied(), found.len(), errors);
    None
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
    refuse(records, (name, year, place), found.first(), found.len(), errors);
    None
}

/// Says why a name is not the name of one field.
fn refuse(
    records: &Records,
    (name, year, place): (&str, i32, &str),
    first: Option<&Arc<Field>>,
    found: usize,
    errors: &mut RowErrors<'_>,
) {
    let (what, hint) = if let Some(first) = first {
        let farm = records.farm_name(first);
        (format!("{found} fields are called “{name}”."), format!("Write farm/field, such as {farm}/{}.", first.name))
    } else {
        let other_years = if errors.is_full() { Vec::new() } else { records.fields_named(name, None) };
        if other_years.is_empty() {
            let like = if errors.is_full() { None } else { like(records, name) };
            let hint = match like {
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
