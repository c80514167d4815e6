//! Coordinates against published points and two other programs.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

use awn_core::crs::{BUILT_IN_ONLY, Converter, Crs};
use awn_tests::{project_path, reference};
use geo::Coord;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::json;

/// Columns of a comma-separated file by row name, header left out.
fn points(file: &str, columns: [usize; 2], wanted: impl Fn(&[&str]) -> bool) -> Vec<(String, Coord<f64>)> {
    let text = std::fs::read_to_string(project_path("tests/data/ostn15").join(file)).unwrap();
    let rows =
        text.lines().map(|line| line.split(',').collect::<Vec<_>>()).filter(|row| row[0].starts_with("TP") && wanted(row));
    let number = |row: &[&str], column: usize| row[columns[column]].trim().parse::<f64>().unwrap();
    rows.map(|row| (row[0].to_owned(), Coord { x: number(&row, 0), y: number(&row, 1) })).collect()
}

/// Metres between two positions in degrees that lie near each other.
fn metres_apart(a: Coord<f64>, b: Coord<f64>) -> (f64, f64) {
    (((a.x - b.x) * 111_320.0 * a.y.to_radians().cos()).abs(), ((a.y - b.y) * 111_320.0).abs())
}

/// The 40 test points of Ordnance Survey (tests/data/ostn15), both ways, and PyPI osgb, an independent program.
#[test]
fn ostn15_at_all_test_points() {
    let lonlat = points("OSTN15_OSGM15_TestInput_ETRStoOSGB.csv", [2, 1], |_| true);
    let grid = points("OSTN15_OSGM15_TestOutput_ETRStoOSGB.csv", [1, 2], |_| true);
    let grid_in = points("OSTN15_OSGM15_TestInput_OSGBtoETRS.csv", [1, 2], |_| true);
    let lonlat_out = points("OSGB36_to_ETRS.csv", [3, 2], |row| row[1] == "RESULT");
    assert_eq!([lonlat.len(), grid.len(), grid_in.len(), lonlat_out.len()], [40; 4]);

    let converter = Converter::new(&Crs::Epsg(27700)).unwrap();
    let mut forward: Vec<Coord<f64>> = lonlat.iter().map(|(_, at)| *at).collect();
    converter.from_lonlat(&mut forward).unwrap();
    let mut back: Vec<Coord<f64>> = grid_in.iter().map(|(_, at)| *at).collect();
    converter.to_lonlat(&mut back).unwrap();

    let (mut worst_forward, mut worst_back) = (0f64, 0f64);
    for ((name, wanted), found) in grid.iter().zip(&forward) {
        let off = (wanted.x - found.x).abs().max((wanted.y - found.y).abs());
        worst_forward = worst_forward.max(off);
        assert!(off < 0.0015, "{name} is {off} m off");
    }
    for ((name, wanted), found) in lonlat_out.iter().zip(&back) {
        let (x, y) = metres_apart(*wanted, *found);
        worst_back = worst_back.max(x.max(y));
        assert!(x.max(y) < 0.0015, "{name} is {x}, {y} m off");
    }

    let pair = |at: &Coord<f64>| json!([at.x, at.y]);
    let answer = reference::run(
        "ostn15",
        &json!({ "lonlat": lonlat.iter().map(|(_, at)| pair(at)).collect::<Vec<_>>(), "grid": grid_in.iter().map(|(_, at)| pair(at)).collect::<Vec<_>>() }),
    );
    let (mut peer_forward, mut peer_back) = (0f64, 0f64);
    for (index, (found, ll)) in forward.iter().zip(&back).enumerate() {
        let peer =
            |key: &str| Coord { x: answer[key][index][0].as_f64().unwrap(), y: answer[key][index][1].as_f64().unwrap() };
        let grid = peer("grid");
        peer_forward = peer_forward.max((grid.x - found.x).abs()).max((grid.y - found.y).abs());
        // osgb rounds to 1e-8 degrees, 1.1 mm.
        let (x, y) = metres_apart(peer("lonlat"), *ll);
        peer_back = peer_back.max(x).max(y);
    }
    assert!(peer_forward < 0.0015 && peer_back < 0.0015, "osgb differs by {peer_forward} and {peer_back} m");
    println!(
        "largest: {worst_forward:.6} m to the grid, {worst_back:.6} m back; beside osgb {peer_forward:.6}, {peer_back:.6} m"
    );
}

