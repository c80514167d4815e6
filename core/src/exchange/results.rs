//! Test results: a table to samples, assays and results.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use crate::exchange::results_rows::{self, Line};
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{Import, ImportError, near};
use crate::formats;
use crate::model::{
    Assay, AssayId, AssayKind, Field, FieldId, Record, Records, ResultId, Sample, SampleId, TestResult, same_name,
};
use crate::problem::Problems;
use crate::progress::Progress;
use crate::project::Edit;
use crate::units;

/// Reads test results. `map` renames columns: (column in the file, heading that Awn knows).
///
/// The same sample, active and kind of assay (and dose, if the file has several) that is there already is replaced.
pub fn results(
    records: &Records,
    file: &Path,
    map: &[(String, String)],
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let table = formats::read(file, None, problems).ok_or(ImportError::Problems)?;
    let headings = results_rows::headings(&table, map, problems)?;
    if table.rows.is_empty() {
        problems.error(&table.name, "it has a heading, but no rows.", "Check that the file came over whole.");
        return Err(ImportError::Problems);
    }
    let mut writer = Writer::new(records, &table.name);
    let mut errors = RowErrors::new(&table.name, problems);
    let mut lines = Vec::new();
    for (index, row) in table.rows.iter().enumerate() {
        if index % 256 == 0 {
            progress.check(index, table.rows.len())?;
        }
        if let Some(line) = results_rows::line(&table, row, &headings, &mut errors) {
            let field = field(records, &line, &mut errors);
            lines.extend(field.map(|field| (line, field)));
        }
    }
    // Fractions in place of percentages would all be rated as the worst resistance.
    if !lines.is_empty() && lines.iter().all(|(line, _)| line.standard <= 1.0) {
        let hint = "Write percentages from 0 to 100.";
        errors.add(table.name.clone(), "every standard_percent is 1 or less: these look like fractions.", hint);
    }
    let mut doses: BTreeMap<Key, BTreeSet<Option<String>>> = BTreeMap::new();
    for (line, _) in &lines {
        if !doses.entry(key(line)).or_default().insert(line.dose.clone()) {
            let what = format!("sample {} has a result for {} in this kind of assay already.", line.sample, line.active);
            errors.add(line.place.clone(), what, "Keep one of the two rows, or give each its dose.");
        }
    }
    for (line, field) in lines {
        let several = doses.get(&key(&line)).is_some_and(|doses| doses.len() > 1);
        writer.put(&line, field, several, &mut errors);
    }
    errors.finish()?;
    let Writer { edit, added, updated, samples, .. } = writer;
    let summary = vec![format!(
        "{}: {} of {}",
        table.name,
        units::count(added + updated, "result"),
        units::count(samples.len(), "sample")
    )];
    Ok(Import { command: edit.done(), added, updated, skipped: 0, summary })
}

/// What tells one result of a file from another: sample, field, active, kind of assay.
type Key = (String, String, String, AssayKind);

fn key(line: &Line) -> Key {
    (line.sample.to_lowercase(), line.field.to_lowercase(), line.active.clone(), line.assay)
}

/// The one field of a row's name in the row's year.
fn field(records: &Records, line: &Line, errors: &mut RowErrors<'_>) -> Option<FieldId> {
    let found = records.fields_named(&line.field, Some(line.year));
    if let [field] = &found[..] {
        return Some(field.id);
    }
    let name = &line.field;
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
                format!("there was no field “{name}” in harvest year {}.", line.year),
                format!("It is there {years}: correct the year, or name the field it was part of."),
            )
        }
    };
    errors.add(line.place.clone(), what, hint);
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

/// Collects the records of the rows, each once.
struct Writer<'a> {
    records: &'a Records,
    edit: Edit<'a>,
    source: String,
    /// Samples met or made, by code.
    samples: BTreeMap<String, Sample>,
    assays: BTreeMap<(AssayKind, i32), AssayId>,
    added: usize,
    updated: usize,
}

impl<'a> Writer<'a> {
    fn new(records: &'a Records, source: &str) -> Self {
        Self {
            records,
            edit: Edit::new(records, "Add results"),
            source: source.to_owned(),
            samples: BTreeMap::new(),
            assays: BTreeMap::new(),
            added: 0,
            updated: 0,
        }
    }

    fn put(&mut self, line: &Line, field: FieldId, several: bool, errors: &mut RowErrors<'_>) {
        let Some(sample) = self.sample(line, field, errors) else { return };
        let assay = self.assay(line);
        let there = self.there(sample, line, several);
        match there {
            Some(_) => self.updated += 1,
            None => self.added += 1,
        }
        let plain = TestResult::printed(sample, assay, &line.active, &line.group, line.reduction, Some(line.standard));
        self.edit.put(Record::Result(TestResult {
            id: there.unwrap_or_else(ResultId::new),
            se: line.se,
            n: line.n,
            dose: line.dose.clone(),
            lab_rating: line.lab_rating,
            ..plain
        }));
    }

    /// The sample of the row's code, made if need be; none and an error if the code belongs to another field or year.
    fn sample(&mut self, line: &Line, field: FieldId, errors: &mut RowErrors<'_>) -> Option<SampleId> {
        let code = line.sample.to_lowercase();
        let known =
            self.samples.get(&code).cloned().or_else(|| self.records.sample_coded(&line.sample).map(|s| (**s).clone()));
        let sample = known.unwrap_or_else(|| {
            let (id, code) = (SampleId::new(), line.sample.clone());
            Sample { id, code, field, year: line.year, taken: None, plan: None, note: String::new() }
        });
        if sample.field != field || sample.year != line.year {
            let of = self.records.fields.get(&sample.field).map_or("another field", |field| field.name.as_str());
            let what = format!("the code {} stands for a sample of {of} in {} already.", sample.code, sample.year);
            errors.add(line.place.clone(), what, "Give every sample its own code, or correct field and year.");
            return None;
        }
        let id = sample.id;
        if self.samples.insert(code, sample.clone()).is_none() {
            self.edit.put(Record::Sample(sample));
        }
        Some(id)
    }

    /// One assay for each kind and year of the file.
    fn assay(&mut self, line: &Line) -> AssayId {
        let (records, edit, source) = (self.records, &mut self.edit, &self.source);
        *self.assays.entry((line.assay, line.year)).or_insert_with(|| {
            let same = |assay: &&Arc<Assay>| {
                assay.kind == line.assay && assay.year == line.year && same_name(&assay.source, source)
            };
            if let Some(assay) = records.assays.values().find(same) {
                return assay.id;
            }
            let assay = Assay::of(line.assay, line.year, source);
            let id = assay.id;
            edit.put(Record::Assay(assay));
            id
        })
    }

    /// The stored result that the row replaces.
    fn there(&self, sample: SampleId, line: &Line, several: bool) -> Option<ResultId> {
        let kind = |result: &TestResult| self.records.assays.get(&result.assay).map(|assay| assay.kind);
        let same: Vec<_> = self
            .records
            .results
            .values()
            .filter(|result| result.sample == sample && result.active == line.active && kind(result) == Some(line.assay))
            .collect();
        let by_dose = same.iter().find(|result| result.dose == line.dose);
        match &same[..] {
            [only] if !several => Some(only.id),
            _ => by_dose.map(|result| result.id),
        }
    }
}
