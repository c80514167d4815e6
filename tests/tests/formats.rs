//! Foreign files beside GDAL (through pyogrio): the same rows, areas and attributes, or a refusal that says why.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::path::{Path, PathBuf};

use awn_core::crs::{Converter, Crs};
use awn_core::exchange::FileOptions;
use awn_core::formats::{self, Shapes, Table};
use awn_core::geometry::geodesic_area_m2;
use awn_core::problem::Problems;
use awn_tests::reference;
use geo::{Coord, Geometry, MultiPolygon};
use serde_json::json;
use support::{Folder, boundaries};

fn read(file: &Path, layer: Option<&str>) -> (Option<Table>, Problems) {
    let mut problems = Problems::new();
    let table = formats::read(file, layer, &mut problems);
    (table, problems)
}

/// Area in the plane of the file's own numbers.
fn area(table: &Table) -> f64 {
    table.rows.iter().filter_map(formats::Row::geometry).map(|shape| geo::Area::unsigned_area(&*shape)).sum()
}

fn texts(table: &Table, column: &str) -> Vec<String> {
    let column = table.column(&[column]).unwrap_or_else(|| panic!("{:?}", table.columns));
    table.rows.iter().map(|row| table.cell(row, column).written()).collect()
}

/// Area on the ellipsoid, m2.
fn hectares(table: &Table) -> f64 {
    let converter = Converter::new(table.crs.as_ref().unwrap()).unwrap();
    let shapes = table.rows.iter().filter_map(formats::Row::geometry);
    let areas = shapes.map(|shape| match converter.geometry(&shape).unwrap() {
        Geometry::Polygon(polygon) => geodesic_area_m2(&MultiPolygon(vec![polygon])),
        Geometry::MultiPolygon(shape) => geodesic_area_m2(&shape),
        Geometry::GeometryCollection(parts) => parts
            .into_iter()
            .map(|part| match part {
                Geometry::Polygon(polygon) => geodesic_area_m2(&MultiPolygon(vec![polygon])),
                _ => 0.0,
            })
            .sum(),
        _ => 0.0,
    });
    areas.sum::<f64>() / 1e4
}

/// The same three areas in every format that GDAL writes: 6 ha less a hole of 0.16 ha, 1.8 ha in two parts, and one of
/// 3.52 ha, at 56.1 N 10.0 E; the areas of all files agree with one another whatever their system and order of axes.
#[test]
fn files_of_gdal_in_every_format() {
    let folder = Folder::new();
    let place = folder.path("");
    let files = reference::run("write_files", &json!({ "folder": place }));
    let files: Vec<&str> = files.as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect();
    assert!(files.len() >= 17, "{files:?}");
    for file in files {
        let path = folder.path(file);
        let (table, problems) = read(&path, None);
        let table = table.unwrap_or_else(|| panic!("{file}: {problems:?}"));
        let peer = reference::run("features", &json!({ "path": path }));
        let layers = peer.as_array().unwrap_or_else(|| panic!("{file}: {peer}"));
        let same = layers.iter().find(|layer| layer["area"].as_f64().unwrap() > 0.0).unwrap();
        assert_eq!(table.rows.len() as u64, same["count"].as_u64().unwrap(), "{file}");
        let wanted = same["area"].as_f64().unwrap();
        assert!((area(&table) / wanted - 1.0).abs() < 1e-6, "{file}: {} and {wanted}", area(&table));
        // On the ellipsoid the area is that of the plane of EPSG:25832 within its scale there, 0.9996 squared.
        let ha = hectares(&table);
        assert!((ha / 11.075 - 1.0).abs() < 0.01, "{file}: {ha} ha");
        let mut pairs: Vec<_> = texts(&table, "name").into_iter().zip(texts(&table, "value")).collect();
        // With a spatial index the rows stand in its order.
        if file == "index.fgb" {
            pairs.sort();
        }
        let wanted = [("Højager", "1.5"), ("Nørremark & co", "-2"), ("Sønder <kær>", "3.25")];
        assert_eq!(pairs, wanted.map(|(name, value)| (name.to_owned(), value.to_owned())), "{file}");
    }
}

