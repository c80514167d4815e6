//! Damaged files of every format through every reader: an answer or a reason, never a panic, a hang or a full memory.
//!
//! Each case is a good file harmed as a seed says (`awn_tests::damage`). Seeds that found something are kept in
//! `tests/data/damage-seeds.txt`. `AWN_DAMAGE_ROUNDS` sets how many seeds a file is tried with, `AWN_DAMAGE_FIRST` the first.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Mutex;
use std::time::Instant;

use awn_core::crs::{Converter, Crs};
use awn_core::exchange::{self, BoundaryOptions, FileOptions, ScoutingOptions};
use awn_core::formats::{self, raster};
use awn_core::model::{DensityUnit, Records, SurveyKind};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_tests::{damage, reference};
use rayon::prelude::*;
use serde_json::json;
use support::{Folder, boundaries};

/// Seeds a file is tried with.
const ROUNDS: u64 = 250;
/// A case that takes longer hangs for those who wait, s. Whole runs take a fraction of a millisecond a case.
const HANGS_S: f64 = 20.0;
/// Memory that the whole run may take at its highest, MB.
const MOST_MB: u64 = 1500;

/// A good file with what stands beside it: the part that is harmed first.
struct Good {
    name: String,
    parts: Vec<(String, Vec<u8>)>,
}

