//! All records as the tables of a project file, for those who take the data elsewhere. The history of edits is left out.

use geo::Geometry;
use rusqlite::types::Value;

use crate::model::Records;
use crate::project::schema::TABLES;
use crate::project::tables;

/// A table of the project as plain values.
#[derive(Debug, Clone, PartialEq)]
pub struct DataTable {
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub description: &'static str,
    /// Kind of its shapes, for a layer: "POINT", "MULTIPOLYGON", …
    pub geometry: Option<&'static str>,
    /// Names and GeoPackage types of the columns after `id`.
    pub columns: &'static [(&'static str, &'static str)],
    /// Rows: the record's identifier, its shape in degrees, and a value for each column.
    pub rows: Vec<(String, Option<Geometry<f64>>, Vec<Value>)>,
}

/// Every table, also the empty ones.
pub fn data_tables(records: &Records) -> Vec<DataTable> {
    let kept = TABLES.iter().filter(|table| table.name != "awn_history");
    let mut list: Vec<DataTable> = kept
        .map(|table| DataTable {
            name: table.name,
            description: table.description,
            geometry: table.geometry,
            columns: table.columns,
            rows: Vec::new(),
        })
        .collect();
    for record in records.iter() {
        let id = record.id().to_string();
        for mut row in tables::rows(&record) {
            let Some(table) = list.iter_mut().find(|table| table.name == row.table) else { continue };
            if let crate::model::Record::Field(field) = &record {
                // Written from the farm's record after each step in a project file; here at once.
                let at = table.columns.iter().position(|(name, _)| *name == "farm_name");
                if let Some(cell) = at.and_then(|at| row.values.get_mut(at)) {
                    *cell = Value::Text(records.farm_name(field).to_owned());
                }
            }
            table.rows.push((id.clone(), row.geometry, row.values));
        }
    }
    list
}
