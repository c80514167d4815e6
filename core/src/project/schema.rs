//! The tables of a project file: a GeoPackage 1.3 (OGC 12-128r17) with one layer or attribute table for each kind of record.

use rusqlite::{Connection, params};

use crate::project::upgrade;

/// "GPKG" as a number (OGC 12-128r17, requirement 2).
pub(super) const APPLICATION_ID: i64 = 0x4750_4B47;
/// GeoPackage 1.3.
const GEOPACKAGE_VERSION: i64 = 10300;
/// Longitude and latitude on WGS 84.
pub(super) const SRS_ID: i32 = 4326;

/// A table of records or parts of records.
pub(super) struct Table {
    /// Name in the file.
    pub name: &'static str,
    /// What it holds, for people who open the file in a GIS.
    pub description: &'static str,
    /// Geometry type, for a feature layer.
    pub geometry: Option<&'static str>,
    /// Columns after `fid`, `id` and `geom`, with GeoPackage types.
    pub columns: &'static [(&'static str, &'static str)],
}

macro_rules! table {
    ($name:ident $geometry:expr, $description:literal, $($column:ident $kind:ident),*) => {
        Table {
            name: stringify!($name),
            description: $description,
            geometry: $geometry,
            columns: &[$((stringify!($column), stringify!($kind))),*],
        }
    };
}

/// All tables. In each, `id` is the record's identifier; in a table of parts it is that of the record they belong to.
pub(super) const TABLES: &[Table] = &[
    table!(farms None, "Farms", business TEXT, name TEXT),
    table!(fields Some("MULTIPOLYGON"), "Field boundaries", farm TEXT, farm_name TEXT, name TEXT, area_ha DOUBLE,
        from_year INTEGER, until_year INTEGER, came_from TEXT, note TEXT, former TEXT),
    table!(gates Some("POINT"), "Gates", field TEXT, name TEXT),
    table!(no_go_areas Some("MULTIPOLYGON"), "Areas without stops and walks", field TEXT, reason TEXT),
    table!(tramlines Some("POINT"), "Tramline sets: anchor, bearing from true north, spacing", field TEXT, bearing_deg DOUBLE,
        spacing_m DOUBLE, headland_m DOUBLE, area TEXT, lines TEXT),
    table!(surveys None, "Scouting surveys", date DATE, kind TEXT, unit TEXT, source TEXT),
    table!(scout_points Some("POINT"), "Scouting values at points; id is the survey's", value DOUBLE),
    table!(scout_zones Some("MULTIPOLYGON"), "Scouting values of areas; id is the survey's", value DOUBLE),
    table!(scout_rasters Some("POLYGON"), "Scouting values as pixels, row by row from the top left, 32-bit little-endian floats, \
        below 0 where there is none; id is the survey's", column_count INTEGER, pixels BLOB),
    table!(plans None, "Sampling plans", field TEXT, year INTEGER, method TEXT, settings TEXT, figures TEXT, gate_figures TEXT,
        gate_lon DOUBLE, gate_lat DOUBLE, notes TEXT, advice TEXT, patches_hold INTEGER, estimate TEXT, set_aside BOOLEAN),
    table!(stops Some("POINT"), "Stops of plans in walking order; id is the plan's", number INTEGER, share DOUBLE,
        tramline INTEGER, pinned BOOLEAN, person INTEGER, sample INTEGER, inclusion DOUBLE),
    table!(walks Some("LINESTRING"), "Walks of plans; id is the plan's", length_m DOUBLE, minutes DOUBLE, exact BOOLEAN,
        person INTEGER),
    table!(patches Some("MULTIPOLYGON"), "Patches of plans; id is the plan's", number INTEGER, area_m2 DOUBLE,
        mean_density DOUBLE, population_share DOUBLE, greatest_density DOUBLE, patch_group INTEGER),
    table!(samples None, "Seed samples", code TEXT, field TEXT, year INTEGER, taken DATE, plan TEXT, note TEXT, unit INTEGER,
        species TEXT, patches TEXT, mugs DOUBLE, shed_percent DOUBLE, weather TEXT, stands_for_percent DOUBLE, tests TEXT,
        actives TEXT),
    table!(sample_stages None, "Stages that samples came to, oldest first; id is the sample's", number INTEGER, stage TEXT,
        date DATE, person TEXT, note TEXT),
    table!(walked Some("MULTILINESTRING"), "Walks as they were walked", field TEXT, year INTEGER, plan TEXT, date DATE,
        person TEXT, source TEXT, figures TEXT),
    table!(assays None, "Assays", kind TEXT, year INTEGER, source TEXT, date DATE, laboratory TEXT, comment TEXT),
    table!(standards None, "Standards of assays: reduction in %, raw counts or weights as JSON", assay TEXT, name TEXT, role TEXT,
        active TEXT, dose TEXT, measure TEXT, reduction DOUBLE, se DOUBLE, n INTEGER, raw TEXT),
    table!(results None, "Test results: reductions in %, raw counts or weights as JSON", sample TEXT, assay TEXT, active TEXT,
        hrac_group TEXT, reduction DOUBLE, standard DOUBLE, se DOUBLE, n INTEGER, dose TEXT, lab_rating TEXT,
        hrac_legacy TEXT, hrac_table INTEGER, measure TEXT, raw TEXT, comment TEXT),
    table!(crops None, "Crops by field and harvest year", field TEXT, year INTEGER, crop TEXT, drilled DATE, cultivation TEXT),
    table!(sprays None, "Herbicide passes", field TEXT, year INTEGER, date DATE, active TEXT, hrac_group TEXT,
        dose_g_per_ha DOUBLE, effect TEXT, growth_stage TEXT, cost_per_ha DOUBLE),
    table!(due_marks None, "Fields pinned or vetoed for a harvest year", field TEXT, year INTEGER, mark TEXT, reason TEXT),
    table!(ripeness_checks None, "Looks at how much seed has shed, %", field TEXT, date DATE, species TEXT, shed_percent DOUBLE, who TEXT),
    table!(rounds None, "Rounds of a harvest year", year INTEGER, settings TEXT, left_out TEXT),
    table!(round_visits Some("POINT"), "Gates to go to on rounds; id is the rounds'", field TEXT, date DATE, car INTEGER,
        number INTEGER, km DOUBLE, arrive_min DOUBLE, minutes DOUBLE),
    table!(programmes None, "Spray programmes, steps as JSON", name TEXT, crop TEXT, steps TEXT, note TEXT),
    table!(field_programmes None, "What is planned against grass weeds by field and harvest year", field TEXT, year INTEGER,
        programme TEXT, measures TEXT),
    table!(scenarios None, "Scenarios of the coming years: crop years as JSON", name TEXT, note TEXT, years TEXT),
    table!(awn_history None, "Edits, for undo and redo", position INTEGER, name TEXT, made TEXT, command TEXT),
];

