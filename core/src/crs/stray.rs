//! Databases of coordinate systems that are not ours.
//!
//! PROJ looks for a file `proj.db` in the user's folder, in the folders of `PROJ_DATA` and `PROJ_LIB`, in
//! `../share/proj` beside the program and, whatever it was told, in the working folder before it takes the one built into
//! the program (PROJ 9.6, `filemanager.cpp`). One of another version may know systems differently or not at all, so it is
//! never used: what the environment names is found by [`stray_database`], and where one lies in the working folder PROJ
//! opens its own from another folder.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use proj::ProjBuilder;
use rusqlite::{Connection, OpenFlags};

use crate::crs::CrsError;

/// Environment variables under which PROJ finds no file and takes what is built in: a folder that cannot be, and no look
/// into the user's folder. A program that [`stray_database`] warns may start itself again with them.
pub const BUILT_IN_ONLY: [(&str, &str); 2] =
    [("PROJ_DATA", "/dev/null/built-in"), ("PROJ_SKIP_READ_USER_WRITABLE_DIRECTORY", "1")];

const NAME: &str = "proj.db";

/// Makes something with PROJ that opens its database, and sees to it that this is the one built in.
///
/// PROJ looks up its database once, when the first thing is made with a builder. If another one lies in the working folder, the
/// program stands in an empty folder for that moment; files are opened by their whole names everywhere else.
pub(super) fn with_proj<T>(make: impl FnOnce(ProjBuilder) -> T) -> Result<T, CrsError> {
    static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());
    if let Some(stray) = stray_database() {
        return Err(CrsError::Stray(stray.display().to_string()));
    }
    let _one = ONE_AT_A_TIME.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let _elsewhere = if Path::new(NAME).exists() { Some(Elsewhere::go()?) } else { None };
    Ok(make(ProjBuilder::new()))
}

/// Another working folder, until this goes.
struct Elsewhere {
    back: PathBuf,
    _empty: tempfile::TempDir,
}

impl Elsewhere {
    fn go() -> Result<Self, CrsError> {
        let failed = |error: std::io::Error| CrsError::Stray(format!("{NAME} in the working folder ({error})"));
        let (back, empty) = (std::env::current_dir().map_err(failed)?, tempfile::tempdir().map_err(failed)?);
        std::env::set_current_dir(empty.path()).map_err(failed)?;
        Ok(Self { back, _empty: empty })
    }
}

impl Drop for Elsewhere {
    fn drop(&mut self) {
        // The folder was there a moment ago; if it has gone since, there is nowhere to go back to.
        std::env::set_current_dir(&self.back).ok();
    }
}

/// The file that PROJ would take for its database, if that is of another version than ours.
pub fn stray_database() -> Option<PathBuf> {
    let info = ProjBuilder::new().lib_info().ok()?;
    // A folder of PROJ_DATA ends the search but for the working folder.
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
