//! Damaged, incomplete and hostile files: a message with place and remedy, nothing changed, no panic.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::path::{Path, PathBuf};

use awn_core::crs::Crs;
use awn_core::exchange::{self, BoundaryOptions, FileOptions, ScoutingOptions};
use awn_core::formats;
use awn_core::model::{DensityUnit, Records, SurveyKind};
use awn_core::problem::Problems;
use awn_core::progress::{Progress, Quiet};
use awn_core::project::Project;
use rand::{RngExt as _, SeedableRng as _};
use support::{Folder, boundaries, data, error_at, farm_map};

const PARTS: [&str; 4] = ["shp", "shx", "dbf", "prj"];

/// Copies a shapefile, each part through `change`; none leaves the part out.
fn copied(folder: &Folder, change: impl Fn(&str, Vec<u8>) -> Option<Vec<u8>>) -> PathBuf {
    for part in PARTS {
        let bytes = std::fs::read(data("real-boundaries").join(format!("dk_parcels_2026.{part}"))).unwrap();
        if let Some(bytes) = change(part, bytes) {
            folder.write(&format!("copy.{part}"), bytes);
        }
    }
    folder.path("copy.shp")
}

/// Imports into a project on disk and holds that the refusal changed neither records nor file.
fn refused(file: &Path) -> Problems {
    let folder = Folder::new();
    let map = folder.write("map.geojson", farm_map(&[("Hill Farm", "Long Acre", 0.0, 0.0)]));
    let path = folder.path("farm.awn");
    let mut project = Project::create(&path).unwrap();
    let import = boundaries(project.records(), &map, &BoundaryOptions::default()).0.unwrap();
    project.apply(import.command).unwrap();
    let records = project.records().clone();
    let bytes = std::fs::read(&path).unwrap();
    let (import, problems) = boundaries(project.records(), file, &BoundaryOptions::default());
    assert!(import.is_err(), "{} was imported", file.display());
    let error = problems.errors().next().expect("a refusal says why");
    assert!(!error.place.is_empty() && !error.what.is_empty() && !error.hint.is_empty(), "{error:?}");
    assert_eq!(*project.records(), records);
    drop(project);
    assert!(std::fs::read(&path).unwrap() == bytes, "the project file changed");
    problems
}

#[test]
fn a_truncated_shapefile() {
    let folder = Folder::new();
    for keep in [10, 99, 100, 500, 40_000] {
        let file = copied(&folder, |part, bytes| Some(if part == "shp" { bytes[..keep].to_vec() } else { bytes }));
        let problems = refused(&file);
        assert!(error_at(&problems, "copy.shp").hint.contains("copy it again"), "{keep}: {problems:?}");
    }
    let file = copied(&folder, |part, bytes| Some(if part == "dbf" { bytes[..bytes.len() / 2].to_vec() } else { bytes }));
    assert!(error_at(&refused(&file), "copy.dbf").what.contains("rows"));
    std::fs::write(folder.path("copy.shp"), b"").unwrap();
    refused(&folder.path("copy.shp"));
}

/// A page in place of the file, letters that are not what they are said to be, zeros behind the end.
#[test]
fn pages_and_letters() {
    let folder = Folder::new();
    for name in ["a.geojson", "a.gml", "a.kml", "a.gpx", "a.csv"] {
        let page = folder.write(name, "<!DOCTYPE html>\n<html><body>Please sign in</body></html>");
        assert!(error_at(&refused(&page), name).what.contains("a web page"), "{name}");
    }
    assert!(error_at(&refused(&folder.write("list.geojson", "[{}]")), "list.geojson").what.contains("list"));
    let ring = "<coordinates>10,56 10.01,56 10.01,56.01 10,56.01 10,56</coordinates>";
    let mark = |encoding: &str| {
        format!(
            "<?xml version=\"1.0\" encoding=\"{encoding}\"?>\n<kml><Placemark><name>Højager</name><Polygon><outerBoundaryIs>\
             <LinearRing>{ring}</LinearRing></outerBoundaryIs></Polygon></Placemark></kml>\n"
        )
    };
    let latin: Vec<u8> = mark("ISO-8859-1").chars().map(|letter| letter as u8).collect();
    let wrong: Vec<u8> = mark("UTF-8").chars().map(|letter| letter as u8).collect();
    let wide: Vec<u8> = format!("\u{feff}{}", mark("UTF-16")).encode_utf16().flat_map(u16::to_le_bytes).collect();
    let widest: Vec<u8> = format!("\u{feff}{}", mark("UTF-32")).chars().flat_map(|c| (c as u32).to_be_bytes()).collect();
    for (what, bytes) in [
        ("as declared", latin),
        ("not as declared", wrong),
        ("UTF-16", wide),
        ("UTF-32", widest),
        ("UTF-8 that calls itself UTF-16", mark("UTF-16").into_bytes()),
        ("zeros behind the end", format!("{}\0\0\0", mark("utf-8")).into_bytes()),
    ] {
        let (import, problems) = boundaries(&Records::default(), &folder.write("a.kml", bytes), &BoundaryOptions::default());
        let mut records = Records::default();
        import.unwrap_or_else(|_| panic!("{what}: {problems:?}")).command.apply_to(&mut records).unwrap();
        assert_eq!(records.fields.values().next().unwrap().name, "Højager", "{what}");
    }
}

