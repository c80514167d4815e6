//! Foreign files as neutral tables: rows of cells, each with or without a geometry. Knows nothing of fields and samples.
//!
//! [`read`] chooses the reader by the file's name. A reader notes what is wrong in [`Problems`] and goes on where it can;
//! what cannot be used at all is an error there, and no table.

mod archive;
mod code_page;
mod columns;
mod compound;
mod csv;
mod dbf;
mod directions;
mod files;
mod flatgeobuf;
mod geojson;
mod geopackage;
mod gml;
mod gml_shape;
mod gpx;
mod grid;
mod kml;
mod layers;
mod ods;
mod prj;
pub mod raster;
mod rings;
mod rows;
mod shapefile;
mod sheet;
mod shp_order;
mod table;
mod task_data;
mod wkt_column;
mod xls;
mod xlsx;
mod xml;
mod xml_tree;

use std::path::Path;

pub use code_page::Letters;
pub use grid::{Grid, GridRow};
use rows::RowData;
pub use rows::{Row, Rows};
pub use table::{Cell, Table, plain_name};

use crate::problem::Problems;

/// The shapes an import is after, by which a layer is chosen from a file that has several.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shapes {
    /// Whatever there is.
    Any,
    /// Polygons.
    Areas,
    /// Polygons that are not to be entered, which task data keep apart from the fields.
    NoGo,
    /// Lines.
    Lines,
    /// Points.
    Points,
}

/// What is read, for messages and for the choice of a file.
pub const KINDS: &str = "a shapefile (.shp), GeoPackage (.gpkg), GeoJSON (.geojson, .json, .ndjson), KML (.kml, .kmz), GPX, \
    GML, FlatGeobuf (.fgb), ISO 11783-10 task data (.xml), CSV (.csv, .txt, .tsv), or a .zip of one of these";

/// Reads a file. `layer` names a layer of a file that has several. None if there is an error in `problems`.
pub fn read(path: &Path, layer: Option<&str>, problems: &mut Problems) -> Option<Table> {
    read_for(path, layer, Shapes::Any, problems)
}

/// As [`read`]; without a name the first layer with such shapes is taken.
pub fn read_for(path: &Path, layer: Option<&str>, shapes: Shapes, problems: &mut Problems) -> Option<Table> {
    read_as(path, Reading { layer, shapes, letters: None }, problems)
}

/// How a file is to be read.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'a> {
    /// The layer by name.
    pub layer: Option<&'a str>,
    /// Otherwise the first layer with such shapes.
    pub shapes: Shapes,
    /// The letters of its texts; none: as the file says, or found out. Formats that fix them are read as they fix them.
    pub letters: Option<Letters>,
}

/// As [`read`], with everything that can be said by hand.
pub fn read_as(path: &Path, ask: Reading<'_>, problems: &mut Problems) -> Option<Table> {
    let mut found = Problems::new();
    let zip = matches!(files::ending(path).as_str(), "zip" | "kmz");
    let table = if zip { archive::read(path, ask, &mut found) } else { read_by_name(path, ask, &mut found) };
    let table = table.filter(|_| !found.has_errors());
    problems.extend(found);
    table
}

/// The names of a file's layers, or of the files in an archive; empty if it has but one or cannot be read.
pub fn layers(path: &Path) -> Vec<String> {
    let mut problems = Problems::new();
    let place = files::file_name(path);
    let bytes = |problems: &mut Problems| files::bytes(path, problems);
    let list = match files::ending(path).as_str() {
        "zip" => archive::names(path, &mut problems),
        "gpkg" => geopackage::names(path, &mut problems),
        "gpx" => {
            bytes(&mut problems).and_then(|bytes| names(gpx::layers(&place, &bytes, &mut problems))).unwrap_or_default()
        }
        "gml" => {
            bytes(&mut problems).and_then(|bytes| names(gml::layers(&place, &bytes, &mut problems))).unwrap_or_default()
        }
        "xml" => bytes(&mut problems)
            .and_then(|bytes| match root_name(&bytes).as_str() {
                name if task_data::is_root(name) => names(task_data::layers(&place, path, &bytes, &mut problems)),
                "gpx" => names(gpx::layers(&place, &bytes, &mut problems)),
                "kml" => None,
                _ => names(gml::layers(&place, &bytes, &mut problems)),
            })
            .unwrap_or_default(),
        _ => Vec::new(),
    };
    if list.len() > 1 { list } else { Vec::new() }
}

fn names(layers: Option<Vec<layers::Layer>>) -> Option<Vec<String>> {
    Some(layers?.into_iter().map(|layer| layer.name).collect())
}

/// The sheets of a spreadsheet, or the one grid of a text file, as they stand. None if there is an error in `problems`.
pub fn sheets(path: &Path, problems: &mut Problems) -> Option<Vec<Grid>> {
    let place = files::file_name(path);
    let bytes = files::bytes(path, problems)?;
    if !SHEETS.contains(&files::ending(path).as_str()) {
        problems.error(place, "this kind of table is not read.", "Save it as .xlsx or CSV and import that file.");
        return None;
    }
    // By what is in it: web pages and texts are often called .xls, new workbooks .csv.
    match bytes.as_slice() {
        [0xd0, 0xcf, 0x11, 0xe0, ..] => xls::sheets(&place, &bytes, problems),
        [b'P', b'K', 3 | 5, ..] if is_open_document(&bytes) => ods::sheets(&place, &bytes, problems),
        [b'P', b'K', 3 | 5, ..] => xlsx::sheets(&place, &bytes, problems),
        // Only .xls is a name that texts are given too.
        _ if matches!(files::ending(path).as_str(), "xlsx" | "xlsm" | "ods") => xlsx::sheets(&place, &bytes, problems),
        _ => match other_kind(&bytes) {
            Some(kind) => {
                let hint = "Open it in a spreadsheet program and save it as .xlsx, .ods or CSV; or ask the laboratory for such a table.";
                problems.error(place, format!("it is {kind}, not a table of the kind its name says."), hint);
                None
            }
            None => csv::grid(&place, bytes, problems).map(|grid| vec![grid]),
        },
    }
}

