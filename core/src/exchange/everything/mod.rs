//! All data of a project for other programs: as a GeoPackage, a set of CSV files or a workbook, each with a dictionary of its
//! columns; and a copy to share that does not tell which land it is of.
//!
//! Positions in degrees on WGS 84, units in the dictionary (`assets/tables/data_dictionary.csv`). Same records, same bytes.

mod csv;
mod dictionary;
mod shared;
mod tables;
mod workbook;

use geo::Geometry;

use crate::exchange::export::{self, Value};
use crate::model::Records;

pub use csv::zipped;
pub use dictionary::meaning;

/// What is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// Everything in the project.
    Everything,
    /// What tests found, without positions, names, codes, notes and sources.
    Shared,
}

/// A format for all data.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DataFormat {
    /// One GeoPackage with a layer or table for each kind.
    GeoPackage,
    /// One CSV file a table, shapes as well-known text.
    Csv,
    /// One workbook with a sheet a table, shapes as the position of their middle.
    Xlsx,
}

/// A column with what it means.
#[derive(Debug, Clone, PartialEq)]
struct Column {
    name: String,
    unit: String,
    meaning: String,
}

/// A table ready to be written.
#[derive(Debug, Clone, PartialEq)]
struct Table {
    name: String,
    description: String,
    /// Kind of its shapes, if it has any.
    geometry: Option<&'static str>,
    columns: Vec<Column>,
    rows: Vec<(Option<Geometry<f64>>, Vec<Value>)>,
}

/// All data in a format: files by name. A GeoPackage and a workbook are one file, whose name the caller chooses: its name is empty.
pub fn everything(records: &Records, extent: Extent, format: DataFormat) -> Result<Vec<(String, Vec<u8>)>, String> {
    let mut tables = match extent {
        Extent::Everything => tables::all(records),
        Extent::Shared => shared::all(records),
    };
    tables.push(dictionary::of(&tables));
    match format {
        DataFormat::GeoPackage => Ok(vec![(String::new(), export::write_all(&contents(&tables))?)]),
        DataFormat::Xlsx => Ok(vec![(String::new(), workbook::write(&tables)?)]),
        DataFormat::Csv => csv::write(&tables),
    }
}

/// The tables as layers and tables of a GeoPackage.
fn contents(tables: &[Table]) -> Vec<export::Content<'_>> {
    let mut contents = Vec::new();
    for table in tables {
        contents.push(export::Content {
            name: &table.name,
            description: &table.description,
            kind: table.geometry,
            columns: table.columns.iter().map(|column| column.name.as_str()).collect(),
            rows: table.rows.iter().map(|(shape, values)| (shape.as_ref(), values.as_slice())).collect(),
        });
    }
    contents
}
