//! Draws the Samples lens with the sample farm into pictures, for looking at: `cargo run -p awn-tests --example samples_look -- FOLDER`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn_tests::window::window_in;
use egui::Theme;
use egui_kittest::Harness;

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).expect("a folder for the pictures"));
    std::fs::create_dir_all(&folder).unwrap();
    let project = awn::demo::write_sample_farm(&folder.join("farm"), &awn_core::progress::Quiet).unwrap();
    for (name, size, theme) in [
        ("light-1280", [1280.0, 720.0], Theme::Light),
        ("dark-1920", [1920.0, 1080.0], Theme::Dark),
        ("narrow", [900.0, 600.0], Theme::Light),
    ] {
        pictures(&folder, name, size, theme, &project);
    }
}

fn pictures(folder: &Path, name: &str, size: [f32; 2], theme: Theme, project: &Path) {
    let mut window = window_in(size, vec![], theme, 1.0);
    window.state().open(project);
    window.run();
    shoot(&mut window, folder, name, "0-reminder");
    let close: Vec<u64> = window.state().state().toasts.iter().map(|toast| toast.id).collect();
    for id in close {
        window.state().ask(Request::DismissToast(id));
    }
    act(&mut window, Action::LensSamples);
    shoot(&mut window, folder, name, "1-next");
    ask(&mut window, Request::SetYear(2026));
    shoot(&mut window, folder, name, "2-last");
    act(&mut window, Action::ChooseFirstSamples);
    shoot(&mut window, folder, name, "3-chosen");
    act(&mut window, Action::MoveSamples);
    shoot(&mut window, folder, name, "4-moved");
    let open = window.state().state().caches.facts.samples.iter().find(|line| line.status.is_late()).unwrap().sample.id;
    let mut view = window.state().state().view.samples.clone();
    view.open = Some(open);
    view.chosen.clear();
    ask(&mut window, Request::SetSamples(Box::new(view)));
    shoot(&mut window, folder, name, "5-page");
    // A walk of this harvest, some stops left out.
    ask(&mut window, Request::SetYear(2027));
    let field = window.state().state().caches.facts.rows.iter().find(|row| row.due).unwrap().id;
    ask(&mut window, Request::Select { field: Some(field), add: false, scroll: true });
    act(&mut window, Action::LensWalk);
    act(&mut window, Action::ProposeStops);
    act(&mut window, Action::LensSamples);
    act(&mut window, Action::PlanSamples);
    let plan = window.state().records().unwrap().plan_of(field, 2027).unwrap().clone();
    let line = &plan.walk.line.0;
    let points: String = line[..line.len() / 2]
        .iter()
        .map(|at| format!("<trkpt lat=\"{}\" lon=\"{}\"><time>2027-07-14T08:00:00Z</time></trkpt>", at.y, at.x))
        .collect();
    let file = folder.join("track.gpx");
    std::fs::write(&file, format!("<gpx version=\"1.1\"><trk><trkseg>{points}</trkseg></trk></gpx>")).unwrap();
    window.state().open(&file);
    window.run();
    shoot(&mut window, folder, name, "6-form");
    ask(&mut window, Request::Import);
    let id = window.state().state().caches.facts.samples_of(field)[0].sample.id;
    let mut view = window.state().state().view.samples.clone();
    view.open = Some(id);
    view.chosen.clear();
    ask(&mut window, Request::SetSamples(Box::new(view)));
    ask(&mut window, Request::CloseProblems);
    act(&mut window, Action::ZoomToSelection);
    shoot(&mut window, folder, name, "7-walked");
    ask(&mut window, Request::SetYear(2025));
    act(&mut window, Action::SelectNone);
    shoot(&mut window, folder, name, "8-empty");
}

fn ask(window: &mut Harness<'_, App>, request: Request) {
    window.state().ask(request);
    window.run();
}

fn act(window: &mut Harness<'_, App>, action: Action) {
    ask(window, Request::Do(action));
}

fn shoot(window: &mut Harness<'_, App>, folder: &Path, name: &str, what: &str) {
    window.step();
    window.render().unwrap().save(folder.join(format!("{name}-{what}.png"))).unwrap();
}
