//! Databases of coordinate systems that are not ours.
//!
//! PROJ looks for a file `proj.db` in the user's folder, in the folders of `PROJ_DATA` and `PROJ_LIB`, in
//! `../share/proj` beside the program and in the working folder before it takes the one built into the program (PROJ
//! 9.6, `filemanager.cpp`). One of another version may know systems differently or not at all, so it is never used.

use std::path::PathBuf;

use proj::ProjBuilder;
use rusqlite::{Connection, OpenFlags};

/// Environment variables under which PROJ finds no file and takes what is built in: a folder that cannot be, and no look
/// into the user's folder. A program that [`stray_database`] warns may start itself again with them.
pub const BUILT_IN_ONLY: [(&str, &str); 2] =
    [("PROJ_DATA", "/dev/null/built-in"), ("PROJ_SKIP_READ_USER_WRITABLE_DIRECTORY", "1")];

const NAME: &str = "proj.db";

/// The file that PROJ would take for its database, if that is of another version than ours.
pub fn stray_database() -> Option<PathBuf> {
    let info = ProjBuilder::new().lib_info().ok()?;
    // A folder of PROJ_DATA ends the search: PROJ then looks nowhere else but in the working folder.
    let data = std::env::var("PROJ_DATA").ok().filter(|data| !data.is_empty());
    let skip = std::env::var_os("PROJ_SKIP_READ_USER_WRITABLE_DIRECTORY").is_some_and(|value| !value.is_empty());
    let folders: Vec<PathBuf> = match data {
        Some(data) if skip => std::env::split_paths(&data).collect(),
        _ => std::env::split_paths(&info.searchpath).collect(),
    };
    let found = folders.into_iter().chain([PathBuf::new()]).map(|folder| folder.join(NAME)).find(|file| file.exists())?;
    (version(&found).as_deref() != Some(info.version.as_str())).then_some(found)
}

/// The version of PROJ that a database was made for.
fn version(file: &std::path::Path) -> Option<String> {
    let connection = Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_ONLY).ok()?;
    connection.query_row("SELECT value FROM metadata WHERE key = 'PROJ.VERSION'", [], |row| row.get(0)).ok()
}