/// Values computed by two programs and, where the EPSG guidance note 7-2 prints them, published there.
#[test]
fn published_projection_points() {
    for (code, lat, lon, x, y) in [
        (32632, 55.0, 12.0, 691_875.632, 6_098_907.825),
        (32630, 52.5, -1.5, 601_821.603, 5_817_709.526),
        (25832, 50.0, 9.0, 500_000.0, 5_538_630.703),
        (25832, 51.25, 7.5, 395_314.817, 5_678_695.236),
        (2154, 46.5, 3.0, 700_000.0, 6_600_000.0),
        (2154, 48.85, 2.35, 652_301.565, 6_861_302.726),
        (3035, 50.0, 5.0, 3_962_799.451, 2_999_718.853),
        (3857, 24.0 + 22.0 / 60.0 + 54.433 / 3600.0, -(100.0 + 20.0 / 60.0), -11_169_055.58, 2_800_000.0),
        // The same point as in zone 32, with the zone's number in front of the easting.
        (4647, 50.0, 9.0, 32_500_000.0, 5_538_630.703),
    ] {
        let converter = Converter::new(&Crs::Epsg(code)).unwrap();
        let mut at = [Coord { x: lon, y: lat }];
        converter.from_lonlat(&mut at).unwrap();
        assert!((at[0].x - x).abs() < 0.006 && (at[0].y - y).abs() < 0.006, "EPSG:{code}: {:?}", at[0]);
        converter.to_lonlat(&mut at).unwrap();
        // 1e-8 degrees are 1.1 mm; the series by which PROJ inverts the equal-area projection 3035 is 0.3 mm off.
        assert!((at[0].x - lon).abs() < 1e-8 && (at[0].y - lat).abs() < 1e-8, "EPSG:{code}: {:?}", at[0]);
    }
}