#[test]
fn missing_parts_of_a_shapefile() {
    let folder = Folder::new();
    let without = |missing: &'static str| {
        let folder = Folder::new();
        let file = copied(&folder, |part, bytes| (part != missing).then_some(bytes));
        (folder, file)
    };
    // Without attributes the shapes are still good; their fields are numbered.
    let (_dbf, file) = without("dbf");
    let (import, problems) = boundaries(&Records::default(), &file, &BoundaryOptions::default());
    assert_eq!(import.unwrap().added, 100);
    assert!(problems.list[0].what.contains(".dbf") && problems.list[0].hint.contains("Copy"), "{problems:?}");
    let (_prj, file) = without("prj");
    assert!(error_at(&refused(&file), "copy.shp").hint.contains("--crs"));
    let options = BoundaryOptions { crs: Some(Crs::Epsg(25832)), ..BoundaryOptions::default() };
    let given = boundaries(&Records::default(), &file, &options).0.unwrap();
    assert_eq!(given.added, 100);
    // The index file is not needed.
    let (_shx, file) = without("shx");
    assert_eq!(boundaries(&Records::default(), &file, &BoundaryOptions::default()).0.unwrap().added, 100);
    // The wrong system, an empty .prj, and no file at all.
    let wrong = BoundaryOptions { crs: Some(Crs::Wgs84), ..BoundaryOptions::default() };
    let (import, problems) = boundaries(&Records::default(), &file, &wrong);
    assert!(import.is_err() && problems.errors().count() == 51, "50 rows and a count: {}", problems.errors().count());
    let file = copied(&folder, |part, bytes| Some(if part == "prj" { vec![] } else { bytes }));
    assert!(error_at(&refused(&file), "copy.shp").hint.contains("--crs"));
    assert!(error_at(&refused(&folder.path("none.shp")), "none.shp").what.contains("no such file"));
}

#[test]
fn upper_case_names_and_rows_marked_as_deleted() {
    let folder = Folder::new();
    copied(&folder, |_, bytes| Some(bytes));
    for part in PARTS {
        std::fs::rename(folder.path(&format!("copy.{part}")), folder.path(&format!("COPY.{}", part.to_uppercase())))
            .unwrap();
    }
    let mut dbf = std::fs::read(folder.path("COPY.DBF")).unwrap();
    let (head, width) = (u16::from_le_bytes([dbf[8], dbf[9]]) as usize, u16::from_le_bytes([dbf[10], dbf[11]]) as usize);
    dbf[head + 2 * width] = b'*';
    std::fs::write(folder.path("COPY.DBF"), dbf).unwrap();
    let (import, problems) = boundaries(&Records::default(), &folder.path("COPY.SHP"), &BoundaryOptions::default());
    assert_eq!(import.unwrap_or_else(|_| panic!("{problems:?}")).added, 99);
}

#[test]
fn other_files_that_cannot_be_used() {
    let folder = Folder::new();
    for (name, content, what) in [
        ("a.geojson", "{\"type\": \"FeatureCollection\", \"features\": [", "cannot be read"),
        ("b.geojson", "{\"a\": 1}", "no GeoJSON"),
        ("c.json", "{\"type\": \"FeatureCollection\", \"features\": []}", "no row has an area"),
        ("d.gpkg", "not a database", "no GeoPackage"),
        ("e.gpkg", "SQLite format 3\0and then rubbish", "cannot be read"),
        ("f.kml", "<kml/>", "no row has an area"),
        ("f.dxf", "0\nSECTION", "this kind of file is not read"),
        ("g.xlsx", "PK", "no workbook"),
        ("h.csv", "name,lon,lat\na,1,2\n", "coordinate system"),
        ("i.geojson", "{\"type\":\"Polygon\",\"coordinates\":[[[0,52],[1],[1,53],[0,52]]]}", "fewer than two numbers"),
        (
            "j.geojson",
            "{\"type\":\"Polygon\",\"coordinates\":[[[500000,5500000],[500100,5500000],[500100,5500100],[500000,5500000]]]}",
            "outside",
        ),
        (
            "k.geojson",
            "{\"type\":\"Point\",\"coordinates\":[0,52],\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"my own\"}}}",
            "not known",
        ),
    ] {
        let problems = refused(&folder.write(name, content));
        assert!(error_at(&problems, name).what.contains(what), "{name}: {problems:?}");
    }
}

#[test]
fn an_import_stops_when_asked() {
    struct Stop;
    impl Progress for Stop {
        fn step(&self, _done: usize, _total: usize) {}
        fn cancelled(&self) -> bool {
            true
        }
    }
    let file = data("real-boundaries").join("fi_parcels.gpkg");
    let import = exchange::boundaries(&Records::default(), &file, &BoundaryOptions::default(), &mut Problems::new(), &Stop);
    assert!(matches!(import, Err(exchange::ImportError::Cancelled(_))));
}

