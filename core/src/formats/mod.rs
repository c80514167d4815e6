//! Foreign files as neutral tables: rows of cells, each with or without a geometry. Knows nothing of fields and samples.
//!
//! [`read`] chooses the reader by the file's name. A reader notes what is wrong in [`Problems`] and goes on where it can;
//! what cannot be used at all is an error there, and no table.

mod code_page;
mod csv;
mod dbf;
mod files;
mod geojson;
mod geopackage;
mod prj;
pub mod raster;
mod rings;
mod shapefile;
mod table;

use std::path::Path;

pub use table::{Cell, Row, Table, plain_name};

use crate::problem::Problems;

/// Reads a file. `layer` names a layer of a file that has several. None if there is an error in `problems`.
pub fn read(path: &Path, layer: Option<&str>, problems: &mut Problems) -> Option<Table> {
    let mut found = Problems::new();
    let table = read_by_name(path, layer, &mut found).filter(|_| !found.has_errors());
    problems.extend(found);
    table
}

fn read_by_name(path: &Path, layer: Option<&str>, problems: &mut Problems) -> Option<Table> {
    let place = files::file_name(path);
    let extension = path.extension().map(|extension| extension.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    match extension.as_str() {
        "shp" => shapefile::read(path, problems),
        "dbf" | "shx" | "prj" | "cpg" => {
            problems.error(place, "this is one of the files that make up a shapefile.", "Give the file that ends in .shp.");
            None
        }
        "geojson" | "json" => geojson::read(&place, &files::bytes(path, problems)?, problems),
        "gpkg" => geopackage::read(path, layer, problems),
        "csv" | "txt" | "tsv" => csv::read(&place, &files::bytes(path, problems)?, problems),
        "xlsx" | "xls" | "ods" => {
            problems.error(place, "spreadsheets are not read.", "Save the sheet as CSV and import that file.");
            None
        }
        "zip" => {
            problems.error(place, "archives are not read.", "Unpack it and import the file inside.");
            None
        }
        _ => {
            problems.error(
                place,
                "this kind of file is not read.",
                "Give a shapefile (.shp), GeoJSON (.geojson, .json), GeoPackage (.gpkg) or CSV (.csv, .txt, .tsv).",
            );
            None
        }
    }
}
