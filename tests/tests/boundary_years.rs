//! Next year's boundaries: land keeps its history whatever becomes of its edges and names.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use awn_core::exchange::{self, BoundaryOptions, FileOptions};
use awn_core::model::{Assay, AssayId, AssayKind, Field, Record, Records, Sample, SampleId, TestResult};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::{Edit, Project};
use awn_core::{rating, units};
use awn_tests::program::awn;
use serde_json::json;
use support::{Folder, boundaries};

/// A collection of rectangles in metres from 52.5 N 0.4 W, about: farm, name, x, y, width, height.
fn map(fields: &[(&str, &str, f64, f64, f64, f64)]) -> String {
    let features: Vec<_> = fields
        .iter()
        .map(|(farm, name, x, y, width, height)| {
            let at = |x: f64, y: f64| json!([-0.4 + x / 67_760.0, 52.5 + y / 111_280.0]);
            let ring = [at(*x, *y), at(x + width, *y), at(x + width, y + height), at(*x, y + height), at(*x, *y)];
            json!({ "type": "Feature", "properties": { "farm": farm, "name": name },
                "geometry": { "type": "Polygon", "coordinates": [ring] } })
        })
        .collect();
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

const OLD: [(&str, &str, f64, f64, f64, f64); 6] = [
    ("Hill Farm", "Long Acre", 0.0, 0.0, 600.0, 300.0),
    ("Hill Farm", "West", 1000.0, 0.0, 300.0, 300.0),
    ("Hill Farm", "East", 1300.0, 0.0, 300.0, 300.0),
    ("Hill Farm", "Pit Close", 2000.0, 0.0, 300.0, 300.0),
    ("Hill Farm", "Mill", 2500.0, 0.0, 300.0, 300.0),
    ("Hill Farm", "Sold", 3000.0, 0.0, 300.0, 300.0),
];
const NEW: [(&str, &str, f64, f64, f64, f64); 6] = [
    ("Hill Farm", "Long Acre", 0.0, 0.0, 400.0, 300.0),
    ("Hill Farm", "Short Acre", 400.0, 0.0, 200.0, 300.0),
    ("Hill Farm", "Both", 1000.0, 0.0, 600.0, 300.0),
    ("Hill Farm", "Pit Close", 2000.0, 0.0, 300.0, 280.0),
    ("Hill Farm", "Mill Field", 2500.0, 0.0, 300.0, 300.0),
    ("Hill Farm", "Bought", 3600.0, 0.0, 300.0, 300.0),
];

fn named<'a>(records: &'a Records, name: &str, year: i32) -> &'a Field {
    records.fields.values().find(|field| field.name == name && field.exists_in(year)).unwrap_or_else(|| panic!("{name}"))
}

/// The old farm with a gate, tramlines and a resistant sample on every field.
fn old_farm(folder: &Folder) -> Project {
    let file = folder.write("old.geojson", map(&OLD));
    let mut project = Project::in_memory();
    let options = BoundaryOptions { tramline_spacing_m: Some(24.0), ..BoundaryOptions::default() };
    project.apply(boundaries(project.records(), &file, &options).0.unwrap().command).unwrap();
    let points: Vec<_> = OLD
        .iter()
        .map(|(_, name, x, ..)| {
            json!({ "type": "Feature", "properties": { "name": format!("gate of {name}") },
                "geometry": { "type": "Point", "coordinates": [-0.4 + (x + 5.0) / 67_760.0, 52.5] } })
        })
        .collect();
    let gates = folder.write("gates.geojson", json!({ "type": "FeatureCollection", "features": points }).to_string());
    let gates = exchange::gates(project.records(), &gates, &FileOptions::default(), &mut Problems::new(), &Quiet).unwrap();
    project.apply(gates.command).unwrap();
    let records = project.records().clone();
    let mut edit = Edit::new(&records, "Results");
    let assay = Assay::of(AssayKind::Pot, 2025, "bench");
    edit.put(Record::Assay(assay.clone()));
    for field in records.fields.values() {
        let sample = Sample::new(format!("S-{}", field.name), field.id, 2025);
        let result = TestResult { sample: sample.id, assay: assay.id, ..resistant() };
        edit.put(Record::Sample(sample));
        edit.put(Record::Result(result));
    }
    project.apply(edit.done()).unwrap();
    project
}

fn resistant() -> TestResult {
    TestResult::printed(SampleId::new(), AssayId::new(), "mesosulfuron", "2", 10.0, Some(95.0))
}

