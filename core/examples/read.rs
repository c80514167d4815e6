//! What files are read as: one JSON line a file with its count, system, planar area, length, points and problems.
//!
//! `cargo run --package awn-core --example read -- FILE ...`
#![allow(clippy::unwrap_used, clippy::print_stdout)] // a tool of the tests

use std::path::Path;
use std::time::Instant;

use awn_core::formats;
use awn_core::problem::Problems;
use geo::{Area as _, CoordsIter as _, Euclidean, Geometry, Length as _};

fn main() {
    for file in std::env::args().skip(1) {
        let (mut problems, started) = (Problems::new(), Instant::now());
        let table = formats::read(Path::new(&file), None, &mut problems);
        let took = started.elapsed().as_secs_f64();
        let said: Vec<String> = problems.list.iter().take(4).map(ToString::to_string).collect();
        let shapes: Vec<_> = table.iter().flat_map(|table| table.rows.iter()).filter_map(formats::Row::geometry).collect();
        let area: f64 = shapes.iter().map(|shape| shape.unsigned_area()).sum();
        let length: f64 = shapes.iter().map(|shape| length(shape)).sum();
        let positions: usize = shapes.iter().map(|shape| shape.coords_count()).sum();
        let line = serde_json::json!({
            "file": file, "rows": table.as_ref().map(|table| table.rows.len()), "shapes": shapes.len(), "area": area,
            "length": length, "positions": positions, "seconds": took, "problems": said,
            "crs": table.as_ref().and_then(|table| table.crs.as_ref().map(awn_core::crs::Crs::label)),
            "columns": table.map(|table| table.columns),
        });
        println!("{line}");
    }
}

fn length(shape: &Geometry<f64>) -> f64 {
    match shape {
        Geometry::LineString(line) => Euclidean.length(line),
        Geometry::MultiLineString(lines) => Euclidean.length(lines),
        Geometry::GeometryCollection(parts) => parts.iter().map(length).sum(),
        _ => 0.0,
    }
}
