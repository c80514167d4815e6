//! GeoPackage 1.3 (OGC 12-128r17) with one layer.

use rusqlite::{Connection, params, params_from_iter, types};

use crate::exchange::export::layer::{Layer, Value};
use crate::geometry::wkb;

/// The tables that every GeoPackage has, and the three systems it must name (requirements 2, 10, 11, 13, 21).
pub(in crate::exchange) const FRAME: &str = r#"
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
pub(in crate::exchange) const LAST_CHANGE: &str = "2000-01-01T00:00:00.000Z";

/// The file's bytes.
pub(super) fn write(layer: &Layer) -> Result<Vec<u8>, String> {
    let failed = |error: &dyn std::fmt::Display| format!("the GeoPackage could not be made: {error}");
    let folder = tempfile::tempdir().map_err(|error| failed(&error))?;
    let path = folder.path().join("layer.gpkg");
    let mut connection = Connection::open(&path).map_err(|error| failed(&error))?;
    fill(&mut connection, layer).map_err(|error| failed(&error))?;
    connection.close().map_err(|(_, error)| failed(&error))?;
    std::fs::read(&path).map_err(|error| failed(&error))
}

fn fill(connection: &mut Connection, layer: &Layer) -> rusqlite::Result<()> {
    let work = connection.transaction()?;
    work.execute_batch(FRAME)?;
    let kind = match layer.name {
        "stops" => "POINT",
        "walks" => "LINESTRING",
        _ => "MULTIPOLYGON",
    };
    let columns: String = (0..layer.columns.len()).map(|index| column(layer, index)).collect();
    work.execute_batch(&format!(
        "CREATE TABLE {} (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom {kind}{columns})",
        layer.name
    ))?;
    let places = ", ?".repeat(layer.columns.len());
    let mut insert = work.prepare(&format!("INSERT INTO {} VALUES (NULL, ?{places})", layer.name))?;
    for (geometry, values) in &layer.rows {
        let blob = types::Value::Blob(wkb::to_gpkg_blob(geometry, 4326));
        insert.execute(params_from_iter(std::iter::once(blob).chain(values.iter().map(cell))))?;
    }
    drop(insert);
    let rects = layer.rows.iter().filter_map(|(geometry, _)| geo::BoundingRect::bounding_rect(geometry));
    let all = crate::geometry::merged_bounds(rects);
    work.execute(
        "INSERT INTO gpkg_contents VALUES (?1, 'features', ?1, '', ?2, ?3, ?4, ?5, ?6, 4326)",
        params![
            layer.name,
            LAST_CHANGE,
            all.map(|r| r.min().x),
            all.map(|r| r.min().y),
            all.map(|r| r.max().x),
            all.map(|r| r.max().y)
        ],
    )?;
    work.execute("INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, 4326, 0, 0)", params![layer.name, kind])?;
    work.commit()
}

fn column(layer: &Layer, index: usize) -> String {
    let values = || layer.rows.iter().filter_map(|(_, values)| values.get(index));
    let kind = if values().any(|value| matches!(value, Value::Real(_))) {
        "DOUBLE"
    } else if values().any(|value| matches!(value, Value::Whole(_))) {
        "INTEGER"
    } else {
        "TEXT"
    };
    format!(", \"{}\" {kind}", layer.columns.get(index).copied().unwrap_or_default())
}

fn cell(value: &Value) -> types::Value {
    match value {
        Value::Text(text) => types::Value::Text(text.clone()),
        Value::Whole(number) => types::Value::Integer(*number),
        Value::Real(number) => types::Value::Real(*number),
        Value::None => types::Value::Null,
    }
}
