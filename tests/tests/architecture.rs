//! Holds the structure: which part may import which, and how long a file may get.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stop where something is wrong

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The core's modules in the order in which they may import each other: each only from those before it.
const CORE_ORDER: [&str; 20] = [
    "units", "problem", "progress", "typeset", "geometry", "crs", "model", "density", "walk", "stops", "rating", "season",
    "act", "project", "land", "samples", "formats", "exchange", "report", "lib",
];

/// Imports that would point down that list but are forbidden: parts that do not need each other stay apart.
const APART: [(&str, &str); 8] = [
    ("rating", "density"),
    ("rating", "walk"),
    ("rating", "stops"),
    ("formats", "model"),
    ("formats", "project"),
    ("formats", "stops"),
    ("project", "stops"),
    ("report", "exchange"),
];

/// No file is longer than this: above it a newcomer no longer finds his way.
const LONGEST: usize = 500;

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(rust_files(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// The first path segment below `src`, without `.rs`.
fn part(file: &Path, source: &Path) -> String {
    let inside = file.strip_prefix(source).unwrap();
    let first = inside.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
    first.trim_end_matches(".rs").to_owned()
}

/// The names that follow `PREFIX::` anywhere in the code, comments left out; `use PREFIX::{a, b::c}` gives a and b.
fn named_after(prefix: &str, code: &str) -> BTreeSet<String> {
    let code: String = code.lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n");
    let mut names = BTreeSet::new();
    for (at, _) in code.match_indices(&format!("{prefix}::")) {
        let rest = &code[at + prefix.len() + 2..];
        if let Some(group) = rest.strip_prefix('{') {
            let mut depth = 1;
            let mut word = String::new();
            for c in group.chars() {
                match c {
                    '{' => depth += 1,
                    '}' => depth -= 1,
                    ',' if depth == 1 => names.extend(first_word(&std::mem::take(&mut word))),
                    _ if depth == 1 => word.push(c),
                    _ => {}
                }
                if depth == 0 {
                    break;
                }
            }
            names.extend(first_word(&word));
        } else {
            names.extend(first_word(rest));
        }
    }
    names
}

fn first_word(text: &str) -> Option<String> {
    let word: String = text.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    (!word.is_empty()).then_some(word)
}

#[test]
fn core_imports_only_downward() {
    let source = awn_tests::project_path("core/src");
    let rank = |name: &str| CORE_ORDER.iter().position(|known| *known == name);
    let mut wrong = Vec::new();
    let mut seen = 0;
    for file in rust_files(&source) {
        let own = part(&file, &source);
        let own_rank = rank(&own).unwrap_or_else(|| panic!("{own} has no place in the order; give it one"));
        for other in named_after("crate", &std::fs::read_to_string(&file).unwrap()) {
            let Some(other_rank) = rank(&other) else { continue };
            seen += 1;
            if other_rank > own_rank || APART.contains(&(own.as_str(), other.as_str())) {
                wrong.push(format!("{} imports {other}", file.strip_prefix(&source).unwrap().display()));
            }
        }
    }
    assert!(seen > 50, "only {seen} imports were read; the reader of this test is broken");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn core_knows_no_window_and_no_network() {
    let manifest = std::fs::read_to_string(awn_tests::project_path("core/Cargo.toml")).unwrap();
    for forbidden in ["egui", "eframe", "winit", "wgpu", "walkers", "rfd", "tokio", "reqwest"] {
        assert!(!manifest.lines().any(|line| line.starts_with(forbidden)), "core depends on {forbidden}");
    }
    for file in rust_files(&awn_tests::project_path("core/src")) {
        let code = std::fs::read_to_string(&file).unwrap();
        assert!(!code.contains("thread::spawn"), "{} starts a thread", file.display());
    }
}

#[test]
fn the_map_widget_is_seen_in_one_place() {
    let gui = awn_tests::project_path("app/src/gui");
    for file in rust_files(&gui).into_iter().filter(|file| !file.starts_with(gui.join("map"))) {
        assert!(!std::fs::read_to_string(&file).unwrap().contains("walkers::"), "{} imports walkers", file.display());
    }
}

#[test]
fn the_command_line_imports_no_window() {
    for file in rust_files(&awn_tests::project_path("app/src/cli")) {
        let code = std::fs::read_to_string(&file).unwrap();
        assert!(!code.contains("egui"), "{} imports the window's library", file.display());
    }
}

/// What both need stands in `commands`, below both.
#[test]
fn the_window_and_the_command_line_stay_apart() {
    let wrong = |folder: &str, forbidden: &[&str]| {
        let source = awn_tests::project_path(folder);
        let imports = |file: &PathBuf| named_after("crate", &std::fs::read_to_string(file).unwrap());
        let found =
            rust_files(&source).into_iter().filter(|file| forbidden.iter().any(|name| imports(file).contains(*name)));
        found.map(|file| file.display().to_string()).collect::<Vec<_>>()
    };
    assert_eq!(wrong("app/src/gui", &["cli"]), Vec::<String>::new());
    assert_eq!(wrong("app/src/commands", &["cli", "gui", "demo"]), Vec::<String>::new());
    // `cli/mod.rs` opens the window; nothing else of the command line knows of it.
    let cli: Vec<_> = wrong("app/src/cli", &["gui"]).into_iter().filter(|file| !file.ends_with("cli/mod.rs")).collect();
    assert_eq!(cli, Vec::<String>::new());
}

#[test]
fn panels_do_not_import_each_other() {
    let panels = awn_tests::project_path("app/src/gui/panels");
    let files = rust_files(&panels);
    let names: Vec<String> = files.iter().map(|file| part(file, &panels)).filter(|name| name != "mod").collect();
    assert!(!names.is_empty(), "no panels were found");
    for file in &files {
        let own = part(file, &panels);
        let code = std::fs::read_to_string(file).unwrap();
        let imported = named_after("panels", &code);
        let others: Vec<_> = imported.iter().filter(|name| names.contains(name) && **name != own && own != "mod").collect();
        assert!(others.is_empty(), "{} imports {others:?}", file.display());
    }
}

#[test]
fn no_file_is_too_long() {
    let mut long = Vec::new();
    for folder in ["core/src", "app/src", "sample-maps/src", "tests/src", "tests/tests"] {
        for file in rust_files(&awn_tests::project_path(folder)) {
            let lines = std::fs::read_to_string(&file).unwrap().lines().count();
            if lines > LONGEST {
                long.push(format!("{} has {lines} lines", file.display()));
            }
        }
    }
    assert!(long.is_empty(), "{long:#?}");
}
