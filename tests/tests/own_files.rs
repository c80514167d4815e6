//! What the program brings along: fonts that hold every sign it writes, an icon in the usual sizes, a desktop entry.

#![allow(clippy::unwrap_used)] // stopping is the answer here

use std::collections::BTreeMap;
use std::path::Path;

use awn_tests::project_path;

/// Signs outside ASCII in the code of a folder, with a file that holds each. Lines that are comments alone are left out.
fn signs(folder: &Path, found: &mut BTreeMap<char, String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            signs(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            let text = std::fs::read_to_string(&path).unwrap();
            // Tests may hold any sign: they stand at the end of a file.
            let shown = text.split("#[cfg(test)]").next().unwrap_or_default();
            for line in shown.lines().filter(|line| !line.trim_start().starts_with("//")) {
                for sign in line.split(" // ").next().unwrap_or_default().chars().filter(|sign| !sign.is_ascii()) {
                    found.entry(sign).or_insert_with(|| path.display().to_string());
                }
            }
        }
    }
}

#[test]
fn both_fonts_hold_every_sign_that_the_window_writes() {
    let mut found = BTreeMap::new();
    signs(&project_path("app/src/gui"), &mut found);
    assert!(found.contains_key(&'…') && found.contains_key(&'°'), "signs are looked for in the wrong place");
    for font in ["Lato-Regular.ttf", "Lato-Bold.ttf"] {
        let bytes = std::fs::read(project_path("assets/fonts").join(font)).unwrap();
        let face = ttf_parser::Face::parse(&bytes, 0).unwrap();
        for (sign, file) in &found {
            assert!(face.glyph_index(*sign).is_some(), "{font} has no {sign:?}, written in {file}");
        }
    }
}

#[test]
fn the_icon_comes_in_the_usual_sizes() {
    // Sizes that the icon theme specification of freedesktop.org lists for applications.
    for side in [16_u32, 32, 48, 64, 128, 256] {
        let bytes = std::fs::read(project_path(&format!("assets/icon/awn-{side}.png"))).unwrap();
        // Width and height stand in bytes 16 to 23 of a PNG (ISO/IEC 15948, 11.2.2).
        let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
        assert_eq!((number(16), number(20)), (side, side));
    }
    let svg = std::fs::read_to_string(project_path("assets/icon/awn.svg")).unwrap();
    roxmltree::Document::parse(&svg).unwrap();
}

#[test]
fn the_desktop_entry_says_what_a_desktop_asks() {
    // Desktop Entry Specification 1.5: Type and Name are required, and Exec for applications; %f is one file.
    let text = std::fs::read_to_string(project_path("assets/awn.desktop")).unwrap();
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("[Desktop Entry]"));
    let entries: BTreeMap<&str, &str> = lines.filter_map(|line| line.split_once('=')).collect();
    assert_eq!(entries.get("Type"), Some(&"Application"));
    assert_eq!(entries.get("Exec"), Some(&"awn %f"));
    assert_eq!(entries.get("Icon"), Some(&"awn"));
    assert!(entries.contains_key("Name") && entries.contains_key("Comment"));
    // The class under which the window shows itself, so that the desktop finds its icon.
    assert_eq!(entries.get("StartupWMClass"), Some(&"awn"));
}
