//! The project file: a GeoPackage that others read, that keeps its history, and that survives being killed.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stop where something is wrong

use std::path::Path;
use std::process::{Command as Process, Stdio};
use std::time::Instant;

use awn_core::model::{
    Assay, AssayKind, Control, Crop, CropId, DensityUnit, Farm, FarmId, Field, FieldProgramme, FieldProgrammeId, Gate,
    GateId, Measure, Programme, ProgrammeId, ProgrammeStep, Raw, Record, Records, Replicate, Sample, ScoutPoint,
    ScoutRaster, ScoutZone, Settings, Spray, SprayId, Stage, StageEvent, Standard, StandardId, StandardRole, Survey,
    SurveyId, SurveyKind, TakenAt, TestResult, Tramlines, TramlinesId, Walked, WalkedFigures, WalkedId,
};
use awn_core::project::{Command, Edit, Project, ProjectError};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use serde_json::json;

/// A square of `side` degrees with a square hole.
fn square(x: f64, y: f64, side: f64) -> MultiPolygon<f64> {
    let ring = |x: f64, y: f64, s: f64| LineString::from(vec![(x, y), (x + s, y), (x + s, y + s), (x, y + s), (x, y)]);
    MultiPolygon(vec![Polygon::new(ring(x, y, side), vec![ring(x + side / 4.0, y + side / 4.0, side / 4.0)])])
}

