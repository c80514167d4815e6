//! Draws the season's screens with the sample farm into pictures, for looking at:
//! `cargo run -p awn-tests --example season_look -- FOLDER`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::view::Colouring;
use awn::gui::view::season::RoundsForm;
use awn_core::model::DueRules;
use awn_tests::window::window_in;
use egui::Theme;
use egui_kittest::Harness;

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).expect("a folder for the pictures"));
    std::fs::create_dir_all(&folder).unwrap();
    let farm = folder.join("farm");
    let project = awn::demo::write_sample_farm(&farm, &awn_core::progress::Quiet).unwrap();
    for (name, size, theme) in [("light-1280", [1280.0, 720.0], Theme::Light), ("dark-1920", [1920.0, 1080.0], Theme::Dark)]
    {
        pictures(&folder, name, size, theme, &project);
    }
}

fn pictures(folder: &Path, name: &str, size: [f32; 2], theme: Theme, project: &Path) {
    let mut window = window_in(size, vec![], theme, 1.0);
    window.run();
    window.state().open(project);
    window.run();
    ask(&mut window, Request::SetYear(2027));
    ask(&mut window, Request::SetColouring(Colouring::Due));
    let rules = DueRules { samples: Some(8), price: 240.0, ..window.state().records().unwrap().settings.due.clone() };
    ask(&mut window, Request::SetDueRules(Box::new(rules)));
    shoot(&mut window, folder, name, "1-due-list");
    scroll(&mut window, size, -1600.0);
    shoot(&mut window, folder, name, "2-due-list-below");
    let first = window.state().state().caches.facts.due.iter().find(|due| due.due && due.parts.len() > 1).unwrap().field;
    ask(&mut window, Request::Select { field: Some(first), add: false, scroll: true });
    shoot(&mut window, folder, name, "3-field-page");
    ask(&mut window, Request::SelectMany { fields: vec![], add: false });
    act(&mut window, Action::LensWalk);
    shoot(&mut window, folder, name, "4-no-plans");
    act(&mut window, Action::ProposeStops);
    scroll(&mut window, size, -1600.0);
    shoot(&mut window, folder, name, "5-rounds-form");
    let records = window.state().records().unwrap().clone();
    let mut season = window.state().view().season.clone();
    let mut form = RoundsForm::of(&records, 2027);
    form.base = "52.34, -0.215".into();
    (form.from, form.to) = ("2027-07-05".into(), "2027-07-23".into());
    form.settings.people = 2;
    form.settings.hours = 5.0;
    form.settings.cleanest_first = true;
    season.form = Some(form);
    ask(&mut window, Request::SetSeason(Box::new(season)));
    act(&mut window, Action::PlanRounds);
    act(&mut window, Action::ZoomToAll);
    scroll(&mut window, size, -1600.0);
    shoot(&mut window, folder, name, "6-rounds");
    let week = egui::pos2(size[0] * 0.25, size[1] - 30.0);
    window.event(egui::Event::PointerMoved(week));
    window.run();
    shoot(&mut window, folder, name, "7-week");
}

fn scroll(window: &mut Harness<'_, App>, size: [f32; 2], by: f32) {
    window.event(egui::Event::PointerMoved(egui::pos2(size[0] - 150.0, size[1] / 2.0)));
    window.run();
    window.event(egui::Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: egui::vec2(0.0, by),
        modifiers: egui::Modifiers::NONE,
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Wheel,
    });
    window.run();
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