/// Endings of the names of spreadsheets and text tables.
pub const SHEETS: [&str; 7] = ["csv", "txt", "tsv", "xlsx", "xlsm", "ods", "xls"];

/// Whether an archive begins with the name of its kind, as OpenDocument files do (OpenDocument 1.2 part 3, 3.3).
fn is_open_document(bytes: &[u8]) -> bool {
    let start = bytes.get(..bytes.len().min(200)).unwrap_or_default();
    start.windows(40).any(|window| window == b"application/vnd.oasis.opendocument.sprea")
}

/// What a file is that is neither a workbook nor a text table.
fn other_kind(bytes: &[u8]) -> Option<&'static str> {
    let start = code_page::text_of(bytes.get(..bytes.len().min(600)).unwrap_or_default()).trim_start().to_lowercase();
    let begins = |with: &[&str]| with.iter().any(|begin| start.starts_with(begin));
    match () {
        () if start.starts_with("%pdf") => Some("a PDF"),
        () if begins(&["<!doctype html", "<html", "<table", "<meta", "<head"]) || start.contains("<html") => {
            Some("a web page")
        }
        () if begins(&["<?xml"]) => Some("an XML file"),
        () if begins(&["{\\rtf"]) => Some("a text with formats (RTF)"),
        () => None,
    }
}

/// A table that was pasted, with the separator found out as in a text file. None if there is an error in `problems`.
pub fn pasted(text: &str, problems: &mut Problems) -> Option<Grid> {
    csv::grid("pasted text", text.as_bytes().to_vec(), problems)
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

fn read_by_name(path: &Path, ask: Reading<'_>, problems: &mut Problems) -> Option<Table> {
    let place = files::file_name(path);
    let bytes = |problems: &mut Problems| {
        let bytes = files::bytes(path, problems)?;
        if let Some(kind @ ("a web page" | "a PDF")) = other_kind(&bytes) {
            let hint =
                "Perhaps a page was saved in place of the file, such as one that asks for a password: fetch it again.";
            problems.error(&place, format!("it is {kind}, not a file of the kind its name says."), hint);
            return None;
        }
        Some(match ask.letters {
            Some(letters) => letters.to_utf8(&bytes),
            None => bytes,
        })
    };
    match files::ending(path).as_str() {
        "shp" => shapefile::read(path, ask.letters, problems),
        "dbf" | "shx" | "prj" | "cpg" => {
            problems.error(place, "this is one of the files that make up a shapefile.", "Give the file that ends in .shp.");
            None
        }
        "geojson" | "json" | "geojsonl" | "geojsons" | "ndjson" | "jsonl" => {
            geojson::read(&place, &bytes(problems)?, problems)
        }
        "gpkg" => geopackage::read(path, ask, problems),
        "fgb" => flatgeobuf::read(&place, &files::bytes(path, problems)?, problems),
        "csv" | "txt" | "tsv" => {
            let table = csv::read(&place, bytes(problems)?, problems)?;
            Some(wkt_column::shaped(table, problems))
        }
        "kml" => kml::read(&place, &bytes(problems)?, problems),
        "gpx" => gpx::read(&place, &bytes(problems)?, ask, problems),
        "gml" | "xml" => {
            let bytes = bytes(problems)?;
            match root_name(&bytes).as_str() {
                "kml" => kml::read(&place, &bytes, problems),
                "gpx" => gpx::read(&place, &bytes, ask, problems),
                name if task_data::is_root(name) => task_data::read(&place, path, &bytes, ask, problems),
                _ => gml::read(&place, &bytes, ask, problems),
            }
        }
        "xlsx" | "xlsm" | "ods" | "xls" => {
            let grid = one_sheet(sheets(path, problems)?, ask.layer, &place, problems)?;
            let table = grid.table(grid.heading());
            Some(wkt_column::shaped(table, problems))
        }
        "xlsb" => {
            problems.error(place, "this kind of spreadsheet is not read.", "Save it as .xlsx or CSV and import that file.");
            None
        }
        "zip" | "kmz" => {
            problems.error(place, "an archive within an archive is not read.", "Unpack the outer one first.");
            None
        }
        _ => {
            problems.error(place, "this kind of file is not read.", format!("Give {KINDS}."));
            None
        }
    }
}

/// The name of the first element, without its prefix; empty if there is none near the beginning.
fn root_name(bytes: &[u8]) -> String {
    xml::root_name(&xml::text_of(bytes.get(..bytes.len().min(ROOT_WITHIN)).unwrap_or_default()))
}

/// The first tag of an XML file ends within so many bytes.
const ROOT_WITHIN: usize = 64 << 10;