/// Reads a file in every way there is; whatever is in it, nothing may panic.
fn read_every_way(file: &Path) {
    let records = Records::default();
    formats::read(file, None, &mut Problems::new());
    let options = BoundaryOptions { crs: Some(Crs::Epsg(25832)), ..BoundaryOptions::default() };
    boundaries(&records, file, &options).0.ok();
    let scouting = ScoutingOptions {
        file: FileOptions { crs: Some(Crs::Wgs84), ..FileOptions::default() },
        ..ScoutingOptions::new("2026-06-14".parse().unwrap(), SurveyKind::Zones, DensityUnit::HeadsPerM2)
    };
    for kind in [SurveyKind::Points, SurveyKind::Zones] {
        exchange::scouting(&records, file, &ScoutingOptions { kind, ..scouting.clone() }, &mut Problems::new(), &Quiet).ok();
    }
    exchange::results(&records, file, &[], &mut Problems::new(), &Quiet).ok();
}

/// Every kind of file cut off at many places and with bits turned over (seeded).
#[test]
fn damaged_files_never_panic() {
    let folder = Folder::new();
    let small: String = farm_map(&[("Hill Farm", "Long Acre", 0.0, 0.0), ("Hill Farm", "Pit Close", 300.0, 0.0)]);
    let csv =
        "sample,field,year,assay,active,reduction_percent,standard_percent,lon,lat\n\"a\",b,2025,pot,c,1,90,-0.4,52.5\n";
    let prj = std::fs::read(data("real-boundaries/dk_parcels_2026.prj")).unwrap();
    let gpkg = std::fs::read(data("real-boundaries/fi_parcels.gpkg")).unwrap();
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(11);
    let mut damage = |bytes: &[u8], round: usize| {
        let mut bytes = bytes.to_vec();
        if round.is_multiple_of(3) {
            bytes.truncate(random.random_range(0..bytes.len()));
        } else {
            // Headers first: that is where counts and lengths stand.
            let reach = if round.is_multiple_of(2) { bytes.len().min(300) } else { bytes.len() };
            for _ in 0..random.random_range(1..6) {
                let at = random.random_range(0..reach);
                bytes[at] ^= 1 << random.random_range(0..8);
            }
        }
        bytes
    };
    for round in 0..150 {
        read_every_way(&folder.write("a.geojson", damage(small.as_bytes(), round)));
        read_every_way(&folder.write("b.csv", damage(csv.as_bytes(), round)));
        if round < 40 {
            read_every_way(&folder.write("c.gpkg", damage(&gpkg, round)));
        }
        String::from_utf8_lossy(&damage(&prj, round)).parse::<Crs>().ok();
    }
    for round in 0..120 {
        let hit = PARTS[round % 3];
        let file = copied(&folder, |_, bytes| Some(bytes));
        let part = folder.path(&format!("copy.{hit}"));
        let bytes = damage(&std::fs::read(&part).unwrap(), round);
        std::fs::write(part, bytes).unwrap();
        read_every_way(&file);
    }
}

/// Hand-made extremes that random damage seldom finds.
#[test]
fn hostile_texts_never_panic() {
    let deep = |open: &str, close: &str| format!("{}1{}", open.repeat(5000), close.repeat(5000));
    for text in [
        deep("PROJCS[\"a\",", "]"),
        deep("A[", "]"),
        "PROJCS[\"é".to_owned(),
        "[[[".to_owned(),
        "PROJCS[\"a\"".to_owned(),
        "\u{feff}\u{feff}[\"".to_owned(),
        "GEOGCS[,,,]".to_owned(),
    ] {
        text.parse::<Crs>().ok();
        if let Ok(crs) = Crs::from_wkt(&text) {
            awn_core::crs::Converter::new(&crs).ok();
        }
    }
    let folder = Folder::new();
    for (name, text) in [
        ("deep.geojson", deep("{\"type\":\"GeometryCollection\",\"geometries\":[", "]}")),
        ("array.geojson", deep("[", "]")),
        (
            "huge.geojson",
            "{\"type\":\"Polygon\",\"coordinates\":[[[1e308,1e308],[-1e308,1e308],[0,-1e308],[1e308,1e308]]]}".to_owned(),
        ),
        (
            "tiny.geojson",
            "{\"type\":\"Polygon\",\"coordinates\":[[[0,0],[1e-300,0],[1e-300,1e-300],[0,1e-300],[1e-300,0],[0,0]]]}"
                .to_owned(),
        ),
        ("empty.geojson", "{\"type\":\"MultiPolygon\",\"coordinates\":[[],[[]],[[[0,0]]]]}".to_owned()),
        ("quotes.csv", "\"\"\"\"\"\n\"".repeat(50)),
        ("wide.csv", ",".repeat(100_000)),
        ("nul.csv", "lon,lat,\0\n\0,\0,\0\n".to_owned()),
    ] {
        read_every_way(&folder.write(name, text));
    }
}