#[test]
fn a_layer_is_chosen_by_what_is_wanted() {
    let folder = Folder::new();
    reference::run("write_files", &json!({ "folder": folder.path("") }));
    let file = folder.path("layers.gpkg");
    assert_eq!(formats::layers(&file), ["gates", "fields"]);
    for (shapes, areas) in [(Shapes::Areas, true), (Shapes::Points, false)] {
        let mut problems = Problems::new();
        let table = formats::read_for(&file, None, shapes, &mut problems).unwrap();
        assert_eq!(area(&table) > 0.0, areas);
        assert!(problems.list[0].what.contains("gates, fields"), "{problems:?}");
    }
    assert!(area(&read(&file, Some("FIELDS")).0.unwrap()) > 0.0);
    let (none, problems) = read(&file, Some("hedges"));
    assert!(none.is_none() && problems.list[0].hint.contains("gates, fields"), "{problems:?}");
}

/// Files that came with other people's libraries, where they lie beside the libraries that the tests use.
fn foreign_files() -> Vec<PathBuf> {
    let home = std::env::var_os("CARGO_HOME")
        .map_or_else(|| PathBuf::from(std::env::var_os("HOME").expect("a home folder")).join(".cargo"), PathBuf::from);
    let mut folders = Vec::new();
    for registry in std::fs::read_dir(home.join("registry/src")).expect("the sources of the crates").flatten() {
        for inside in ["geozero-0.15.1/tests/data", "gpx-0.10.0/tests/fixtures", "geojson-1.0.0/tests/fixtures"] {
            folders.push(registry.path().join(inside));
        }
    }
    let python = PathBuf::from(std::env::var_os("AWN_REFERENCE_PYTHON").expect("AWN_REFERENCE_PYTHON"));
    let lib = python.parent().and_then(Path::parent).unwrap().join("lib");
    for version in std::fs::read_dir(lib).unwrap().flatten() {
        folders.push(version.path().join("site-packages/pyogrio/tests/fixtures"));
    }
    let mut files = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let ending = path.extension().map(|end| end.to_string_lossy().to_lowercase()).unwrap_or_default();
            if ["shp", "gpkg", "geojson", "gpx", "kml", "kmz", "fgb", "gml", "zip"].contains(&ending.as_str()) {
                files.push(path);
            }
        }
    }
    files.sort();
    files
}

/// Every such file has as many rows and as much area as GDAL finds in one of its layers, or GDAL refuses it, or it is refused
/// with a reason and a remedy. Curved edges are drawn finer here than by GDAL, hence the wider bound for them.
#[test]
fn files_of_other_libraries() {
    let files = foreign_files();
    assert!(files.len() > 40, "only {} files were found", files.len());
    let (mut same, mut refused_by_both) = (0, 0);
    for file in &files {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        let (table, problems) = read(file, None);
        let peer = reference::run("features", &json!({ "path": file }));
        match (table, peer.as_array()) {
            (Some(table), Some(layers)) => {
                let curved = name.starts_with("curve") || name.starts_with("multisurface");
                let bound = if curved { 2e-3 } else { 1e-6 };
                let fits = |layer: &serde_json::Value| {
                    let wanted = layer["area"].as_f64().unwrap();
                    let close = (area(&table) - wanted).abs() <= bound * wanted.abs().max(1e-9);
                    layer["count"].as_u64() == Some(table.rows.len() as u64) && close
                };
                assert!(layers.iter().any(fits), "{name}: {} rows, {}; GDAL {peer}", table.rows.len(), area(&table));
                same += 1;
            }
            (None, Some(layers)) => {
                // Only a file without a single feature.
                assert!(layers.iter().all(|layer| layer["count"].as_u64() == Some(0)), "{name}: {problems:?}");
                assert!(problems.errors().next().is_some_and(|error| !error.hint.is_empty()), "{name}");
            }
            (table, None) => {
                assert!(table.is_some() || problems.has_errors(), "{name}");
                refused_by_both += usize::from(table.is_none());
            }
        }
    }
    println!("{} files: {same} as GDAL reads them, {refused_by_both} refused by both", files.len());
    assert!(same > 35, "{same}");
}

