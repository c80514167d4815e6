//! Has OR-tools solve the 50 random seasons and writes what it finds, for the test of rounds to compare with:
//! `cargo run -p awn-tests --example rounds_peer -- SECONDS`, seconds for each season. Writes tests/data/rounds-peer.json.

#![allow(clippy::unwrap_used, clippy::expect_used)] // stopping with a sentence is the answer here

use awn_tests::random_season::{for_peer, season};
use awn_tests::{project_path, reference};
use serde_json::{Value, json};

fn main() {
    let seconds: f64 = std::env::args().nth(1).expect("seconds for each season").parse().expect("a number");
    let tasks: Vec<Value> = (0..50).map(|number| for_peer(&season(number, 40), seconds, None)).collect();
    let found = reference::run("rounds", &json!(tasks));
    let rows: Vec<Value> = found
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
        .map(|(number, one)| {
            assert_eq!(one["faults"], json!([]));
            json!({ "season": number, "left": one["left"].as_array().unwrap().len(), "drive": one["drive"] })
        })
        .collect();
    let all = json!({ "peer": "ortools 9.15.6755, guided local search", "seconds": seconds, "fields": 40, "seasons": rows });
    let text = serde_json::to_string_pretty(&all).unwrap();
    std::fs::write(project_path("tests/data/rounds-peer.json"), text + "\n").unwrap();
}
