//! Draws the window with the sample farm into pictures, for looking at: `cargo run -p awn-tests --example look -- FOLDER
//! [SIZE [report]]`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::view::{Beside, Colouring};
use awn_core::model::Method;
use awn_tests::window::window_in;
use egui::Theme;
use egui_kittest::Harness;

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).expect("a folder for the pictures"));
    let only = std::env::args().nth(2).unwrap_or_default();
    std::fs::create_dir_all(&folder).unwrap();
    let farm = folder.join("farm");
    let project = awn::demo::write_sample_farm(&farm, &awn_core::progress::Quiet).unwrap();
    for (name, size, theme, pixels) in [
        ("light-1280", [1280.0, 720.0], Theme::Light, 1.0),
        ("dark-1280", [1280.0, 720.0], Theme::Dark, 1.0),
        ("light-1920", [1920.0, 1080.0], Theme::Light, 1.0),
        ("dark-1920", [1920.0, 1080.0], Theme::Dark, 1.0),
        // Sizes are in points: a screen of 1920 x 1080 at 150 %, and one of 1280 x 720.
        ("light-150", [1280.0, 720.0], Theme::Light, 1.5),
        ("dark-150", [1280.0, 720.0], Theme::Dark, 1.5),
        ("small-light-150", [853.0, 480.0], Theme::Light, 1.5),
        ("small-dark-150", [853.0, 480.0], Theme::Dark, 1.5),
        ("narrow", [900.0, 600.0], Theme::Light, 1.0),
    ] {
        if only.is_empty() || name.contains(&only) {
            pictures(&folder, name, size, theme, pixels, &project);
        }
    }
}

fn pictures(folder: &Path, name: &str, size: [f32; 2], theme: Theme, pixels: f32, project: &Path) {
    let mut window = window_in(size, vec![], theme, pixels);
    window.run();
    shoot(&mut window, folder, name, "0-start");
    window.state().open(project);
    window.run();
    if std::env::args().nth(3).is_some_and(|what| what == "report") {
        return report(&mut window, folder, name);
    }
    shoot(&mut window, folder, name, "1-rating");
    for (number, colouring) in [
        ("2-age", Colouring::Age),
        ("3-both", Colouring::RatingAndAge),
        ("4-due", Colouring::Due),
        ("4-change", Colouring::Change),
        ("4-density", Colouring::Density),
    ] {
        window.state().ask(Request::SetColouring(colouring));
        window.run();
        shoot(&mut window, folder, name, number);
    }
    act(&mut window, Action::LensScout);
    shoot(&mut window, folder, name, "5-scout");
    let due = window.state().state().caches.facts.rows.iter().filter(|row| row.due).map(|row| row.id).next();
    act(&mut window, Action::LensWalk);
    act(&mut window, Action::ProposeStops);
    shoot(&mut window, folder, name, "6-walks");
    window.state().ask(Request::Select { field: due, add: false, scroll: true });
    window.run();
    act(&mut window, Action::ZoomToSelection);
    shoot(&mut window, folder, name, "7-walk");
    act(&mut window, Action::ComparePlans);
    act(&mut window, Action::HowManyStops);
    window.state().ask(Request::ShowBeside(Some(Beside::Way(Method::RandomDraw))));
    window.run();
    shoot(&mut window, folder, name, "7a-compare");
    act(&mut window, Action::ComparePlans);
    act(&mut window, Action::HowManyStops);
    act(&mut window, Action::DrawNoGo);
    let row = due.and_then(|id| window.state().state().caches.facts.row(id).cloned()).unwrap();
    for (x, y) in [(0.0, 0.0), (0.0005, 0.0), (0.0005, 0.0003)] {
        window.state().ask(Request::AddCorner(geo::Coord { x: row.label.x + x, y: row.label.y + y }));
    }
    window.run();
    shoot(&mut window, folder, name, "7b-no-go");
    act(&mut window, Action::ReshapeField);
    shoot(&mut window, folder, name, "7c-reshape");
    act(&mut window, Action::SelectNone);
    act(&mut window, Action::ShowPalette);
    shoot(&mut window, folder, name, "7d-actions");
    window.state().ask(Request::SetPalette(None));
    act(&mut window, Action::ShowHistory);
    shoot(&mut window, folder, name, "7e-history");
    act(&mut window, Action::ShowHistory);
    act(&mut window, Action::LensScout);
    shoot(&mut window, folder, name, "8-scout-field");
    act(&mut window, Action::LensFields);
    shoot(&mut window, folder, name, "9-field");
    act(&mut window, Action::ShowLayers);
    shoot(&mut window, folder, name, "9-layers");
    act(&mut window, Action::ShowLayers);
    act(&mut window, Action::SelectNone);
    act(&mut window, Action::ZoomToAll);
    act(&mut window, Action::LensResults);
    shoot(&mut window, folder, name, "a-results");
    act(&mut window, Action::LensReport);
    shoot(&mut window, folder, name, "a-report");
    act(&mut window, Action::LensResults);
    let bad = folder.join("scouting-2026-06-12.csv");
    std::fs::write(&bad, "lon,lat,heads_per_m2\n-0.5,52.1,many\n-0.5,95,3\n").unwrap();
    window.state().open(&bad);
    window.run();
    shoot(&mut window, folder, name, "b-form");
    window.state().ask(Request::Import);
    window.run();
    shoot(&mut window, folder, name, "c-problems");
}

/// The Report lens alone: its first pages, and a page of a field.
fn report(window: &mut Harness<'_, App>, folder: &Path, name: &str) {
    act(window, Action::LensReport);
    shoot(window, folder, name, "report-cover");
    for scrolled in [2_200.0, 12_000.0] {
        let middle = window.ctx.content_rect().center();
        window.event(egui::Event::PointerMoved(middle));
        let delta = egui::vec2(0.0, -scrolled);
        let wheel = egui::Event::MouseWheel {
            unit: egui::MouseWheelUnit::Point,
            delta,
            phase: egui::TouchPhase::Move,
            source: egui::MouseWheelSource::Wheel,
            modifiers: egui::Modifiers::NONE,
        };
        window.event(wheel);
        window.run();
        shoot(window, folder, name, &format!("report-{scrolled:.0}"));
    }
}

fn act(window: &mut Harness<'_, App>, action: Action) {
    window.state().ask(Request::Do(action));
    window.run();
}

fn shoot(window: &mut Harness<'_, App>, folder: &Path, name: &str, what: &str) {
    let begun = std::time::Instant::now();
    window.step();
    println!("{name} {what}: a frame takes {:.1} ms", begun.elapsed().as_secs_f64() * 1e3);
    // A machine that is busy may keep the renderer waiting too long: once more, then.
    let picture = (0..5).find_map(|_| window.render().ok()).expect("a picture");
    picture.save(folder.join(format!("{name}-{what}.png"))).unwrap();
}