#[test]
fn every_change_is_told_and_no_history_is_lost() {
    let folder = Folder::new();
    let mut project = old_farm(&folder);
    let before = project.records().clone();
    let file = folder.write("new.geojson", map(&NEW));

    // Without a year the import would lose history, so it is refused and says what to give.
    let (refused, problems) = boundaries(&before, &file, &BoundaryOptions::default());
    assert!(refused.is_err());
    let told: Vec<_> = problems.errors().map(|error| error.place.rsplit(", ").next().unwrap().to_owned()).collect();
    assert_eq!(told, ["Short Acre", "Both", "Mill Field"], "{problems:#?}");
    assert!(problems.errors().all(|error| error.hint.contains("--year")));

    let options = BoundaryOptions { year: Some(2026), ..BoundaryOptions::default() };
    let (import, problems) = boundaries(&before, &file, &options);
    let import = import.unwrap_or_else(|_| panic!("{problems:?}"));
    let said = import.summary.join("\n");
    let mut after = Records::clone(&before);
    import.command.apply_to(&mut after).unwrap();
    let ha = |name: &str, year: i32| units::ha(named(&after, name, year).area_m2());
    let edge = units::ha(named(&before, "Pit Close", 2025).area_m2());
    for line in [
        format!("Moved edge: Pit Close ({edge} to {} ha)", ha("Pit Close", 2026)),
        "Renamed: Mill to Mill Field".to_owned(),
        format!(
            "Split: Long Acre into Long Acre ({} ha) and Short Acre ({} ha)",
            ha("Long Acre", 2026),
            ha("Short Acre", 2026)
        ),
        format!("Merged: West and East into Both ({} ha)", ha("Both", 2026)),
        format!("New: Bought ({} ha)", ha("Bought", 2026)),
        "Not in the file: Sold (stays)".to_owned(),
    ] {
        assert!(said.contains(&line), "{line} is not in\n{said}");
    }
    let command = import.command.clone();
    project.apply(import.command).unwrap();
    let records = project.records();
    // Same record where one land stayed one land.
    assert_eq!(named(records, "Pit Close", 2026).id, named(&before, "Pit Close", 2025).id);
    let mill = named(records, "Mill Field", 2026);
    assert_eq!(mill.id, named(&before, "Mill", 2025).id);
    assert!(mill.note.contains("Called Mill until 2025"), "{}", mill.note);
    // The years before keep the edge and the name they had, in lists, on maps, in what is exported and by name.
    let then = |year: i32, id| records.fields_in(year).into_iter().find(|field| field.id == id).unwrap();
    let pit = named(&before, "Pit Close", 2025);
    assert_eq!((&then(2025, pit.id).boundary, &then(2020, pit.id).boundary), (&pit.boundary, &pit.boundary));
    assert!(units::ha(then(2026, pit.id).area_m2()) == ha("Pit Close", 2026) && ha("Pit Close", 2026) < edge);
    assert_eq!((then(2025, mill.id).name.as_str(), then(2026, mill.id).name.as_str()), ("Mill", "Mill Field"));
    assert_eq!(records.fields_named("Mill", Some(2025)).len(), 1);
    assert_eq!(records.fields_named("Mill", Some(2026)).len(), 0);
    // The same file once more changes nothing; a third year's edge leaves both shapes before it.
    let (again, _) = boundaries(records, &file, &options);
    assert!(again.unwrap().command.changes.is_empty());
    let third = folder.write("third.geojson", map(&[("Hill Farm", "Pit Close", 2000.0, 0.0, 300.0, 290.0)]));
    let (import, _) = boundaries(records, &third, &BoundaryOptions { year: Some(2028), ..BoundaryOptions::default() });
    let mut later = Records::clone(records);
    import.unwrap().command.apply_to(&mut later).unwrap();
    let shape = |year: i32| later.fields_in(year).into_iter().find(|field| field.id == pit.id).unwrap().boundary.clone();
    assert_eq!((shape(2025), shape(2027)), (pit.boundary.clone(), named(records, "Pit Close", 2026).boundary.clone()));
    assert!(shape(2028) != shape(2027) && later.fields[&pit.id].former.len() == 2);
    // Before and after the split.
    assert_eq!((records.fields_in(2025).len(), records.fields_in(2026).len()), (6, 7));
    let (short, both) = (named(records, "Short Acre", 2026), named(records, "Both", 2026));
    assert_eq!(records.lineage(short).unwrap(), "split from Long Acre in 2026");
    assert_eq!(records.lineage(both).unwrap(), "merged from West and East in 2026");
    assert_eq!(records.lineage(mill), None);
    // Results count for the land they came from.
    let ratings = rating::field_ratings(records, 2026);
    for name in ["Long Acre", "Short Acre", "Both", "Pit Close", "Mill Field"] {
        assert!(ratings.get(&named(records, name, 2026).id).is_some_and(|known| known.worst.is_some()), "{name}");
    }
    assert!(ratings.get(&named(records, "Bought", 2026).id).is_none_or(|known| known.worst.is_none()));
    assert_eq!(before.samples, records.samples);
    // Tramlines stay where they were: the same anchor and bearing, one set a land.
    let anchor = |records: &Records, field: &Field| {
        let sets = records
            .tramlines_of(field.id)
            .map(|set| (set.anchor.x.to_bits(), set.anchor.y.to_bits(), set.bearing_deg.to_bits()));
        sets.collect::<Vec<_>>()
    };
    let old_acre = anchor(&before, named(&before, "Long Acre", 2025));
    assert_eq!(anchor(records, short), old_acre);
    assert_eq!(anchor(records, named(records, "Long Acre", 2026)), old_acre);
    let of_both: Vec<_> = ["West", "East"].iter().flat_map(|name| anchor(&before, named(&before, name, 2025))).collect();
    assert_eq!(anchor(records, both), of_both);
    assert!(records.tramlines_of(both.id).all(|set| set.area.is_some()));
    // Gates go to the part they open into.
    let gates =
        |name: &str| records.gates_of(named(records, name, 2026).id).map(|gate| gate.name.clone()).collect::<Vec<_>>();
    assert_eq!(gates("Long Acre"), ["gate of Long Acre"]);
    assert!(gates("Short Acre").is_empty());
    assert_eq!(gates("Both"), ["gate of West", "gate of East"]);

    // The same file again changes nothing; undo brings all of it back.
    let (again, problems) = boundaries(records, &file, &options);
    let again = again.unwrap_or_else(|_| panic!("{problems:?}"));
    assert!(again.command.changes.is_empty(), "{:?}", again.summary);
    let mut back = Records::clone(records);
    command.inverse().apply_to(&mut back).unwrap();
    assert_eq!(back, *before);
}

