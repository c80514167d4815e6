//! How fast the planner and the outlook are, each time beside a peer in the same run: `cargo run --release -p awn-bench [outlook | PROJECT]`.
//!
//! Prints tables; asserts nothing, as times hang on the machine and on what else it does. `AWN_REFERENCE_PYTHON` is the interpreter
//! with the libraries of `tests/reference/requirements.txt`; gstat is taken from R, where `Rscript` has it. With a project, such as
//! that of `awn demo`, every field of it is planned as well.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, clippy::missing_panics_doc)] // stopping with a sentence is the answer

mod ahead;
mod farm;
mod geostatistics;
mod growth;
#[path = "../../src/random_field.rs"]
mod random_field;
#[path = "../../src/reference.rs"]
mod reference;
mod tours;

use std::path::PathBuf;
use std::time::Instant;

use awn_core::stops::{self, Cell};
use geo::Coord;
use serde_json::json;

/// A path inside the project's folder.
fn project_path(inside: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..").join(inside)
}

/// The least seconds of some runs, and what the last gave.
fn timed<T>(runs: usize, mut work: impl FnMut() -> T) -> (f64, T) {
    let mut least = f64::INFINITY;
    let mut given = None;
    for _ in 0..runs {
        let start = Instant::now();
        given = Some(work());
        least = least.min(start.elapsed().as_secs_f64());
    }
    (least, given.expect("one run or more"))
}

/// Work on so many threads.
fn on_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> T {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads").install(work)
}

/// One line of the table: what, our seconds, the peer's, their ratio and the ratio asked for.
fn line(what: &str, ours: f64, peer: &str, theirs: f64, asked: f64, remark: &str) {
    println!("| {what} | {ours:.3} | {peer} | {theirs:.3} | {:.2} | {asked:.1} | {remark} |", ours / theirs);
}

fn kmeans() {
    // 200 by 100 cells of 5 m with three patches.
    let cell = |index: usize| {
        let at = Coord { x: 5.0 * (index % 200) as f64, y: 5.0 * (index / 200) as f64 };
        let bell = |x: f64, y: f64, wide: f64| (-((at.x - x).powi(2) + (at.y - y).powi(2)) / (2.0 * wide * wide)).exp();
        let population = 0.05 + bell(250.0, 150.0, 90.0) + 0.6 * bell(700.0, 320.0, 60.0) + 0.4 * bell(820.0, 90.0, 40.0);
        Cell { at, population, weight: population * population }
    };
    let cells: Vec<Cell> = (0..20_000).map(cell).collect();
    let theirs = reference::run(
        "speed",
        &json!({
            "task": "kmeans",
            "points": cells.iter().map(|cell| [cell.at.x, cell.at.y]).collect::<Vec<_>>(),
            "weights": cells.iter().map(|cell| cell.weight).collect::<Vec<_>>(),
        }),
    );
    let (ours, clusters) = timed(3, || stops::best_kmeans(&cells, 30, 10, 1));
    let remark = format!("inertia {:.5} of theirs", clusters.inertia / theirs["inertia"].as_f64().unwrap());
    line(
        "k-means, 20 000 cells, n = 30, 10 starts",
        ours,
        "scikit-learn",
        theirs["seconds"].as_f64().unwrap(),
        0.3,
        &remark,
    );
}

fn main() {
    println!("| | s | peer | s | ratio | asked | |\n|---|---|---|---|---|---|---|");
    match std::env::args().nth(1).as_deref() {
        Some("outlook") => return ahead::outlooks(),
        Some("farm") => return std::env::args_os().skip(2).for_each(|project| farm::all_fields(&PathBuf::from(project))),
        _ => {}
    }
    kmeans();
    geostatistics::kriging();
    tours::berlin52();
    ahead::outlooks();
    println!();
    growth::one_field();
    if let Some(project) = std::env::args_os().nth(1) {
        farm::all_fields(&PathBuf::from(project));
    }
    println!();
    growth::table();
}
