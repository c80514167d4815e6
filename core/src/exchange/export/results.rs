//! Results as a table, CSV or XLSX, in headings that the import reads, and after them what Awn makes of each.
//!
//! No cell is ever a formula: in CSV an apostrophe goes before a text that looks like one, in XLSX texts are marked as such.

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, XlsxError};

use crate::exchange::export::csv;
use crate::model::{Measure, Rating, Records, by_name};
use crate::rating;

const HEADINGS: [&str; 25] = [
    "sample",
    "field",
    "year",
    "date",
    "assay",
    "laboratory",
    "active",
    "measure",
    "reduction_percent",
    "standard_percent",
    "se",
    "n",
    "dose",
    "lab_rating",
    "comment",
    "our_rating",
    "interval_low",
    "interval_high",
    "share_s",
    "share_r_question",
    "share_rr",
    "share_rrr",
    "p_difference",
    "agrees",
    "counted_as",
];

/// A cell.
enum Value {
    Text(String),
    Number(Option<f64>),
}

/// A result with what it is sorted by.
type Sorted = ((i32, String, String, String, String), Vec<Value>);

/// One row a result of a sample up to the year, oldest first.
fn rows(records: &Records, year: i32) -> Vec<Vec<Value>> {
    let mut rows: Vec<Sorted> = Vec::new();
    for result in records.results.values() {
        let (Some(sample), Some(assay)) = (records.samples.get(&result.sample), records.assays.get(&result.assay)) else {
            continue;
        };
        let Some(field) = records.fields.get(&sample.field).filter(|_| sample.year <= year) else { continue };
        let farm = records.farm_name(field);
        let name = if farm.is_empty() { field.name.clone() } else { format!("{farm}/{}", field.name) };
        let found = rating::assess(records, result);
        let word = |rating: Option<Rating>| Value::Text(rating.map_or(String::new(), |rating| rating.label().to_owned()));
        let interval = found.sureness.and_then(|sure| sure.interval);
        let share = |rating: Rating| Value::Number(found.sureness.and_then(|sure| sure.share(rating)));
        let dose = result.dose.clone().unwrap_or_default();
        let key = (sample.year, name.clone(), sample.code.clone(), result.active.clone(), dose.clone());
        let cells = vec![
            Value::Text(sample.code.clone()),
            Value::Text(name),
            Value::Number(Some(f64::from(sample.year))),
            Value::Text(assay.date.map_or(String::new(), |date| date.to_string())),
            Value::Text(assay.kind.label().to_owned()),
            Value::Text(assay.laboratory.clone()),
            Value::Text(result.active.clone()),
            Value::Text(result.measure.map_or("", Measure::label).to_owned()),
            Value::Number(result.reduction),
            Value::Number(result.standard),
            Value::Number(result.se),
            Value::Number(result.n.map(f64::from)),
            Value::Text(dose),
            word(result.lab_rating),
            Value::Text(result.comment.clone()),
            word(found.rating),
            Value::Number(interval.map(|ends| ends[0])),
            Value::Number(interval.map(|ends| ends[1])),
            share(Rating::S),
            share(Rating::RQuestion),
            share(Rating::RR),
            share(Rating::RRR),
            Value::Number(found.difference),
            Value::Text(found.agrees().map_or("", |agrees| if agrees { "yes" } else { "no" }).to_owned()),
            Value::Text(
                found
                    .counted
                    .map_or("", |counted| if counted.by.is_laboratory() { "laboratory's" } else { "ours" })
                    .to_owned(),
            ),
        ];
        rows.push((key, cells));
    }
    rows.sort_by(|a, b| a.0.0.cmp(&b.0.0).then_with(|| by_name(&a.0.1, &b.0.1)).then_with(|| a.0.cmp(&b.0)));
    rows.into_iter().map(|(_, cells)| cells).collect()
}

/// As CSV.
pub(super) fn csv(records: &Records, year: i32) -> Result<Vec<u8>, String> {
    let text = |value: &Value| match value {
        Value::Text(text) => csv::guarded(text),
        Value::Number(number) => number.map_or(String::new(), |number| number.to_string()),
    };
    let heading = HEADINGS.map(str::to_owned).to_vec();
    let rows = rows(records, year);
    csv::written(std::iter::once(heading).chain(rows.iter().map(|row| row.iter().map(text).collect())).collect())
}

/// As a workbook of one sheet. Same records, same bytes.
pub(super) fn xlsx(records: &Records, year: i32) -> Result<Vec<u8>, String> {
    workbook(&rows(records, year)).map_err(|error| format!("the workbook could not be made: {error}"))
}

fn workbook(rows: &[Vec<Value>]) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // A fixed day in place of now.
    workbook.set_properties(&DocProperties::new().set_creation_datetime(&ExcelDateTime::from_ymd(2000, 1, 1)?));
    let (bold, text) = (Format::new().set_bold(), Format::new().set_quote_prefix());
    let sheet = workbook.add_worksheet().set_name("Results")?;
    for (column, heading) in (0..).zip(HEADINGS) {
        sheet.write_string_with_format(0, column, heading, &bold)?;
    }
    for (row, cells) in (1..).zip(rows) {
        for (column, cell) in (0..).zip(cells) {
            match cell {
                Value::Number(Some(number)) => drop(sheet.write_number(row, column, *number)?),
                Value::Text(written) if !written.is_empty() => {
                    sheet.write_string_with_format(row, column, written, &text)?;
                }
                Value::Number(None) | Value::Text(_) => {}
            }
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    sheet.autofit();
    workbook.save_to_buffer()
}
