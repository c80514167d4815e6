//! A view of the window on paper: what lies under the fields, and how strongly and in which order its layers are drawn.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests: stopping with a sentence is the answer

use std::io::{Read as _, Write as _};
use std::net::TcpListener;
use std::path::{Path, PathBuf};

use awn::backdrop::{Background, Server};
use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::Lens;
use awn::gui::view::layers::{Layer, LayerList};
use awn_tests::drawing::{classed, figure, rings};
use awn_tests::program::awn;
use awn_tests::reference;
use awn_tests::window::{Window, act, ask, sample_farm_window};
use roxmltree::Document;
use serde_json::json;

const RED: [u8; 3] = [200, 30, 30];
const GREEN: [u8; 3] = [30, 160, 40];
const BLUE: [u8; 3] = [30, 40, 190];
const YELLOW: [u8; 3] = [230, 210, 40];
const QUARTERS: [[u8; 3]; 4] = [RED, GREEN, BLUE, YELLOW];

/// The window with one field in view, and only these layers.
fn with_layers(folder: &Path, answers: Vec<PathBuf>, shown: &[Layer]) -> (Window, geo::Coord<f64>) {
    let mut window = sample_farm_window([1280.0, 800.0], folder, answers, awn_sample_farm::SEASON);
    act(&mut window, Action::LensFields);
    let row = window.state().state().caches.facts.rows.iter().find(|row| row.name == "Ravel Hill").unwrap().clone();
    ask(&mut window, Request::ZoomTo(row.id));
    let mut list = LayerList::default();
    for layer in Layer::ALL {
        list.set_shown(Lens::Fields, layer, shown.contains(&layer));
    }
    ask(&mut window, Request::SetLayers(list));
    (window, row.bounds.center())
}

/// Where the middle of the field's bounds lies on the paper, mm: that of its outline.
fn middle_on_paper(svg: &str) -> (f64, f64) {
    let document = Document::parse(svg).unwrap();
    let field = document.descendants().find(|node| node.attribute("data-name") == Some("Ravel Hill")).unwrap();
    let corners: Vec<_> = rings(field.attribute("d").unwrap()).into_iter().flatten().collect();
    let middle = |of: fn(&(f64, f64)) -> f64| {
        let (low, high) =
            corners.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
        low.midpoint(high)
    };
    (middle(|at| at.0), middle(|at| at.1))
}

fn colours(path: &Path, at: &[(f64, f64)]) -> Vec<Option<Vec<f64>>> {
    let found = reference::run("pixels", &json!({ "path": path, "at": at }));
    let colour = |value: &serde_json::Value| Some(value.as_array()?.iter().map(|band| band.as_f64().unwrap()).collect());
    found["colours"].as_array().unwrap().iter().map(colour).collect()
}

fn assert_near(found: Option<&Vec<f64>>, wanted: [u8; 3], what: &str) {
    let found = found.unwrap_or_else(|| panic!("{what}: nothing there"));
    let off = found.iter().zip(wanted).map(|(a, b)| (a - f64::from(b)).abs()).fold(0.0, f64::max);
    assert!(off < 12.0, "{what}: {found:?} for {wanted:?}");
}

/// Four places round another, half a millimetre away and farther: north-west, north-east, south-west, south-east.
fn round((x, y): (f64, f64), off: f64) -> [(f64, f64); 4] {
    [(x - off, y - off), (x + off, y - off), (x - off, y + off), (x + off, y + off)]
}