/// Projections by themselves, on the old ellipsoids that they are published on: worked examples of the EPSG guidance note 7-2
/// (IOGP 373-7-2) and points of the IOGP GIGS series 5100 (5101, 5102, 5103, 5104, as PROJ's tests quote them). Each is given as
/// well-known text on a datum of no name, which PROJ takes for WGS 84 without a shift.
#[test]
fn published_points_on_old_ellipsoids() {
    let text = |spheroid: &str, projection: &str, parameters: &[(&str, f64)], unit: &str| {
        let parameters: String =
            parameters.iter().map(|(name, value)| format!("PARAMETER[\"{name}\",{value:.12}],")).collect();
        format!(
            "PROJCS[\"as published\",GEOGCS[\"nameless\",DATUM[\"nameless\",SPHEROID[{spheroid}]],PRIMEM[\"Greenwich\",0],\
             UNIT[\"degree\",0.0174532925199433]],PROJECTION[\"{projection}\"],{parameters}UNIT[{unit}]]"
        )
    };
    let degrees = |d: f64, m: f64, s: f64| d + m / 60.0 + s / 3600.0;
    let (metre, foot) = ("\"metre\",1", "\"US survey foot\",0.304800609601219");
    let clarke = "\"Clarke 1866\",6378206.4,294.978698213898";
    let texas = text(
        clarke,
        "Lambert_Conformal_Conic_2SP",
        &[
            ("standard_parallel_1", degrees(28.0, 23.0, 0.0)),
            ("standard_parallel_2", degrees(30.0, 17.0, 0.0)),
            ("latitude_of_origin", degrees(27.0, 50.0, 0.0)),
            ("central_meridian", -99.0),
            ("false_easting", 2_000_000.0),
            ("false_northing", 0.0),
        ],
        foot,
    );
    let jamaica = text(
        clarke,
        "Lambert_Conformal_Conic_1SP",
        &[
            ("latitude_of_origin", 18.0),
            ("central_meridian", -77.0),
            ("scale_factor", 1.0),
            ("false_easting", 250_000.0),
            ("false_northing", 150_000.0),
        ],
        metre,
    );
    let dutch = text(
        "\"Bessel 1841\",6377397.155,299.1528128",
        "Oblique_Stereographic",
        &[
            ("latitude_of_origin", degrees(52.0, 9.0, 22.178)),
            ("central_meridian", degrees(5.0, 23.0, 15.5)),
            ("scale_factor", 0.999_907_9),
            ("false_easting", 155_000.0),
            ("false_northing", 463_000.0),
        ],
        metre,
    );
    let belgian = text(
        "\"International 1924\",6378388,297",
        "Lambert_Conformal_Conic_2SP",
        &[
            ("standard_parallel_1", degrees(51.0, 10.0, 0.00204)),
            ("standard_parallel_2", degrees(49.0, 50.0, 0.00204)),
            ("latitude_of_origin", 90.0),
            ("central_meridian", degrees(4.0, 22.0, 2.952)),
            ("false_easting", 150_000.013),
            ("false_northing", 5_400_088.438),
        ],
        metre,
    );
    let french = text(
        "\"International 1924\",6378388,297",
        "Lambert_Conformal_Conic_1SP",
        &[
            ("latitude_of_origin", 46.8),
            ("central_meridian", degrees(2.0, 20.0, 14.025)),
            ("scale_factor", 0.999_877_42),
            ("false_easting", 600_000.0),
            ("false_northing", 2_200_000.0),
        ],
        metre,
    );
    let mercator = text(
        "\"WGS 84\",6378137,298.257223563",
        "Transverse_Mercator",
        &[
            ("latitude_of_origin", 49.0),
            ("central_meridian", -2.0),
            ("scale_factor", 0.999_601_271_7),
            ("false_easting", 400_000.0),
            ("false_northing", -100_000.0),
        ],
        metre,
    );
    for (source, system, lat, lon, x, y, within) in [
        ("7-2, LCC 2SP", &texas, 28.5, -96.0, 2_963_503.91, 254_759.80, 0.01),
        ("7-2, LCC 1SP", &jamaica, degrees(17.0, 55.0, 55.8), -degrees(76.0, 56.0, 37.26), 255_966.58, 142_493.51, 0.01),
        ("7-2, oblique stereographic", &dutch, 53.0, 6.0, 196_105.283, 557_057.739, 0.001),
        // Printed for the variant before the last; within 5 cm of it.
        (
            "7-2, LCC Belgium",
            &belgian,
            degrees(50.0, 40.0, 46.461),
            degrees(5.0, 48.0, 26.533),
            251_763.20,
            153_034.13,
            0.05,
        ),
        ("GIGS 5101", &mercator, 49.0, 3.0, 765_648.501, -87_944.74, 0.03),
        ("GIGS 5102", &french, 58.0, 5.0, 760_722.92, 3_457_368.68, 0.03),
        ("GIGS 5102", &french, 56.0, 5.0, 768_396.683, 3_230_944.812, 0.03),
        ("GIGS 5103", &belgian, 58.0, 5.0, 187_742.7, 969_521.653, 0.03),
        ("GIGS 5103", &belgian, 55.0, 5.0, 190_604.967, 633_523.672, 0.03),
        ("GIGS 5104", &dutch, 58.0, 5.0, 132_023.27, 1_114_054.87, 0.05),
        ("GIGS 5104", &dutch, 56.0, 5.0, 130_792.264, 890_981.281, 0.05),
    ] {
        let crs = Crs::from_wkt(system).unwrap();
        assert!(matches!(crs, Crs::Wkt(_)), "{source}: {crs:?}");
        let converter = Converter::new(&crs).unwrap();
        let mut at = [Coord { x: lon, y: lat }];
        converter.from_lonlat(&mut at).unwrap();
        assert!((at[0].x - x).abs() <= within && (at[0].y - y).abs() <= within, "{source}: {:?}, not {x}, {y}", at[0]);
        converter.to_lonlat(&mut at).unwrap();
        assert!((at[0].x - lon).abs() < 1e-8 && (at[0].y - lat).abs() < 1e-8, "{source}: {:?}", at[0]);
    }
}

