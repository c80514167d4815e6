//! Boundaries: real register files whole, names, repair, importing again, tramlines.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::time::Instant;

use awn_core::crs::LocalPlane;
use awn_core::exchange::{BoundaryColumns, BoundaryOptions};
use awn_core::model::Records;
use awn_core::project::{Command, Project};
use awn_tests::reference;
use serde_json::json;
use support::{Folder, boundaries, data, farm_map, project};

fn applied(command: &Command) -> Records {
    let mut records = Records::default();
    command.apply_to(&mut records).unwrap();
    records
}

/// Every file of tests/data/real-boundaries: counts and areas beside pyogrio and pyproj, and beside the register's own
/// area column within 0.3 %, allowing for its rounding: a whole unit of its last place, since at least the Danish and the
/// Brandenburg areas are cut off and not rounded.
#[test]
fn real_register_files_import_whole() {
    for (file, column, own_rounding_ha) in [
        ("nl_parcels_2023.gpkg", "", f64::NAN),
        ("dk_parcels_2026.shp", "IMK_areal", 0.01),
        ("de_bb_parcels.shp", "groesse", 0.000_1),
        ("de_sh_blocks_2026.gpkg", "Flaeche", 0.000_1),
        ("fi_parcels.gpkg", "PINTA_ALA", 0.01),
    ] {
        let path = data("real-boundaries").join(file);
        let started = Instant::now();
        let (import, problems) = boundaries(&Records::default(), &path, &BoundaryOptions::default());
        let took = started.elapsed();
        let import = import.unwrap_or_else(|error| panic!("{file}: {error}: {problems:#?}"));
        let peer = reference::run("layer", &json!({ "path": path, "column": column }));
        let count = peer["count"].as_u64().unwrap() as usize;
        assert_eq!((import.added, import.updated, import.skipped), (count, 0, 0), "{file}");

        let records = applied(&import.command);
        assert_eq!(records.fields.len(), count);
        let (mut worst_peer, mut worst_own, mut total) = (0f64, 0f64, 0f64);
        for (index, field) in records.fields.values().enumerate() {
            let ours = field.area_m2() / 1e4;
            total += ours;
            let theirs = peer["area_ha"][index].as_f64().unwrap();
            if peer["valid"][index].as_bool().unwrap() {
                worst_peer = worst_peer.max((ours / theirs - 1.0).abs());
            }
            if let Some(own) = peer["values"][index].as_str() {
                let own: f64 = own.parse().unwrap();
                let beyond = ((ours - own).abs() - own_rounding_ha).max(0.0);
                worst_own = worst_own.max(beyond / own);
                assert!(beyond <= 0.003 * own, "{file}, row {}: {ours} ha, register {own} ha", index + 1);
            }
        }
        println!(
            "{file}: {count} fields, {total:.2} ha, {took:?}; largest difference {worst_peer:.1e} from pyproj, {worst_own:.1e} from the register"
        );
        for line in &import.summary {
            println!("    {line}");
        }
        for problem in &problems.list {
            println!("    {problem}");
        }
        // pyproj may choose another method where a datum is changed (28992); a shift does not change an area.
        assert!(worst_peer < 1e-6, "{file}: {worst_peer}");
        assert!(!problems.has_errors());

        // Again: nothing doubles.
        let (again, _) = boundaries(&records, &path, &BoundaryOptions::default());
        let again = again.unwrap();
        assert_eq!((again.added, again.updated), (0, count), "{file} again");
        assert!(again.command.changes.is_empty(), "{file} again changed something");
    }
}

