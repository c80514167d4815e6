//! Where points and outlines lie: columns of positions by hand, by heading and by content; axes that stand the other way round.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::path::Path;

use awn_core::crs::Crs;
use awn_core::exchange::{self, BoundaryOptions, FileOptions, Import, PlaceColumns, ScoutingOptions};
use awn_core::model::{DensityUnit, Records, SurveyKind};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_tests::reference;
use geo::Coord;
use serde_json::json;
use support::{Folder, boundaries, error_at, project};

fn scouting(records: &Records, file: &Path, file_options: FileOptions) -> (Option<Import>, Problems) {
    let mut problems = Problems::new();
    let options = ScoutingOptions {
        file: file_options,
        ..ScoutingOptions::new("2026-06-14".parse().unwrap(), SurveyKind::Points, DensityUnit::HeadsPerM2)
    };
    let import = exchange::scouting(records, file, &options, &mut problems, &Quiet).ok();
    (import, problems)
}

/// The only point of an import's only survey.
fn point(import: &Import) -> Coord<f64> {
    let mut records = Records::default();
    import.command.apply_to(&mut records).unwrap();
    records.surveys.values().next().unwrap().points[0].position
}

fn by_hand(x: &str, y: &str) -> PlaceColumns {
    PlaceColumns { x: Some(x.into()), y: Some(y.into()), whole: None }
}

/// Headings as people write them, in metres of EPSG:25832 or in degrees, beside what pyproj makes of the metres.
#[test]
fn columns_of_positions_are_known_by_many_headings() {
    let folder = Folder::new();
    let metres =
        reference::run("reproject", &json!({ "cases": [{ "crs": "EPSG:25832", "points": [[565_000.5, 5_765_000.25]] }] }));
    let wanted = Coord { x: metres[0][0][0].as_f64().unwrap(), y: metres[0][0][1].as_f64().unwrap() };
    for (heading, crs) in [
        ("Name;Rechtswert;Hochwert;heads", Some(Crs::Epsg(25832))),
        ("Name;X-Coord [m];Y-Coord [m];heads", Some(Crs::Epsg(25832))),
        ("Name;x_utm32;y_utm32;heads", Some(Crs::Epsg(25832))),
        ("e-mail;East;North;heads", Some(Crs::Epsg(25832))),
        ("Name;Ostwert;Nordwert;heads", Some(Crs::Epsg(25832))),
        ("Name;Longitude (WGS84);Latitude (WGS84);heads", None),
        ("Name;GPS Länge (°);GPS Breite (°);heads", None),
        ("Name;Lengtegraad;Breedtegraad;heads", None),
    ] {
        let row = match crs {
            Some(_) => "A;565000,5;5765000,25;3".to_owned(),
            None => format!("A;{:.9};{:.9};3", wanted.x, wanted.y),
        };
        let file = folder.write("points.csv", format!("{heading}\n{row}\n"));
        let (import, problems) = scouting(&Records::default(), &file, FileOptions { crs, ..FileOptions::default() });
        let import = import.unwrap_or_else(|| panic!("{heading}: {problems:?}"));
        assert!(import.place.x.is_some() && import.place.y.is_some());
        let found = point(&import);
        assert!((found.x - wanted.x).abs() < 2e-9 && (found.y - wanted.y).abs() < 2e-9, "{heading}: {found:?} {wanted:?}");
    }
}