/// A farm with two fields and one of most other kinds of record.
fn small_farm(records: &Records) -> Command {
    let mut edit = Edit::new(records, "Add Sallowby");
    let farm = Farm { id: FarmId::new(), business: "Tealby and Daughter".into(), name: "Sallowby".into() };
    let one = Field::new(farm.id, "Long Acre", square(-0.41, 52.7, 0.004));
    let mut two = Field::new(farm.id, "Ten “Acre” = +1;", square(-0.40, 52.7, 0.003));
    two.from_year = Some(2023);
    two.came_from = vec![one.id];
    let gate = Gate { id: GateId::new(), field: one.id, name: "lane".into(), position: Coord { x: -0.41, y: 52.7 } };
    let lines = Tramlines {
        id: TramlinesId::new(),
        field: one.id,
        anchor: gate.position,
        bearing_deg: 12.5,
        spacing_m: 24.0,
        headland_m: 24.0,
        area: Some(square(-0.41, 52.7, 0.002)),
        lines: vec![vec![(-0.41, 52.7), (-0.409, 52.703)].into()],
    };
    let survey = Survey {
        id: SurveyId::new(),
        date: jiff::civil::date(2026, 6, 12),
        kind: SurveyKind::Points,
        unit: DensityUnit::HeadsPerM2,
        source: "scouting.csv".into(),
        points: vec![ScoutPoint { position: Coord { x: -0.409, y: 52.701 }, value: 0.1 + 0.2 }],
        rasters: vec![ScoutRaster {
            corners: [(-0.41, 52.704), (-0.406, 52.704), (-0.41, 52.7)].map(Coord::from),
            columns: 2,
            values: vec![0.1, 2.5, ScoutRaster::NO_DATA, 1e-7],
        }],
        zones: vec![ScoutZone { area: square(-0.409, 52.701, 0.001), value: 3.0 }],
    };
    let taken = jiff::civil::date(2026, 7, 14);
    let event = |stage| StageEvent { stage, date: Some(taken), person: "Bo".into(), note: "dry".into() };
    let sample = Sample {
        taken: Some(taken),
        mugs: Some(0.1 + 0.2),
        tests: vec![AssayKind::Pot],
        events: vec![event(Stage::Collected), event(Stage::Lost)],
        ..Sample::new("A1", one.id, 2026)
    };
    let assay = Assay {
        date: Some(jiff::civil::date(2026, 10, 30)),
        laboratory: "Tealby seed laboratory".into(),
        comment: "dry compost".into(),
        ..Assay::of(AssayKind::Pot, 2026, "results.csv")
    };
    let pot = |value: f64| Replicate { value, of: Some(6.0) };
    let raw = Raw { treated: vec![pot(2.0), pot(3.0)], untreated: vec![pot(6.0), pot(5.0)] };
    let standard = Standard {
        id: StandardId::new(),
        assay: assay.id,
        name: "S standard 4".into(),
        role: StandardRole::Susceptible,
        active: "cycloxydim".into(),
        dose: Some("200 g/ha".into()),
        measure: Some(Measure::Survival),
        reduction: 93.0,
        se: Some(0.1 + 0.2),
        n: Some(18),
        raw: Some(Raw { treated: vec![pot(0.0), pot(1.0)], ..raw.clone() }),
    };
    let result = TestResult {
        n: Some(18),
        dose: Some("200 g/ha".into()),
        measure: Some(Measure::Survival),
        raw: Some(raw),
        comment: "one pot lost".into(),
        ..TestResult::printed(sample.id, assay.id, "cycloxydim", "1", 61.3, Some(93.0))
    };
    let walked = Walked {
        id: WalkedId::new(),
        field: one.id,
        year: 2026,
        plan: None,
        date: Some(taken),
        person: "Bo".into(),
        source: "track.gpx".into(),
        track: geo::MultiLineString(vec![vec![(-0.41, 52.7), (-0.409, 52.703)].into()]),
        figures: WalkedFigures {
            length_m: 0.1 + 0.2,
            away_m: vec![3.5],
            stops: vec![Coord { x: -0.409, y: 52.701 }],
            tramlines: 2,
            area_m2: 1234.5,
            population_within_25_m: 0.25,
            taken_at: TakenAt::Stops,
            places: Vec::new(),
            visited: None,
            planned: None,
            warnings: vec!["one".into()],
        },
    };
    let crop = Crop {
        id: CropId::new(),
        field: one.id,
        year: 2026,
        crop: "winter wheat".into(),
        drilled: Some(jiff::civil::date(2025, 10, 14)),
        cultivation: "ploughed".into(),
    };
    let spray = Spray {
        id: SprayId::new(),
        field: one.id,
        year: 2026,
        date: Some(jiff::civil::date(2025, 10, 18)),
        active: "flufenacet".into(),
        group: "15".into(),
        dose_g_per_ha: Some(240.0),
        effect: "good".into(),
        growth_stage: "pre-emergence".into(),
        cost_per_ha: Some(31.5),
    };
    let step = ProgrammeStep {
        timing: "pre-emergence".into(),
        active: "flufenacet+diflufenican".into(),
        dose_g_per_ha: Some(300.0),
        control: Control { low: 55.0, likely: 70.0, high: 0.1 + 80.2 },
        cost_per_ha: 34.0,
    };
    let programme = Programme {
        id: ProgrammeId::new(),
        name: "Wheat, full".into(),
        crop: "winter wheat".into(),
        steps: vec![step],
        note: String::new(),
    };
    let planned = FieldProgramme {
        id: FieldProgrammeId::new(),
        field: one.id,
        year: 2027,
        programme: Some(programme.id),
        measures: vec!["plough".into()],
    };
    let settings = Settings { name: "Sallowby season".into(), ..Settings::default() };
    for record in [
        Record::Farm(farm),
        Record::Field(one),
        Record::Field(two),
        Record::Gate(gate),
        Record::Tramlines(lines),
        Record::Survey(survey),
        Record::Sample(sample),
        Record::Walked(walked),
        Record::Assay(assay),
        Record::Standard(standard),
        Record::Result(result),
        Record::Crop(crop),
        Record::Spray(spray),
        Record::Programme(programme),
        Record::FieldProgramme(planned),
        Record::Settings(settings),
    ] {
        edit.put(record);
    }
    edit.done()
}

#[test]
fn the_file_is_a_geopackage_that_others_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let mut project = Project::create(&path).unwrap();
    project.apply(small_farm(project.records())).unwrap();
    let records = project.records().clone();
    drop(project);

    let seen = awn_tests::reference::run("geopackage", &json!({ "path": path }));
    assert_eq!(seen["errors"], json!([]), "the GeoPackage validator of PyPI gdal-utils");
    let fields = &seen["layers"]["fields"];
    assert_eq!(fields["count"], 2);
    assert_eq!(fields["crs"], "EPSG:4326");
    assert_eq!(fields["columns"]["name"], json!(["Long Acre", "Ten “Acre” = +1;"]));
    assert_eq!(fields["columns"]["farm_name"], json!(["Sallowby", "Sallowby"]));
    for (at, field) in records.fields.values().enumerate() {
        let theirs = fields["area_m2"][at].as_f64().unwrap();
        assert!((theirs / field.area_m2() - 1.0).abs() < 1e-9, "{}: {theirs} by pyproj", field.name);
        let stored: f64 = fields["columns"]["area_ha"][at].as_str().unwrap().parse().unwrap();
        assert!((stored * 1e4 / theirs - 1.0).abs() < 1e-9, "{stored}");
    }
    for (layer, count) in [
        ("gates", 1),
        ("tramlines", 1),
        ("scout_points", 1),
        ("scout_zones", 1),
        ("samples", 1),
        ("sample_stages", 2),
        ("walked", 1),
        ("results", 1),
        ("awn_history", 1),
    ] {
        assert_eq!(seen["layers"][layer]["count"], count, "{layer}");
    }
}