#[test]
fn farm_names_columns_and_importing_again() {
    let folder = Folder::new();
    let mut project = project();
    assert_eq!((project.records().farms.len(), project.records().fields.len()), (2, 4));
    let before: Vec<_> = project.records().fields.keys().copied().collect();
    // One field moved, one new, two of one name on one farm.
    let file = folder.write(
        "later.geojson",
        farm_map(&[
            ("hill farm", "long acre ", 20.0, 0.0),
            ("Hill Farm", "New", 900.0, 0.0),
            ("Hill Farm", "New", 1200.0, 0.0),
        ]),
    );
    let (import, problems) = boundaries(project.records(), &file, &BoundaryOptions::default());
    let import = import.unwrap();
    assert_eq!((import.added, import.updated, import.skipped), (2, 1, 0));
    assert_eq!(problems.list.len(), 1, "{problems:?}");
    assert!(problems.list[0].place.ends_with("row 3") && problems.list[0].what.contains("New (2)"), "{problems:?}");
    project.apply(import.command).unwrap();
    let names: Vec<_> = project.records().fields.values().map(|field| field.name.as_str()).collect();
    assert_eq!(names, ["Long Acre", "Pit Close", "Long Acre", "=Mill, lower", "New", "New (2)"]);
    assert!(before.iter().all(|id| project.records().fields.contains_key(id)));
    assert_eq!(project.records().farms.len(), 2);

    let options = BoundaryOptions {
        farm: Some("Top Farm".into()),
        columns: BoundaryColumns { name: Some("FARM".into()), ..BoundaryColumns::default() },
        ..BoundaryOptions::default()
    };
    let (import, _) = boundaries(&Records::default(), &file, &options);
    let records = applied(&import.unwrap().command);
    assert_eq!(records.farms.values().next().unwrap().name, "Top Farm");
    assert_eq!(records.fields.values().next().unwrap().name, "hill farm");

    let (refused, problems) = boundaries(
        &Records::default(),
        &file,
        &BoundaryOptions {
            columns: BoundaryColumns { name: Some("parish".into()), ..BoundaryColumns::default() },
            ..BoundaryOptions::default()
        },
    );
    assert!(refused.is_err() && problems.list[0].hint.contains("farm, name"), "{problems:?}");
}

/// The repaired area beside shapely's make_valid (GEOS), which fills by the same rule.
#[test]
fn broken_outlines_are_repaired_and_listed() {
    let bow = json!({ "type": "Polygon", "coordinates": [[[-0.40, 52.50], [-0.40, 52.51], [-0.39, 52.50], [-0.39, 52.51], [-0.40, 52.50]]] });
    let loops = json!({ "type": "Polygon", "coordinates": [[[0.0, 52.0], [0.01, 52.0], [0.01, 52.004], [0.004, 52.004],
        [0.004, 52.007], [0.007, 52.007], [0.007, 52.002], [0.012, 52.002], [0.012, 52.012], [0.0, 52.012], [0.0, 52.0]]] });
    let folder = Folder::new();
    let point = json!({ "type": "Point", "coordinates": [0.0, 52.0] });
    let open = json!({ "type": "Polygon", "coordinates": [[[0.1, 52.0], [0.11, 52.0], [0.11, 52.01], [0.1, 52.01]]] });
    let features: Vec<_> = [&bow, &loops, &point, &open]
        .iter()
        .map(|geometry| json!({ "type": "Feature", "properties": {}, "geometry": geometry }))
        .collect();
    let nothing = json!({ "type": "Feature", "properties": {}, "geometry": null });
    let features: Vec<_> = features.into_iter().chain([nothing]).collect();
    let file = folder.write("broken.geojson", json!({ "type": "FeatureCollection", "features": features }).to_string());
    let (import, problems) = boundaries(&Records::default(), &file, &BoundaryOptions::default());
    let import = import.unwrap();
    assert_eq!((import.added, import.skipped), (3, 2));
    let places: Vec<_> = problems.list.iter().map(|problem| problem.place.rsplit(' ').next().unwrap()).collect();
    // Unclosed rings are found on reading, the rest row by row.
    assert_eq!(places, ["4", "1", "2", "3", "5"], "{problems:#?}");
    assert!(problems.list[1].what.contains("ha before") && problems.list[1].what.contains("ha after"), "{problems:#?}");
    let records = applied(&import.command);
    let peer = reference::run("shapes", &json!({ "geojson": [bow, loops] }));
    for (index, field) in records.fields.values().take(2).enumerate() {
        let wanted = peer[index]["geodesic_m2"].as_f64().unwrap();
        let found = field.area_m2();
        assert!((found / wanted - 1.0).abs() < 1e-6, "{found} m2, shapely {wanted} m2");
    }
    let names: Vec<_> = records.fields.values().map(|field| field.name.as_str()).collect();
    assert_eq!(names, ["Field 1", "Field 2", "Field 3"]);
}

