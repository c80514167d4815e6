//! Has OR-tools walk the 200 random fields and writes the lengths it finds, for the test of walks to compare with:
//! `cargo run -p awn-tests --example tours_peer -- SECONDS`, seconds for each field. Writes tests/data/tours-peer.json.

#![allow(clippy::unwrap_used, clippy::expect_used)] // stopping with a sentence is the answer here

use awn_tests::random_stops::{FIELDS, walk_table};
use awn_tests::{project_path, reference};
use serde_json::{Value, json};

fn main() {
    let seconds: f64 = std::env::args().nth(1).expect("seconds for each field").parse().expect("a number");
    let cases: Vec<Value> = (0..FIELDS)
        .map(|number| json!({ "distance": walk_table(number), "people": 1, "end": 0, "seconds": seconds }))
        .collect();
    let found: Vec<f64> = serde_json::from_value(reference::run("tour", &json!(cases))).unwrap();
    let metres: Vec<f64> = found.iter().map(|length| (length * 1000.0).round() / 1000.0).collect();
    let all = json!({ "peer": "ortools 9.15.6755, guided local search", "seconds": seconds, "metres": metres });
    std::fs::write(project_path("tests/data/tours-peer.json"), all.to_string() + "\n").unwrap();
}
