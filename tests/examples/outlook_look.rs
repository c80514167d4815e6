//! Draws the coming years and the patches into pictures, for looking at: `cargo run -p awn-tests --example outlook_look -- FOLDER`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::Colouring;
use awn::gui::view::act::{ActRequest, ActTab, ActView};
use awn::gui::view::outlook::{Figure, OutlookView, OutlookWish};
use awn_core::progress::Quiet;
use awn_tests::window::{Window, act, ask, window_in};
use egui::Theme;

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).expect("a folder for the pictures"));
    std::fs::create_dir_all(&folder).unwrap();
    let path = awn::demo::write_sample_farm(&folder.join("farm"), &Quiet).unwrap();
    for (name, theme, size) in [
        ("light", Theme::Light, [1280.0, 720.0]),
        ("dark", Theme::Dark, [1280.0, 720.0]),
        ("light-large", Theme::Light, [1920.0, 1080.0]),
        ("dark-large", Theme::Dark, [1920.0, 1080.0]),
    ] {
        pictures(&folder, name, theme, size, &path);
    }
}

fn pictures(folder: &Path, name: &str, theme: Theme, size: [f32; 2], project: &Path) {
    let mut window = window_in(size, vec![], theme, 1.0);
    window.state().open(project);
    window.run();
    ask(&mut window, Request::SetYear(awn_sample_farm::SEASON));
    act(&mut window, Action::LensAct);
    let view = ActView { tab: ActTab::Years, ..window.state().view().act.clone() };
    ask(&mut window, Request::Act(ActRequest::Show(Box::new(view))));
    shoot(&mut window, folder, name, "1-no-field");
    act(&mut window, Action::ChooseWorst);
    let view = ActView { tab: ActTab::Years, ..window.state().view().act.clone() };
    ask(&mut window, Request::Act(ActRequest::Show(Box::new(view.clone()))));
    shoot(&mut window, folder, name, "2-heads");
    show(&mut window, |view| view.figure = Figure::Money);
    shoot(&mut window, folder, name, "3-money");
    show(&mut window, |view| view.figure = Figure::Hold);
    ask(&mut window, Request::SetColouring(Colouring::Expected));
    shoot(&mut window, folder, name, "4-hold-and-map");
    let scenario = (**window.state().records().unwrap().scenarios.values().next().unwrap()).clone();
    show(&mut window, |view| view.editing = Some(scenario));
    shoot(&mut window, folder, name, "5-scenario");
    let costs = window.state().records().unwrap().settings.outlook.clone();
    show(&mut window, |view| {
        view.editing = None;
        view.costs = Some(costs);
    });
    shoot(&mut window, folder, name, "6-costs");
    show(&mut window, |view| view.costs = None);
    let view = ActView { tab: ActTab::Patches, ..view };
    ask(&mut window, Request::Act(ActRequest::Show(Box::new(view))));
    shoot(&mut window, folder, name, "7-patches");
}

fn show(window: &mut Window, change: impl FnOnce(&mut OutlookView)) {
    let mut view = window.state().view().outlook.clone();
    change(&mut view);
    ask(window, Request::Outlook(OutlookWish::Show(Box::new(view))));
}

fn shoot(window: &mut Window, folder: &Path, name: &str, what: &str) {
    window.step();
    window.render().unwrap().save(folder.join(format!("{name}-{what}.png"))).unwrap();
}