fn good_files() -> Vec<Good> {
    let folder = Folder::new();
    let made = reference::run("write_files", &json!({ "folder": folder.path("") }));
    let mut files = Vec::new();
    let read = |name: &str| (name.to_owned(), std::fs::read(folder.path(name)).unwrap());
    let one = |name: &str, bytes: &[u8]| Good { name: name.into(), parts: vec![(name.into(), bytes.to_vec())] };
    for name in made.as_array().unwrap() {
        let name = name.as_str().unwrap();
        if let Some(stem) = name.strip_suffix(".shp") {
            // Every part of a shapefile is harmed in turn.
            let ends = ["shp", "dbf", "prj", "shx", "cpg"].map(|end| format!("{stem}.{end}"));
            let parts: Vec<_> = ends.iter().filter(|part| folder.path(part).exists()).map(|part| read(part)).collect();
            for first in 0..parts.len() {
                let mut parts = parts.clone();
                parts.swap(0, first);
                files.push(Good { name: parts[0].0.clone(), parts });
            }
        } else {
            files.push(Good { name: name.into(), parts: vec![read(name)] });
        }
    }
    files.push(one("a.gpx", br#"<gpx><wpt lat="52.5" lon="-0.4"><name>Gate</name></wpt><trk><trkseg><trkpt lat="52" lon="0"/></trkseg></trk></gpx>"#));
    files.push(one("a.xml", br#"<ISO11783_TaskData><PFD A="P" C="F"><PLN A="1"><LSG A="1"><PNT A="2" C="52" D="0"/><PNT A="2" C="52.1" D="0"/><PNT A="2" C="52" D="0.1"/></LSG></PLN></PFD></ISO11783_TaskData>"#));
    files.push(one("points.csv", "name;lat;lon;heads\nHøjager;52°30'N;0°24'W;3,5\nB;52,5;-0,4;4\n".as_bytes()));
    files.push(one(
        "results.csv",
        b"sample,field,year,assay,active,reduction_percent,standard_percent\nA1,Long Acre,2025,pot,cycloxydim,88,92\n",
    ));
    let grid = folder.path("grid.gsb");
    reference::run("ntv2", &json!({ "file": grid, "crs": "EPSG:31467", "base": "EPSG:4314", "points": [[3.5e6, 5.54e6]] }));
    files.push(one("BETA2007.gsb", &std::fs::read(grid).unwrap()));
    for (name, options) in [
        ("plain.tif", json!({})),
        ("packed.tif", json!({ "compress": "deflate", "tiled": true, "blockxsize": 16, "blockysize": 16 })),
        ("cells.asc", json!({})),
    ] {
        let path = folder.path(name);
        let case = json!({ "path": path, "rows": 20, "columns": 30, "dtype": "float32", "crs": "EPSG:27700",
            "transform": [2.0, 0.0, 560_000.0, 0.0, -2.0, 330_000.0], "nodata": "-9999", "options": options });
        reference::run("raster", &json!({ "write": [case] }));
        files.push(one(name, &std::fs::read(path).unwrap()));
    }
    files.push(one("book.xlsx", &workbook()));
    files
}

/// A workbook as this program writes them: the results of a project with one result.
fn workbook() -> Vec<u8> {
    let mut project = support::project();
    let folder = Folder::new();
    let table = "sample,field,year,assay,active,reduction_percent,standard_percent\nA1,Hill Farm/Long Acre,2025,pot,cycloxydim,88,92\n";
    let file = folder.write("results.csv", table);
    let mut problems = Problems::new();
    let import = exchange::results(project.records(), &file, &[], &mut problems, &Quiet);
    project.apply(import.unwrap_or_else(|_| panic!("{problems:?}")).command).unwrap();
    exchange::export(project.records(), 2026, exchange::What::Results, exchange::Format::Xlsx).unwrap()
}

/// Reads a file in every way that its kind is read; whether there was an answer or a reason.
fn read_every_way(file: &Path, whole: bool) -> bool {
    let ending = file.extension().unwrap().to_string_lossy().into_owned();
    let mut problems = Problems::new();
    let file = match ending.as_str() {
        "dbf" | "shx" | "prj" | "cpg" => &file.with_extension("shp"),
        _ => file,
    };
    match ending.as_str() {
        "gsb" => {
            let converter = Converter::with_grids(&Crs::Epsg(31467), file.parent());
            let mut at = [geo::Coord { x: 3_500_000.0, y: 5_540_000.0 }];
            let moved = converter.and_then(|converter| converter.to_lonlat(&mut at));
            return moved.is_err() || at[0].x.is_finite();
        }
        "tif" | "asc" => return raster::read(file, &mut problems).is_some() || problems.has_errors(),
        _ => {}
    }
    let answered = formats::read(file, None, &mut problems).is_some() || problems.has_errors();
    if whole {
        let records = Records::default();
        formats::layers(file);
        let crs = Some(Crs::Epsg(25832));
        boundaries(&records, file, &BoundaryOptions { crs: crs.clone(), year: Some(2026), ..BoundaryOptions::default() })
            .0
            .ok();
        let scouting = ScoutingOptions {
            file: FileOptions { crs, ..FileOptions::default() },
            ..ScoutingOptions::new("2026-06-14".parse().unwrap(), SurveyKind::Points, DensityUnit::HeadsPerM2)
        };
        exchange::scouting(&records, file, &scouting, &mut Problems::new(), &Quiet).ok();
        exchange::results(&records, file, &[], &mut Problems::new(), &Quiet).ok();
    }
    answered
}

/// Tries one harmed file; the complaint, if there is one.
fn tried(folder: &Folder, good: &Good, harmed: &[u8], whole: bool) -> Option<String> {
    for (index, (name, bytes)) in good.parts.iter().enumerate() {
        folder.write(name, if index == 0 { harmed } else { bytes });
    }
    let file = folder.path(&good.name);
    let started = Instant::now();
    let outcome = catch_unwind(AssertUnwindSafe(|| read_every_way(&file, whole)));
    let seconds = started.elapsed().as_secs_f64();
    match outcome {
        Err(_) => Some("it stopped the program".into()),
        Ok(false) => Some("neither an answer nor a reason".into()),
        Ok(true) if seconds > HANGS_S => Some(format!("it took {seconds:.0} s")),
        Ok(true) => None,
    }
}

fn number(variable: &str, otherwise: u64) -> u64 {
    std::env::var(variable).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

#[test]
fn damage_of_every_kind() {
    let (rounds, first) = (number("AWN_DAMAGE_ROUNDS", ROUNDS), number("AWN_DAMAGE_FIRST", 0));
    let kept = std::fs::read_to_string(awn_tests::project_path("tests/data/damage-seeds.txt")).unwrap();
    let kept: Vec<(&str, u64)> = kept
        .lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| line.split_once(' '))
        .map(|(name, seed)| (name, seed.trim().parse().unwrap()))
        .collect();
    let files = good_files();
    assert!(files.len() > 25, "{}", files.len());
    for (name, _) in &kept {
        assert!(files.iter().any(|good| good.name == *name), "a kept seed is of {name}, which is not made any more");
    }
    let (complaints, count) = (Mutex::new(Vec::new()), Mutex::new(0));
    files.par_iter().for_each(|good| {
        let folder = Folder::new();
        let bytes = &good.parts[0].1;
        let complain = |case: String, what: String| complaints.lock().unwrap().push(format!("{} {case}: {what}", good.name));
        let slow = ["gpkg", "zip", "kmz", "gsb", "xlsx"].iter().any(|end| good.name.ends_with(end));
        let seeds = kept.iter().filter(|(name, _)| *name == good.name).map(|(_, seed)| *seed);
        let rounds = if slow { rounds / 3 } else { rounds };
        let mut tries = 0;
        for seed in seeds.chain(first..first + rounds) {
            tries += 1;
            if let Some(what) = tried(&folder, good, &damage::harm(bytes, seed), seed % 5 == 0) {
                complain(seed.to_string(), what);
            }
        }
        for (at, harmed) in damage::absurd_counts(bytes) {
            tries += 1;
            if let Some(what) = tried(&folder, good, &harmed, false) {
                complain(format!("count at {at}"), what);
            }
        }
        *count.lock().unwrap() += tries;
    });
    let complaints = complaints.into_inner().unwrap();
    assert!(complaints.is_empty(), "{} complaints:\n{}", complaints.len(), complaints.join("\n"));
    let peak = peak_mb();
    println!("{} cases of {} files; {peak:?} MB at most", count.into_inner().unwrap(), files.len());
    assert!(peak.is_none_or(|peak| peak < MOST_MB), "{peak:?} MB");
}

/// The most memory that this process held at a time, where the system says so, MB.
fn peak_mb() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().trim_end_matches(" kB").trim().parse::<u64>().ok()? / 1024)
}