#[test]
fn records_and_history_come_back_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let mut project = Project::create(&path).unwrap();
    project.apply(small_farm(project.records())).unwrap();
    let before = project.records().clone();
    drop(project);
    let project = Project::open(&path).unwrap();
    assert_eq!(project.records(), &before);
    assert_eq!(project.undo_name(), Some("Add Sallowby"));
    assert_eq!(project.title(), "Sallowby season");
}

#[test]
fn undo_and_redo_outlive_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let mut project = Project::create(&path).unwrap();
    project.apply(small_farm(project.records())).unwrap();
    let full = project.records().clone();
    let gate = full.gates.values().next().unwrap();
    let mut edit = Edit::new(&full, "Move gate of Long Acre");
    edit.put(Record::Gate(Gate { position: Coord { x: -0.4085, y: 52.7 }, ..(**gate).clone() }));
    project.apply(edit.done()).unwrap();
    let moved = project.records().clone();
    assert_eq!(project.undo().unwrap().as_deref(), Some("Move gate of Long Acre"));
    assert_eq!(project.records(), &full);
    drop(project);

    let mut project = Project::open(&path).unwrap();
    assert_eq!(project.records(), &full);
    assert_eq!(project.redo_name(), Some("Move gate of Long Acre"));
    assert_eq!(project.redo().unwrap().as_deref(), Some("Move gate of Long Acre"));
    assert_eq!(project.records(), &moved);
    assert_eq!(project.redo().unwrap(), None);
    drop(project);

    let mut project = Project::open(&path).unwrap();
    project.undo().unwrap();
    project.undo().unwrap();
    assert_eq!(project.records().as_ref(), &Records::default());
    assert_eq!(project.undo().unwrap(), None);
    // A new edit after an undo drops what could have been done again, in the file too.
    project.apply(small_farm(project.records())).unwrap();
    drop(project);
    let project = Project::open(&path).unwrap();
    assert_eq!((project.redo_name(), project.history().len()), (None, 1));
}

#[test]
fn a_command_that_no_longer_fits_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let mut project = Project::create(&path).unwrap();
    project.apply(small_farm(project.records())).unwrap();
    let records = project.records().clone();
    let field = records.fields.values().next().unwrap();
    let rename = |name: &str| {
        let mut edit = Edit::new(&records, format!("Rename to {name}"));
        edit.put(Record::Field(Field { name: name.into(), ..(**field).clone() }));
        edit.done()
    };
    let (first, late) = (rename("Short Acre"), rename("Wide Acre"));
    project.apply(first).unwrap();
    let error = project.apply(late).unwrap_err();
    assert!(matches!(error, ProjectError::Stale { .. }), "{error}");
    let after = project.records().clone();
    drop(project);
    assert_eq!(Project::open(&path).unwrap().records(), &after);
}

#[test]
fn a_second_program_reads_only_and_is_told_who_writes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let mut first = Project::create(&path).unwrap();
    first.apply(small_farm(first.records())).unwrap();
    let mut second = Project::open(&path).unwrap();
    let holder = second.held_by().expect("somebody holds the file").to_string();
    assert!(holder.contains(&std::process::id().to_string()), "{holder}");
    assert_eq!(second.records(), first.records());
    assert!(matches!(second.undo(), Err(ProjectError::ReadOnly(_))));
    assert_eq!(second.records(), first.records(), "a refused undo changes nothing in memory");
    drop(first);
    drop(second);
    assert!(Project::open(&path).unwrap().held_by().is_none());
}

