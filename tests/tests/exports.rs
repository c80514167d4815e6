//! Exports, read back by gpxpy and pyogrio.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use awn_core::exchange::{Format, What, export};
use awn_core::model::{Figures, Method, Plan, PlanId, PlanSettings, Record, Stop, Walk};
use awn_core::project::Edit;
use awn_tests::reference;
use geo::Coord;
use serde_json::json;
use support::{Folder, project};

fn plan(field: awn_core::model::FieldId) -> Plan {
    let at = |x: f64, y: f64| Coord { x: -0.4 + x, y: 52.5 + y };
    let stop =
        |position, share| Stop { position, share, tramline: Some(2), pinned: false, person: 1, unit: 1, inclusion: None };
    let figures = Figures {
        balance: 0.1,
        weighted_distance_m: 10.0,
        distance_95_m: 20.0,
        tramlines: 1,
        extent_m: 100.0,
        gate_distance_m: None,
        population_within_25_m: 0.5,
        population_in_sampled_patches: None,
        population_reached: 1.0,
        detection: 0.9,
        n_eff: 30.0,
    };
    Plan {
        id: PlanId::new(),
        field,
        year: 2026,
        method: Method::EvenCover,
        settings: PlanSettings::default(),
        stops: vec![stop(at(0.001, 0.001), 0.25), stop(at(0.002, 0.0015), 0.75)],
        gate: Some(at(0.0, 0.0)),
        walk: Walk {
            line: vec![at(0.0, 0.0), at(0.001, 0.001), at(0.002, 0.0015), at(0.0, 0.0)].into(),
            length_m: 512.0,
            minutes: 18.5,
            exact: true,
        },
        patches: vec![],
        figures,
        gate_figures: None,
        second_walk: None,
        advice: String::new(),
        patches_hold: None,
        estimate: None,
        set_aside: false,
        notes: vec![],
    }
}

#[test]
fn stops_and_walks_read_back_by_other_programs() {
    let mut project = project();
    let fields = project.records().fields_named("Hill Farm/Long Acre", None);
    let guarded = project.records().fields_named("=Mill, lower", None);
    let mut edit = Edit::new(project.records(), "plans");
    edit.put(Record::Plan(plan(fields[0].id)));
    edit.put(Record::Plan(plan(guarded[0].id)));
    let command = edit.done();
    project.apply(command).unwrap();
    let records = project.records();
    let folder = Folder::new();

    let gpx = export(records, 2026, What::Stops, Format::Gpx).unwrap();
    let geojson = folder.write("stops.geojson", export(records, 2026, What::Stops, Format::GeoJson).unwrap());
    let peer = reference::run("exports", &json!({ "gpx": String::from_utf8(gpx.clone()).unwrap(), "geojson": geojson }));
    assert_eq!(peer["version"], "1.1");
    let names: Vec<_> = peer["waypoints"].as_array().unwrap().iter().map(|waypoint| waypoint[0].as_str().unwrap()).collect();
    assert_eq!(names, ["=Mill, lower 1", "=Mill, lower 2", "Long Acre 1", "Long Acre 2"]);
    assert_eq!(peer["waypoints"][2], json!(["Long Acre 1", -0.399, 52.501]));
    assert_eq!(peer["columns"]["name"], json!(names));
    assert_eq!(peer["columns"]["share"], json!(["0.25", "0.75", "0.25", "0.75"]));
    assert_eq!(peer["crs"], "EPSG:4326");
    assert_eq!(gpx, export(records, 2026, What::Stops, Format::Gpx).unwrap());

    let gpx = export(records, 2026, What::Walks, Format::Gpx).unwrap();
    let geojson = folder.write("walks.geojson", export(records, 2026, What::Walks, Format::GeoJson).unwrap());
    let peer = reference::run("exports", &json!({ "gpx": String::from_utf8(gpx).unwrap(), "geojson": geojson }));
    assert_eq!(peer["tracks"][1][0], "Long Acre");
    assert_eq!(peer["tracks"][1][1].as_array().unwrap().len(), 4);
    assert_eq!(peer["types"], json!(["LineString", "LineString"]));

    let csv = String::from_utf8(export(records, 2026, What::Stops, Format::Csv).unwrap()).unwrap();
    assert_eq!(csv.lines().nth(1), Some("Dale Farm,\"'=Mill, lower\",2026,1,-0.3990000,52.5010000,0.2500,2"));
    assert!(export(records, 2030, What::Stops, Format::Csv).unwrap().split(|byte| *byte == b'\n').count() == 2);
    for (what, format) in [(What::Walks, Format::Csv), (What::Fields, Format::Gpx), (What::Results, Format::Gpx)] {
        assert!(export(records, 2026, what, format).unwrap_err().contains("export them as"));
    }
}

