//! What can go wrong with a project file.

use std::path::PathBuf;

use crate::progress::Cancelled;

/// Why a project could not be opened or changed. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum ProjectError {
    /// There is a file of that name already.
    #[error("there is a file already; choose another name or open it: {0}")]
    Exists(PathBuf),
    /// There is no such file.
    #[error("there is no such project file: {0}")]
    Missing(PathBuf),
    /// The file is something else.
    #[error("this is no Awn project file; import it into a project instead: {0}")]
    Foreign(PathBuf),
    /// The file was made by a newer version.
    #[error(
        "this project was written by a newer Awn (file version {found}, this program knows {known}); use that one: {path}"
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its schema version.
        found: i64,
        /// The newest version known here.
        known: i64,
    },
    /// The project is open elsewhere.
    #[error("the project is read-only here, because {0} has it open for writing; close it there first")]
    ReadOnly(String),
    /// A record is not as it was when the command was made.
    #[error("“{command}” no longer fits, because what it changes has been changed since; do it again")]
    Stale {
        /// The command's name.
        command: String,
    },
    /// A stored record cannot be read.
    #[error("the project file is damaged: {place}: {what}; open a copy from your backup")]
    Damaged {
        /// Table and row.
        place: String,
        /// What is wrong.
        what: String,
    },
    /// The disk or the database said no.
    #[error(
        "the project file could not be written or read ({source}); check that the disk is not full and may be written: {path}"
    )]
    File {
        /// The file.
        path: PathBuf,
        /// What the database or the system said.
        source: Box<dyn std::error::Error + Send + Sync>,
    },
    /// The caller stopped the work.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
