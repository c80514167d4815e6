//! Scouting and gates from files.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use awn_core::crs::{Converter, Crs};
use awn_core::exchange::{self, FileOptions, Import, ImportError, ScoutingOptions};
use awn_core::model::{DensityUnit, Records, SurveyKind};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use geo::Coord;
use serde_json::json;
use std::path::Path;
use support::{Folder, error_at, project, square};

fn options(kind: SurveyKind, unit: DensityUnit) -> ScoutingOptions {
    ScoutingOptions::new("2026-06-14".parse().unwrap(), kind, unit)
}

fn scouting(records: &Records, file: &Path, options: &ScoutingOptions) -> (Result<Import, ImportError>, Problems) {
    let mut problems = Problems::new();
    let import = exchange::scouting(records, file, options, &mut problems, &Quiet);
    (import, problems)
}

const POINTS: SurveyKind = SurveyKind::Points;
const HEADS: DensityUnit = DensityUnit::HeadsPerM2;

#[test]
fn points_from_tables_of_many_kinds() {
    let mut project = project();
    let folder = Folder::new();
    let grid = Converter::new(&Crs::Epsg(27700)).unwrap();
    let mut at = [Coord { x: -0.399, y: 52.501 }];
    grid.from_lonlat(&mut at).unwrap();
    let grid_row = format!("Easting;NORTHING;note;Plants per m2\n{:.3};{:.3};a;2,5\n", at[0].x, at[0].y);
    let geojson = json!({ "type": "FeatureCollection", "features": [{ "type": "Feature", "properties": { "id": 7, "dens": 2.5 },
        "geometry": { "type": "Point", "coordinates": [-0.399, 52.501, 33.0] } }] });
    for (name, content, crs) in [
        ("a.csv", "lon,lat,heads\n-0.399,52.501,2.5\n".to_owned(), None),
        ("b.CSV", "\u{feff}Latitude\tLongitude\tVALUE\n52.501\t-0.399\t2.5\n".to_owned(), None),
        ("c.txt", grid_row, Some(Crs::Epsg(27700))),
        ("d.geojson", geojson.to_string(), None),
    ] {
        let file = folder.write(name, content);
        let (import, problems) = scouting(
            project.records(),
            &file,
            &ScoutingOptions { file: FileOptions { crs, ..FileOptions::default() }, ..options(POINTS, HEADS) },
        );
        let import = import.unwrap_or_else(|_| panic!("{name}: {problems:?}"));
        assert_eq!((import.added, import.updated, problems.list.len()), (1, 0, 0), "{name}: {problems:?}");
        project.apply(import.command).unwrap();
        let survey = project.records().surveys.values().next_back().unwrap();
        assert_eq!((survey.points.len(), survey.points[0].value, survey.source.as_str()), (1, 2.5, name));
        let found = survey.points[0].position;
        assert!((found.x + 0.399).abs() < 2e-8 && (found.y - 52.501).abs() < 2e-8, "{name}: {found:?}");
        if name == "c.txt" {
            assert!(import.summary.iter().any(|line| line.contains("OSTN15, 0.01 m")), "{:?}", import.summary);
        }
    }
    // The same survey again takes the place of the first.
    let file = folder.write("a.csv", "lon,lat,heads\n-0.399,52.501,9\n-0.398,52.501,8\n");
    let (import, _) = scouting(project.records(), &file, &options(POINTS, HEADS));
    let import = import.unwrap();
    assert_eq!((import.added, import.updated), (0, 1));
    project.apply(import.command).unwrap();
    assert_eq!(project.records().surveys.len(), 4);
    assert_eq!(project.records().surveys.values().next().unwrap().points.len(), 2);
}

#[test]
fn zones_with_classes_and_densities() {
    let project = project();
    let folder = Folder::new();
    let zone = |east: f64, class: serde_json::Value| json!({ "type": "Feature", "properties": { "Class": class }, "geometry": { "type": "Polygon", "coordinates": square(east, 0.0) } });
    let features = vec![
        zone(0.0, json!("Very High")),
        zone(300.0, json!(2)),
        zone(2000.0, json!("absent")),
        zone(90_000.0, json!("3")),
    ];
    let file = folder.write("zones.geojson", json!({ "type": "FeatureCollection", "features": features }).to_string());
    let (import, problems) = scouting(project.records(), &file, &options(SurveyKind::Zones, DensityUnit::Class));
    let import = import.unwrap();
    assert_eq!(problems.list.len(), 1);
    assert!(problems.list[0].what.starts_with("1 of 4 zones"), "{problems:?}");
    let mut records = (**project.records()).clone();
    import.command.apply_to(&mut records).unwrap();
    let survey = records.surveys.values().next().unwrap();
    assert_eq!(survey.zones.iter().map(|zone| zone.value).collect::<Vec<_>>(), [4.0, 2.0, 0.0, 3.0]);
    let (refused, problems) = scouting(project.records(), &file, &options(SurveyKind::Zones, HEADS));
    assert!(refused.is_err());
    assert!(error_at(&problems, "row 1").hint.contains("unit class"), "{problems:?}");
}