/// A land register's kind of GML: axis order by the name of the system, arcs, several members, an empty one.
#[test]
fn gml_by_hand() {
    let folder = Folder::new();
    let parcel = |srs: &str, list: &str| {
        format!(
            r#"<?xml version="1.0" encoding="ISO-8859-1"?><wfs:FeatureCollection xmlns:wfs="w" xmlns:gml="http://www.opengis.net/gml/3.2" xmlns:cp="c">
            <wfs:member><cp:Parcel gml:id="P1"><cp:label>12/3</cp:label><cp:owner><cp:code>007</cp:code></cp:owner>
            <cp:reference><gml:Point srsName="{srs}"><gml:pos>0 0</gml:pos></gml:Point></cp:reference>
            <cp:geometry><gml:MultiSurface srsName="{srs}"><gml:surfaceMember><gml:Surface><gml:patches><gml:PolygonPatch>
            <gml:exterior><gml:LinearRing><gml:posList>{list}</gml:posList></gml:LinearRing></gml:exterior>
            </gml:PolygonPatch></gml:patches></gml:Surface></gml:surfaceMember></gml:MultiSurface></cp:geometry></cp:Parcel></wfs:member>
            <wfs:member><cp:Parcel gml:id="P2"><cp:label/></cp:Parcel></wfs:member></wfs:FeatureCollection>"#
        )
    };
    let lat_lon = "52.5 -0.4 52.5 -0.39 52.51 -0.39 52.51 -0.4 52.5 -0.4";
    let lon_lat = "-0.4 52.5 -0.39 52.5 -0.39 52.51 -0.4 52.51 -0.4 52.5";
    for (srs, list) in [
        ("urn:ogc:def:crs:EPSG::4326", lat_lon),
        ("http://www.opengis.net/def/crs/EPSG/0/4326", lat_lon),
        ("EPSG:4326", lon_lat),
        ("http://www.opengis.net/gml/srs/epsg.xml#4326", lon_lat),
        ("urn:ogc:def:crs:OGC:1.3:CRS84", lon_lat),
    ] {
        let (table, problems) = read(&folder.write("parcels.gml", parcel(srs, list)), None);
        let table = table.unwrap_or_else(|| panic!("{srs}: {problems:?}"));
        assert_eq!((table.rows.len(), texts(&table, "label")[0].as_str()), (2, "12/3"), "{srs}");
        assert_eq!(texts(&table, "code")[0], "007");
        let Geometry::Polygon(polygon) = table.rows.get(0).unwrap().geometry().unwrap().into_owned() else {
            panic!("{srs}: {table:?}")
        };
        assert_eq!(polygon.exterior().0[0], Coord { x: -0.4, y: 52.5 }, "{srs}");
        assert!(table.rows.get(1).unwrap().geometry().is_none());
    }
    let german = parcel("urn:adv:crs:ETRS89_UTM32", "500000 5500000 500100 5500000 500100 5500100 500000 5500000");
    assert_eq!(read(&folder.write("alkis.xml", german), None).0.unwrap().crs, Some(Crs::Epsg(25832)));
    // A half circle of radius 50 on a line: pi 50^2 / 2 = 3927.0 m2.
    let arc = r#"<a:FeatureCollection xmlns:a="w" xmlns:gml="g"><gml:featureMember><a:F><a:g><gml:Polygon srsName="EPSG:25832"><gml:exterior><gml:Ring>
        <gml:curveMember><gml:Curve><gml:segments><gml:Arc><gml:posList>500100 5500000 500050 5500050 500000 5500000</gml:posList></gml:Arc>
        <gml:LineStringSegment><gml:posList>500000 5500000 500100 5500000</gml:posList></gml:LineStringSegment></gml:segments></gml:Curve>
        </gml:curveMember></gml:Ring></gml:exterior></gml:Polygon></a:g></a:F></gml:featureMember></a:FeatureCollection>"#;
    let half = area(&read(&folder.write("arc.gml", arc), None).0.unwrap());
    assert!((half / 3926.99 - 1.0).abs() < 1e-4, "{half}");
    let spline = arc.replace("gml:Arc>", "gml:CubicSpline>");
    let (table, problems) = read(&folder.write("spline.gml", spline), None);
    assert!(
        table.unwrap().rows.get(0).unwrap().geometry().is_none() && problems.list[0].what.contains("CubicSpline"),
        "{problems:?}"
    );
}

