//! How fast files come in, each time beside a peer in the same run, best of three on the same files:
//! `cargo run --release -p awn-bench --bin imports -- [FIELDS [POINTS]]` (default 100 000 fields of 25 corners, 1 000 000 points).
//!
//! Prints a table; asserts nothing, as times hang on the machine and on what else it does. Reading goes from the file to shapes and
//! columns on both sides. `AWN_REFERENCE_PYTHON` is the interpreter with the libraries of `tests/reference/requirements.txt`.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, clippy::missing_panics_doc)] // stopping with a sentence is the answer
#![allow(clippy::print_stdout)] // the table

#[path = "../../../src/reference.rs"]
mod reference;

use std::path::PathBuf;
use std::time::Instant;

use awn_core::crs::{Converter, Crs};
use awn_core::exchange::{self, BoundaryOptions};
use awn_core::formats::{self, Table};
use awn_core::geometry::Areas;
use awn_core::model::Records;
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use geo::{Coord, Geometry, MultiPolygon};
use rand::{RngExt as _, SeedableRng as _};
use serde_json::json;

/// A path inside the project's folder.
fn project_path(inside: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..").join(inside)
}

/// The least seconds of three runs, and what the last gave.
fn best<T>(mut work: impl FnMut() -> T) -> (f64, T) {
    let (mut least, mut given) = (f64::INFINITY, None);
    for _ in 0..3 {
        let started = Instant::now();
        given = Some(work());
        least = least.min(started.elapsed().as_secs_f64());
    }
    (least, given.expect("three runs"))
}

fn line(what: &str, ours: f64, peer: &str, theirs: f64, asked: Option<f64>) {
    let asked = asked.map(|asked| format!("{asked:.1}")).unwrap_or_default();
    println!("| {what} | {ours:.3} | {peer} | {theirs:.3} | {:.2} | {asked} |", ours / theirs);
}

fn main() {
    let mut arguments = std::env::args().skip(1).map(|number| number.parse::<usize>().expect("a number"));
    let (count, points) = (arguments.next().unwrap_or(100_000), arguments.next().unwrap_or(1_000_000));
    let folder = tempfile::tempdir().unwrap();
    // Over Great Britain, so that every one has a place on the grid.
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(27700);
    let lonlat: Vec<Coord<f64>> =
        (0..points).map(|_| Coord { x: random.random_range(-3.0..0.5), y: random.random_range(51.0..54.0) }).collect();
    let flat = |list: &[Coord<f64>]| list.iter().flat_map(|at| [at.x, at.y]).flat_map(f64::to_le_bytes).collect::<Vec<u8>>();
    std::fs::write(folder.path().join("lonlat.bin"), flat(&lonlat)).unwrap();
    let peer = reference::run("import_speed", &json!({ "folder": folder.path(), "count": count, "points": points }));
    println!(
        "{count} fields of 25 corners, {points} points; awn {}; {}",
        env!("CARGO_PKG_VERSION"),
        peer["versions"].as_str().unwrap()
    );
    println!("\n| what | ours s | peer | peer s | ratio | asked |\n|---|---|---|---|---|---|");
    let mut shapes: Option<Table> = None;
    for row in peer["files"].as_array().unwrap() {
        let (name, theirs) = (row[0].as_str().unwrap(), row[1].as_f64().unwrap());
        let path = folder.path().join(name);
        let (seconds, table) = best(|| formats::read(&path, None, &mut Problems::new()).unwrap());
        assert_eq!(table.rows.len(), count);
        let asked = [("shp", 1.0), ("geojson", 0.7), ("gpkg", 1.5)].into_iter().find(|(end, _)| name.ends_with(end));
        line(&format!("read {name}"), seconds, "pyogrio", theirs, asked.map(|(_, ratio)| ratio));
        if name.ends_with("shp") {
            shapes = Some(table);
        }
    }
    let converter = Converter::new(&Crs::Epsg(27700)).unwrap();
    let (seconds, _) = best(|| {
        let mut moved = lonlat.clone();
        converter.from_lonlat(&mut moved).unwrap();
        moved
    });
    line("points to EPSG:27700, ours by OSTN15", seconds, "pyproj, no grid", peer["to_grid"].as_f64().unwrap(), Some(1.0));
    let shapes = shapes.unwrap();
    let areas: Vec<MultiPolygon<f64>> = shapes
        .rows
        .iter()
        .filter_map(|row| match row.geometry()?.into_owned() {
            Geometry::MultiPolygon(area) => Some(area),
            Geometry::Polygon(area) => Some(MultiPolygon(vec![area])),
            _ => None,
        })
        .collect();
    let spots: Vec<Coord<f64>> = std::fs::read(folder.path().join("spots.bin"))
        .unwrap()
        .chunks_exact(16)
        .map(|pair| {
            let number = |from: usize| f64::from_le_bytes(pair[from..from + 8].try_into().unwrap());
            Coord { x: number(0), y: number(8) }
        })
        .collect();
    let (seconds, held) = best(|| Areas::new(areas.iter()).holding_each(&spots));
    let hits = held.iter().flatten().count();
    line(
        &format!("points to fields, index and all ({hits} hits)"),
        seconds,
        "shapely STRtree",
        peer["to_fields"].as_f64().unwrap(),
        Some(1.0),
    );
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a thread");
    let (seconds, _) = best(|| one.install(|| Areas::new(areas.iter()).holding_each(&spots)));
    line("the same on one thread", seconds, "shapely STRtree", peer["to_fields"].as_f64().unwrap(), Some(1.0));
    println!("\nhits of the peer: {}", peer["hits"]);
    println!("\nA whole import of boundaries (reading, repair, areas, names), seconds:");
    for name in ["fields.shp", "fields.gpkg", "fields.geojson"] {
        let started = Instant::now();
        let (records, mut problems) = (Records::default(), Problems::new());
        let path = folder.path().join(name);
        let import = exchange::boundaries(&records, &path, &BoundaryOptions::default(), &mut problems, &Quiet).unwrap();
        println!("{name}: {:.1} ({} fields)", started.elapsed().as_secs_f64(), import.added);
    }
}