#[test]
fn foreign_newer_and_missing_files_are_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    drop(Project::create(&path).unwrap());
    assert!(matches!(Project::create(&path), Err(ProjectError::Exists(_))));
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.execute("UPDATE awn_meta SET value = '99' WHERE key = 'schema_version'", []).unwrap();
    drop(raw);
    let newer = Project::open(&path).unwrap_err().to_string();
    assert!(newer.contains("newer Awn") && newer.contains("99"), "{newer}");
    let text = folder.path().join("notes.gpkg");
    std::fs::write(&text, "not a database, but long enough to be looked at as one if somebody were careless").unwrap();
    assert!(matches!(Project::open(&text), Err(ProjectError::Foreign(_))));
    let parcels = folder.path().join("parcels.gpkg");
    let other = rusqlite::Connection::open(&parcels).unwrap();
    other.execute_batch("PRAGMA application_id = 1196444487; CREATE TABLE parcels (fid INTEGER)").unwrap();
    assert!(matches!(Project::open(&parcels), Err(ProjectError::Foreign(_))));
    assert!(!folder.path().join(".parcels.gpkg.lock").exists(), "nothing is left beside a file that is no project");
    assert!(matches!(Project::open(&folder.path().join("none.gpkg")), Err(ProjectError::Missing(_))));
}

/// Boundaries enough that writing them takes a while.
fn many_fields(folder: &Path, count: usize) -> std::path::PathBuf {
    let features: Vec<_> = (0..count)
        .map(|i| {
            let (x, y) = (0.01 * (i % 50) as f64, 52.0 + 0.006 * (i / 50) as f64);
            let ring: Vec<_> = (0..=60)
                .map(|k| {
                    let turn = std::f64::consts::TAU * f64::from(k % 60) / 60.0;
                    json!([x + 0.004 * turn.cos(), y + 0.0025 * turn.sin()])
                })
                .collect();
            json!({ "type": "Feature", "properties": { "name": format!("Field {i}") }, "geometry": { "type": "Polygon", "coordinates": [ring] } })
        })
        .collect();
    let path = folder.join("many.geojson");
    std::fs::write(&path, json!({ "type": "FeatureCollection", "features": features }).to_string()).unwrap();
    path
}

#[test]
fn killed_at_any_moment_an_import_is_whole_or_absent() {
    const FIELDS: usize = 1500;
    const KILLS: u32 = 40;
    let folder = tempfile::tempdir().unwrap();
    let boundaries = many_fields(folder.path(), FIELDS);
    let empty = folder.path().join("empty.gpkg");
    drop(Project::create(&empty).unwrap());
    let start_import = |name: &str| {
        let path = folder.path().join(name);
        std::fs::copy(&empty, &path).unwrap();
        let child = Process::new(env!("CARGO_BIN_EXE_awn-under-test"))
            .args(["add", "boundaries"])
            .args([&path, &boundaries])
            .args(["--farm", "Sallowby"])
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        (path, child)
    };
    // How long it takes undisturbed, from start to exit.
    let began = Instant::now();
    let (path, mut child) = start_import("whole.gpkg");
    assert!(child.wait().unwrap().success());
    let whole = began.elapsed();
    assert_eq!(Project::open(&path).unwrap().records().fields.len(), FIELDS);

    let (mut none, mut all, mut in_writing) = (0, 0, 0);
    for kill in 0..KILLS {
        let name = format!("killed-{kill}.gpkg");
        let (path, mut child) = start_import(&name);
        let journal = folder.path().join(format!("{name}-journal"));
        if kill % 2 == 0 {
            // At any moment of the run.
            std::thread::sleep(whole.mul_f64(f64::from(kill) / f64::from(KILLS)));
        } else {
            // While the file is being written: the database keeps a journal beside it from the first change to the last.
            while !journal.exists() && child.try_wait().unwrap().is_none() {
                std::thread::yield_now();
            }
            std::thread::sleep(whole.mul_f64(0.018 * f64::from(kill / 2)));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        in_writing += u32::from(journal.exists());
        let project = Project::open(&path).unwrap();
        assert_eq!(project.file_damage().unwrap(), None);
        match (project.records().fields.len(), project.history().len()) {
            (0, 0) => none += 1,
            (FIELDS, 1) => all += 1,
            other => panic!("half an import after kill {kill}: {other:?}"),
        }
        drop(project);
        std::fs::remove_file(path).unwrap();
    }
    assert!(in_writing >= KILLS / 8, "only {in_writing} of {KILLS} were killed while they wrote");
    println!("{in_writing} of {KILLS} killed while writing: {none} files without the import, {all} with all of it");
}

#[test]
fn a_file_of_version_1_is_brought_up_with_all_it_holds() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let sql = std::fs::read_to_string(awn_tests::project_path("tests/data/version-1.sql")).unwrap();
    rusqlite::Connection::open(&path).unwrap().execute_batch(&sql).unwrap();
    let project = Project::open(&path).unwrap();
    let records = project.records();
    let plan = records.plans.values().next().unwrap();
    assert_eq!((records.fields.len(), records.gates.len(), records.tramlines.len(), plan.stops.len()), (1, 1, 1, 4));
    assert!(!plan.set_aside && plan.second_walk.is_none() && plan.stops.iter().all(|stop| stop.person == 1 && !stop.pinned));
    assert!(folder.path().join("farm.v1.gpkg").exists(), "the file as it was is kept");
    let seen = awn_tests::reference::run("geopackage", &json!({ "path": path }));
    assert_eq!(seen["errors"], json!([]), "the GeoPackage validator of PyPI gdal-utils");
    drop(project);
    // The history of version 1 can still be undone.
    let mut project = Project::open(&path).unwrap();
    while project.undo().unwrap().is_some() {}
    assert!(project.records().fields.is_empty());
}

