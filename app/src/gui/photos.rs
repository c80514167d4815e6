//! Photos of a field: places of picture files, kept as lines of its note, opened with the system's own viewer.
//!
//! A line `photo: PLACE` is one photo, so that the note reads the same in any GIS. Only pictures are opened: what a note names may come
//! from somebody else's project.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What begins a line that is a photo.
const MARK: &str = "photo:";
/// Endings of pictures.
pub const ENDINGS: [&str; 9] = ["jpg", "jpeg", "png", "webp", "gif", "tif", "tiff", "heic", "bmp"];

/// The photos of a note, in its order; web addresses of files count too.
pub fn of(note: &str) -> Vec<PathBuf> {
    note.lines().filter_map(photo).collect()
}

/// The note without its photos.
pub fn words(note: &str) -> String {
    let lines: Vec<&str> = note.lines().filter(|line| photo(line).is_none()).collect();
    lines.join("\n").trim().to_owned()
}

/// A note of these words and photos.
pub fn note(words: &str, photos: &[PathBuf]) -> String {
    let photos = photos.iter().map(|photo| format!("{MARK} {}", photo.display()));
    let words = words.trim();
    let lines = (!words.is_empty()).then(|| words.to_owned()).into_iter().chain(photos);
    lines.collect::<Vec<_>>().join("\n")
}

fn photo(line: &str) -> Option<PathBuf> {
    let line = line.trim();
    if let Some(place) = line.strip_prefix(MARK).map(str::trim).filter(|place| !place.is_empty()) {
        return Some(PathBuf::from(place));
    }
    let place = line.strip_prefix("file://").filter(|place| !place.contains(char::is_whitespace))?;
    Some(PathBuf::from(place.replace("%20", " ")))
}

/// Why a photo is not opened; none: it can be.
pub fn fault(photo: &Path) -> Option<String> {
    let ending = photo.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
    let name = photo.display();
    if !ENDINGS.contains(&ending.as_str()) {
        return Some(format!("{name} is no picture ({}).", ENDINGS.join(", ")));
    }
    (!photo.is_file()).then(|| format!("{name} is not there: it may lie on another computer, or have been moved."))
}

/// Opens a picture with the system's viewer.
pub fn open(photo: &Path) -> Result<(), String> {
    if let Some(fault) = fault(photo) {
        return Err(fault);
    }
    let program = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(target_os = "windows") {
        "explorer"
    } else {
        "xdg-open"
    };
    // An absolute place cannot be taken for an option.
    let place = std::path::absolute(photo).map_err(|error| format!("{}: {error}.", photo.display()))?;
    let started = Command::new(program).arg(place).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
    let mut viewer = started.map_err(|error| format!("The system's viewer could not be started ({program}: {error})."))?;
    // Somebody has to take note that it ended.
    std::thread::Builder::new().name("viewer".into()).spawn(move || viewer.wait()).ok();
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_holds_words_and_photos() {
        let photos = vec![PathBuf::from("/pictures/a b/gate way.jpg"), PathBuf::from("/x.png")];
        let whole = note(" Wet corner.\nSee below. ", &photos);
        assert_eq!(whole, "Wet corner.\nSee below.\nphoto: /pictures/a b/gate way.jpg\nphoto: /x.png");
        assert_eq!((words(&whole), of(&whole)), ("Wet corner.\nSee below.".to_owned(), photos));
        assert_eq!(of("file:///pictures/old%20gate.jpg"), [PathBuf::from("/pictures/old gate.jpg")]);
        assert_eq!((note("", &[]), of("a photo: none")), (String::new(), Vec::new()));
    }

    #[test]
    fn only_pictures_that_are_there_are_opened() {
        assert!(fault(Path::new("/bin/sh")).is_some_and(|fault| fault.contains("no picture")));
        assert!(fault(Path::new("/nowhere/gate.jpg")).is_some_and(|fault| fault.contains("not there")));
    }
}
