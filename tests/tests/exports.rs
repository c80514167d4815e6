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
        random_stops: None,
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
    // As a route: from the gate by every stop in order and back.
    let route = json!([
        "Long Acre",
        [
            ["Long Acre start", -0.4, 52.5],
            ["Long Acre 1", -0.399, 52.501],
            ["Long Acre 2", -0.398, 52.5015],
            ["Long Acre end", -0.4, 52.5]
        ]
    ]);
    assert_eq!(peer["routes"][1], route);

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
            // Corner by corner: 1 mm of latitude is 9e-9 degrees. All attributes that the GeoJSON has under the same name.
            let wanted_file = folder.path("wanted.geojson");
            let side = json!({ "wanted": wanted_file, "found": folder.path(name), "kml_schema": format == Format::Kml });
            let side = reference::run("same_layer", &side);
            assert!(side["apart"].as_f64().unwrap() < 9e-9 && side["corners"] == true, "{place}: {side}");
            assert_eq!(side["differ"], json!([]), "{place}");
            assert!(side["columns"].as_array().unwrap().len() >= 3, "{place}: {side}");
            if format == Format::Kml {
                assert_eq!(side["schema_errors"], json!([]), "{place}: the schema of KML 2.2 (OGC 07-147r2)");
            }
            if format == Format::GeoPackage {
                let checked = reference::run("geopackage", &json!({ "path": folder.path(name) }));
                assert_eq!(checked["errors"], json!([]), "{place}");
            }
        }
    }
    assert!(export(records, 2026, What::Results, Format::Kml).unwrap_err().contains("CSV"));
}

/// Fields with gates, no-go areas, tramlines and crops as task data, read again: nothing else here reads them, so this holds only that
/// both sides mean the same. Long names are cut and stay apart.
#[test]
fn task_data_read_again() {
    use awn_core::exchange::{self, BoundaryOptions, FileOptions, TramlineOptions};
    use awn_core::model::{Crop, CropId, Farm, Field, Gate, GateId, NoGo, NoGoId, Tramlines, TramlinesId};
    use awn_core::problem::Problems;
    use awn_core::progress::Quiet;
    use awn_core::project::Project;

    let mut project = project();
    let records = project.records();
    let field = records.fields_named("Hill Farm/Long Acre", None)[0].clone();
    let corner = field.boundary.0[0].exterior().0[0];
    let inside = |x: f64, y: f64| corner + Coord { x, y };
    let area = |x: f64| {
        let ring = vec![inside(x, 3e-4), inside(x + 2e-4, 3e-4), inside(x + 2e-4, 5e-4), inside(x, 3e-4)];
        geo::MultiPolygon(vec![geo::Polygon::new(ring.into(), vec![])])
    };
    let mut edit = Edit::new(records, "ground");
    let farm = records.farms[&field.farm].clone();
    edit.put(Record::Farm(Farm { business: "Hill & sons".into(), ..(*farm).clone() }));
    let mut holed = (*field).clone();
    holed.boundary.0[0].interiors_push(area(10e-4).0[0].exterior().clone());
    holed.boundary = geo::Orient::orient(&holed.boundary, geo::orient::Direction::Default);
    edit.put(Record::Field(holed.clone()));
    edit.put(Record::Gate(Gate { id: GateId::new(), field: field.id, name: "road \"gate\"".into(), position: corner }));
    edit.put(Record::NoGo(NoGo { id: NoGoId::new(), field: field.id, reason: "wet hole".into(), area: area(4e-4) }));
    edit.put(Record::Crop(Crop {
        id: CropId::new(),
        field: field.id,
        year: 2026,
        crop: "winter wheat".into(),
        drilled: None,
        cultivation: String::new(),
    }));
    let set = Tramlines {
        id: TramlinesId::new(),
        field: field.id,
        anchor: inside(8e-4, 8e-4),
        bearing_deg: 33.3,
        spacing_m: 24.0,
        headland_m: 24.0,
        area: None,
        lines: vec![],
    };
    edit.put(Record::Tramlines(set.clone()));
    let long = "The field behind the old mill by the brook";
    for (number, east) in [(1, 0.05), (2, 0.06)] {
        let moved = |at: Coord<f64>| at + Coord { x: east, y: 0.0 };
        let boundary = geo::MapCoords::map_coords(&field.boundary, moved);
        edit.put(Record::Field(Field::new(field.farm, format!("{long} {number}"), boundary)));
    }
    project.apply(edit.done()).unwrap();
    let folder = Folder::new();
    let bytes = export(project.records(), 2026, What::Fields, Format::TaskData).unwrap();
    let file = folder.write("TASKDATA.XML", &bytes);
    assert!(
        String::from_utf8(bytes).unwrap().starts_with("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<ISO11783_TaskData ")
    );

    let mut again = Project::in_memory();
    let mut problems = Problems::new();
    let options = BoundaryOptions { year: Some(2026), ..BoundaryOptions::default() };
    let import = exchange::boundaries(again.records(), &file, &options, &mut problems, &Quiet).unwrap();
    assert_eq!((import.added, import.repaired.len()), (6, 0), "{problems:?}");
    assert!(problems.is_clean(), "{problems:?}");
    again.apply(import.command).unwrap();
    let plain = FileOptions::default();
    let gates = exchange::gates(again.records(), &file, &plain, &mut problems, &Quiet).unwrap();
    again.apply(gates.command).unwrap();
    let no_go = exchange::no_go(again.records(), &file, &plain, &mut problems, &Quiet).unwrap();
    again.apply(no_go.command).unwrap();
    let lines = exchange::tramlines(again.records(), &file, &TramlineOptions::default(), &mut problems, &Quiet).unwrap();
    again.apply(lines.command).unwrap();

    let read = again.records();
    let names: Vec<_> =
        read.fields_in(2026).iter().map(|field| format!("{}/{}", read.farm_name(field), field.name)).collect();
    let cut: Vec<&String> = names.iter().filter(|name| name.contains("behind the old")).collect();
    assert!(cut.len() == 2 && cut[0] != cut[1], "{names:?}");
    let found = read.fields_named("Hill Farm/Long Acre", None)[0].clone();
    let near = |a: Coord<f64>, b: Coord<f64>| (a.x - b.x).abs() < 1e-9 && (a.y - b.y).abs() < 1e-9;
    let corners = |field: &Field| geo::CoordsIter::coords_iter(&field.boundary).collect::<Vec<_>>();
    assert_eq!(corners(&found).len(), corners(&holed).len());
    assert!(
        corners(&found).iter().zip(corners(&holed)).all(|(a, b)| near(*a, b)),
        "{:?}\n{:?}",
        corners(&found),
        corners(&holed)
    );
    assert_eq!(read.crops.values().next().map(|crop| (crop.crop.as_str(), crop.year)), Some(("winter wheat", 2026)));
    let gate = read.gates.values().next().unwrap();
    assert!(gate.name == "road \"gate\"" && near(gate.position, corner));
    assert_eq!(read.no_go.values().next().unwrap().reason, "wet hole");
    let lines = read.tramlines.values().next().unwrap();
    assert!(near(lines.anchor, set.anchor) && lines.spacing_m == 24.0 && lines.lines.is_empty());
    assert!((lines.bearing_deg - 33.3).abs() < 1e-3, "{}", lines.bearing_deg);
    assert!(export(read, 2026, What::Stops, Format::TaskData).unwrap_err().contains("GPX"));
}