#[test]
fn a_file_of_version_2_keeps_its_results() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let sql = std::fs::read_to_string(awn_tests::project_path("tests/data/version-2.sql")).unwrap();
    rusqlite::Connection::open(&path).unwrap().execute_batch(&sql).unwrap();
    let project = Project::open(&path).unwrap();
    let records = project.records();
    // As the file that was read into version 2 had them.
    let mut seen: Vec<_> = records
        .results
        .values()
        .map(|result| {
            let code = records.samples[&result.sample].code.as_str();
            (
                code,
                result.active.as_str(),
                result.reduction.unwrap_or(f64::NAN),
                result.standard,
                result.lab_rating.map(awn_core::model::Rating::label),
            )
        })
        .collect();
    seen.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)));
    assert_eq!(
        seen,
        [
            ("SB-1", "cycloxydim", 88.0, Some(92.0), Some("S")),
            ("SB-1", "mesosulfuron+iodosulfuron", 41.5, Some(93.0), Some("RR")),
            ("SB-2", "pendimethalin", 60.0, Some(90.0), Some("R?")),
        ]
    );
    assert!(folder.path().join("farm.v2.gpkg").exists(), "the file as it was is kept");
    let seen = awn_tests::reference::run("geopackage", &json!({ "path": path }));
    assert_eq!(seen["errors"], json!([]), "the GeoPackage validator of PyPI gdal-utils");
    assert_eq!(seen["layers"]["results"]["columns"]["hrac_legacy"], json!(["B", "A", "K1"]));
    drop(project);
    // The history of version 2 can still be undone and done again.
    let mut project = Project::open(&path).unwrap();
    while project.undo().unwrap().is_some() {}
    assert!(project.records().results.is_empty());
    while project.redo().unwrap().is_some() {}
    assert_eq!(project.records().results.len(), 3);
}

#[test]
fn crops_and_sprays_of_an_older_file_are_kept() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("farm.gpkg");
    let sql = std::fs::read_to_string(awn_tests::project_path("tests/data/version-2.sql")).unwrap();
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.execute_batch(&sql).unwrap();
    let field: String = raw.query_row("SELECT id FROM fields", [], |row| row.get(0)).unwrap();
    let (crop, spray) = (CropId::new().to_string(), SprayId::new().to_string());
    raw.execute("INSERT INTO crops (id, field, year, crop) VALUES (?1, ?2, 2025, 'winter wheat')", [&crop, &field]).unwrap();
    raw.execute(
        "INSERT INTO sprays (id, field, year, active, hrac_group, effect) VALUES (?1, ?2, 2025, 'pinoxaden', '1', 'poor')",
        [&spray, &field],
    )
    .unwrap();
    drop(raw);
    let project = Project::open(&path).unwrap();
    let records = project.records();
    let (crop, spray) = (records.crops.values().next().unwrap(), records.sprays.values().next().unwrap());
    assert_eq!((crop.crop.as_str(), crop.cultivation.as_str(), crop.drilled), ("winter wheat", "", None));
    assert_eq!((spray.effect.as_str(), spray.growth_stage.as_str(), spray.cost_per_ha), ("poor", "", None));
    let seen = awn_tests::reference::run("geopackage", &json!({ "path": path }));
    assert_eq!(seen["errors"], json!([]), "the GeoPackage validator of PyPI gdal-utils");
}