/// The table of a name.
pub(super) fn table(name: &str) -> Option<&'static Table> {
    TABLES.iter().find(|table| table.name == name)
}

/// Makes all tables in an empty database.
pub(super) fn create(connection: &Connection) -> rusqlite::Result<()> {
    connection.execute_batch(&format!(
        "PRAGMA application_id = {APPLICATION_ID};
         PRAGMA user_version = {GEOPACKAGE_VERSION};
         BEGIN;
         CREATE TABLE gpkg_spatial_ref_sys (
             srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
             organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
         CREATE TABLE gpkg_contents (
             table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
             description TEXT DEFAULT '', last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
             min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
             CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
         CREATE TABLE gpkg_geometry_columns (
             table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
             z TINYINT NOT NULL, m TINYINT NOT NULL,
             CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
             CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
             CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));"
    ))?;
    let systems = [
        ("Undefined Cartesian SRS", -1, "NONE", -1, "undefined"),
        ("Undefined geographic SRS", 0, "NONE", 0, "undefined"),
        ("WGS 84 geodetic", SRS_ID, "EPSG", SRS_ID, WGS84_WKT),
    ];
    for (name, id, organization, number, definition) in systems {
        connection.execute(
            "INSERT INTO gpkg_spatial_ref_sys VALUES (?1, ?2, ?3, ?4, ?5, NULL)",
            params![name, id, organization, number, definition],
        )?;
    }
    for table in TABLES {
        create_table(connection, table)?;
    }
    connection.execute_batch(
        "CREATE TABLE awn_meta (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, key TEXT NOT NULL UNIQUE, value TEXT)",
    )?;
    register(connection, "awn_meta", "Settings and file version", None)?;
    let meta =
        [("schema_version", upgrade::KNOWN.to_string()), ("history_done", "0".to_owned()), ("settings", "{}".to_owned())];
    for (key, value) in meta {
        connection.execute("INSERT INTO awn_meta (key, value) VALUES (?1, ?2)", params![key, value])?;
    }
    connection.execute_batch("COMMIT")
}

/// Makes one table and enters it in GeoPackage's lists.
pub(super) fn create_table(connection: &Connection, table: &Table) -> rusqlite::Result<()> {
    let geometry = table.geometry.map(|kind| format!(", geom {kind}")).unwrap_or_default();
    let columns: Vec<String> = table.columns.iter().map(|(name, kind)| format!(", {name} {kind}")).collect();
    let columns = columns.concat();
    let name = table.name;
    connection.execute_batch(&format!(
        "CREATE TABLE {name} (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, id TEXT NOT NULL{geometry}{columns});
         CREATE INDEX {name}_by_id ON {name} (id);"
    ))?;
    register(connection, name, table.description, table.geometry)
}

fn register(connection: &Connection, name: &str, description: &str, geometry: Option<&str>) -> rusqlite::Result<()> {
    let (kind, srs) = if geometry.is_some() { ("features", Some(SRS_ID)) } else { ("attributes", None) };
    connection.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES (?1, ?2, ?1, ?3, ?4)",
        params![name, kind, description, srs],
    )?;
    if let Some(geometry) = geometry {
        connection.execute(
            "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, 0, 0)",
            params![name, geometry, SRS_ID],
        )?;
    }
    Ok(())
}

const WGS84_WKT: &str = "GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563,\
    AUTHORITY[\"EPSG\",\"7030\"]],AUTHORITY[\"EPSG\",\"6326\"]],PRIMEM[\"Greenwich\",0,AUTHORITY[\"EPSG\",\"8901\"]],\
    UNIT[\"degree\",0.0174532925199433,AUTHORITY[\"EPSG\",\"9122\"]],AUTHORITY[\"EPSG\",\"4326\"]]";
