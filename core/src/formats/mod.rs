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
mod grid;
mod prj;
pub mod raster;
mod rings;
mod shapefile;
mod table;
mod xlsx;

use std::path::Path;

pub use grid::{Grid, GridRow};
pub use table::{Cell, Row, Table, plain_name};

use crate::problem::Problems;

/// Reads a file. `layer` names a layer of a file that has several. None if there is an error in `problems`.
pub fn read(path: &Path, layer: Option<&str>, problems: &mut Problems) -> Option<Table> {
    let mut found = Problems::new();
    let table = read_by_name(path, layer, &mut found).filter(|_| !found.has_errors());
    problems.extend(found);
    table
}

/// The sheets of a spreadsheet, or the one grid of a text file, as they stand. None if there is an error in `problems`.
pub fn sheets(path: &Path, problems: &mut Problems) -> Option<Vec<Grid>> {
    let place = files::file_name(path);
    let bytes = files::bytes(path, problems)?;
    match files::ending(path).as_str() {
        "xlsx" | "xlsm" => xlsx::sheets(&place, &bytes, problems),
        "csv" | "txt" | "tsv" => csv::grid(&place, &bytes, problems).map(|grid| vec![grid]),
        _ => {
            problems.error(place, "this kind of table is not read.", "Save it as .xlsx or CSV and import that file.");
            None
        }
    }
}

/// The sheet of a name, or the only one, or the first with a note of the others.
fn one_sheet(sheets: Vec<Grid>, name: Option<&str>, place: &str, problems: &mut Problems) -> Option<Grid> {
    let names: Vec<String> = sheets.iter().map(|grid| grid.sheet.clone()).collect();
    let mut sheets = sheets.into_iter();
    let Some(name) = name else {
        if names.len() > 1 {
            let what = format!("only the first sheet is read; there are also {}.", names[1..].join(", "));
            problems.note(place, what, "Name the sheet to read another one.");
        }
        return sheets.next();
    };
    let found = sheets.find(|grid| grid.sheet.trim().eq_ignore_ascii_case(name.trim()));
    if found.is_none() {
        problems.error(place, format!("there is no sheet “{name}”."), format!("It has: {}.", names.join(", ")));
    }
    found
}

fn read_by_name(path: &Path, layer: Option<&str>, problems: &mut Problems) -> Option<Table> {
    let place = files::file_name(path);
    match files::ending(path).as_str() {
        "shp" => shapefile::read(path, problems),
        "dbf" | "shx" | "prj" | "cpg" => {
            problems.error(place, "this is one of the files that make up a shapefile.", "Give the file that ends in .shp.");
            None
        }
        "geojson" | "json" => geojson::read(&place, &files::bytes(path, problems)?, problems),
        "gpkg" => geopackage::read(path, layer, problems),
        "csv" | "txt" | "tsv" => csv::read(&place, &files::bytes(path, problems)?, problems),
        "xlsx" | "xlsm" => {
            let grid = one_sheet(sheets(path, problems)?, layer, &place, problems)?;
            Some(grid.table(grid.heading()))
        }
        "xls" | "xlsb" | "ods" => {
            problems.error(place, "this kind of spreadsheet is not read.", "Save it as .xlsx or CSV and import that file.");
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
