//! GeoPackage (OGC 12-128), versions 1.0 to 1.4: one layer of features as a table.

use std::path::Path;

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OpenFlags};

use crate::crs::Crs;
use crate::formats::layers::{self};
use crate::formats::{Cell, Reading, RowData, Shapes, Table, files};
use crate::geometry::wkb;
use crate::problem::Problems;

/// Application identifiers of versions 1.0, 1.1, and 1.2 and later: "GP10", "GP11", "GPKG".
const IDENTIFIERS: [i64; 3] = [0x4750_3130, 0x4750_3131, 0x4750_4b47];

struct Layer {
    table: String,
    geometry: String,
    srs: i64,
    kind: String,
}

/// Reads a layer: the one named, or else the first that can hold the shapes wanted, or else the first.
pub(super) fn read(path: &Path, ask: Reading<'_>, problems: &mut Problems) -> Option<Table> {
    let place = files::file_name(path);
    // A clear word on a missing file comes before what the database would say.
    let head = files::head(path, 16, problems)?;
    if !head.starts_with(b"SQLite format 3\0") {
        problems.error(place, "it is no GeoPackage.", "Check that the file came over whole.");
        return None;
    }
    match open(path).and_then(|connection| table(&connection, &place, ask, problems)) {
        Ok(table) => table,
        Err(error) => {
            let hint = "The file is damaged or no GeoPackage: copy it again from where it came from.";
            problems.error(place, format!("it cannot be read ({error})."), hint);
            None
        }
    }
}

/// Names of its layers with shapes.
pub(super) fn names(path: &Path, problems: &mut Problems) -> Vec<String> {
    let sound = files::head(path, 16, problems).is_some_and(|head| head.starts_with(b"SQLite format 3\0"));
    let found = if sound { open(path).and_then(|connection| layers(&connection)).unwrap_or_default() } else { Vec::new() };
    found.into_iter().map(|layer| layer.table).collect()
}

fn open(path: &Path) -> rusqlite::Result<Connection> {
    let connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    // Views and triggers of a foreign file must not run functions with side effects.
    connection.pragma_update(None, "trusted_schema", false)?;
    Ok(connection)
}

fn table(
    connection: &Connection,
    place: &str,
    ask: Reading<'_>,
    problems: &mut Problems,
) -> rusqlite::Result<Option<Table>> {
    let identifier: i64 = connection.query_row("PRAGMA application_id", [], |row| row.get(0))?;
    if !IDENTIFIERS.contains(&identifier) {
        problems.warning(place, "it is a database that does not say it is a GeoPackage; it was read as one.", "");
    }
    let layers = layers(connection)?;
    let names = layers.iter().map(|layer| layer.table.as_str()).collect::<Vec<_>>().join(", ");
    let can_hold = |layer: &&Layer| {
        let kind = layer.kind.to_ascii_uppercase();
        let words: &[&str] = match ask.shapes {
            Shapes::Any | Shapes::Areas | Shapes::NoGo => &["POLYGON", "SURFACE"],
            Shapes::Lines => &["LINE", "CURVE"],
            Shapes::Points => &["POINT"],
        };
        kind == "GEOMETRY" || words.iter().any(|word| kind.contains(word) && (*word != "CURVE" || !kind.contains("POLYGON")))
    };
    let chosen = match ask.layer {
        Some(name) => layers.iter().find(|layer| layer.table.eq_ignore_ascii_case(name)),
        None => layers.iter().find(can_hold).or(layers.first()),
    };
    let Some(layer) = chosen else {
        match ask.layer {
            Some(name) => problems.error(place, format!("it has no layer “{name}”."), format!("Its layers are: {names}.")),
            None => problems.error(place, "it has no layer with shapes.", "Give a file with boundaries or points."),
        }
        return Ok(None);
    };
    if ask.layer.is_none() && layers.len() > 1 {
        layers::note(place, &names, &layer.table, problems);
    }
    let kind = layer.kind.to_ascii_uppercase();
    if kind.contains("CURVE") || kind == "MULTISURFACE" {
        problems.note(place, "its edges may be arcs; they were drawn as chords of one degree.", "");
    }
    let crs = system(connection, layer.srs)?;
    rows(connection, place, layer, crs, problems).map(Some)
}

fn layers(connection: &Connection) -> rusqlite::Result<Vec<Layer>> {
    connection
        .prepare("SELECT table_name, column_name, srs_id, geometry_type_name FROM gpkg_geometry_columns ORDER BY rowid")?
        .query_map([], |row| Ok(Layer { table: row.get(0)?, geometry: row.get(1)?, srs: row.get(2)?, kind: row.get(3)? }))?
        .collect()
}

/// The coordinate system of a row of gpkg_spatial_ref_sys; none for the two undefined ones.
fn system(connection: &Connection, srs: i64) -> rusqlite::Result<Option<Crs>> {
    if matches!(srs, 0 | -1) {
        return Ok(None);
    }
    let row = connection.query_row(
        "SELECT organization, organization_coordsys_id, definition FROM gpkg_spatial_ref_sys WHERE srs_id = ?1",
        [srs],
        |row| Ok((row.get::<_, String>(0)?, row.get::<_, i64>(1)?, row.get::<_, String>(2)?)),
    );
    let (organization, code, definition) = match row {
        Ok(row) => row,
        Err(rusqlite::Error::QueryReturnedNoRows) => return Ok(None),
        Err(error) => return Err(error),
    };
    if organization.eq_ignore_ascii_case("EPSG")
        && let Ok(code) = u32::try_from(code)
    {
        return Ok(Some(Crs::from_epsg(code)));
    }
    Ok(Crs::from_wkt(&definition).ok())
}

fn rows(
    connection: &Connection,
    place: &str,
    layer: &Layer,
    crs: Option<Crs>,
    problems: &mut Problems,
) -> rusqlite::Result<Table> {
    let quoted = layer.table.replace('"', "\"\"");
    let mut statement = connection.prepare(&format!("SELECT * FROM \"{quoted}\""))?;
    let all: Vec<String> = statement.column_names().into_iter().map(str::to_owned).collect();
    let is_geometry = |name: &str| name.eq_ignore_ascii_case(&layer.geometry);
    let columns: Vec<String> = all.iter().filter(|name| !is_geometry(name)).cloned().collect();
    let mut rows = Vec::new();
    let mut found = statement.query([])?;
    while let Some(row) = found.next()? {
        let number = rows.len() + 1;
        let mut cells = Vec::with_capacity(columns.len());
        let mut geometry = None;
        for (index, name) in all.iter().enumerate() {
            let value = row.get_ref(index)?;
            if is_geometry(name) {
                geometry = match value {
                    ValueRef::Blob(blob) => wkb::from_gpkg_blob(blob).unwrap_or_else(|error| {
                        problems.warning(
                            format!("{place}, row {number}"),
                            format!("{error}."),
                            "The row has no shape and is left out.",
                        );
                        None
                    }),
                    _ => None,
                };
            } else {
                cells.push(cell_of(value));
            }
        }
        rows.push(RowData { number, geometry, cells });
    }
    Ok(Table { name: place.to_owned(), columns, rows: rows.into(), crs })
}

fn cell_of(value: ValueRef<'_>) -> Cell {
    match value {
        ValueRef::Null | ValueRef::Blob(_) => Cell::Empty,
        ValueRef::Integer(number) => Cell::Number(number as f64),
        ValueRef::Real(number) => Cell::Number(number),
        ValueRef::Text(bytes) => Cell::text(&String::from_utf8_lossy(bytes)),
    }
}
