//! Samples, cards, labels, forms and walks on the command line: shapes of the answers, exit codes, what is said of bad input.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stop where something is wrong

use std::path::{Path, PathBuf};

use awn_tests::program::{Outcome, awn};
use serde_json::Value;

/// A copy of the sample farm after the whole job.
fn season() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let done = awn(["demo".as_ref(), folder.path().as_os_str(), "--no-window".as_ref(), "--json".as_ref()]);
    assert_eq!(done.code, 0, "{done:?}");
    for name in ["field-cards.pdf", "labels.pdf", "forms.pdf"] {
        assert!(std::fs::read(folder.path().join(name)).unwrap().starts_with(b"%PDF-"), "{name}");
    }
    let path = folder.path().join("sample-farm.gpkg");
    (folder, path)
}

fn ask(verb: &str, project: &Path, more: &[&str]) -> Outcome {
    let arguments = [verb, project.to_str().unwrap(), "--json"];
    awn(arguments.iter().copied().chain(more.iter().copied()))
}

fn samples(answer: &Value) -> Vec<Value> {
    answer["samples"].as_array().unwrap().clone()
}

#[test]
fn envelopes_are_planned_moved_on_and_listed() {
    let (_folder, project) = season();
    let list = ask("samples", &project, &["--year", "2027", "--on", "2027-07-22"]);
    assert_eq!(list.code, 0, "{list:?}");
    let planned = samples(&list.json());
    assert!(planned.len() > 5 && planned.iter().all(|sample| sample["stage"] == "planned"), "{planned:?}");
    // By the last day on which seed of the field is ripe, as far as is known, and the account at this machine planned them.
    let ripe = ask("ripe", &project, &["--year", "2027"]).json();
    let on: jiff::civil::Date = "2027-07-22".parse().unwrap();
    for sample in &planned {
        let fields = ripe["fields"].as_array().unwrap();
        let own = fields.iter().find(|f| (&f["field"], &f["farm"]) == (&sample["field"], &sample["farm"])).unwrap();
        assert_eq!(sample["by"], own["to"], "{sample}");
        let by: jiff::civil::Date = own["to"].as_str().unwrap().parse().unwrap();
        assert_eq!(sample["late_days"].as_i64().unwrap(), i64::from((on - by).get_days().max(0)), "{sample}");
    }
    let codes: Vec<&str> = planned.iter().take(3).map(|sample| sample["code"].as_str().unwrap()).collect();
    let moved = ask(
        "samples",
        &project,
        &[
            "--move",
            "collected",
            "--date",
            "2027-07-14",
            "--person",
            "Bo",
            "--mugs",
            "1",
            "--shed",
            "15",
            codes[0],
            codes[1],
            codes[2],
        ],
    );
    assert_eq!(moved.code, 0, "{moved:?}");
    let moved = samples(&moved.json());
    assert_eq!(moved.len(), 3);
    for sample in &moved {
        assert_eq!((&sample["stage"], &sample["taken"]), (&"collected".into(), &"2027-07-14".into()));
        assert_eq!((sample["mugs"].as_f64(), sample["shed_percent"].as_f64()), (Some(1.0), Some(15.0)));
        assert_eq!(sample["next"], "dried");
        assert_eq!(sample["by"], "2027-07-21", "about a week: trade notice of July 1999");
        assert_eq!(sample["events"].as_array().unwrap().last().unwrap()["person"], "Bo");
    }
    let late = ask("samples", &project, &["--year", "2027", "--late", "--stage", "collected", "--on", "2027-07-23"]).json();
    assert_eq!(samples(&late).len(), 3);
    assert!(late["reminders"][0]["text"].as_str().unwrap().contains("3 samples of harvest 2027 collected but not posted"));
    // Out of order: exit code 1, with where, what and hint, and nothing changed.
    let nobody = ask("samples", &project, &["--move", "dried", "--date", "2027-07-21", codes[0]]);
    assert_eq!(nobody.code, 1, "who did it is asked for: {nobody:?}");
    assert!(nobody.problems()[0]["hint"].as_str().unwrap().contains("Give the name"), "{nobody:?}");
    let wrong = ask("samples", &project, &["--move", "dried", "--date", "2027-07-01", "--person", "Bo", codes[0]]);
    assert_eq!(wrong.code, 1, "{wrong:?}");
    let all = wrong.problems();
    let problem = all.iter().find(|problem| problem["severity"] == "error").expect("an error");
    assert!(
        problem["where"].as_str().unwrap().contains(codes[0]) && !problem["hint"].as_str().unwrap().is_empty(),
        "{problem}"
    );
    // A code with a slip: exit code 2, and the right one is offered.
    let mut slip: Vec<char> = codes[0].chars().collect();
    slip.swap(6, 8);
    let slip: String = slip.into_iter().collect();
    if slip != codes[0] {
        let wrong = ask("samples", &project, &["--move", "dried", "--date", "2027-07-21", "--person", "Bo", &slip]);
        assert_eq!(wrong.code, 2, "{wrong:?}");
        assert!(wrong.err.contains("there is no sample"), "{}", wrong.err);
    }
    let back = ask("samples", &project, &["--back", codes[0]]).json();
    assert_eq!(back["samples"][0]["stage"], "planned");
    let withdrawn = ask("samples", &project, &["--move", "withdrawn", "--date", "2027-07-20", "--person", "Bo", codes[0]]);
    assert_eq!(withdrawn.code, 1, "a reason is asked for: {withdrawn:?}");
    let set = ask("samples", &project, &["--prefix", "x1", "--year", "2027"]);
    assert_eq!(set.code, 2, "{set:?}");
}