/// Inset areas of the test field: 135778.636 and 114941.201 m2 with mitred corners (GEOS 3.14 through shapely).
#[test]
fn buffers_beside_shapely() {
    use geo::{Area as _, Buffer as _};
    let rings = json!([
        [[0.0, 0.0], [420.0, 30.0], [450.0, 300.0], [300.0, 420.0], [20.0, 380.0], [0.0, 0.0]],
        [[200.0, 150.0], [200.0, 200.0], [240.0, 200.0], [240.0, 150.0], [200.0, 150.0]]
    ]);
    let shape = json!({ "type": "Polygon", "coordinates": rings });
    let peer = reference::run("shapes", &json!({ "geojson": [shape] }));
    let line = |ring: &serde_json::Value| -> geo::LineString<f64> {
        ring.as_array().unwrap().iter().map(|at| (at[0].as_f64().unwrap(), at[1].as_f64().unwrap())).collect()
    };
    let field = geo::Polygon::new(line(&rings[0]), vec![line(&rings[1])]);
    for (index, (distance, published)) in [(12.0, 135_778.636), (24.0, 114_941.201)].into_iter().enumerate() {
        let style = geo::buffer::BufferStyle::new(-distance).line_join(geo::buffer::LineJoin::Miter(0.1));
        let ours = field.buffer_with_style(style).unsigned_area();
        let wanted = peer[0]["mitre_inset"][index].as_f64().unwrap();
        assert!((wanted - published).abs() < 0.001 && (ours - wanted).abs() < 0.01, "{ours}, shapely {wanted}");
    }
}

#[test]
fn tramlines_are_made_with_the_spacing() {
    let folder = Folder::new();
    let file = folder.write("map.geojson", farm_map(&[("Hill Farm", "Long Acre", 0.0, 0.0)]));
    let options =
        BoundaryOptions { tramline_spacing_m: Some(24.0), tramline_bearing_deg: Some(0.0), ..BoundaryOptions::default() };
    let (import, _) = boundaries(&Records::default(), &file, &options);
    let records = applied(&import.unwrap().command);
    let field = records.fields.values().next().unwrap();
    let lines = records.tramlines_of(field.id).next().unwrap();
    assert_eq!((lines.bearing_deg, lines.spacing_m, lines.headland_m), (0.0, 24.0, 24.0));
    let plane = LocalPlane::around(awn_core::geometry::bounds(&field.boundary).unwrap()).unwrap();
    let x = plane.metres(lines.anchor).x.abs();
    // 200 m wide, so the first line runs 100 - 12 m from the middle.
    assert!((x - 88.0).abs() < 0.5, "{x}");
    // Given again they are replaced, not doubled.
    let (again, _) = boundaries(&records, &file, &BoundaryOptions { tramline_bearing_deg: Some(90.0), ..options.clone() });
    let mut project = Project::in_memory();
    project
        .apply(Command {
            name: String::new(),
            changes: records.iter().map(|record| awn_core::project::Change { before: None, after: Some(record) }).collect(),
        })
        .unwrap();
    project.apply(again.unwrap().command).unwrap();
    assert_eq!(project.records().tramlines.len(), 1);
    assert_eq!(project.records().tramlines.values().next().unwrap().bearing_deg, 90.0);
    for wrong in [
        BoundaryOptions { tramline_spacing_m: Some(-3.0), ..BoundaryOptions::default() },
        BoundaryOptions { tramline_bearing_deg: Some(10.0), ..BoundaryOptions::default() },
        BoundaryOptions {
            tramline_spacing_m: Some(24.0),
            tramline_bearing_deg: Some(f64::NAN),
            ..BoundaryOptions::default()
        },
    ] {
        assert!(boundaries(&Records::default(), &file, &wrong).0.is_err());
    }
}