/// Columns whose headings say nothing are told by hand, and remembered for the next file of the same layout; a column of grid
/// references or of latitude and longitude is known by what stands in it.
#[test]
fn columns_by_hand_are_remembered_and_contents_are_known() {
    let folder = Folder::new();
    let mut project = project();
    let crs = Some(Crs::Epsg(27700));
    let text = "id,P1,P2,heads\nA,508700,287900,3\n";
    let file = folder.write("points.csv", text);
    let (import, problems) = scouting(project.records(), &file, FileOptions { crs: crs.clone(), ..FileOptions::default() });
    assert!(import.is_none() && error_at(&problems, "points.csv").what.contains("id, P1, P2, heads"), "{problems:?}");
    let said = FileOptions { crs: crs.clone(), place: by_hand("P1", "P2"), ..FileOptions::default() };
    let (import, problems) = scouting(project.records(), &file, said);
    let import = import.unwrap_or_else(|| panic!("{problems:?}"));
    assert!(import.summary.iter().any(|line| line == "Positions: columns P1 and P2"), "{:?}", import.summary);
    project.apply(import.command).unwrap();
    let next = folder.write("next.csv", "heads,ID,p1,P2\n4,B,508710,287900\n");
    let (import, problems) = scouting(project.records(), &next, FileOptions { crs: crs.clone(), ..FileOptions::default() });
    assert!(import.is_some(), "{problems:?}");
    // One of two is no position, and a column that is not there is named.
    for (place, word) in
        [(PlaceColumns { x: Some("P1".into()), ..PlaceColumns::default() }, "two columns"), (by_hand("P1", "P3"), "P3")]
    {
        let (import, problems) = scouting(&Records::default(), &file, FileOptions { place, ..FileOptions::default() });
        assert!(import.is_none() && error_at(&problems, "points.csv").what.contains(word), "{problems:?}");
    }
    for (text, heading) in [("spot,heads\nTL 08700 87900,3\n", "spot"), ("spot;heads\n52°28'N 0°24'W;3\n", "spot")] {
        let (import, problems) = scouting(&Records::default(), &folder.write("one.csv", text), FileOptions::default());
        let import = import.unwrap_or_else(|| panic!("{text}: {problems:?}"));
        assert_eq!(import.place.whole.as_deref(), Some(heading));
        let found = point(&import);
        assert!((found.x + 0.4).abs() < 0.02 && (found.y - 52.48).abs() < 0.02, "{text}: {found:?}");
    }
    // Degrees with minutes in columns that say nothing.
    let file = folder.write("minutes.csv", "a,b,heads\n52 30.0 N,0 24.0 W,3\n");
    let (import, problems) =
        scouting(&Records::default(), &file, FileOptions { place: by_hand("b", "a"), ..FileOptions::default() });
    assert_eq!(point(&import.unwrap_or_else(|| panic!("{problems:?}"))), Coord { x: -0.4, y: 52.5 });
}

/// Letters of directions in columns of their own, as receivers write them (NMEA 0183: degrees and minutes without anything between);
/// letters of a grid square beside easting and northing within it; titles above the headings; words for signs.
#[test]
fn positions_over_several_columns_and_in_words() {
    let folder = Folder::new();
    for text in [
        "Latitude,N/S,Longitude,E/W,heads\n52.5,N,0.4,W,3\n",
        "Latitude,N/S,Longitude,E/W,heads\n5230.000,N,00024.000,W,3\n",
        "lat,lon,heads\n5230.00N,00024.00W,3\n",
        "lat;lon;heads\n52° 30' 0,0'' N;0° 24' vest;3\n",
        "Survey of June\n\nlat;lon;heads\n52,5;-0,4;3\n",
        "lat,lon,heads\n\"52,5\",\"-0,4\",3\n",
        "where;heads\nlon -0.4 lat 52.5;3\n",
        "where;heads\n52,5 -0,4;3\n",
        "lat|lon|heads\n52.5|-0.4|3\n",
    ] {
        let file = folder.write("points.csv", text);
        let (import, problems) = scouting(&Records::default(), &file, FileOptions::default());
        let found = point(&import.unwrap_or_else(|| panic!("{text}: {problems:?}")));
        assert!((found.x + 0.4).abs() < 1e-9 && (found.y - 52.5).abs() < 1e-9, "{text}: {found:?}");
    }
    let whole = folder.write("whole.csv", "grid reference,heads\nTF 00300 45600,3\n");
    let wanted = point(&scouting(&Records::default(), &whole, FileOptions::default()).0.unwrap());
    for text in ["square,easting,northing,heads\nTF,00300,45600,3\n", "Grid square;East;North;heads\nTF;300;45600;3\n"] {
        let file = folder.write("square.csv", text);
        let (import, problems) = scouting(&Records::default(), &file, FileOptions::default());
        assert_eq!(point(&import.unwrap_or_else(|| panic!("{text}: {problems:?}"))), wanted, "{text}");
    }
    // East in German, west in French: nobody can tell.
    let file = folder.write("ost.csv", "lat,lon,heads\n52.5 N,10.5 O,3\n");
    let (import, problems) = scouting(&Records::default(), &file, FileOptions::default());
    assert!(import.is_none() && error_at(&problems, "row 2").what.contains("10.5 O"), "{problems:?}");
}

fn parcel(system: &str, first: (f64, f64), dimension: &str) -> String {
    let (a, b) = first;
    let corners = [(a, b), (a + 100.0, b), (a + 100.0, b + 100.0), (a, b + 100.0), (a, b)];
    let height = if dimension.is_empty() { "" } else { " 31.5" };
    let list: Vec<String> = corners.iter().map(|(a, b)| format!("{a} {b}{height}")).collect();
    format!(
        r#"<w:FeatureCollection xmlns:w="w" xmlns:gml="g" xmlns:p="p"><w:member><p:parcel><p:name>Block 1</p:name><p:geom>
        <gml:Polygon srsName="{system}"{dimension}><gml:exterior><gml:LinearRing><gml:posList>{}</gml:posList></gml:LinearRing>
        </gml:exterior></gml:Polygon></p:geom></p:parcel></w:member></w:FeatureCollection>"#,
        list.join(" ")
    )
}

