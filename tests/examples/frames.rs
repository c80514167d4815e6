//! How fast the window draws a very large project: `cargo run --release -p awn-tests --example frames`.
//!
//! 10 000 fields of 100 corners, 100 000 scouting points, results for three fields in five. Prints the processor time of a frame
//! while panning (median and 99th percentile of 200 frames, with and without cutting into triangles), of a change of colour, from
//! opening to the first drawn map, and the memory used. It asserts nothing: times differ from machine to machine.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::Path;
use std::time::Instant;

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::view::Colouring;
use awn_core::model::{
    Assay, AssayKind, DensityUnit, Farm, FarmId, Field, Record, Records, Sample, ScoutPoint, Survey, SurveyId, SurveyKind,
    TestResult,
};
use awn_core::project::{Edit, Project};
use awn_tests::window::window;
use cpu_time::ThreadTime;
use egui::{Event, Modifiers, PointerButton, Pos2, pos2, vec2};
use egui_kittest::Harness;
use geo::{Coord, LineString, MultiPolygon, Polygon};

/// Fields along a side of the square they lie in.
const SIDE: usize = 100;
const CORNERS: usize = 100;
const POINTS: usize = 10;
const FRAMES: usize = 200;

type Window = Harness<'static, App>;

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.gpkg");
    let begun = Instant::now();
    write(&path);
    println!("written in {:.1} s", begun.elapsed().as_secs_f64());

    let mut window = window([1280.0, 720.0], vec![]);
    window.step();
    let begun = Instant::now();
    window.state().open(&path);
    let mut steps = 0;
    while window.state().camera().zoom() < 8.0 || window.state().state().caches.facts.rows.is_empty() {
        window.step();
        steps += 1;
        assert!(steps < 100, "the project does not open");
    }
    window.step();
    println!("open to first drawn map: {:.2} s", begun.elapsed().as_secs_f64());
    window.state().ask(Request::SetYear(2027));
    settle(&mut window);
    println!("memory: {}", memory());

    for (name, zoom) in [("all 10 000 fields", None), ("some 600 fields", Some(4)), ("some 20 fields", Some(9))] {
        if let Some(times) = zoom {
            window.state().ask(Request::Do(Action::ZoomToAll));
            settle(&mut window);
            for _ in 0..times {
                window.state().ask(Request::Do(Action::ZoomIn));
                settle(&mut window);
            }
        }
        pan(&mut window, name);
    }
    window.state().ask(Request::Do(Action::ZoomToAll));
    settle(&mut window);
    for colouring in [Colouring::Age, Colouring::RatingAndAge, Colouring::Change, Colouring::Due, Colouring::Rating] {
        let begun = ThreadTime::now();
        window.state().ask(Request::SetColouring(colouring));
        window.step();
        window.step();
        println!("colour change to {colouring:?}: {:.1} ms for two frames", cpu_ms(begun));
    }
    println!("memory: {}", memory());
    if std::env::args().any(|word| word == "--scout") {
        let begun = Instant::now();
        window.state().ask(Request::Do(Action::LensScout));
        settle(&mut window);
        println!("density of all fields: {:.1} s", begun.elapsed().as_secs_f64());
        pan(&mut window, "density of all fields");
        for _ in 0..9 {
            window.state().ask(Request::Do(Action::ZoomIn));
            settle(&mut window);
        }
        pan(&mut window, "density and finds close up");
        println!("memory: {}", memory());
    }
}

fn settle(window: &mut Window) {
    for _ in 0..4 {
        window.step();
    }
}

/// Drags the map to and fro and prints what a frame costs.
fn pan(window: &mut Window, name: &str) {
    let middle = pos2(680.0, 500.0);
    let button =
        |pos, pressed| Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE };
    window.event(Event::PointerMoved(middle));
    window.step();
    window.event(button(middle, true));
    window.step();
    let (mut drawn, mut cut) = (Vec::new(), Vec::new());
    let mut at: Pos2 = middle;
    for frame in 0..FRAMES {
        let turn = frame as f32 / 25.0;
        at = middle + vec2(120.0 * turn.sin(), 60.0 * (1.7 * turn).sin());
        window.event(Event::PointerMoved(at));
        let begun = ThreadTime::now();
        window.step();
        let step = cpu_ms(begun);
        let shapes = window.output().shapes.clone();
        let begun = ThreadTime::now();
        let primitives = window.ctx.tessellate(shapes, 1.0);
        cut.push(step + cpu_ms(begun));
        drawn.push(step);
        std::hint::black_box(primitives);
    }
    window.event(button(at, false));
    settle(window);
    let words = |times: &mut Vec<f64>| {
        times.sort_by(f64::total_cmp);
        format!("median {:.1} ms, 99th percentile {:.1} ms", times[times.len() / 2], times[times.len() * 99 / 100])
    };
    println!("panning, {name}: {}; with triangles {}", words(&mut drawn), words(&mut cut));
}