/// Random points beside pyproj 3.7 (PROJ 9.5.1; ours is 9.6.2). Both choose the best method that needs no grid file and
/// agree within 0.1 mm, which leaves room for rounding in projections; a later pyproj with other ranks of methods for
/// 28992 or 31467 would show here.
#[test]
fn random_points_beside_pyproj() {
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
    let areas = [
        ("EPSG:28992", [20_000.0, 320_000.0, 270_000.0, 600_000.0], 1e-4),
        ("EPSG:25832", [300_000.0, 5_300_000.0, 700_000.0, 6_300_000.0], 1e-4),
        ("EPSG:25833", [300_000.0, 5_300_000.0, 700_000.0, 6_300_000.0], 1e-4),
        ("EPSG:4647", [32_300_000.0, 5_300_000.0, 32_700_000.0, 6_300_000.0], 1e-4),
        ("EPSG:3067", [100_000.0, 6_700_000.0, 700_000.0, 7_700_000.0], 1e-4),
        ("EPSG:32630", [300_000.0, 5_500_000.0, 700_000.0, 6_300_000.0], 1e-4),
        ("EPSG:2154", [150_000.0, 6_100_000.0, 1_200_000.0, 7_100_000.0], 1e-4),
        ("EPSG:31467", [3_370_000.0, 5_280_000.0, 3_630_000.0, 6_090_000.0], 1e-4),
    ];
    let mut cases = Vec::new();
    for (crs, [x0, y0, x1, y1], _) in areas {
        let points: Vec<[f64; 2]> = (0..100).map(|_| [random.random_range(x0..x1), random.random_range(y0..y1)]).collect();
        cases.push(json!({ "crs": crs, "points": points }));
    }
    let answer = reference::run("reproject", &json!({ "cases": cases }));
    for (index, (crs, _, allowed)) in areas.into_iter().enumerate() {
        let converter = Converter::new(&crs.parse().unwrap()).unwrap();
        let number = |value: &serde_json::Value, axis: usize| value[axis].as_f64().unwrap();
        let given = cases[index]["points"].as_array().unwrap();
        let mut ours: Vec<Coord<f64>> = given.iter().map(|p| Coord { x: number(p, 0), y: number(p, 1) }).collect();
        converter.to_lonlat(&mut ours).unwrap();
        let mut worst = 0f64;
        for (found, wanted) in ours.iter().zip(answer[index].as_array().unwrap()) {
            let (x, y) = metres_apart(*found, Coord { x: number(wanted, 0), y: number(wanted, 1) });
            worst = worst.max(x).max(y);
        }
        println!("{crs}: {worst:.6} m; {}", converter.conversion());
        assert!(worst <= allowed, "{crs}: {worst} m from pyproj");
        assert!(!converter.conversion().method.is_empty());
    }
}

/// Runs this file's test for one system again in a folder and with variables of its own.
fn again(folder: &std::path::Path, variables: &[(&str, &std::path::Path)]) -> String {
    let mut command = std::process::Command::new(std::env::current_exe().unwrap());
    command.args(["--exact", "one_system", "--nocapture"]).current_dir(folder).envs(variables.iter().copied());
    String::from_utf8_lossy(&command.output().unwrap().stdout).into_owned()
}