#[test]
fn a_picture_lies_under_the_fields_on_paper_where_it_lies_on_the_ground() {
    let folder = tempfile::tempdir().unwrap();
    let out = |name: &str| folder.path().join(name);
    let files = ["map.svg", "map.png", "map.pdf"].map(out);
    let (mut window, middle) = with_layers(folder.path(), files.to_vec(), &[Layer::Background, Layer::Outlines]);
    // The picture's middle lies in the middle of the field's bounds; 0.02 by 0.012 degrees.
    let picture = out("aerial.png");
    reference::run("pixels", &json!({ "write": picture, "side": 2000, "quarters": QUARTERS }));
    let (dx, dy) = (0.02 / 2000.0, 0.012 / 2000.0);
    let first = (middle.x - 0.01 + dx / 2.0, middle.y + 0.006 - dy / 2.0);
    std::fs::write(out("aerial.pgw"), format!("{dx:.12}\n0\n0\n-{dy:.12}\n{:.12}\n{:.12}\n", first.0, first.1)).unwrap();
    let wgs84 = r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]"#;
    std::fs::write(out("aerial.prj"), wgs84).unwrap();
    ask(&mut window, Request::SetBackground(Background::of_file(picture)));
    for _ in &files {
        act(&mut window, Action::ExportMap);
    }
    assert!(window.state().state().problems.is_empty(), "{:?}", window.state().state().problems);
    let svg = std::fs::read_to_string(&files[0]).unwrap();
    let at = middle_on_paper(&svg);
    for file in &files {
        for off in [0.5, 12.0] {
            for (found, wanted) in colours(file, &round(at, off)).iter().zip(QUARTERS) {
                assert_near(found.as_ref(), wanted, &format!("{} at {off} mm", file.display()));
            }
        }
    }
    let held = reference::run("svg", &json!({ "path": files[0] }));
    assert_eq!(held["faults"].as_array().unwrap().len(), 0, "{held}");
}

#[test]
fn layers_are_drawn_in_their_order_and_as_strongly_as_in_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let files = ["map.svg", "map.png", "rows.svg"].map(|name| folder.path().join(name));
    let shown = [Layer::Fills, Layer::Outlines, Layer::Gates, Layer::Tramlines];
    let (mut window, _) = with_layers(folder.path(), files.to_vec(), &shown);
    let mut list = window.state().view().layers.clone();
    list.set_opacity(Layer::Fills, 0.4);
    list.set_opacity(Layer::Gates, 0.0);
    // Tramlines below the colours, which stand two places lower by themselves.
    while list.order.iter().position(|layer| *layer == Layer::Tramlines) > list.order.iter().position(|l| *l == Layer::Fills)
    {
        list.shift(Layer::Tramlines, -1);
    }
    ask(&mut window, Request::SetLayers(list.clone()));
    act(&mut window, Action::ExportMap);
    act(&mut window, Action::ExportMap);
    let svg = std::fs::read_to_string(&files[0]).unwrap();
    let document = Document::parse(&svg).unwrap();
    let groups: Vec<(&str, f64)> = document
        .descendants()
        .filter_map(|node| {
            let name = node.attribute("class")?.strip_prefix("layer-")?;
            Some((name, node.attribute("opacity").map_or(1.0, |value| value.parse().unwrap())))
        })
        .collect();
    assert_eq!(groups, [("tramlines", 1.0), ("fills", 0.4), ("outlines", 1.0)]);
    // A field's colour with 40 % of its strength over the paper.
    let field = document.descendants().find(|node| node.attribute("data-name") == Some("Ravel Hill")).unwrap();
    let fill = field.attribute("fill").unwrap();
    let band = |at: usize| f64::from(u8::from_str_radix(&fill[at..at + 2], 16).unwrap());
    let paper = awn_core::report::palette::GROUND.map(f64::from);
    let mixed: [u8; 3] = std::array::from_fn(|of| (0.4 * band(1 + 2 * of) + 0.6 * paper[of]).round() as u8);
    // Most places in the field have neither lines nor dots.
    let (x, y) = middle_on_paper(&svg);
    let places: Vec<(f64, f64)> = (0..25).map(|at| (x + f64::from(at % 5) * 0.7, y + f64::from(at / 5) * 0.7)).collect();
    let found = colours(&files[1], &places);
    let near = found.iter().flatten().filter(|colour| colour.iter().zip(mixed).all(|(a, b)| (a - f64::from(b)).abs() < 3.0));
    assert!(near.count() >= 13, "{found:?} for {mixed:?}");
    // Patterns for those who tell no colours.
    list.patterns = true;
    ask(&mut window, Request::SetLayers(list));
    act(&mut window, Action::ExportMap);
    let rows = std::fs::read_to_string(&files[2]).unwrap();
    assert!(rows.matches("class=\"pattern\"").count() > svg.matches("class=\"pattern\"").count());
    assert!(rows.contains("url(#rows-"), "the legend is silent about the patterns");
}

