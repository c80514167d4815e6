//! One GeoPackage 1.3 (OGC 12-128r17) with a layer for each table of shapes and an attribute table for each of the others.

use geo::BoundingRect as _;
use rusqlite::{Connection, params, params_from_iter, types};

use crate::exchange::everything::{Table, Value};
use crate::exchange::export::{GEOPACKAGE_FRAME, LAST_CHANGE};
use crate::geometry::{merged_bounds, wkb};

pub(super) fn write(tables: &[Table]) -> Result<Vec<u8>, String> {
    let failed = |error: &dyn std::fmt::Display| format!("the GeoPackage could not be made: {error}");
    let folder = tempfile::tempdir().map_err(|error| failed(&error))?;
    let path = folder.path().join("data.gpkg");
    let mut connection = Connection::open(&path).map_err(|error| failed(&error))?;
    fill(&mut connection, tables).map_err(|error| failed(&error))?;
    connection.close().map_err(|(_, error)| failed(&error))?;
    std::fs::read(&path).map_err(|error| failed(&error))
}

fn fill(connection: &mut Connection, tables: &[Table]) -> rusqlite::Result<()> {
    let work = connection.transaction()?;
    work.execute_batch(GEOPACKAGE_FRAME)?;
    for table in tables {
        let columns: String = (0..table.columns.len()).map(|index| column(table, index)).collect();
        let geom = table.geometry.map(|kind| format!(", geom {kind}")).unwrap_or_default();
        let name = &table.name;
        work.execute_batch(&format!(
            "CREATE TABLE \"{name}\" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL{geom}{columns})"
        ))?;
        let count = table.columns.len() + usize::from(table.geometry.is_some());
        let mut insert = work.prepare(&format!("INSERT INTO \"{name}\" VALUES (NULL{})", ", ?".repeat(count)))?;
        for (shape, values) in &table.rows {
            let shape =
                shape.as_ref().map_or(types::Value::Null, |shape| types::Value::Blob(wkb::to_gpkg_blob(shape, 4326)));
            let shape = table.geometry.map(|_| shape);
            insert.execute(params_from_iter(shape.into_iter().chain(values.iter().map(cell))))?;
        }
        drop(insert);
        let all = merged_bounds(table.rows.iter().filter_map(|(shape, _)| shape.as_ref()?.bounding_rect()));
        let srs = table.geometry.map(|_| 4326);
        work.execute(
            "INSERT INTO gpkg_contents VALUES (?1, ?2, ?1, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            params![
                name,
                if srs.is_some() { "features" } else { "attributes" },
                table.description,
                LAST_CHANGE,
                all.map(|r| r.min().x),
                all.map(|r| r.min().y),
                all.map(|r| r.max().x),
                all.map(|r| r.max().y),
                srs
            ],
        )?;
        if let Some(kind) = table.geometry {
            work.execute("INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, 4326, 0, 0)", params![name, kind])?;
        }
    }
    work.commit()
}

fn column(table: &Table, index: usize) -> String {
    let values = || table.rows.iter().filter_map(|(_, values)| values.get(index));
    let kind = if values().any(|value| matches!(value, Value::Text(_))) {
        "TEXT"
    } else if values().any(|value| matches!(value, Value::Real(_))) {
        "DOUBLE"
    } else if values().any(|value| matches!(value, Value::Whole(_))) {
        "INTEGER"
    } else {
        "TEXT"
    };
    format!(", \"{}\" {kind}", table.columns[index].name)
}

fn cell(value: &Value) -> types::Value {
    match value {
        Value::Text(text) => types::Value::Text(text.clone()),
        Value::Whole(number) => types::Value::Integer(*number),
        Value::Real(number) => types::Value::Real(*number),
        Value::None => types::Value::Null,
    }
}
