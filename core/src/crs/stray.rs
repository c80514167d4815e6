//! Databases of coordinate systems that are not ours.
//!
//! PROJ looks for a file `proj.db` in the folders it was given; if it was given none, in the user's folder, in the folders
//! of `PROJ_DATA` and `PROJ_LIB`, in `../share/proj` beside the program and in the working folder; and then takes the one
//! built into the program (PROJ 9.6, `filemanager.cpp`). One of another version may know systems differently or not at all,
//! so it is never used: [`builder`] gives PROJ a folder, which keeps it out of the working folder, and what the
//! environment names is found by [`stray_database`].

use std::path::PathBuf;

use proj::ProjBuilder;
use rusqlite::{Connection, OpenFlags};

use crate::crs::CrsError;

/// Environment variables under which PROJ finds no file and takes what is built in: a folder that cannot be, and no look
/// into the user's folder. A program that [`stray_database`] warns may start itself again with them.
pub const BUILT_IN_ONLY: [(&str, &str); 2] =
    [("PROJ_DATA", "/dev/null/built-in"), ("PROJ_SKIP_READ_USER_WRITABLE_DIRECTORY", "1")];

const NAME: &str = "proj.db";

/// A builder that does not look into the working folder, whatever lies there.
pub(super) fn builder() -> Result<ProjBuilder, CrsError> {
    let mut builder = ProjBuilder::new();
    // What the environment names is kept in front of it by the crate and was looked through by [`stray_database`].
    let given = builder.set_search_paths(BUILT_IN_ONLY[0].1);
    given.map_err(|error| CrsError::Stray(error.to_string()))?;
    if let Some(stray) = stray_database() {
        return Err(CrsError::Stray(stray.display().to_string()));
    }
    Ok(builder)
}

/// The file that PROJ would take for its database, if that is of another version than ours.
pub fn stray_database() -> Option<PathBuf> {
    let info = ProjBuilder::new().lib_info().ok()?;
    // A folder of PROJ_DATA ends the search: PROJ then looks nowhere else.
    let data = std::env::var("PROJ_DATA").ok().filter(|data| !data.is_empty());
    let skip = std::env::var_os("PROJ_SKIP_READ_USER_WRITABLE_DIRECTORY").is_some_and(|value| !value.is_empty());
    let folders: Vec<PathBuf> = match data {
        Some(data) if skip => std::env::split_paths(&data).collect(),
        _ => std::env::split_paths(&info.searchpath).collect(),
    };
    let found = folders.into_iter().map(|folder| folder.join(NAME)).find(|file| file.exists())?;
    (version(&found).as_deref() != Some(info.version.as_str())).then_some(found)
}

/// The version of PROJ that a database was made for.
fn version(file: &std::path::Path) -> Option<String> {
    let connection = Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_ONLY).ok()?;
    connection.query_row("SELECT value FROM metadata WHERE key = 'PROJ.VERSION'", [], |row| row.get(0)).ok()
}
