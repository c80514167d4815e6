//! CSV (RFC 4180 with line feeds): stops, fields and results; results in the headings that the import reads.

use std::sync::Arc;

use crate::model::{Field, Plan, Records};
use crate::units::M2_PER_HA;

type Plans = [(Arc<Field>, Arc<Plan>)];

/// One row a stop.
pub(super) fn stops(records: &Records, plans: &Plans) -> Result<Vec<u8>, String> {
    let mut rows = vec![cells(&["farm", "field", "year", "stop", "lon", "lat", "share", "tramline"])];
    for (field, plan) in plans {
        for (index, stop) in plan.stops.iter().enumerate() {
            rows.push(vec![
                guarded(records.farm_name(field)),
                guarded(&field.name),
                plan.year.to_string(),
                (index + 1).to_string(),
                format!("{:.7}", stop.position.x),
                format!("{:.7}", stop.position.y),
                format!("{:.4}", stop.share),
                stop.tramline.map(|number| number.to_string()).unwrap_or_default(),
            ]);
        }
    }
    written(rows)
}

/// One row a field, with its area.
pub(super) fn fields(records: &Records, year: i32) -> Result<Vec<u8>, String> {
    let mut rows = vec![cells(&["farm", "name", "area_ha"])];
    for field in records.fields_in(year) {
        let area = format!("{:.4}", field.area_m2() / M2_PER_HA);
        rows.push(vec![guarded(records.farm_name(&field)), guarded(&field.name), area]);
    }
    written(rows)
}

/// One row a result of a sample up to the year, oldest first.
pub(super) fn results(records: &Records, year: i32) -> Result<Vec<u8>, String> {
    let headings = "sample field year assay active reduction_percent standard_percent se n dose lab_rating";
    let mut rows = Vec::new();
    for result in records.results.values() {
        let (Some(sample), Some(assay)) = (records.samples.get(&result.sample), records.assays.get(&result.assay)) else {
            continue;
        };
        let Some(field) = records.fields.get(&sample.field) else { continue };
        if sample.year > year {
            continue;
        }
        let farm = records.farm_name(field);
        let name = if farm.is_empty() { field.name.clone() } else { format!("{farm}/{}", field.name) };
        let number = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
        rows.push((
            (sample.year, name.clone(), sample.code.clone(), assay.kind, result.active.clone(), result.id),
            vec![
                guarded(&sample.code),
                guarded(&name),
                sample.year.to_string(),
                assay.kind.label().to_owned(),
                guarded(&result.active),
                result.reduction.to_string(),
                number(result.standard),
                number(result.se),
                result.n.map(|n| n.to_string()).unwrap_or_default(),
                guarded(result.dose.as_deref().unwrap_or_default()),
                result.lab_rating.map(|rating| rating.label().to_owned()).unwrap_or_default(),
            ],
        ));
    }
    rows.sort_by(|a, b| a.0.cmp(&b.0));
    let heading = cells(&headings.split(' ').collect::<Vec<_>>());
    written(std::iter::once(heading).chain(rows.into_iter().map(|(_, row)| row)).collect())
}

fn cells(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

/// A text that no spreadsheet takes for a formula: an apostrophe goes before what begins like one.
fn guarded(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

fn written(rows: Vec<Vec<String>>) -> Result<Vec<u8>, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(&row).map_err(|error| format!("the CSV file could not be made: {error}"))?;
    }
    writer.into_inner().map_err(|error| format!("the CSV file could not be made: {error}"))
}