#[test]
fn fields_read_back_with_their_areas() {
    let project = project();
    let folder = Folder::new();
    let file = folder.write("fields.geojson", export(project.records(), 2026, What::Fields, Format::GeoJson).unwrap());
    let peer = reference::run("exports", &json!({ "geojson": file }));
    assert_eq!(peer["columns"]["farm"], json!(["Dale Farm", "Dale Farm", "Hill Farm", "Hill Farm"]));
    assert_eq!(peer["columns"]["name"], json!(["=Mill, lower", "Long Acre", "Long Acre", "Pit Close"]));
    assert_eq!(peer["types"], json!(vec!["MultiPolygon"; 4]));
    let areas = reference::run("layer", &json!({ "path": file, "column": "area_ha" }));
    for (area, printed) in areas["area_ha"].as_array().unwrap().iter().zip(areas["values"].as_array().unwrap()) {
        let printed: f64 = printed.as_str().unwrap().parse().unwrap();
        assert!((area.as_f64().unwrap() - printed).abs() <= 0.000_051);
    }
}

/// Fields, stops and walks as shapefile, GeoPackage and KML, read back by GDAL: same shapes within 1 mm (1e-8 degrees are
/// 1.1 mm), same attributes; the GeoPackage passes GDAL's validator.
#[test]
fn layers_read_back_by_gdal() {
    let mut project = project();
    let field = project.records().fields_named("Hill Farm/Long Acre", None)[0].clone();
    let mut edit = Edit::new(project.records(), "plans");
    edit.put(Record::Plan(plan(field.id)));
    let mut holed = (*field).clone();
    let ring = holed.boundary.0[0].exterior().clone();
    let middle = ring.0[0] + (ring.0[2] - ring.0[0]) * 0.5;
    let hole = vec![middle, middle + Coord { x: 2e-4, y: 0.0 }, middle + Coord { x: 2e-4, y: 2e-4 }, middle];
    holed.boundary.0[0].interiors_push(geo::LineString(hole));
    holed.name = "Højager & “Long” <Acre>".into();
    edit.put(Record::Field(holed));
    let command = edit.done();
    project.apply(command).unwrap();
    let records = project.records();
    let folder = Folder::new();
    for what in [What::Fields, What::Stops, What::Walks] {
        let wanted = folder.write("wanted.geojson", export(records, 2026, what, Format::GeoJson).unwrap());
        let wanted = reference::run("features", &json!({ "path": wanted }))[0].clone();
        for (format, name) in [(Format::Shapefile, "out.shp"), (Format::GeoPackage, "out.gpkg"), (Format::Kml, "out.kml")] {
            for file in awn_core::exchange::export_files(records, 2026, what, format).unwrap() {
                let path = folder.path(name);
                let path = file.ending.map_or_else(|| path.clone(), |ending| path.with_extension(ending));
                std::fs::write(path, file.bytes).unwrap();
            }
            let found = reference::run("features", &json!({ "path": folder.path(name) }))[0].clone();
            let place = format!("{what:?} {name}");
            assert_eq!((&found["count"], &found["crs"]), (&wanted["count"], &wanted["crs"]), "{place}");
            for key in ["area", "length"] {
                let (ours, theirs) = (found[key].as_f64().unwrap(), wanted[key].as_f64().unwrap());
                assert!((ours - theirs).abs() < 1e-8, "{place}, {key}: {ours} and {theirs}");
            }
            let names = |layer: &serde_json::Value| {
                layer["columns"].get("name").or(layer["columns"].get("Name")).cloned().unwrap_or_default()
            };
            assert_eq!(names(&found), names(&wanted), "{place}");
            let column = if what == What::Fields { "area_ha" } else { "year" };
            if format != Format::Kml {
                let numbers = |layer: &serde_json::Value| -> Vec<f64> {
                    let list = layer["columns"][column].as_array().unwrap();
                    list.iter().map(|value| value.as_str().unwrap().parse().unwrap()).collect()
                };
                assert_eq!(numbers(&found), numbers(&wanted), "{place}");
            }
            if format == Format::GeoPackage {
                let checked = reference::run("geopackage", &json!({ "path": folder.path(name) }));
                assert_eq!(checked["errors"], json!([]), "{place}");
            }
        }
    }
    assert!(export(records, 2026, What::Results, Format::Kml).unwrap_err().contains("CSV"));
}
