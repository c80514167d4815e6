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

#[test]
fn a_report_of_fields_without_results_is_short_sorted_and_says_which_letters_it_lacks() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let names = ["Field 10", "Field 9", "field 1", "长田", "Field 100", "Field 2", "حقل"];
    let feature = |(at, name): (usize, &&str)| {
        let (west, east, south, north) = (-0.5 + 0.01 * at as f64, -0.492 + 0.01 * at as f64, 52.3, 52.304);
        json!({ "type": "Feature", "properties": { "name": name, "farm": "Own" }, "geometry": { "type": "Polygon",
            "coordinates": [[[west, south], [east, south], [east, north], [west, north], [west, south]]] } })
    };
    let features: Vec<_> = names.iter().enumerate().map(feature).collect();
    std::fs::write(path("f.geojson"), json!({ "type": "FeatureCollection", "features": features }).to_string()).unwrap();
    let project = path("p.gpkg");
    assert_eq!(awn(["new", text(&project)]).code, 0);
    assert_eq!(awn(["add", "boundaries", text(&project), text(&path("f.geojson"))]).code, 0);
    let listed = awn(["fields", text(&project), "--json"]).json();
    let listed: Vec<&str> =
        listed["fields"].as_array().unwrap().iter().map(|field| field["name"].as_str().unwrap()).collect();
    assert_eq!(listed, ["field 1", "Field 2", "Field 9", "Field 10", "Field 100", "حقل", "长田"]);
    let out = path("report.pdf");
    let done = awn(["report", text(&project), "--year", "2027", "-o", text(&out)]);
    assert_eq!(done.code, 0);
    assert!(done.err.contains("حقل") && !done.err.contains("长田"), "{}", done.err);
    let pdf = awn_tests::reference::run("pdf", &json!({ "path": out }));
    let pages: Vec<&str> = pdf["text"].as_array().unwrap().iter().map(|page| page.as_str().unwrap()).collect();
    let with = |words: &str| pages.iter().filter(|page| page.contains(words)).count();
    // Cover, contents, summary with the only map, season, table, seven fields on three pages, method, cautions with sources.
    assert!(pages.len() <= 10, "{} pages", pages.len());
    assert!(pages.iter().any(|page| page.contains("Most urgent: field 1, Field 2 and Field 9.")), "{pages:?}");
    assert_eq!((with("Where resistance is"), with("How old that knowledge is")), (0, 0));
    assert_eq!(with("nothing is known of their resistance"), 1);
    assert_eq!(with("The reason is the same for all: Never tested."), 1);
    assert!(with("???") > 2 && with("长田") > 2, "{pages:?}");
}