/// Partfields, guidance lines, field access and obstacles of ISO 11783-10, with a part in a file of its own.
#[test]
fn task_data() {
    let folder = Folder::new();
    let ring = |kind: &str, corners: &[(f64, f64)]| {
        let points: String = corners.iter().map(|(lat, lon)| format!(r#"<PNT A="10" C="{lat}" D="{lon}"/>"#)).collect();
        format!(r#"<LSG A="{kind}">{points}</LSG>"#)
    };
    let outer = ring("1", &[(52.5, -0.4), (52.5, -0.39), (52.51, -0.39), (52.51, -0.4)]);
    let hole = ring("2", &[(52.502, -0.398), (52.502, -0.396), (52.504, -0.396), (52.504, -0.398)]);
    let pond = ring("1", &[(52.506, -0.396), (52.506, -0.395), (52.507, -0.395), (52.507, -0.396)]);
    let line = r#"<LSG A="5" C="36000"><PNT A="6" C="52.5" D="-0.395"/><PNT A="7" C="52.51" D="-0.395"/></LSG>"#;
    let part = format!(
        r#"<XFC><PFD A="PFD1" B="F7" C="Long Acre" D="750000" F="FRM1"><PLN A="1">{outer}{hole}</PLN><PLN A="6">{pond}</PLN>
        <GGP A="GGP1"><GPN A="GPN1" B="main" C="1">{line}</GPN></GGP><PNT A="3" B="road gate" C="52.5" D="-0.4"/></PFD></XFC>"#
    );
    folder.write("PFD00001.XML", part);
    let main = r#"<?xml version="1.0" encoding="UTF-8"?><ISO11783_TaskData VersionMajor="4"><FRM A="FRM1" B="Hill Farm"/><XFR A="PFD00001" B="1"/></ISO11783_TaskData>"#;
    let file = folder.write("TASKDATA.XML", main);
    assert_eq!(formats::layers(&file), ["partfields", "guidance lines", "field access", "areas not to be entered"]);
    let (import, problems) =
        boundaries(&awn_core::model::Records::default(), &file, &awn_core::exchange::BoundaryOptions::default());
    let mut project = awn_core::project::Project::in_memory();
    project.apply(import.unwrap_or_else(|_| panic!("{problems:?}")).command).unwrap();
    let records = project.records().clone();
    let field = records.fields.values().next().unwrap();
    assert_eq!(
        (field.name.as_str(), records.farm_name(field), field.boundary.0[0].interiors().len()),
        ("Long Acre", "Hill Farm", 1)
    );
    let quiet = awn_core::progress::Quiet;
    let mut problems = Problems::new();
    let gates = awn_core::exchange::gates(&records, &file, &FileOptions::default(), &mut problems, &quiet).unwrap();
    project.apply(gates.command).unwrap();
    let no_go = awn_core::exchange::no_go(&records, &file, &FileOptions::default(), &mut problems, &quiet).unwrap();
    project.apply(no_go.command).unwrap();
    let lines = awn_core::exchange::tramlines(
        &records,
        &file,
        &awn_core::exchange::TramlineOptions::default(),
        &mut problems,
        &quiet,
    )
    .unwrap();
    project.apply(lines.command).unwrap();
    let records = project.records();
    assert_eq!(records.gates.values().next().unwrap().name, "road gate");
    assert_eq!(records.no_go.values().next().unwrap().reason, "obstacle");
    // The line from A to B stands for all: 36 m apart, due north, through A.
    let set = records.tramlines.values().next().unwrap();
    assert!(set.lines.is_empty() && set.spacing_m == 36.0 && set.bearing_deg.min(180.0 - set.bearing_deg) < 0.01, "{set:?}");
    std::fs::remove_file(folder.path("PFD00001.XML")).unwrap();
    let (none, problems) = read(&file, None);
    assert!(none.is_none() && problems.list[0].what.contains("PFD00001"), "{problems:?}");
}

fn zipped(entries: &[(&str, &[u8])]) -> Vec<u8> {
    use std::io::Write as _;
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in entries {
        writer.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

#[test]
fn archives_and_their_dangers() {
    let folder = Folder::new();
    let map = support::farm_map(&[("Hill Farm", "Long Acre", 0.0, 0.0)]);
    let point = r#"{"type":"Point","coordinates":[-0.4,52.5]}"#;
    let nested = zipped(&[
        ("a/gates.geojson", point.as_bytes()),
        ("b/fields.geojson", map.as_bytes()),
        ("readme.pdf", b"x"),
        ("__MACOSX/b/._fields.geojson", b"x"),
    ]);
    let file = folder.write("all.zip", &nested);
    assert_eq!(formats::layers(&file), ["a/gates.geojson", "b/fields.geojson"]);
    let mut problems = Problems::new();
    let table = formats::read_for(&file, None, Shapes::Areas, &mut problems).unwrap();
    assert_eq!(table.name, "all.zip/fields.geojson");
    assert!(read(&file, Some("gates")).0.is_some_and(|table| area(&table) == 0.0));
    // One archive within another, as portals send them.
    let twice = read(&folder.write("twice.zip", zipped(&[("deliver/inner.zip", &nested)])), Some("fields")).0;
    assert!(twice.is_some_and(|table| area(&table) > 0.0 && table.name == "twice.zip/fields.geojson"));
    for (name, bytes, word) in [
        ("up.zip", zipped(&[("../../evil.geojson", map.as_bytes())]), "outside"),
        ("thrice.zip", zipped(&[("b.zip", &zipped(&[("inner.zip", &nested)]))]), "within an archive within"),
        ("inner_bomb.zip", zipped(&[("b.zip", &zipped(&[("a.geojson", &vec![b' '; 200 << 20])]))]), "more comes out"),
        ("none.zip", zipped(&[]), "no file"),
        ("bomb.zip", zipped(&[("a.geojson", &vec![b' '; 200 << 20])]), "more comes out"),
        ("cut.zip", nested[..nested.len() / 2].to_vec(), "cannot be unpacked"),
        ("no.zip", b"no archive".to_vec(), "cannot be unpacked"),
    ] {
        let (table, problems) = read(&folder.write(name, bytes), None);
        let error = problems.errors().next().unwrap_or_else(|| panic!("{name}: {table:?}"));
        assert!(table.is_none() && error.what.contains(word) && !error.hint.is_empty(), "{name}: {error:?}");
    }
    let laughs =
        "<!DOCTYPE kml [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;\">]><kml><Placemark><name>&b;</name></Placemark></kml>";
    for name in ["laughs.kml", "laughs.gpx", "laughs.gml", "laughs.xml"] {
        let (table, problems) = read(&folder.write(name, laughs), None);
        assert!(table.is_none() && problems.list[0].what.contains("DOCTYPE"), "{name}: {problems:?}");
    }
}

/// The same place written in five ways in a CSV file: the corner of TG 51409 13177, which the Ordnance Survey's guide gives as
/// 52°39'27.2531"N 1°43'4.5177"E on its own datum, so about 1°42'57.8"E, 52°39'28.7"N on WGS 84 (by OSTN15).
#[test]
fn positions_as_people_write_them() {
    let folder = Folder::new();
    let options = awn_core::exchange::ScoutingOptions::new(
        "2026-06-14".parse().unwrap(),
        awn_core::model::SurveyKind::Points,
        awn_core::model::DensityUnit::HeadsPerM2,
    );
    let place = |text: &str, crs: Option<Crs>| {
        let file = folder.write("points.csv", text);
        let mut problems = Problems::new();
        let options =
            awn_core::exchange::ScoutingOptions { file: FileOptions { crs, ..FileOptions::default() }, ..options.clone() };
        let records = awn_core::model::Records::default();
        let import = awn_core::exchange::scouting(&records, &file, &options, &mut problems, &awn_core::progress::Quiet);
        let command = import.unwrap_or_else(|_| panic!("{text}: {problems:?}")).command;
        let mut records = records;
        command.apply_to(&mut records).unwrap();
        records.surveys.values().next().unwrap().points[0].position
    };
    let wanted = place("easting,northing,heads\n651409,313177,3\n", Some(Crs::Epsg(27700)));
    assert!((wanted.x - 1.716).abs() < 1e-3 && (wanted.y - 52.658).abs() < 1e-3, "{wanted:?}");
    let dms = |value: f64| {
        let minutes = value.fract() * 60.0;
        (value.trunc(), minutes.trunc(), minutes.fract() * 60.0)
    };
    let ((d, m, s), (e, n, t)) = (dms(wanted.y), dms(wanted.x));
    for text in [
        "grid ref,heads\nTG 51409 13177,3\n".to_owned(),
        format!("lat,lon,heads\n{},{},3\n", wanted.y, wanted.x),
        format!("latitude;longitude;heads\n{d}°{m}'{s:.6}\"N;{e}°{n}'{t:.6}\"E;3\n"),
        format!("lat,lon,heads\n{d} {:.8},{e} {:.8},3\n", m + s / 60.0, n + t / 60.0),
        format!("position;heads\n{:.9}, {:.9};3\n", wanted.y, wanted.x),
    ] {
        let found = place(&text, None);
        assert!((found.x - wanted.x).abs() < 2e-9 && (found.y - wanted.y).abs() < 2e-9, "{text}: {found:?}");
    }
    // A row that is none is named.
    let file = folder.write("bad.csv", "grid ref,heads\nTG 51409 13177,3\nsomewhere,4\n");
    let mut problems = Problems::new();
    let records = awn_core::model::Records::default();
    assert!(awn_core::exchange::scouting(&records, &file, &options, &mut problems, &awn_core::progress::Quiet).is_err());
    assert!(
        problems.errors().next().is_some_and(|error| error.place.ends_with("row 3") && error.what.contains("somewhere"))
    );
}

/// The examples of RFC 7946: section 1.5, 3.1.9 and appendix A, with the area in square degrees that follows from their corners.
#[test]
fn examples_of_rfc_7946() {
    let folder = Folder::new();
    let square = "[[100.0,0.0],[101.0,0.0],[101.0,1.0],[100.0,1.0],[100.0,0.0]]";
    let hole = "[[100.8,0.8],[100.8,0.2],[100.2,0.2],[100.2,0.8],[100.8,0.8]]";
    let geometry = |kind: &str, coordinates: &str| format!("{{\"type\":\"{kind}\",\"coordinates\":{coordinates}}}");
    let point = geometry("Point", "[100.0,0.0]");
    let line = geometry("LineString", "[[100.0,0.0],[101.0,1.0]]");
    let collection = format!(
        r#"{{"type":"FeatureCollection","features":[
        {{"type":"Feature","geometry":{},"properties":{{"prop0":"value0"}}}},
        {{"type":"Feature","geometry":{},"properties":{{"prop0":"value0","prop1":0.0}}}},
        {{"type":"Feature","geometry":{},"properties":{{"prop0":"value0","prop1":{{"this":"that"}}}}}}]}}"#,
        geometry("Point", "[102.0,0.5]"),
        geometry("LineString", "[[102.0,0.0],[103.0,1.0],[104.0,0.0],[105.0,1.0]]"),
        geometry("Polygon", &format!("[{square}]"))
    );
    for (what, text, rows, size) in [
        ("1.5", collection, 3, 1.0),
        (
            "3.1.9",
            geometry(
                "MultiPolygon",
                "[[[[180.0,40.0],[180.0,50.0],[170.0,50.0],[170.0,40.0],[180.0,40.0]]],[[[-170.0,40.0],[-170.0,50.0],[-180.0,50.0],[-180.0,40.0],[-170.0,40.0]]]]",
            ),
            1,
            200.0,
        ),
        ("A.1", point.clone(), 1, 0.0),
        ("A.2", line.clone(), 1, 0.0),
        ("A.3", geometry("Polygon", &format!("[{square}]")), 1, 1.0),
        ("A.3 with holes", geometry("Polygon", &format!("[{square},{hole}]")), 1, 0.64),
        ("A.4", geometry("MultiPoint", "[[100.0,0.0],[101.0,1.0]]"), 1, 0.0),
        ("A.5", geometry("MultiLineString", "[[[100.0,0.0],[101.0,1.0]],[[102.0,2.0],[103.0,3.0]]]"), 1, 0.0),
        (
            "A.6",
            geometry(
                "MultiPolygon",
                &format!("[[[[102.0,2.0],[103.0,2.0],[103.0,3.0],[102.0,3.0],[102.0,2.0]]],[{square},{hole}]]"),
            ),
            1,
            1.64,
        ),
        ("A.7", format!("{{\"type\":\"GeometryCollection\",\"geometries\":[{point},{line}]}}"), 1, 0.0),
    ] {
        let (table, problems) = read(&folder.write("example.geojson", text), None);
        let table = table.unwrap_or_else(|| panic!("{what}: {problems:?}"));
        assert!(problems.list.is_empty(), "{what}: {problems:?}");
        assert_eq!((table.rows.len(), table.crs.clone()), (rows, Some(Crs::Wgs84)), "{what}");
        assert!((area(&table) - size).abs() < 1e-9, "{what}: {}", area(&table));
    }
}

/// Shapes as well-known text in a column, as spreadsheets and databases write them.
#[test]
fn shapes_in_a_column_of_text() {
    let folder = Folder::new();
    let file = folder.write(
        "fields.csv",
        "Name;the_geom\nLong Acre;\"POLYGON ((560000 6220000, 560300 6220000, 560300 6220200, 560000 6220000))\"\n",
    );
    let (table, problems) = read(&file, None);
    let table = table.unwrap_or_else(|| panic!("{problems:?}"));
    assert_eq!((area(&table), table.crs.clone()), (30_000.0, None));
    // Nothing says in which system they are, so it is asked for.
    let (import, problems) =
        boundaries(&awn_core::model::Records::default(), &file, &awn_core::exchange::BoundaryOptions::default());
    assert!(import.is_err() && problems.errors().next().is_some_and(|error| error.hint.contains("--crs")), "{problems:?}");
    let options = awn_core::exchange::BoundaryOptions { crs: Some(Crs::Epsg(25832)), ..Default::default() };
    assert_eq!(boundaries(&awn_core::model::Records::default(), &file, &options).0.unwrap().added, 1);
}
