//! The project file on disk: opening, reading all records, writing one step in one transaction.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags, Transaction, params, params_from_iter};
use uuid::Uuid;

use crate::geometry::wkb;
use crate::model::{Record, Records};
use crate::progress::{Progress, Quiet};
use crate::project::lock::{self, Holder, Lock};
use crate::project::schema::{self, TABLES};
use crate::project::tables::{self, Cells};
use crate::project::{Command, ProjectError, Step, upgrade};

/// Wraps what the database or the system said, with the file it was about.
pub(super) fn file_error(path: &Path, source: impl Into<Box<dyn std::error::Error + Send + Sync>>) -> ProjectError {
    ProjectError::File { path: path.to_owned(), source: source.into() }
}

/// An open project file.
#[derive(Debug)]
pub(super) struct Store {
    path: PathBuf,
    connection: Connection,
    lock: Result<Lock, Holder>,
}

impl Store {
    /// Makes a new file: complete under another name first, so that no half-made file is ever seen.
    pub fn create(path: &Path) -> Result<Self, ProjectError> {
        if path.exists() {
            return Err(ProjectError::Exists(path.to_owned()));
        }
        let unfinished = path.with_extension(format!("new-{}", std::process::id()));
        let made = Connection::open(&unfinished)
            .and_then(|connection| schema::create(&connection))
            .map_err(|error| file_error(path, error))
            .and_then(|()| std::fs::hard_link(&unfinished, path).map_err(|error| file_error(path, error)));
        std::fs::remove_file(&unfinished).ok();
        made?;
        Self::open(path)
    }

    /// Opens a file for reading and writing, or read-only if another program holds it.
    pub fn open(path: &Path) -> Result<Self, ProjectError> {
        if !path.is_file() {
            return Err(ProjectError::Missing(path.to_owned()));
        }
        if !is_geopackage(path).map_err(|error| file_error(path, error))? {
            return Err(ProjectError::Foreign(path.to_owned()));
        }
        let lock = match lock::take(path) {
            Ok(lock) => lock,
            // A folder that may not be written: the project can still be read.
            Err(error) if error.kind() == std::io::ErrorKind::PermissionDenied => Err(Holder::unknown()),
            Err(error) => return Err(file_error(path, error)),
        };
        // Only a connection that may write can roll back what a killed program left half written.
        let connection = connect(path, lock.is_ok())?;
        let Some(version) = file_version(&connection) else {
            drop(connection);
            if let Ok(lock) = lock {
                lock.abandon();
            }
            return Err(ProjectError::Foreign(path.to_owned()));
        };
        if version == upgrade::KNOWN {
            return Ok(Self { path: path.to_owned(), connection, lock });
        }
        if version < upgrade::KNOWN && lock.is_err() {
            return Err(ProjectError::ReadOnly(lock.err().map(|holder| holder.to_string()).unwrap_or_default()));
        }
        drop(connection);
        upgrade::upgrade(path, version)?;
        Ok(Self { path: path.to_owned(), connection: connect(path, true)?, lock })
    }

    pub fn path(&self) -> &Path {
        &self.path
    }

    pub fn held_by(&self) -> Option<&Holder> {
        self.lock.as_ref().err()
    }

    fn error(&self, source: rusqlite::Error) -> ProjectError {
        file_error(&self.path, source)
    }

    /// What the database says of damage to the file; none: it is whole.
    pub fn damage(&self) -> Result<Option<String>, ProjectError> {
        let answer: String =
            self.connection.query_row("PRAGMA integrity_check", [], |row| row.get(0)).map_err(|error| self.error(error))?;
        Ok((answer != "ok").then_some(answer))
    }

    /// All records of the file.
    pub fn records(&self) -> Result<Records, ProjectError> {
        let mut found: BTreeMap<Uuid, Record> = BTreeMap::new();
        for table in TABLES.iter().filter(|table| table.name != "awn_history") {
            let parts = matches!(
                table.name,
                "scout_points"
                    | "scout_zones"
                    | "scout_rasters"
                    | "stops"
                    | "walks"
                    | "patches"
                    | "round_visits"
                    | "sample_stages"
            );
            let mut statement = self
                .connection
                .prepare(&format!("SELECT * FROM {} ORDER BY fid", table.name))
                .map_err(|error| self.error(error))?;
            let mut rows = statement.query([]).map_err(|error| self.error(error))?;
            while let Some(row) = rows.next().map_err(|error| self.error(error))? {
                let fid = row.get("fid").map_err(|error| self.error(error))?;
                let cells = Cells { table: table.name, fid, row };
                let id = cells.id()?;
                if parts {
                    let owner = found.get_mut(&id).ok_or_else(|| cells.damaged("the record it belongs to is missing"))?;
                    tables::add_part(&cells, owner)?;
                } else {
                    found.insert(id, tables::record(&cells)?);
                }
            }
        }
        let mut records = Records::default();
        for record in found.into_values() {
            records.put(record);
        }
        let settings = self.meta("settings")?;
        records.settings = serde_json::from_str(&settings)
            .map_err(|error| ProjectError::Damaged { place: "awn_meta, settings".into(), what: error.to_string() })?;
        Ok(records)
    }