/// Parcels in systems of national registers, each named in the authority's way, in its order of axes as the EPSG dataset has it, and
/// in the other order, as some servers write them: all lie where pyproj puts them.
#[test]
fn register_systems_in_either_order_of_axes() {
    let folder = Folder::new();
    // Code, whether northing is first, easting and northing of a corner.
    let systems: [(u32, bool, f64, f64); 10] = [
        (2180, true, 637_000.0, 487_000.0),
        (3006, true, 500_000.0, 6_428_000.0),
        (3301, true, 586_000.0, 6_507_000.0),
        (31287, true, 520_000.0, 470_000.0),
        (31467, true, 3_535_000.0, 5_651_000.0),
        (3844, true, 500_000.0, 400_000.0),
        (28992, false, 162_000.0, 468_000.0),
        (2154, false, 655_000.0, 6_650_000.0),
        (5514, false, -655_000.0, -1_093_000.0),
        (25832, false, 500_000.0, 6_150_000.0),
    ];
    let cases: Vec<_> =
        systems.iter().map(|(code, _, x, y)| json!({ "crs": format!("EPSG:{code}"), "points": [[x, y]] })).collect();
    let peer = reference::run("reproject", &json!({ "cases": cases }));
    for (index, (code, north_first, x, y)) in systems.into_iter().enumerate() {
        let wanted = Coord { x: peer[index][0][0].as_f64().unwrap(), y: peer[index][0][1].as_f64().unwrap() };
        let (east_north, north_east) = ((x, y), (y, x));
        let by_authority = if north_first { north_east } else { east_north };
        let other = if north_first { east_north } else { north_east };
        for (system, first, turned) in [
            (format!("urn:ogc:def:crs:EPSG::{code}"), by_authority, false),
            (format!("urn:ogc:def:crs:EPSG:9.9:{code}"), by_authority, false),
            (format!("http://www.opengis.net/def/crs/EPSG/0/{code}"), by_authority, false),
            (format!("EPSG:{code}"), east_north, false),
            (format!("urn:ogc:def:crs:EPSG::{code}"), other, true),
        ] {
            let file = folder.write("parcels.gml", parcel(&system, first, ""));
            let (import, problems) = boundaries(&Records::default(), &file, &BoundaryOptions::default());
            let said = problems.list.iter().any(|problem| problem.what.contains("the other way round"));
            if turned && matches!(code, 2180 | 3844 | 31287) {
                // Eastings and northings of these countries are much alike, so that both orders lie in the country: nobody could tell.
                continue;
            }
            let import = import.unwrap_or_else(|_| panic!("{system}: {problems:?}"));
            assert_eq!(said, turned, "{system} {first:?}: {problems:?}");
            let mut records = Records::default();
            import.command.apply_to(&mut records).unwrap();
            let ring = records.fields.values().next().unwrap().boundary.0[0].exterior().clone();
            let nearest = ring.0.iter().map(|at| (at.x - wanted.x).hypot(at.y - wanted.y)).fold(f64::INFINITY, f64::min);
            assert!(nearest < 2e-8, "{system} {first:?}: {ring:?} {wanted:?}");
        }
    }
}

/// The horizontal part of a compound name counts, and what lies out of the area of its system is said.
#[test]
fn compound_names_and_places_out_of_the_area() {
    let folder = Folder::new();
    for system in ["urn:ogc:def:crs,crs:EPSG::25832,crs:EPSG::7837", "EPSG:25832+7837"] {
        let file = folder.write("high.gml", parcel(system, (500_000.0, 5_700_000.0), " srsDimension=\"3\""));
        let (import, problems) = boundaries(&Records::default(), &file, &BoundaryOptions::default());
        assert!(import.is_ok_and(|import| import.summary[1].contains("EPSG:25832")), "{system}: {problems:?}");
        assert!(problems.is_clean(), "{problems:?}");
    }
    let file = folder.write("far.gml", parcel("EPSG:28992", (162_000.0, 5_700_000.0), ""));
    let (_, problems) = boundaries(&Records::default(), &file, &BoundaryOptions::default());
    let said =
        problems.list.iter().find(|problem| problem.what.contains("meant for")).unwrap_or_else(|| panic!("{problems:?}"));
    assert!(said.what.contains("Netherlands") && said.hint.contains("--crs"), "{said:?}");
}