#[test]
fn one_system() {
    match Converter::new(&Crs::Epsg(25832)) {
        Ok(converter) => {
            let mut at = [Coord { x: 500_000.0, y: 5_538_630.703 }];
            converter.to_lonlat(&mut at).unwrap();
            assert!((at[0].x - 9.0).abs() < 1e-8 && (at[0].y - 50.0).abs() < 1e-8, "{at:?}");
            println!("\nconverted");
        }
        Err(error) => println!("\n{error}"),
    }
}

/// Another program's proj.db that the environment names is refused rather than used; started again with the variables for
/// that, the built-in one is used. One in the working folder is never looked at.
#[test]
fn databases_of_other_programs_do_not_win() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("proj")).unwrap();
    for name in ["proj.db", "proj/proj.db"] {
        std::fs::write(folder.path().join(name), b"no database").unwrap();
    }
    let elsewhere = tempfile::tempdir().unwrap();
    let clean = BUILT_IN_ONLY.map(|(name, value)| (name, std::path::Path::new(value)));
    for name in ["PROJ_DATA", "PROJ_LIB", "XDG_DATA_HOME"] {
        let said = again(elsewhere.path(), &[(name, folder.path())]);
        assert!(said.contains("another program's list") && !said.contains("\nconverted"), "{name}: {said}");
        let said = again(elsewhere.path(), &[&[(name, folder.path())], &clean[..]].concat());
        assert!(said.contains("\nconverted"), "{name}: {said}");
    }
    // In the working folder it never counts, whatever the environment says.
    for variables in [&clean[..], &[]] {
        let said = again(folder.path(), variables);
        assert!(said.contains("\nconverted"), "{said}");
    }
}

/// A grid in the user's folder is used for its datum, and says so; outside of it there is an error and no silent shift. The
/// grid is made up, with shifts that no formula has; pyproj reads the same file.
#[test]
fn grids_of_a_folder_beside_pyproj() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("my grids");
    std::fs::create_dir(&place).unwrap();
    let points =
        [[3_500_000.0, 5_540_000.0], [3_450_123.0, 5_900_456.0], [3_380_000.0, 5_300_000.0], [3_500_000.0, 4_000_000.0]];
    // Written under a name without a blank for pyproj, then under that which its publisher gives it, in other letters.
    let made = folder.path().join("grid.gsb");
    let peer = reference::run("ntv2", &json!({ "file": made, "crs": "EPSG:31467", "base": "EPSG:4314", "points": points }));
    std::fs::copy(&made, place.join("beta2007.GSB")).unwrap();
    std::fs::write(place.join("notes.txt"), "not a grid").unwrap();
    let system = Crs::Epsg(31467);
    let by_grid = Converter::with_grids(&system, Some(&place)).unwrap();
    let plain = Converter::with_grids(&system, None).unwrap();
    for (point, wanted) in points.iter().zip(peer.as_array().unwrap()) {
        let mut found = [Coord { x: point[0], y: point[1] }];
        let Some(wanted) = wanted.as_array() else {
            let error = by_grid.to_lonlat(&mut found).unwrap_err();
            assert!(error.to_string().contains("beta2007.GSB"), "{error}");
            continue;
        };
        by_grid.to_lonlat(&mut found).unwrap();
        let (x, y) = metres_apart(found[0], Coord { x: wanted[0].as_f64().unwrap(), y: wanted[1].as_f64().unwrap() });
        assert!(x < 1e-4 && y < 1e-4, "{point:?}: {x} m, {y} m");
        let mut back = found;
        by_grid.from_lonlat(&mut back).unwrap();
        assert!((back[0].x - point[0]).abs() < 1e-3 && (back[0].y - point[1]).abs() < 1e-3, "{back:?}");
        let mut without = [Coord { x: point[0], y: point[1] }];
        plain.to_lonlat(&mut without).unwrap();
        let (x, y) = metres_apart(found[0], without[0]);
        assert!(x.hypot(y) > 5.0, "the grid made no difference");
    }
    assert!(peer.as_array().unwrap().last().unwrap().is_null());
    assert_eq!(by_grid.conversion().to_string(), "DHDN to ETRS89 (8) by beta2007.GSB, 0.9 m");
    // Another datum is not touched by it.
    assert_eq!(
        Converter::with_grids(&Crs::Epsg(28992), Some(&place)).unwrap().conversion(),
        Converter::new(&Crs::Epsg(28992)).unwrap().conversion()
    );
    // A damaged grid is named.
    std::fs::write(place.join("beta2007.GSB"), &std::fs::read(&made).unwrap()[..300]).unwrap();
    let outcome = Converter::with_grids(&system, Some(&place))
        .and_then(|converter| converter.to_lonlat(&mut [Coord { x: 3_500_000.0, y: 5_540_000.0 }]));
    assert!(outcome.is_err());
}