#[test]
fn fields_that_are_gone_end_only_when_asked() {
    let folder = Folder::new();
    let project = old_farm(&folder);
    let file = folder.write("new.geojson", map(&NEW));
    let options = BoundaryOptions { year: Some(2026), close_missing: true, ..BoundaryOptions::default() };
    let import = boundaries(project.records(), &file, &options).0.unwrap();
    assert!(import.summary.iter().any(|line| line == "Not in the file: Sold (until 2025)"), "{:?}", import.summary);
    let mut records = Records::clone(project.records());
    import.command.apply_to(&mut records).unwrap();
    assert_eq!(named(&records, "Sold", 2025).until_year, Some(2025));
    assert_eq!(records.fields_in(2026).len(), 6);
    // A year before one in which the land was divided already is refused.
    let earlier = folder.write("earlier.geojson", map(&OLD));
    let options = BoundaryOptions { year: Some(2026), ..BoundaryOptions::default() };
    let (refused, problems) = boundaries(&records, &earlier, &options);
    assert!(refused.is_err() && problems.errors().any(|error| error.what.contains("2026")), "{problems:?}");
}

#[test]
fn on_the_command_line() {
    let folder = Folder::new();
    let (old, new) = (folder.write("old.geojson", map(&OLD)), folder.write("new.geojson", map(&NEW)));
    let project = folder.path("farm.awn").display().to_string();
    let (old, new) = (old.display().to_string(), new.display().to_string());
    assert_eq!(awn(["new", &project]).code, 0);
    assert_eq!(awn(["add", "boundaries", &project, &old]).code, 0);
    assert_eq!(awn(["add", "boundaries", &project, &new]).code, 1);
    let preview = awn(["add", "boundaries", &project, &new, "--year", "2026", "--dry-run"]);
    assert!(
        preview.code == 0 && preview.out.contains("Nothing was changed") && preview.out.contains("Split: Long Acre"),
        "{preview:?}"
    );
    assert_eq!(awn(["fields", &project, "--year", "2026", "--json"]).json()["fields"].as_array().unwrap().len(), 6);
    assert_eq!(awn(["add", "boundaries", &project, &new, "--year", "2026"]).code, 0);
    let fields = awn(["fields", &project, "--year", "2026"]);
    assert!(fields.out.contains("split from Long Acre in 2026"), "{}", fields.out);
    assert_eq!(awn(["check", &project]).code, 0);
}
