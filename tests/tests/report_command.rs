//! `awn report`, `awn map` as PDF, and `awn export --what everything|shared`, as a user types them.

#![allow(clippy::unwrap_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::Path;

use awn_core::progress::Quiet;
use awn_tests::program::awn;
use serde_json::json;

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn the_same_call_writes_the_same_file() {
    let folder = tempfile::tempdir().unwrap();
    let project = awn::demo::write_sample_farm(folder.path(), &Quiet).unwrap();
    let (one, two) = (folder.path().join("one.pdf"), folder.path().join("two.pdf"));
    for file in [&one, &two] {
        let parts = ["--part", "cover,summary,fields", "--date", "2026-11-25", "--for", "grower", "--paper", "letter"];
        let mut call = vec!["report", text(&project), "--year", "2027", "-o", text(file), "--json", "--farm", "Quernfleet"];
        call.extend(parts);
        let done = awn(call);
        assert_eq!(done.code, 0, "{done:?}");
        let answer = done.json();
        assert_eq!(answer["standard"], json!("PDF/A-2a"), "{answer}");
        let fields: u64 = answer["classes"].as_array().unwrap().iter().map(|class| class["fields"].as_u64().unwrap()).sum();
        assert_eq!(answer["fields"].as_u64().unwrap(), fields, "{answer}");
    }
    assert!(std::fs::read(&one).unwrap() == std::fs::read(&two).unwrap());
    for (name, start) in [("a.pdf", &b"%PDF"[..]), ("a.svg", b"<svg"), ("a.png", b"\x89PNG")] {
        let file = folder.path().join(name);
        let call = [
            "map",
            text(&project),
            "--colour",
            "age",
            "--size",
            "A5",
            "--dpi",
            "60",
            "--date",
            "2026-11-25",
            "-o",
            text(&file),
        ];
        assert_eq!(awn(call).code, 0);
        let first = std::fs::read(&file).unwrap();
        assert!(first.starts_with(start), "{name}");
        assert_eq!(awn(call).code, 0);
        assert!(first == std::fs::read(&file).unwrap(), "{name} differs the second time");
    }
    let data = folder.path().join("data");
    let call = ["export", text(&project), "--what", "shared", "--format", "csv", "-o", text(&data)];
    assert_eq!(awn(call).code, 0);
    assert!(data.join("shared_results.csv").is_file() && data.join("data_dictionary.csv").is_file());
}

#[test]
fn what_cannot_be_written_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let project = awn::demo::write_sample_farm(folder.path(), &Quiet).unwrap();
    let out = folder.path().join("report.pdf");
    let broken = folder.path().join("broken.png");
    std::fs::write(&broken, b"\x89PNG\r\n\x1a\nnothing").unwrap();
    let base = ["report", text(&project), "--year", "2027", "-o", text(&out)];
    for (more, said) in [
        (&["--farm", "Nowhere"][..], "there is no farm"),
        (&["--field", "Nowhere"], "there is no field"),
        (&["--part", "years"], "--beside"),
        (&["--part", "poems"], "no part of a report"),
        (&["--picture", text(&folder.path().join("missing.png"))], "cannot be read"),
        (&["--picture", text(&broken), "--part", "cover"], "picture"),
        (&["--words", text(&broken)], "cannot be read"),
    ] {
        let done = awn(base.iter().chain(more).copied());
        assert_eq!(done.code, 2, "{more:?}: {done:?}");
        assert!(done.err.contains(said), "{more:?}: {}", done.err);
        assert!(!out.exists());
    }
    let done = awn(["report", text(&project), "--year", "2027", "-o", "report.docx"]);
    assert!(done.code == 2 && done.err.contains(".pdf"), "{done:?}");
    let done = awn(["map", text(&project), "--colour", "age", "--size", "huge", "-o", "a.png"]);
    assert!(done.code == 2 && done.err.contains("A3-upright"), "{done:?}");
    let done = awn(["export", text(&project), "--what", "everything", "--format", "kml", "-o", "a.kml"]);
    assert!(done.code == 2 && done.err.contains("gpkg, csv or xlsx"), "{done:?}");
}
