//! Columns of boundary files: found by heading, said by hand, remembered; units, encodings, and what is wrong and where.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::path::Path;

use awn_core::exchange::{AreaUnit, BoundaryColumns, BoundaryOptions};
use awn_core::geometry::geodesic_area_m2;
use awn_core::model::{DensityUnit, Record, Records, SurveyKind};
use awn_core::problem::{Problems, Severity};
use awn_core::project::Project;
use awn_tests::program::awn;
use serde_json::{Value, json};
use support::{Folder, boundaries, square};

/// Squares of 200 m with the attributes given, 300 m apart.
fn map(attributes: &[Value]) -> String {
    let features: Vec<_> = attributes
        .iter()
        .enumerate()
        .map(|(index, properties)| {
            json!({ "type": "Feature", "properties": properties,
                "geometry": { "type": "Polygon", "coordinates": square(300.0 * index as f64, 0.0) } })
        })
        .collect();
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

fn read(file: &Path, options: &BoundaryOptions) -> (Records, Vec<String>, Problems) {
    let (import, problems) = boundaries(&Records::default(), file, options);
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    let mut records = Records::default();
    import.command.apply_to(&mut records).unwrap();
    (records, import.summary, problems)
}

#[test]
fn columns_are_found_by_their_headings() {
    let folder = Folder::new();
    let file = folder.write(
        "map.geojson",
        map(&[
            json!({ "Marknavn": "Nord", "Bedrift": "Hill Farm", "Afgrøde": "vinterhvede", "Areal_ha": 4.0, "Aar": 2026 }),
            json!({ "Marknavn": "Syd", "Bedrift": "Dale Farm", "Afgrøde": null, "Areal_ha": 1.5, "Aar": 2026 }),
        ]),
    );
    let (records, summary, problems) = read(&file, &BoundaryOptions::default());
    let names: Vec<_> =
        records.fields.values().map(|field| format!("{}/{}", records.farm_name(field), field.name)).collect();
    assert_eq!(names, ["Hill Farm/Nord", "Dale Farm/Syd"]);
    let crops: Vec<_> = records.crops.values().map(|crop| (crop.crop.as_str(), crop.year)).collect();
    assert_eq!(crops, [("vinterhvede", 2026)]);
    assert!(summary.iter().any(|line| line == "Crops: column Afgrøde, 1 of harvest 2026"), "{summary:?}");
    // A field is 4 ha; what is stated otherwise is said, with the place.
    let off = problems.list.iter().find(|problem| problem.what.contains("1.50 ha")).unwrap();
    assert!(off.place.ends_with("Syd") && off.severity == Severity::Warning, "{off:?}");
    let bounds = off.spot.unwrap().bounds();
    assert!((bounds.min().x - (-0.4 + 300.0 / 67_760.0)).abs() < 2e-7 && bounds.width() > 0.002, "{bounds:?}");
    assert_eq!(problems.list.len(), 1, "{problems:#?}");
}

#[test]
fn columns_said_by_hand_go_first_and_are_remembered() {
    let folder = Folder::new();
    let rows = [
        json!({ "name": "one", "block": "A1", "owner": "Top Farm", "sort": "winter wheat", "acr": 9.9, "when": "14.9.2025", "bg": "high" }),
        json!({ "name": "two", "block": "A2", "owner": "Top Farm", "sort": "winter barley", "acr": 9.8, "when": "2.10.2025", "bg": "low" }),
    ];
    let file = folder.write("map.geojson", map(&rows));
    let options = BoundaryOptions {
        columns: BoundaryColumns {
            name: Some("BLOCK".to_owned()),
            farm: Some("owner".to_owned()),
            crop: Some("sort".to_owned()),
            area: Some("acr".to_owned()),
            date: Some("when".to_owned()),
            density: Some("bg".to_owned()),
        },
        area_unit: Some(AreaUnit::Acres),
        density_unit: Some(DensityUnit::Class),
        ..BoundaryOptions::default()
    };
    let (records, _, problems) = read(&file, &options);
    assert!(problems.is_clean(), "{problems:#?}");
    let names: Vec<_> =
        records.fields.values().map(|field| format!("{}/{}", records.farm_name(field), field.name)).collect();
    assert_eq!(names, ["Top Farm/A1", "Top Farm/A2"]);
    let crops: Vec<_> = records.crops.values().map(|crop| (crop.crop.as_str(), crop.year, crop.drilled)).collect();
    assert_eq!(crops, [("winter wheat", 2026, None), ("winter barley", 2026, None)]);
    let days: Vec<_> = records.surveys.values().map(|survey| (survey.date.to_string(), survey.zones[0].value)).collect();
    assert_eq!(days, [("2025-09-14".to_owned(), 3.0), ("2025-10-02".to_owned(), 1.0)]);
    assert!(records.surveys.values().all(|survey| survey.kind == SurveyKind::Zones && survey.unit == DensityUnit::Class));

    // The next file with these headings is read the same way, unless something is said.
    let next = folder.write("next.geojson", map(&rows));
    let (import, problems) = boundaries(&records, &next, &BoundaryOptions::default());
    let import = import.unwrap_or_else(|_| panic!("{problems:#?}"));
    assert_eq!(import.columns.unwrap().name.as_deref(), Some("block"));
    assert!(import.summary.iter().any(|line| line.contains("as said for the last file")), "{:?}", import.summary);
    let none = BoundaryOptions {
        columns: BoundaryColumns { name: Some(BoundaryColumns::NOT_READ.to_owned()), ..BoundaryColumns::default() },
        ..BoundaryOptions::default()
    };
    assert_eq!(import.command.changes.iter().filter(|change| matches!(change.after, Some(Record::Survey(_)))).count(), 2);
    let names: Vec<_> = read(&next, &none).0.fields.values().map(|field| field.name.clone()).collect();
    assert_eq!(names, ["Field 1", "Field 2"]);
}

#[test]
fn what_is_said_and_lacks_something_is_refused() {
    let folder = Folder::new();
    let file = folder.write("map.geojson", map(&[json!({ "n": "one", "sort": "wheat", "bg": 12, "when": "soon" })]));
    let columns = |what: &str, name: &str| {
        let mut columns = BoundaryColumns::default();
        columns.set(what, Some(name.to_owned()));
        BoundaryOptions { columns, ..BoundaryOptions::default() }
    };
    for (options, words) in [
        (columns("crop", "sort"), "no harvest year"),
        (columns("density", "bg"), "in which unit"),
        (BoundaryOptions { density_unit: Some(DensityUnit::PlantsPerM2), ..columns("density", "bg") }, "the day"),
        (columns("date", "when"), "neither a year nor a day"),
        (columns("farm", "parish"), "no column “parish”"),
    ] {
        let (import, problems) = boundaries(&Records::default(), &file, &options);
        let error = problems.errors().next().unwrap_or_else(|| panic!("{words}: {import:?}"));
        assert!(import.is_err() && error.what.contains(words) && !error.hint.is_empty(), "{words}: {error:?}");
    }
    // Found by heading it is only noted.
    let file = folder.write("plain.geojson", map(&[json!({ "name": "one", "crop": "wheat", "density": 12 })]));
    let (records, _, problems) = read(&file, &BoundaryOptions::default());
    assert!(records.crops.is_empty() && records.surveys.is_empty() && problems.is_clean());
    assert_eq!(problems.list.len(), 2, "{problems:#?}");
    // With the year of the import the crop has one.
    assert_eq!(read(&file, &BoundaryOptions { year: Some(2026), ..BoundaryOptions::default() }).0.crops.len(), 1);
}

/// The areas of a whole file in another unit than was said are one warning, not one for each field.
#[test]
fn a_wrong_unit_of_area_is_said_once() {
    let folder = Folder::new();
    let rows: Vec<_> = (0..12).map(|number| json!({ "name": format!("F{number}"), "area": 40_000.0 })).collect();
    let file = folder.write("map.geojson", map(&rows));
    let (_, summary, problems) = read(&file, &BoundaryOptions::default());
    assert!(problems.list.is_empty() && summary.iter().any(|line| line.contains("column area in m2, 48.0")), "{summary:?}");
    let wrong = BoundaryOptions { area_unit: Some(AreaUnit::Hectares), ..BoundaryOptions::default() };
    let (_, _, problems) = read(&file, &wrong);
    assert!(problems.list.len() == 1 && problems.list[0].what.contains("do not fit the outlines"), "{problems:#?}");
}

/// A Latin-1 file that is also sound UTF-8 to a guess, and one in an old page: the encoding given goes before every guess.
#[test]
fn an_encoding_given_goes_first() {
    let folder = Folder::new();
    let text = map(&[json!({ "name": "Højager" })]);
    let bytes: Vec<u8> = text.chars().map(|c| if c == 'ø' { 0x9b } else { c as u8 }).collect();
    let file = folder.write("map.geojson", bytes);
    let name = |letters: Option<&str>| {
        let letters = letters.map(|name| name.parse().unwrap());
        let (records, ..) = read(&file, &BoundaryOptions { letters, ..BoundaryOptions::default() });
        records.fields.values().next().unwrap().name.clone()
    };
    assert_eq!((name(Some("850")).as_str(), name(Some("CP850")).as_str()), ("Højager", "Højager"));
    assert_eq!(name(None), "H›jager", "by guess it is Windows-1252, in which this byte is another letter");
    assert!("sugar".parse::<awn_core::formats::Letters>().unwrap_err().contains("UTF-8"));
}

/// A bow tie: repaired, with the shape before and after, both areas, and where it lies.
#[test]
fn a_repaired_outline_is_kept_beside_its_original() {
    let folder = Folder::new();
    let at = |x: f64, y: f64| json!([-0.4 + x / 67_760.0, 52.5 + y / 111_280.0]);
    let ring = json!([[at(0.0, 0.0), at(0.0, 200.0), at(200.0, 0.0), at(200.0, 200.0), at(0.0, 0.0)]]);
    let text = json!({ "type": "Feature", "properties": { "name": "Tie" }, "geometry": { "type": "Polygon", "coordinates": ring } });
    let (import, problems) =
        boundaries(&Records::default(), &folder.write("tie.geojson", text.to_string()), &BoundaryOptions::default());
    let import = import.unwrap();
    let shape = &import.repaired[0];
    assert_eq!((shape.name.as_str(), shape.before.0.len(), shape.after.0.len()), ("Tie", 1, 2));
    // Two triangles of a quarter of the square each; the crossed ring cancels itself out.
    assert!((geodesic_area_m2(&shape.after) - 20_000.0).abs() < 200.0, "{}", geodesic_area_m2(&shape.after));
    assert!(geodesic_area_m2(&shape.before) < 200.0);
    let told = problems.list.iter().find(|problem| problem.what.contains("was repaired")).unwrap();
    assert!(told.what.contains("0.00 ha before, 2.00 ha after"), "{told:?}");
    let bounds = told.spot.unwrap().bounds();
    assert!((bounds.min().x + 0.4).abs() < 1e-6 && (bounds.max().y - (52.5 + 200.0 / 111_280.0)).abs() < 1e-6);
}

#[test]
fn on_the_command_line() {
    let folder = Folder::new();
    let project = folder.path("farm.gpkg");
    let project = project.to_str().unwrap();
    assert_eq!(awn(["new", project]).code, 0);
    let rows = [json!({ "block": "A1", "owner": "Top Farm", "sort": "winter wheat" })];
    let file = folder.write("map.geojson", map(&rows));
    let file = file.to_str().unwrap();
    let answer = awn([
        "add",
        "boundaries",
        project,
        file,
        "--name-column",
        "block",
        "--farm-column",
        "owner",
        "--crop-column",
        "sort",
        "--year",
        "2026",
        "--encoding",
        "utf-8",
        "--json",
    ]);
    assert_eq!(answer.json()["added"], 1, "{answer:?}");
    let project = Project::open(Path::new(project)).unwrap();
    let records = project.records();
    assert_eq!(records.crops.values().next().map(|crop| crop.crop.as_str()), Some("winter wheat"));
    assert_eq!(records.settings.boundary_layouts.len(), 1);
}
