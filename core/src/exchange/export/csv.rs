//! CSV (RFC 4180 with line feeds): stops, fields, and the table of results.

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

fn cells(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

/// A text that no spreadsheet takes for a formula: an apostrophe goes before what begins like one.
pub(in crate::exchange) fn guarded(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

pub(super) fn written(rows: Vec<Vec<String>>) -> Result<Vec<u8>, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(&row).map_err(|error| format!("the CSV file could not be made: {error}"))?;
    }
    writer.into_inner().map_err(|error| format!("the CSV file could not be made: {error}"))
}