    /// The history without what its steps changed, and how many of them are done.
    pub fn steps(&self) -> Result<(Vec<Step>, usize), ProjectError> {
        let done: usize = self.meta("history_done")?.parse().unwrap_or(0);
        let read = || -> rusqlite::Result<Vec<Step>> {
            self.connection
                .prepare("SELECT name, made FROM awn_history ORDER BY position")?
                .query_map([], |row| Ok(Step { name: row.get(0)?, made: row.get(1)?, command: None }))?
                .collect()
        };
        let steps = read().map_err(|error| self.error(error))?;
        let done = done.min(steps.len());
        Ok((steps, done))
    }

    /// The command of a step of the history, counted from 0.
    pub fn command(&self, at: usize) -> Result<Command, ProjectError> {
        let read = "SELECT command FROM awn_history
             WHERE position = (SELECT position FROM awn_history ORDER BY position LIMIT 1 OFFSET ?1)";
        let command: String =
            self.connection.query_row(read, [at as i64], |row| row.get(0)).map_err(|error| self.error(error))?;
        serde_json::from_str(&command).map_err(|error| ProjectError::Damaged {
            place: format!("awn_history, step {}", at + 1),
            what: error.to_string(),
        })
    }

    fn meta(&self, key: &str) -> Result<String, ProjectError> {
        self.connection
            .query_row("SELECT value FROM awn_meta WHERE key = ?1", [key], |row| row.get(0))
            .map_err(|error| self.error(error))
    }

    fn writable(&self) -> Result<(), ProjectError> {
        match &self.lock {
            Ok(_) => Ok(()),
            Err(holder) => Err(ProjectError::ReadOnly(holder.to_string())),
        }
    }

    /// Writes a new step at `position`, dropping the steps that were undone.
    pub fn write_step(
        &mut self,
        command: &Command,
        made: &str,
        position: usize,
        progress: &dyn Progress,
    ) -> Result<(), ProjectError> {
        self.writable()?;
        let path = self.path.clone();
        let fail = |error| file_error(&path, error);
        let transaction = self.connection.transaction().map_err(fail)?;
        write_changes(&transaction, command, progress, &path)?;
        let text = serde_json::to_string(command).map_err(|error| file_error(&path, error))?;
        let history = || -> rusqlite::Result<()> {
            transaction.execute("DELETE FROM awn_history WHERE position >= ?1", [position as i64])?;
            transaction.execute(
                "INSERT INTO awn_history (id, position, name, made, command) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![Uuid::now_v7().to_string(), position as i64, command.name, made, text],
            )?;
            set_meta(&transaction, "history_done", &(position + 1).to_string())
        };
        history().map_err(fail)?;
        transaction.commit().map_err(fail)
    }

    /// Writes an undo or a redo, after which `done` steps are done.
    pub fn write_move(&mut self, command: &Command, done: usize) -> Result<(), ProjectError> {
        self.writable()?;
        let path = self.path.clone();
        let fail = |error| file_error(&path, error);
        let transaction = self.connection.transaction().map_err(fail)?;
        write_changes(&transaction, command, &Quiet, &path)?;
        set_meta(&transaction, "history_done", &done.to_string()).map_err(fail)?;
        transaction.commit().map_err(fail)
    }
}

/// Whether a file begins as a GeoPackage does: SQLite's signature, and the application id at byte 68 (OGC 12-128r17).
fn is_geopackage(path: &Path) -> std::io::Result<bool> {
    let mut head = Vec::with_capacity(72);
    File::open(path)?.take(72).read_to_end(&mut head)?;
    Ok(head.starts_with(b"SQLite format 3\0") && head.get(68..72) == Some(&schema::APPLICATION_ID.to_be_bytes()[4..]))
}

fn connect(path: &Path, write: bool) -> Result<Connection, ProjectError> {
    let flags = if write { OpenFlags::SQLITE_OPEN_READ_WRITE } else { OpenFlags::SQLITE_OPEN_READ_ONLY };
    let open = || -> rusqlite::Result<Connection> {
        let connection = Connection::open_with_flags(path, flags)?;
        connection.busy_timeout(std::time::Duration::from_secs(5))?;
        if write {
            connection.execute_batch("PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;")?;
        }
        Ok(connection)
    };
    open().map_err(|error| file_error(path, error))
}

/// The file version of a project; none if the file is a GeoPackage of something else.
fn file_version(connection: &Connection) -> Option<i64> {
    connection
        .query_row("SELECT value FROM awn_meta WHERE key = 'schema_version'", [], |row| row.get::<_, String>(0))
        .ok()
        .and_then(|version| version.parse().ok())
}