/// A tile server on this computer: each tile one colour, by its column and row.
fn tile_server(tiles: [Vec<u8>; 4]) -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    let serve = move || {
        for stream in listener.incoming() {
            let Ok(mut stream) = stream else { continue };
            let mut asked = [0; 2048];
            let length = stream.read(&mut asked).unwrap_or(0);
            let asked = String::from_utf8_lossy(&asked[..length]).into_owned();
            let numbers: Vec<usize> = asked.split([' ', '/', '.']).filter_map(|part| part.parse().ok()).take(3).collect();
            let tile = match numbers[..] {
                [_, column, row] => &tiles[column % 2 + 2 * (row % 2)],
                _ => &tiles[0],
            };
            let head = format!("HTTP/1.1 200 OK\r\nContent-Length: {}\r\nConnection: close\r\n\r\n", tile.len());
            stream.write_all(&[head.into_bytes(), tile.clone()].concat()).ok();
        }
    };
    std::thread::Builder::new().spawn(serve).unwrap();
    port
}

#[test]
fn tiles_of_a_server_lie_on_paper_where_their_numbers_say_with_the_line_of_thanks() {
    let folder = tempfile::tempdir().unwrap();
    let files = ["map.svg", "map.pdf", "hidden.svg"].map(|name| folder.path().join(name));
    let tiles = QUARTERS.map(|colour| {
        let file = folder.path().join("tile.png");
        let quarters = vec![colour; 4];
        reference::run("pixels", &json!({ "write": file, "side": 256, "quarters": quarters }));
        std::fs::read(file).unwrap()
    });
    let (mut window, middle) = with_layers(folder.path(), files.to_vec(), &[Layer::Background, Layer::Outlines]);
    let address = format!("http://127.0.0.1:{}/{{z}}/{{x}}/{{y}}.png", tile_server(tiles));
    let server = Server { address, credit: "Own tiles of this test".into() };
    ask(&mut window, Request::SetBackground(Background::Server(server)));
    act(&mut window, Action::ExportMap);
    act(&mut window, Action::ExportMap);
    let svg = std::fs::read_to_string(&files[0]).unwrap();
    assert!(svg.contains("Background: Own tiles of this test."), "no line of thanks");
    // Numbering of the OGC tile matrix set WebMercatorQuad, at the level that the drawing took: tiles of 2.5 cm to 7 cm.
    let document = Document::parse(&svg).unwrap();
    let bar = classed(&document, "scale-bar")[0];
    let ends = rings(bar.attribute("d").unwrap()).remove(0);
    let mm_per_m = (ends[1].0 - ends[0].0) / figure(&bar, "data-metres");
    let at = middle_on_paper(&svg);
    let metres_per_degree =
        (111_412.84 * middle.y.to_radians().cos(), 111_132.95 - 559.85 * (2.0 * middle.y.to_radians()).cos());
    let level = (8..=19)
        .find(|level| {
            let tile_m = 40_075_016.7 * middle.y.to_radians().cos() / 2_f64.powi(*level);
            tile_m * mm_per_m < 256.0 / 5.0 * std::f64::consts::SQRT_2
        })
        .unwrap();
    let count = 2_f64.powi(level);
    let number = |lon: f64, lat: f64| {
        let row = (1.0 - lat.to_radians().tan().asinh() / std::f64::consts::PI) / 2.0;
        ((lon + 180.0) / 360.0 * count, row * count)
    };
    for file in &files[..2] {
        let mut seen = std::collections::BTreeSet::new();
        for step in 0..49_i32 {
            let (east, north) = (f64::from(step % 7 - 3) * 11.0, f64::from(step / 7 - 3) * 11.0);
            let lon = middle.x + east / mm_per_m / metres_per_degree.0;
            let lat = middle.y + north / mm_per_m / metres_per_degree.1;
            let (column, row) = number(lon, lat);
            // Not on the seams: they are known to half a millimetre only.
            let inside = |at: f64| (0.03..0.97).contains(&at.fract());
            let place = (at.0 + east, at.1 - north);
            if !inside(column) || !inside(row) || place.0 < 12.0 || place.1 < 26.0 || place.1 > 170.0 {
                continue;
            }
            let which = column as usize % 2 + 2 * (row as usize % 2);
            let found = colours(file, &[place]).remove(0);
            // Outside of the picture, or on an outline.
            if found.as_ref().is_none_or(|colour| colour.iter().all(|band| *band < 60.0)) {
                continue;
            }
            assert_near(found.as_ref(), QUARTERS[which], &format!("{} at {place:?}, level {level}", file.display()));
            seen.insert(which);
        }
        assert_eq!(seen.len(), 4, "{seen:?}");
    }
    // A hidden background is neither asked for nor thanked for.
    let mut list = window.state().view().layers.clone();
    list.set_shown(Lens::Fields, Layer::Background, false);
    ask(&mut window, Request::SetLayers(list));
    act(&mut window, Action::ExportMap);
    let hidden = std::fs::read_to_string(&files[2]).unwrap();
    assert!(!hidden.contains("<image") && !hidden.contains("Own tiles"));
}

