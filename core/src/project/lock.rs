//! One writer at a time: a lock file beside the project that the system frees when the program ends, however it ends.

use std::fs::{File, OpenOptions};
use std::io::{Read as _, Seek as _, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

/// Who holds a project for writing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Holder {
    /// Log-in name; may be empty.
    pub user: String,
    /// Process number.
    pub process: u32,
    /// Since when, RFC 3339.
    pub since: String,
}

impl Holder {
    /// Somebody who left no name.
    pub(super) fn unknown() -> Self {
        Self { user: String::new(), process: 0, since: String::new() }
    }
}

impl std::fmt::Display for Holder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.process == 0 {
            return f.write_str("another program");
        }
        let user = if self.user.is_empty() { "somebody" } else { &self.user };
        // By the clock on the wall, as people ask each other.
        match self.since.parse::<jiff::Timestamp>() {
            Ok(since) => {
                let since = since.to_zoned_datetime(jiff::tz::TimeZone::system());
                write!(f, "{user} (process {}, since {})", self.process, since.strftime("%H:%M on %-d %B"))
            }
            Err(_) => write!(f, "{user} (process {})", self.process),
        }
    }
}

/// The lock, held until dropped.
#[derive(Debug)]
pub(super) struct Lock {
    path: PathBuf,
    /// The system frees the lock when this closes.
    _file: File,
}

impl Lock {
    /// Gives the lock up and removes its file: the project turned out to be none.
    pub fn abandon(self) {
        std::fs::remove_file(&self.path).ok();
    }
}

/// Takes the lock of a project file, or says who has it.
pub(super) fn take(project: &Path) -> std::io::Result<Result<Lock, Holder>> {
    let path = lock_path(project);
    let mut file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path)?;
    match file.try_lock() {
        Ok(()) => {
            let holder = Holder {
                user: std::env::var("USER").or_else(|_| std::env::var("USERNAME")).unwrap_or_default(),
                process: std::process::id(),
                since: jiff::Timestamp::now().round(jiff::Unit::Second).map(|t| t.to_string()).unwrap_or_default(),
            };
            file.set_len(0)?;
            file.rewind()?;
            file.write_all(serde_json::to_string(&holder).unwrap_or_default().as_bytes())?;
            Ok(Ok(Lock { path, _file: file }))
        }
        Err(std::fs::TryLockError::WouldBlock) => {
            let mut text = String::new();
            file.read_to_string(&mut text)?;
            Ok(Err(serde_json::from_str(&text).unwrap_or_else(|_| Holder::unknown())))
        }
        Err(std::fs::TryLockError::Error(error)) => Err(error),
    }
}

/// `.NAME.lock` in the project's folder.
fn lock_path(project: &Path) -> PathBuf {
    let name = project.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    project.with_file_name(format!(".{name}.lock"))
}
