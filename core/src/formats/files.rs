//! The only place where foreign files are opened.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use crate::problem::Problems;

/// The name without the folders, for messages.
pub(super) fn file_name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}

/// What the file's name ends with, lower case, without the dot.
pub(super) fn ending(path: &Path) -> String {
    path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase()).unwrap_or_default()
}

/// The whole content; none and an error if it cannot be read.
pub(super) fn bytes(path: &Path, problems: &mut Problems) -> Option<Vec<u8>> {
    opened(path, std::fs::read(path), problems)
}

/// Up to `length` bytes from the beginning; none and an error if it cannot be read.
pub(super) fn head(path: &Path, length: u64, problems: &mut Problems) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let read = std::fs::File::open(path).and_then(|file| file.take(length).read_to_end(&mut bytes));
    opened(path, read.map(|_| bytes), problems)
}

fn opened(path: &Path, read: std::io::Result<Vec<u8>>, problems: &mut Problems) -> Option<Vec<u8>> {
    match read {
        Ok(bytes) => Some(bytes),
        Err(error) => {
            let (what, hint) = match error.kind() {
                std::io::ErrorKind::NotFound => ("there is no such file.".to_owned(), "Check the name and the folder."),
                std::io::ErrorKind::PermissionDenied => {
                    ("the file may not be read.".to_owned(), "Ask its owner for the right to read it.")
                }
                _ => (format!("the file cannot be read ({error})."), "Check that it is a file and that the disk is there."),
            };
            problems.error(path.display().to_string(), what, hint);
            None
        }
    }
}

/// The file beside `path` with another extension, whatever the case of its letters.
pub(super) fn beside(path: &Path, extension: &str) -> Option<PathBuf> {
    let stem = path.file_stem()?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .ok()?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|other| {
            other.extension().is_some_and(|end| end.to_string_lossy().eq_ignore_ascii_case(extension))
                && other.file_stem().is_some_and(|name| name.to_string_lossy().eq_ignore_ascii_case(&stem.to_string_lossy()))
        })
        .collect();
    // A file of exactly the same stem goes before one that differs in case.
    found.sort_by_key(|other| (other.file_stem() != Some(stem), other.clone()));
    found.into_iter().next()
}
