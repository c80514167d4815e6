//! How long reading and importing boundaries takes beside pyogrio, on the same files in one run; best of three.
//!
//! `cargo run --release --package awn-tests --example import_speed -- [COUNT]` (default 10 000 fields of 25 corners).
#![allow(clippy::unwrap_used, clippy::print_stdout)] // stopping with a sentence is the answer here

use std::time::Instant;

use awn_core::exchange::{self, BoundaryOptions};
use awn_core::formats;
use awn_core::model::Records;
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_tests::reference;
use serde_json::json;

fn best(mut work: impl FnMut()) -> f64 {
    (0..3)
        .map(|_| {
            let started = Instant::now();
            work();
            started.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() {
    let count: usize = std::env::args().nth(1).map_or(10_000, |count| count.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let peer = reference::run("import_speed", &json!({ "folder": folder.path(), "count": count }));
    println!("{count} fields of 25 corners; {}", peer["versions"].as_str().unwrap());
    println!(
        "{:<16} {:>10} {:>10} {:>7} {:>14} {:>7}",
        "file", "pyogrio s", "reading s", "ratio", "whole import s", "ratio"
    );
    for row in peer["files"].as_array().unwrap() {
        let (name, theirs) = (row[0].as_str().unwrap(), row[1].as_f64().unwrap());
        let path = folder.path().join(name);
        let reading = best(|| assert_eq!(formats::read(&path, None, &mut Problems::new()).unwrap().rows.len(), count));
        let whole = best(|| {
            let (records, mut problems) = (Records::default(), Problems::new());
            let import = exchange::boundaries(&records, &path, &BoundaryOptions::default(), &mut problems, &Quiet).unwrap();
            assert_eq!(import.added, count);
        });
        println!(
            "{name:<16} {theirs:>10.3} {reading:>10.3} {:>7.2} {whole:>14.3} {:>7.2}",
            reading / theirs,
            whole / theirs
        );
    }
}
