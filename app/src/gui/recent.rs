//! Projects opened before: a small list of paths, one a line, kept for each user. Losing it loses nothing.

use std::path::{Path, PathBuf};

/// How many are kept.
const MOST: usize = 6;

/// The user's file for it, if the system has a place for settings.
pub fn place() -> Option<PathBuf> {
    let folder = std::env::var_os("XDG_CONFIG_HOME")
        .or_else(|| std::env::var_os("APPDATA"))
        .map(PathBuf::from)
        .or_else(|| std::env::var_os("HOME").map(|home| Path::new(&home).join(".config")))?;
    Some(folder.join("awn").join("recent"))
}

/// Reads the list; projects that are gone are left out.
pub fn read(file: &Path) -> Vec<PathBuf> {
    let text = std::fs::read_to_string(file).unwrap_or_default();
    text.lines().map(PathBuf::from).filter(|path| path.exists()).take(MOST).collect()
}

/// Puts a project on top.
pub fn add(list: &mut Vec<PathBuf>, path: &Path) {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    list.retain(|other| *other != path);
    list.insert(0, path);
    list.truncate(MOST);
}

/// Writes the list; a list that cannot be kept is no reason to disturb the work.
pub fn write(file: &Path, list: &[PathBuf]) {
    let text: Vec<_> = list.iter().map(|path| path.display().to_string()).collect();
    if let Some(folder) = file.parent() {
        std::fs::create_dir_all(folder).ok();
    }
    std::fs::write(file, text.join("\n")).ok();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_stands_on_top_and_once() {
        let mut list = Vec::new();
        for name in ["/a", "/b", "/a"] {
            add(&mut list, Path::new(name));
        }
        assert_eq!(list.len(), 2);
        assert!(list[0].ends_with("a"));
    }
}
