//! Exports: stops and walks for devices, fields for maps, results for tables. Same records, same bytes.

mod csv;
mod geojson;
mod geopackage;
mod gpx;
mod kml;
mod layer;
mod results;
mod rounds;
mod shapefile;
mod submission;
mod task_data;
mod zones;

use std::sync::Arc;

pub(super) use csv::guarded;
pub(super) use geopackage::{Content, write_all};
pub(super) use layer::Value;
pub use submission::submission_csv;

use crate::model::{Field, Plan, Records};

pub use rounds::{DayFile, rounds_calendar, rounds_gpx};
pub use zones::{ZoneRate, Zones};

/// What to export.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum What {
    Stops,
    Walks,
    Fields,
    Results,
}

/// A format to export in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Format {
    Gpx,
    GeoJson,
    Csv,
    GeoPackage,
    Shapefile,
    Kml,
    /// Partfields of ISO 11783-10.
    TaskData,
    Xlsx,
}

/// One file of an export.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExportFile {
    /// The end of its name where the format has several files; none: the name that was asked for.
    pub ending: Option<&'static str>,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// All files of an export; see [`export`]. A shapefile has five, every other format one.
pub fn export_files(records: &Records, year: i32, what: What, format: Format) -> Result<Vec<ExportFile>, String> {
    if format != Format::Shapefile || what == What::Results {
        return export(records, year, what, format).map(|bytes| vec![ExportFile { ending: None, bytes }]);
    }
    let files = shapefile::write(&layer_of(records, year, what))?;
    Ok(files.into_iter().map(|(ending, bytes)| ExportFile { ending: Some(ending), bytes }).collect())
}

fn layer_of(records: &Records, year: i32, what: What) -> layer::Layer {
    match what {
        What::Stops => layer::stops(records, &plans(records, year)),
        What::Walks => layer::walks(records, &plans(records, year)),
        What::Fields | What::Results => layer::fields(records, year),
    }
}

/// The bytes of an export for a harvest year; an error says which format to use instead.
///
/// Stops and walks are those of the year's newest plan of every field; fields those that exist in the year; results those
/// of samples up to the year.
pub fn export(records: &Records, year: i32, what: What, format: Format) -> Result<Vec<u8>, String> {
    match (what, format) {
        (What::Stops, Format::Gpx) => gpx::stops(&plans(records, year)),
        (What::Walks, Format::Gpx) => gpx::walks(&plans(records, year)),
        (What::Stops, Format::GeoJson) => Ok(geojson::stops(records, &plans(records, year))),
        (What::Walks, Format::GeoJson) => Ok(geojson::walks(records, &plans(records, year))),
        (What::Fields, Format::GeoJson) => Ok(geojson::fields(records, year)),
        (What::Stops, Format::Csv) => csv::stops(records, &plans(records, year)),
        (What::Fields, Format::Csv) => csv::fields(records, year),
        (What::Results, Format::Csv) => results::csv(records, year),
        (What::Results, Format::Xlsx) => results::xlsx(records, year),
        (_, Format::Xlsx) => Err("only results are written as XLSX; export this as CSV".to_owned()),
        (What::Walks, Format::Csv) => Err("walks are lines; export them as GPX or GeoJSON".to_owned()),
        (What::Results, _) => Err("results are a table; export them as CSV or XLSX".to_owned()),
        (What::Fields, Format::TaskData) => Ok(task_data::write(records, year)),
        (What::Stops | What::Walks, Format::TaskData) => {
            Err("task data hold fields only; export them as GPX, GeoJSON or KML".to_owned())
        }
        (_, Format::GeoPackage) => geopackage::write(&layer_of(records, year, what)),
        (_, Format::Kml) => Ok(kml::write(&layer_of(records, year, what))),
        (_, Format::Shapefile) => Err("a shapefile is made of several files".to_owned()),
        (What::Fields, Format::Gpx) => Err("fields are areas; export them as GeoJSON or CSV".to_owned()),
    }
}

/// The fields of the year that have a plan, each with it, by farm and name.
fn plans(records: &Records, year: i32) -> Vec<(Arc<Field>, Arc<Plan>)> {
    let fields = records.fields_in(year).into_iter();
    fields.filter_map(|field| records.plan_of(field.id, year).map(|plan| (field.clone(), plan.clone()))).collect()
}

/// The name of a stop: field and number in walking order, from 1.
fn stop_name(field: &Field, index: usize) -> String {
    format!("{} {}", field.name, index + 1)
}