/// The tables of names and grids are those that the EPSG dataset of pyproj gives.
#[test]
fn tables_of_the_epsg_dataset() {
    for (table, file) in [("names", "crs_names.csv"), ("grids", "ntv2_grids.csv")] {
        let peer = reference::run("crs_tables", &json!({ "table": table }));
        let ours = std::fs::read_to_string(project_path("assets/tables").join(file)).unwrap();
        assert_eq!(peer["text"].as_str().unwrap(), ours, "{file}");
    }
}

/// Well-known text without a code is matched by its name if its numbers agree. The texts are those that pyproj writes for the
/// code in the ESRI kind.
#[test]
fn text_without_a_code_is_matched() {
    let codes = [25832, 25833, 4647, 28992, 31467, 31370, 2154, 3067, 2180, 3006, 2157, 31287, 3035, 32631];
    let peer = reference::run("esri_wkt", &json!({ "codes": codes }));
    let mut matched = 0;
    for (code, text) in codes.iter().zip(peer.as_array().unwrap()) {
        let text = text.as_str().unwrap();
        let found = Crs::from_wkt(text).unwrap();
        matched += usize::from(found == Crs::Epsg(*code));
        println!("{code}: {}", found.label());
        // Whether matched or not, it puts places where the code does.
        let mut at = [Coord { x: 9.0, y: 51.0 }];
        let known = Converter::new(&Crs::Epsg(*code)).unwrap();
        known.from_lonlat(&mut at).unwrap();
        Converter::new(&found).unwrap().to_lonlat(&mut at).unwrap();
        let (x, y) = metres_apart(at[0], Coord { x: 9.0, y: 51.0 });
        assert!(x.hypot(y) < 5.0, "{code}: {x} m, {y} m");
        // With other numbers under the same name it is no match.
        if let Some(moved) =
            text.find("False_Easting\",").map(|place| text[..place + 15].to_owned() + "1" + &text[place + 15..])
        {
            assert!(matches!(Crs::from_wkt(&moved), Ok(Crs::Wkt(_))), "{code}");
        }
    }
    assert!(matched >= 13, "only {matched} of {} were matched", codes.len());
}

#[test]
fn eastings_with_and_without_the_number_of_their_zone() {
    let by = |code: u32, eastings: &[f64]| Crs::Epsg(code).by_eastings(eastings.iter().copied());
    assert_eq!(by(25832, &[32_500_000.0, 32_510_000.0]), Some(Crs::Epsg(4647)));
    assert_eq!(by(4647, &[500_000.0]), Some(Crs::Epsg(25832)));
    assert_eq!(by(25833, &[33_400_000.0]), Some(Crs::Epsg(5650)));
    assert_eq!(by(25831, &[31_400_000.0]), Some(Crs::Epsg(5649)));
    for fits in [
        by(25832, &[500_000.0]),
        by(25832, &[32_500_000.0, 500_000.0]),
        by(25832, &[33_500_000.0]),
        by(25832, &[]),
        by(27700, &[32_500_000.0]),
    ] {
        assert_eq!(fits, None);
    }
}