#[test]
fn cards_labels_and_forms_are_written_and_what_cannot_be_is_said() {
    let (folder, project) = season();
    let out = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let plans = ask("fields", &project, &["--year", "2027"]).json();
    let unplanned = plans["fields"].as_array().unwrap().iter().find(|field| field["years_since_test"] == 1).unwrap();
    let name = unplanned["name"].as_str().unwrap();
    let done = ask("card", &project, &["--year", "2027", "--size", "a5", "-o", &out("cards.pdf")]);
    assert_eq!((done.code, done.json()["fields"].as_u64().unwrap() > 3), (0, true), "{done:?}");
    let none = ask("card", &project, &["--year", "2027", "--field", name, "-o", &out("none.pdf")]);
    assert_eq!(none.code, 2, "{none:?}");
    assert!(none.err.contains("propose stops first") && !Path::new(&out("none.pdf")).exists(), "{}", none.err);
    let done = ask("labels", &project, &["--year", "2027", "--sheet", "2x4", "--from", "3", "-o", &out("labels.pdf")]);
    assert_eq!(done.code, 0, "{done:?}");
    let wrong = ask("labels", &project, &["--year", "2027", "--sheet", "7x7", "-o", &out("x.pdf")]);
    assert!(wrong.code == 2 && wrong.err.contains("3x7"), "{wrong:?}");
    let wrong = ask("labels", &project, &["--year", "1999", "-o", &out("x.pdf")]);
    assert!(wrong.code == 2 && wrong.err.contains("awn samples --plan"), "{wrong:?}");
    let gaps = ask("form", &project, &["--year", "2027"]);
    assert_eq!(gaps.code, 0, "{gaps:?}");
    assert!(gaps.json()["samples"][0]["not_known"].as_array().unwrap().len() > 2);
    assert!(gaps.problems().iter().any(|problem| problem["what"].as_str().unwrap().contains("The day it was taken")));
    let done = ask("form", &project, &["--year", "2026", "-o", &out("forms.csv")]);
    assert_eq!(done.code, 0, "{done:?}");
    let csv = std::fs::read_to_string(out("forms.csv")).unwrap();
    assert!(csv.lines().count() > 30 && csv.contains("mesosulfuron+iodosulfuron"), "{csv}");
    // GPX of one field.
    let first = ask("samples", &project, &["--year", "2027"]).json()["samples"][0].clone();
    let one = format!("{}/{}", first["farm"].as_str().unwrap(), first["field"].as_str().unwrap());
    for what in ["stops", "walks"] {
        let file = out(&format!("{what}.gpx"));
        let done =
            ask("export", &project, &["--what", what, "--format", "gpx", "--year", "2027", "--field", &one, "-o", &file]);
        assert_eq!(done.code, 0, "{done:?}");
        let text = std::fs::read_to_string(&file).unwrap();
        let names: std::collections::BTreeSet<&str> =
            text.split("<name>").skip(1).filter_map(|rest| rest.split('<').next()).collect();
        let field = first["field"].as_str().unwrap().replace('\'', "&apos;");
        assert!(names.iter().all(|name| name.starts_with(field.split("&apos;").next().unwrap())), "{names:?}");
    }
}

#[test]
fn a_walk_is_read_and_listed() {
    let (folder, project) = season();
    let walks = folder.path().join("walks.gpx");
    // The planned walks of all fields, as if walked exactly: every field with a plan gets its part.
    let done = ask("walked", &project, &[walks.to_str().unwrap(), "--year", "2027", "--date", "2027-07-14"]);
    assert_eq!(done.code, 0, "{done:?}");
    let answer = done.json();
    let list = answer["walks"].as_array().unwrap();
    let plans = ask(
        "export",
        &project,
        &["--what", "stops", "--format", "csv", "--year", "2027", "-o", folder.path().join("stops.csv").to_str().unwrap()],
    );
    assert_eq!(plans.code, 0);
    let stops = std::fs::read_to_string(folder.path().join("stops.csv")).unwrap().lines().count() - 1;
    let all: usize = list.iter().map(|walk| walk["stops"].as_array().unwrap().len()).sum();
    assert_eq!(all, stops, "each plan's stops are held against its walk");
    for walk in list {
        assert_eq!(walk["reached"], walk["stops"].as_array().unwrap().len(), "{walk}");
        let (was, planned) = (&walk["figures"]["balance"], &walk["planned_figures"]["balance"]);
        assert!((was.as_f64().unwrap() - planned.as_f64().unwrap()).abs() < 1e-3, "{was} {planned}");
    }
    let kept = ask("walked", &project, &["--year", "2027"]).json();
    assert_eq!(kept["walks"].as_array().unwrap().len(), list.len());
    let wrong = ask("walked", &project, &[walks.to_str().unwrap(), "--year", "2027", "--date", "2026-07-14"]);
    assert_eq!(wrong.code, 1, "{wrong:?}");
    let hints: Vec<_> = wrong.problems().iter().map(|problem| problem["hint"].to_string()).collect();
    assert!(hints.iter().any(|hint| hint.contains("harvest")), "{hints:?}");
}
