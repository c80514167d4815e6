//! What is made of every map file in some folders, beside GDAL: rows and area in the plane of the file's own numbers, of rasters size, place
//! and sum of the numbers.
//!
//! `cargo run --package awn-tests --example files_beside_gdal -- FOLDER|FILE...` (with AWN_REFERENCE_PYTHON set). Ends with the
//! number of files that differ.
#![allow(clippy::unwrap_used, clippy::print_stdout)] // stopping with a sentence is the answer here

use std::path::PathBuf;

use awn_core::formats::{self, raster};
use awn_core::problem::Problems;
use awn_tests::reference;
use serde_json::{Value, json};

const ENDS: [&str; 20] = [
    "shp", "gpkg", "geojson", "json", "geojsonl", "ndjson", "gpx", "kml", "kmz", "fgb", "gml", "zip", "xml", "geojsons",
    "csv", "xlsx", "shz", "tif", "tiff", "asc",
];

fn files(places: impl Iterator<Item = String>) -> Vec<PathBuf> {
    let mut open: Vec<PathBuf> = places.map(PathBuf::from).collect();
    let mut found = Vec::new();
    while let Some(place) = open.pop() {
        if place.is_dir() {
            open.extend(std::fs::read_dir(place).unwrap().flatten().map(|entry| entry.path()));
        } else if place.extension().is_some_and(|end| ENDS.contains(&end.to_string_lossy().to_lowercase().as_str())) {
            found.push(place);
        }
    }
    found.sort();
    found
}

/// A raster beside rasterio; what is refused here is shown with its reason, whatever the other makes of it.
fn of_raster(file: &std::path::Path) -> (&'static str, String) {
    let mut problems = Problems::new();
    let Some(ours) = raster::read(file, &mut problems) else {
        return ("refused", problems.errors().map(ToString::to_string).next().unwrap_or_else(|| "NO REASON".into()));
    };
    let theirs = reference::run("raster", &json!({ "read": [file] }))[0].clone();
    let numbers = |list: &Value| -> Vec<f64> {
        list.as_array().unwrap().iter().map(|value| value.as_f64().unwrap_or(f64::NAN)).collect()
    };
    let (values, transform) = (numbers(&theirs["values"]), numbers(&theirs["transform"]));
    let near = |a: f64, b: f64| (a.is_nan() && b.is_nan()) || (a - b).abs() <= 1e-9 * a.abs().max(1.0);
    let all = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| near(*a, *b));
    let same = values.len() == ours.values.len() && all(&ours.values, &values) && all(&ours.to_world, &transform);
    let sum = |list: &[f64]| list.iter().filter(|value| !value.is_nan()).sum::<f64>();
    let said = format!(
        "{} x {}, sum {:.3}, at {:?}   GDAL: {} x {}, sum {:.3}, at {transform:?}",
        ours.columns,
        ours.rows,
        sum(&ours.values),
        ours.to_world,
        theirs["columns"],
        theirs["rows"],
        sum(&values)
    );
    (if same { "same" } else { "DIFFER" }, said)
}

fn main() {
    let (mut same, mut refused, mut ours_only, mut differ) = (0, 0, 0, 0);
    for file in files(std::env::args().skip(1)) {
        let mut problems = Problems::new();
        if file.extension().is_some_and(|end| ["tif", "tiff", "asc"].iter().any(|raster| end.eq_ignore_ascii_case(raster))) {
            let (verdict, said) = of_raster(&file);
            match verdict {
                "same" => same += 1,
                "refused" => refused += 1,
                _ => differ += 1,
            }
            println!("{verdict:<16} {:<50} {said}", file.file_name().unwrap().to_string_lossy());
            continue;
        }
        let table = formats::read(&file, None, &mut problems);
        let peer = reference::run("features", &json!({ "path": file }));
        let name =
            file.components().rev().take(2).map(|part| part.as_os_str().to_string_lossy().into_owned()).collect::<Vec<_>>();
        let name = name.into_iter().rev().collect::<Vec<_>>().join("/");
        let theirs = peer.as_array().map(|layers| {
            let said = |layer: &Value| format!("{} rows {:.9}", layer["count"], layer["area"].as_f64().unwrap());
            layers.iter().map(said).collect::<Vec<_>>().join(" | ")
        });
        let ours = table.as_ref().map(|table| {
            let shapes = table.rows.iter().filter_map(formats::Row::geometry);
            (table.rows.len(), shapes.map(|shape| geo::Area::unsigned_area(&*shape)).sum::<f64>())
        });
        let verdict = match (&ours, peer.as_array()) {
            (Some((rows, area)), Some(layers)) => {
                let fits = |layer: &Value| {
                    let wanted = layer["area"].as_f64().unwrap();
                    layer["count"].as_u64() == Some(*rows as u64) && (area - wanted).abs() <= 1e-6 * wanted.abs().max(1e-9)
                };
                if layers.iter().any(fits) { "same" } else { "DIFFER" }
            }
            (None, Some(layers)) if layers.iter().any(|layer| layer["count"].as_u64() > Some(0)) => "REFUSED",
            (None, _) => "refused by both",
            (Some(_), None) => "read here only",
        };
        match verdict {
            "same" => same += 1,
            "refused by both" => refused += 1,
            "read here only" => ours_only += 1,
            _ => differ += 1,
        }
        let ours = ours.map_or_else(
            || problems.errors().map(ToString::to_string).next().unwrap_or_else(|| "NO REASON".into()),
            |(rows, area)| format!("{rows} rows {area:.9}"),
        );
        println!("{verdict:<16} {name:<50} {ours}   GDAL: {}", theirs.unwrap_or_else(|| peer["error"].to_string()));
    }
    println!("{same} same, {refused} refused by both, {ours_only} read here only, {differ} to look at");
}
