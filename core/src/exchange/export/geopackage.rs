//! GeoPackage 1.3 (OGC 12-128r17) with layers of shapes and tables of attributes.

use geo::{BoundingRect as _, Geometry};
use rusqlite::{Connection, params, params_from_iter, types};

use crate::exchange::export::layer::{Layer, Value};
use crate::geometry::{merged_bounds, wkb};

/// The tables that every GeoPackage has, and the three systems it must name (requirements 2, 10, 11, 13, 21).
const FRAME: &str = r#"
PRAGMA application_id = 1196444487;
PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
    organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
    description TEXT DEFAULT '', last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
    min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
    CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
    srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
    CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
    CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
    CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
INSERT INTO gpkg_spatial_ref_sys VALUES
    ('Undefined cartesian', -1, 'NONE', -1, 'undefined', NULL), ('Undefined geographic', 0, 'NONE', 0, 'undefined', NULL),
    ('WGS 84', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4326"]]', NULL);
"#;
/// The day in a file that must not depend on the day on which it is written: the same records, the same bytes.
const LAST_CHANGE: &str = "2000-01-01T00:00:00.000Z";

/// A layer, or a table without shapes.
pub(in crate::exchange) struct Content<'a> {
    pub name: &'a str,
    pub description: &'a str,
    /// Kind of its shapes, if it has any.
    pub kind: Option<&'static str>,
    pub columns: Vec<&'a str>,
    pub rows: Vec<(Option<&'a Geometry<f64>>, &'a [Value])>,
}

/// The bytes of a file with one layer.
pub(super) fn write(layer: &Layer) -> Result<Vec<u8>, String> {
    let kind = match layer.name {
        "stops" => "POINT",
        "walks" => "LINESTRING",
        _ => "MULTIPOLYGON",
    };
    write_all(&[Content {
        name: layer.name,
        description: "",
        kind: Some(kind),
        columns: layer.columns.to_vec(),
        rows: layer.rows.iter().map(|(shape, values)| (Some(shape), values.as_slice())).collect(),
    }])
}

/// The bytes of a file with all of these.
pub(in crate::exchange) fn write_all(contents: &[Content<'_>]) -> Result<Vec<u8>, String> {
    let failed = |error: &dyn std::fmt::Display| format!("the GeoPackage could not be made: {error}");
    let folder = tempfile::tempdir().map_err(|error| failed(&error))?;
    let path = folder.path().join("data.gpkg");
    let mut connection = Connection::open(&path).map_err(|error| failed(&error))?;
    fill(&mut connection, contents).map_err(|error| failed(&error))?;
    connection.close().map_err(|(_, error)| failed(&error))?;
    std::fs::read(&path).map_err(|error| failed(&error))
}

fn fill(connection: &mut Connection, contents: &[Content<'_>]) -> rusqlite::Result<()> {
    let work = connection.transaction()?;
    work.execute_batch(FRAME)?;
    for content in contents {
        let columns: String = (0..content.columns.len()).map(|index| column(content, index)).collect();
        let geom = content.kind.map(|kind| format!(", geom {kind}")).unwrap_or_default();
        let name = content.name;
        work.execute_batch(&format!(
            "CREATE TABLE \"{name}\" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL{geom}{columns})"
        ))?;
        let count = content.columns.len() + usize::from(content.kind.is_some());
        let mut insert = work.prepare(&format!("INSERT INTO \"{name}\" VALUES (NULL{})", ", ?".repeat(count)))?;
        for (shape, values) in &content.rows {
            let blob = shape.map_or(types::Value::Null, |shape| types::Value::Blob(wkb::to_gpkg_blob(shape, 4326)));
            let blob = content.kind.map(|_| blob);
            insert.execute(params_from_iter(blob.into_iter().chain(values.iter().map(cell))))?;
        }
        drop(insert);
        let all = merged_bounds(content.rows.iter().filter_map(|(shape, _)| (*shape)?.bounding_rect()));
        let srs = content.kind.map(|_| 4326);
        work.execute(
            "INSERT INTO gpkg_contents VALUES (?1, ?2, ?1, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            params![
                name,
                if srs.is_some() { "features" } else { "attributes" },
                content.description,
                LAST_CHANGE,
                all.map(|r| r.min().x),
                all.map(|r| r.min().y),
                all.map(|r| r.max().x),
                all.map(|r| r.max().y),
                srs
            ],
        )?;
        if let Some(kind) = content.kind {
            work.execute("INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, 4326, 0, 0)", params![name, kind])?;
        }
    }
    work.commit()
}

fn column(content: &Content<'_>, index: usize) -> String {
    let values = || content.rows.iter().filter_map(|(_, values)| values.get(index));
    let kind = if values().any(|value| matches!(value, Value::Text(_))) {
        "TEXT"
    } else if values().any(|value| matches!(value, Value::Real(_))) {
        "DOUBLE"
    } else if values().any(|value| matches!(value, Value::Whole(_))) {
        "INTEGER"
    } else {
        "TEXT"
    };
    format!(", \"{}\" {kind}", content.columns[index])
}

fn cell(value: &Value) -> types::Value {
    match value {
        Value::Text(text) => types::Value::Text(text.clone()),
        Value::Whole(number) => types::Value::Integer(*number),
        Value::Real(number) => types::Value::Real(*number),
        Value::None => types::Value::Null,
    }
}