fn set_meta(transaction: &Transaction<'_>, key: &str, value: &str) -> rusqlite::Result<()> {
    transaction.execute("UPDATE awn_meta SET value = ?2 WHERE key = ?1", [key, value]).map(|_| ())
}

fn write_changes(
    transaction: &Transaction<'_>,
    command: &Command,
    progress: &dyn Progress,
    path: &Path,
) -> Result<(), ProjectError> {
    let fail = |error| file_error(path, error);
    let total = command.changes.len();
    let mut touched: Vec<&str> = Vec::new();
    for (index, change) in command.changes.iter().enumerate() {
        progress.check(index, total)?;
        if let Some(before) = &change.before {
            delete(transaction, before).map_err(fail)?;
        }
        match &change.after {
            Some(Record::Settings(settings)) => {
                let text = serde_json::to_string(settings).map_err(|error| file_error(path, error))?;
                set_meta(transaction, "settings", &text).map_err(fail)?;
            }
            Some(after) => insert(transaction, after, progress).map_err(fail)?,
            None => {}
        }
        for record in change.before.iter().chain(&change.after) {
            touched.extend(tables::tables_of(record));
        }
    }
    // A survey of many points is one change: look once more before it becomes final.
    progress.check(total, total)?;
    touched.sort_unstable();
    touched.dedup();
    finish(transaction, &touched).map_err(fail)
}

fn delete(transaction: &Transaction<'_>, record: &Record) -> rusqlite::Result<()> {
    for table in tables::tables_of(record) {
        transaction.prepare_cached(&format!("DELETE FROM {table} WHERE id = ?1"))?.execute([record.id().to_string()])?;
    }
    Ok(())
}

fn insert(transaction: &Transaction<'_>, record: &Record, progress: &dyn Progress) -> rusqlite::Result<()> {
    let id = record.id().to_string();
    let rows = tables::rows(record);
    let total = rows.len();
    for (index, row) in rows.into_iter().enumerate() {
        if index % 4096 == 4095 {
            progress.step(index, total);
            if progress.cancelled() {
                return Ok(()); // the caller looks again before the transaction becomes final
            }
        }
        let columns = schema::table(row.table).map(|table| table.columns).unwrap_or_default();
        let names: String = columns.iter().map(|(name, _)| format!(", {name}")).collect();
        let mut values = vec![Value::Text(id.clone())];
        let geometry = row.geometry.as_ref().map(|geometry| {
            values.push(Value::Blob(wkb::to_gpkg_blob(geometry, schema::SRS_ID)));
            ", geom"
        });
        values.extend(row.values);
        let marks: String = (2..=values.len()).map(|n| format!(", ?{n}")).collect();
        let sql = format!("INSERT INTO {} (id{}{names}) VALUES (?1{marks})", row.table, geometry.unwrap_or_default());
        transaction.prepare_cached(&sql)?.execute(params_from_iter(values))?;
    }
    Ok(())
}

/// Brings what depends on the rows up to date: farm names beside fields, and each touched layer's bounds and time.
fn finish(transaction: &Transaction<'_>, touched: &[&str]) -> rusqlite::Result<()> {
    if touched.iter().any(|table| matches!(*table, "farms" | "fields")) {
        transaction.execute("UPDATE fields SET farm_name = (SELECT name FROM farms WHERE farms.id = fields.farm)", [])?;
    }
    for name in touched {
        let bounds = if schema::table(name).is_some_and(|table| table.geometry.is_some()) {
            layer_bounds(transaction, name)?
        } else {
            None
        };
        let [min_x, min_y, max_x, max_y] = bounds.map_or([None; 4], |bounds| bounds.map(Some));
        transaction.execute(
            "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ','now'),
                 min_x = ?2, min_y = ?3, max_x = ?4, max_y = ?5 WHERE table_name = ?1",
            params![name, min_x, min_y, max_x, max_y],
        )?;
    }
    Ok(())
}

/// Bounds of a layer from the envelopes in its blobs: min x, min y, max x, max y.
fn layer_bounds(transaction: &Transaction<'_>, table: &str) -> rusqlite::Result<Option<[f64; 4]>> {
    let mut bounds: Option<[f64; 4]> = None;
    let mut statement = transaction.prepare(&format!("SELECT substr(geom, 9, 32) FROM {table}"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let envelope: Vec<u8> = row.get(0)?;
        let value = |at: usize| {
            envelope
                .get(at * 8..at * 8 + 8)
                .and_then(|bytes| <[u8; 8]>::try_from(bytes).ok())
                .map_or(f64::NAN, f64::from_le_bytes)
        };
        let (min_x, max_x, min_y, max_y) = (value(0), value(1), value(2), value(3));
        let [a, b, c, d] = bounds.unwrap_or([min_x, min_y, max_x, max_y]);
        bounds = Some([a.min(min_x), b.min(min_y), c.max(max_x), d.max(max_y)]);
    }
    Ok(bounds)
}
