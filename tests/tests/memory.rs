//! Memory that reading takes, beside the size of the file: four times at most. Each file is read by a process of its own, whose
//! highest memory the system tells; where it does not, nothing is asserted.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

mod support;

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use awn_core::exchange::{self, ScoutingOptions};
use awn_core::formats;
use awn_core::model::{DensityUnit, Records, SurveyKind};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_tests::reference;
use serde_json::json;
use support::Folder;

/// The most that reading may take, times the file.
const MOST: f64 = 4.0;
/// In a process that is to read a file: which.
const FILE: &str = "AWN_MEMORY_OF";
/// What a process that reads begins its answer with.
const ANSWER: &str = "bytes held at most:";

/// Bytes of a line of the system's account of this process.
fn held(line: &str) -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|found| found.strip_prefix(line))?;
    Some(line.trim().trim_end_matches("kB").trim().parse::<f64>().ok()? * 1024.0)
}

/// Times the file that reading it takes.
fn times(file: &Path) -> Option<f64> {
    let output = Command::new(std::env::current_exe().unwrap())
        .args(["reading_takes_four_times_the_file_at_most", "--exact", "--nocapture"])
        .env(FILE, file)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{}: {said}", file.display());
    let taken: f64 = said.lines().find_map(|line| line.split(ANSWER).nth(1))?.trim().parse().unwrap();
    // A shapefile is both its parts.
    let parts = [file.to_owned(), file.with_extension("dbf")];
    let shapefile = file.extension().is_some_and(|end| end == "shp");
    let sizes = parts.iter().take(1 + usize::from(shapefile)).map(|part| part.metadata().unwrap().len() as f64);
    Some(taken / sizes.sum::<f64>())
}

/// Reads the file as an import does.
fn read(file: &Path) {
    let mut problems = Problems::new();
    let scouting = file.file_name().is_some_and(|name| name.to_string_lossy().starts_with("scouting"));
    if scouting {
        let options = ScoutingOptions::new("2026-06-14".parse().unwrap(), SurveyKind::Points, DensityUnit::HeadsPerM2);
        let import = exchange::scouting(&Records::default(), file, &options, &mut problems, &Quiet);
        assert!(import.is_ok(), "{problems:?}");
    } else {
        let table = formats::read(file, None, &mut problems);
        assert!(table.is_some_and(|table| !table.rows.is_empty()), "{problems:?}");
    }
}

fn warm_up() {
    let folder = Folder::new();
    read(&folder.write("scouting.csv", "lon,lat,heads\n-0.41,52.51,3\n"));
}

/// Corners of a field of a kind of its own.
fn ring(number: usize) -> Vec<(f64, f64)> {
    let (x, y) = (-2.0 + 0.004 * (number % 500) as f64, 51.0 + 0.003 * (number / 500) as f64);
    let mut corners: Vec<_> = (0..24)
        .map(|turn| f64::from(turn) * std::f64::consts::TAU / 24.0)
        .map(|angle| (x + 0.001 * angle.cos(), y + 0.0007 * angle.sin()))
        .collect();
    corners.push(corners[0]);
    corners
}

fn listed(number: usize, one: impl Fn(f64, f64) -> String, between: &str) -> String {
    ring(number).into_iter().map(|(x, y)| one(x, y)).collect::<Vec<_>>().join(between)
}

/// Files of texts, of some 15 to 25 MB each.
fn write_texts(folder: &Folder) {
    const POINTS: usize = 700_000;
    const FIELDS: usize = 30_000;
    let points = |head: &str, row: &dyn Fn(usize, f64, f64) -> String| {
        let mut text = head.to_owned();
        for number in 0..POINTS {
            text.push_str(&row(number, 0.000_011 * (number % 9973) as f64, 0.000_007 * (number % 7919) as f64));
        }
        text
    };
    folder.write(
        "scouting.csv",
        points("lon,lat,heads\n", &|number, x, y| format!("{:.6},{:.6},{}\n", -0.41 + x, 52.51 + y, number % 40)),
    );
    folder.write(
        "points.csv",
        points("easting;northing;heads\n", &|number, x, y| {
            format!("{:.0};{:.0};{}\n", 530_000.0 + 60_000.0 * x, 310_000.0 + 90_000.0 * y, number % 10)
        }),
    );
    folder.write(
        "named.csv",
        points("name,place,heads,remark\n", &|number, x, y| {
            format!("P{number},\"{:.5}, {:.5}\",{},\n", 52.51 + y, -0.41 + x, number % 40)
        }),
    );
    folder.write(
        "track.gpx",
        points("<gpx version=\"1.1\"><trk><trkseg>\n", &|_, x, y| {
            format!("<trkpt lat=\"{:.6}\" lon=\"{:.6}\"><ele>12</ele></trkpt>\n", 52.51 + y, -0.41 + x)
        }) + "</trkseg></trk><trk><trkseg></trkseg></trk></gpx>",
    );
    let fields = |head: &str, tail: &str, one: &dyn Fn(usize) -> String| {
        let mut text = head.to_owned();
        for number in 0..FIELDS {
            text.push_str(&one(number));
        }
        text + tail
    };
    folder.write(
        "wkt.csv",
        fields("name,wkt\n", "", &|number| {
            format!("Field {number},\"POLYGON (({}))\"\n", listed(number, |x, y| format!("{x:.7} {y:.7}"), ", "))
        }),
    );
    folder.write(
        "fields.geojsonl",
        fields("", "", &|number| {
            let ring = listed(number, |x, y| format!("[{x:.7},{y:.7}]"), ",");
            format!(
                "{{\"type\":\"Feature\",\"properties\":{{\"name\":\"Field {number}\"}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[[{ring}]]}}}}\n"
            )
        }),
    );
    folder.write(
        "task.xml",
        fields("<ISO11783_TaskData>", "</ISO11783_TaskData>", &|number| {
            let mut text = format!("<PFD A=\"P{number}\" C=\"Field {number}\"><PLN A=\"1\"><LSG A=\"1\">\n");
            for (x, y) in ring(number) {
                writeln!(text, "<PNT A=\"2\" C=\"{y:.7}\" D=\"{x:.7}\"/>").unwrap();
            }
            text + "</LSG></PLN></PFD>\n"
        }),
    );
}

#[test]
fn reading_takes_four_times_the_file_at_most() {
    if let Some(file) = std::env::var_os(FILE) {
        // What the program takes for itself, as the table of coordinate systems, is there before.
        warm_up();
        let before = held("VmRSS:");
        read(Path::new(&file));
        if let Some((before, after)) = before.zip(held("VmHWM:")) {
            println!("{ANSWER} {}", after - before);
        }
        return;
    }
    let folder = Folder::new();
    write_texts(&folder);
    let speed =
        reference::run("import_speed", &json!({ "folder": folder.path(""), "count": 30_000, "points": 10, "times": 1 }));
    let peers = speed["files"].as_array().unwrap().iter().map(|row| row[0].as_str().unwrap().to_owned());
    let ours = ["scouting.csv", "points.csv", "named.csv", "wkt.csv", "track.gpx", "fields.geojsonl", "task.xml"];
    let mut complaints = Vec::new();
    for name in ours.into_iter().map(str::to_owned).chain(peers) {
        let Some(times) = times(&folder.path(&name)) else { return };
        println!("{name}: {times:.1} times the file");
        if times > MOST {
            complaints.push(format!("{name}: {times:.2}"));
        }
    }
    assert!(complaints.is_empty(), "{complaints:?}");
}
