//! Kriging beside PyKrige and gstat.

use std::process::Command;

use awn_core::density::{Kriging, Variogram, VariogramShape};
use geo::Coord;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

use crate::{line, project_path, reference, timed};

const VARIOGRAM: Variogram = Variogram { shape: VariogramShape::Spherical, nugget: 0.1, partial_sill: 1.0, range_m: 120.0 };
const NEAREST: usize = 16;

/// 400 points to 40 000 cells, from all points and from the nearest 16. Values and variances, as the peers give both.
pub fn kriging() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let mut draw = |to: f64| random.random_range(0.0..to);
    let points: Vec<(Coord<f64>, f64)> = (0..400)
        .map(|_| Coord { x: draw(1000.0), y: draw(1000.0) })
        .map(|at| (at, (at.x / 90.0).sin() + at.y / 500.0))
        .collect();
    let cells: Vec<Coord<f64>> =
        (0..40_000).map(|k| Coord { x: 2.5 + 5.0 * f64::from(k % 200), y: 2.5 + 5.0 * f64::from(k / 200) }).collect();
    let given = json!({
        "points": points.iter().map(|(at, value)| [at.x, at.y, *value]).collect::<Vec<_>>(),
        "cells": cells.iter().map(|at| [at.x, at.y]).collect::<Vec<_>>(),
        "nugget": VARIOGRAM.nugget, "psill": VARIOGRAM.partial_sill, "range": VARIOGRAM.range_m, "nearest": NEAREST,
    });
    let ask = |task: &str| {
        let mut asked = given.clone();
        asked["task"] = json!(task);
        reference::run("speed", &asked)
    };
    let run = |near: Option<usize>| {
        let (ours, values) = timed(3, || {
            let kriging = Kriging::new(&points, VARIOGRAM, near).expect("can be kriged");
            kriging.estimate_all(&cells).into_iter().map(|estimate| estimate.value).collect::<Vec<f64>>()
        });
        (ours, values.iter().sum::<f64>() / values.len() as f64)
    };
    let say = |what: &str, (ours, mean): (f64, f64), peer: &str, theirs: &Value, asked: f64| {
        let remark = format!("means differ by {:.1e}", (mean - theirs["mean"].as_f64().unwrap()).abs());
        line(what, ours, peer, theirs["seconds"].as_f64().unwrap(), asked, &remark);
    };
    say("kriging, 400 points to 40 000 cells, all points", run(None), "PyKrige", &ask("krige_all"), 0.2);
    let near = run(Some(NEAREST));
    match gstat(&given) {
        Some(theirs) => say("the same, 16 nearest", near, "gstat", &theirs, 1.0),
        None => println!("| gstat: R or its package is not there | | | | | | |"),
    }
    say("the same, 16 nearest", near, "PyKrige (C)", &ask("krige_near"), 1.0);
}

/// gstat in R; none where it is not installed.
fn gstat(given: &Value) -> Option<Value> {
    let folder = std::env::temp_dir().join(format!("awn-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).ok()?;
    let table = |name: &str, key: &str, head: &str| {
        let rows = given[key]
            .as_array()
            .unwrap()
            .iter()
            .map(|row| row.as_array().unwrap().iter().map(ToString::to_string).collect::<Vec<_>>().join(","));
        std::fs::write(folder.join(name), std::iter::once(head.to_owned()).chain(rows).collect::<Vec<_>>().join("\n"))
    };
    table("points.csv", "points", "x,y,z").ok()?;
    table("cells.csv", "cells", "x,y").ok()?;
    let script = project_path("tests/reference/gstat_speed.R");
    let numbers = ["nugget", "psill", "range", "nearest"].map(|key| given[key].to_string());
    let output = Command::new("Rscript").arg(script).arg(&folder).args(numbers).output().ok()?;
    let _ = std::fs::remove_dir_all(&folder);
    serde_json::from_slice(&output.stdout).ok()
}