/// Processor time of this thread, so that other work on the machine does not count, ms.
fn cpu_ms(begun: ThreadTime) -> f64 {
    begun.elapsed().as_secs_f64() * 1e3
}

/// Resident memory now and at most, as Linux counts it.
fn memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = |word: &str| {
        let line = status.lines().find(|line| line.starts_with(word))?;
        let kb: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
        Some(kb / 1024.0)
    };
    match (line("VmRSS"), line("VmHWM")) {
        (Some(now), Some(most)) => format!("{now:.0} MB now, {most:.0} MB at most"),
        _ => "not known on this system".to_owned(),
    }
}

/// Writes the project.
fn write(path: &Path) {
    let mut project = Project::create(path).unwrap();
    let records: Records = (**project.records()).clone();
    let mut edit = Edit::new(&records, "Make a large project");
    let farms: Vec<Farm> =
        (0..100).map(|number| Farm { id: FarmId::new(), business: String::new(), name: format!("Farm {number}") }).collect();
    let assay = Assay::of(AssayKind::Pot, 2024, "");
    let mut points = Vec::new();
    for row in 0..SIDE {
        for column in 0..SIDE {
            let number = row * SIDE + column;
            let farm = &farms[row / 10 * 10 + column / 10];
            let middle = Coord { x: -0.9 + 0.0052 * column as f64, y: 51.9 + 0.0032 * row as f64 };
            let field = Field::new(farm.id, format!("Field {number}"), MultiPolygon(vec![outline(middle, number)]));
            points.extend((0..POINTS).map(|point| {
                let turn = point as f64 * 2.4;
                let away = 0.3 + 0.05 * point as f64;
                let position = Coord { x: middle.x + 0.002 * away * turn.cos(), y: middle.y + 0.0012 * away * turn.sin() };
                ScoutPoint { position, value: ((number * 7 + point * 13) % 23) as f64 }
            }));
            if number % 5 < 3 {
                for year in [2020 + (number % 7) as i32, 2018] {
                    let sample = Sample::new(format!("{number}-{year}"), field.id, year);
                    edit.put(Record::Result(TestResult::printed(
                        sample.id,
                        assay.id,
                        "clethodim",
                        "1",
                        ((number * 31 + year as usize) % 100) as f64,
                        Some(95.0),
                    )));
                    edit.put(Record::Sample(sample));
                }
            }
            edit.put(Record::Field(field));
        }
    }
    edit.put(Record::Assay(assay));
    for farm in farms {
        edit.put(Record::Farm(farm));
    }
    edit.put(Record::Survey(Survey {
        id: SurveyId::new(),
        date: jiff::civil::date(2026, 6, 12),
        kind: SurveyKind::Points,
        unit: DensityUnit::HeadsPerM2,
        source: "large.csv".into(),
        points,
        zones: Vec::new(),
        rasters: Vec::new(),
    }));
    project.apply(edit.done()).unwrap();
}

/// A wavy field of about 6 ha.
fn outline(middle: Coord<f64>, number: usize) -> Polygon<f64> {
    let corner = |step: usize| {
        let turn = step as f64 / CORNERS as f64 * std::f64::consts::TAU;
        let radius = 1.0 + 0.12 * (3.0 * turn + number as f64).sin() + 0.02 * (17.0 * turn).cos();
        Coord { x: middle.x + 0.0024 * radius * turn.cos(), y: middle.y + 0.00145 * radius * turn.sin() }
    };
    Polygon::new(LineString((0..CORNERS).map(corner).collect()), vec![])
}