#[test]
fn lanes_of_an_archive_are_lines_on_paper_and_a_bad_archive_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    // A field across the lane of tests/data/lanes.pmtiles, which runs from 0.215 W, 52.24 N straight to 0.205 W, 52.44 N.
    let ring = "[[-0.216,52.327],[-0.205,52.327],[-0.205,52.333],[-0.216,52.333],[-0.216,52.327]]";
    let text = format!(
        r#"{{"type":"Feature","properties":{{"name":"Lane End"}},"geometry":{{"type":"Polygon","coordinates":[{ring}]}}}}"#
    );
    std::fs::write(path("here.geojson"), text).unwrap();
    let project = path("p.gpkg").display().to_string();
    assert_eq!(awn(["new", &project]).code, 0);
    assert_eq!(awn(["add", "boundaries", &project, path("here.geojson").to_str().unwrap()]).code, 0);
    let lanes = awn_tests::project_path("tests/data/lanes.pmtiles");
    let out = path("map.svg");
    let draw = |background: &Path| {
        let arguments = ["map", &project, "--colour", "plain", "-o", out.to_str().unwrap(), "--background"];
        awn(arguments.iter().map(std::ffi::OsString::from).chain([background.as_os_str().to_owned()]))
    };
    let done = draw(&lanes);
    assert_eq!((done.code, done.err.as_str()), (0, ""));
    let svg = std::fs::read_to_string(&out).unwrap();
    let document = Document::parse(&svg).unwrap();
    let field = document.descendants().find(|node| node.attribute("data-name") == Some("Lane End")).unwrap();
    let corners = rings(field.attribute("d").unwrap()).remove(0);
    let low = corners.iter().fold((f64::INFINITY, f64::INFINITY), |low, at| (low.0.min(at.0), low.1.min(at.1)));
    let high = corners.iter().fold((0.0_f64, 0.0_f64), |high, at| (high.0.max(at.0), high.1.max(at.1)));
    // The lane crosses 52.33 N at 0.2105 W: half way across the field.
    let middle = low.0.midpoint(high.0);
    let crossing = classed(&document, "backdrop-line").iter().any(|line| {
        let points = rings(line.attribute("d").unwrap()).remove(0);
        points.windows(2).any(|pair| {
            let (a, b) = (pair[0], pair[1]);
            let y = low.1.midpoint(high.1);
            let part = (y - a.1) / (b.1 - a.1);
            (0.0..=1.0).contains(&part) && (a.0 + part * (b.0 - a.0) - middle).abs() < 0.01 * (high.0 - low.0)
        })
    });
    assert!(crossing, "the lane does not cross the middle of the field");
    std::fs::write(path("bad.pmtiles"), "no archive").unwrap();
    let refused = draw(&path("bad.pmtiles"));
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("PMTiles"), "{}", refused.err);
    // In the window the map is written without it, and the list of problems says so.
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("map.svg");
    let (mut window, _) = with_layers(folder.path(), vec![out.clone()], &[Layer::Background, Layer::Outlines]);
    ask(&mut window, Request::SetBackground(Background::of_file(path("bad.pmtiles"))));
    act(&mut window, Action::ExportMap);
    assert!(std::fs::read_to_string(out).unwrap().contains("layer-outlines"));
    let problems = &window.state().state().problems;
    assert!(problems.iter().flat_map(|list| &list.problems).any(|problem| problem.what.contains("PMTiles")), "{problems:?}");
}