#[test]
fn every_bad_value_is_named_by_its_row_and_nothing_is_imported() {
    let project = project();
    let folder = Folder::new();
    let file = folder.write(
        "bad.csv",
        "lon,lat,density\n-0.399,52.501,3\n-0.399,52.501,lots\n-0.399,52.501,-1\n-0.399,52.501,NaN\n-0.399,52.501,\n412345,298765,4\n-0.399,north,4\n-0.399,52.501,99999\n-0.399,52.501,high\n",
    );
    let (import, problems) = scouting(project.records(), &file, &options(POINTS, HEADS));
    assert!(matches!(import, Err(ImportError::Problems)));
    // A position that is no number is met first; with it mended, the values come up.
    assert_eq!(problems.errors().count(), 1);
    assert!(error_at(&problems, "bad.csv, row 8").what.contains("north"));
    let text = std::fs::read_to_string(&file).unwrap().replace("north", "52.5");
    let (import, problems) = scouting(project.records(), &folder.write("bad.csv", text), &options(POINTS, HEADS));
    assert!(matches!(import, Err(ImportError::Problems)));
    let places: Vec<_> = problems.errors().map(|problem| problem.place.as_str()).collect();
    assert_eq!(places, [3, 4, 5, 6, 7, 9, 10].map(|row| format!("bad.csv, row {row}")), "{problems:#?}");
    assert!(problems.errors().all(|problem| !problem.hint.is_empty() && !problem.what.is_empty()));
    assert!(error_at(&problems, "row 3").what.contains("lots"));
    assert!(error_at(&problems, "row 7").what.contains("412345"));

    for (content, column, wanted) in [
        ("lon,lat,a,b\n-0.4,52.5,1,2\n", None, "which column"),
        ("lon,lat,a,b\n-0.4,52.5,1,2\n", Some("c"), "no column “c”"),
        ("x,y,density\n500000,300000,1\n", None, "coordinate system"),
        ("place,density\nhere,1\n", None, "no columns with a position"),
        ("", None, "empty"),
    ] {
        let file = folder.write("wrong.csv", content);
        let options = ScoutingOptions { value_column: column.map(str::to_owned), ..options(POINTS, HEADS) };
        let (import, problems) = scouting(project.records(), &file, &options);
        assert!(import.is_err() && problems.list[0].what.contains(wanted), "{content}: {problems:?}");
    }
}

#[test]
fn gates_go_to_the_nearest_field() {
    let mut project = project();
    let folder = Folder::new();
    // 2 m and 30 m off the western edge of Long Acre, 60 m between two fields but nearer the second, and far away.
    let degrees = |east: f64| -0.4 + east / 67_760.0;
    let rows = [("West", -2.0), ("Lane", -30.0), ("Middle", 260.0), ("Lost", 5000.0)];
    let csv = |shift: f64| {
        let lines = rows.map(|(name, east)| format!("{name},{:.8},52.5009", degrees(east + shift)));
        format!("gate,lon,lat\n{}\n", lines.join("\n"))
    };
    let mut problems = Problems::new();
    let import = exchange::gates(
        project.records(),
        &folder.write("gates.csv", csv(0.0)),
        &FileOptions::default(),
        &mut problems,
        &Quiet,
    )
    .unwrap();
    assert_eq!((import.added, import.updated, import.skipped), (3, 0, 1));
    assert!(problems.list.len() == 1 && problems.list[0].place == "gates.csv, row 5", "{problems:?}");
    project.apply(import.command).unwrap();
    let records = project.records();
    let names: Vec<_> =
        records.gates.values().map(|gate| (gate.name.as_str(), records.fields[&gate.field].name.as_str())).collect();
    assert_eq!(names, [("West", "Long Acre"), ("Lane", "Long Acre"), ("Middle", "Pit Close")]);

    // Three metres on they are still the same gates.
    let import = exchange::gates(
        project.records(),
        &folder.write("gates.csv", csv(-3.0)),
        &FileOptions::default(),
        &mut problems,
        &Quiet,
    )
    .unwrap();
    assert_eq!((import.added, import.updated), (0, 3));
    project.apply(import.command).unwrap();
    assert_eq!(project.records().gates.len(), 3);

    let mut problems = Problems::new();
    assert!(
        exchange::gates(&Records::default(), &folder.path("gates.csv"), &FileOptions::default(), &mut problems, &Quiet)
            .is_err()
    );
    assert!(problems.list[0].hint.contains("boundaries first"));
}
