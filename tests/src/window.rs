//! The window in a test: jobs run at once, dialogs answer from a list, nothing is written outside the test's own folder.

#![allow(clippy::unwrap_used)] // stopping is the answer of a test

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::dialogs::ScriptedDialogs;
use awn::gui::jobs::Jobs;
use awn::gui::request::Request;
use egui::{Event, Modifiers, PointerButton, Pos2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;

/// The window under test.
pub type Window = Harness<'static, App>;

/// A window of a size in points that gives these answers to the questions it asks.
pub fn window(size: [f32; 2], answers: Vec<PathBuf>) -> Harness<'static, App> {
    window_in(size, answers, egui::Theme::Light, 1.0)
}

/// As [`window`], in a theme and with so many pixels for a point.
pub fn window_in(size: [f32; 2], answers: Vec<PathBuf>, theme: egui::Theme, pixels: f32) -> Harness<'static, App> {
    Harness::builder().with_size(size).with_theme(theme).with_pixels_per_point(pixels).with_max_steps(24).build_eframe(
        move |made| {
            made.egui_ctx.set_theme(theme);
            App::new(&made.egui_ctx, Jobs::inline(), Box::new(ScriptedDialogs::new(answers)), None)
        },
    )
}

/// A window with the sample farm, which is written into the folder, at a harvest year.
pub fn sample_farm_window(size: [f32; 2], folder: &Path, answers: Vec<PathBuf>, year: i32) -> Window {
    let project = awn::demo::write_sample_farm(folder, &awn_core::progress::Quiet).unwrap();
    let mut window = window(size, answers);
    window.state().open(&project);
    window.run();
    ask(&mut window, Request::SetYear(year));
    window
}

/// Closes the messages over the map, as somebody does who works below them; they would go by themselves after a while.
pub fn close_messages(window: &mut Window) {
    let messages: Vec<u64> = window.state().state().toasts.iter().map(|toast| toast.id).collect();
    for id in messages {
        ask(window, Request::DismissToast(id));
    }
}

/// Asks for something, as a panel would, and waits until it is done.
pub fn ask(window: &mut Window, request: Request) {
    window.state().ask(request);
    window.run();
}

/// Asks for an action.
pub fn act(window: &mut Window, action: Action) {
    ask(window, Request::Do(action));
}

/// Presses what has this name, as a screen reader does: it need not be scrolled into view.
pub fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click_accesskit();
    window.run();
}

/// Presses at a place, moves to another in steps, and lets go.
pub fn press(window: &mut Window, from: Pos2, to: Pos2) {
    press_with(window, PointerButton::Primary, from, to);
}

/// As [`press`], with a button.
pub fn press_with(window: &mut Window, button: PointerButton, from: Pos2, to: Pos2) {
    let button = |pos, pressed| Event::PointerButton { pos, button, pressed, modifiers: Modifiers::NONE };
    window.event(Event::PointerMoved(from));
    window.run();
    window.event(button(from, true));
    window.run();
    if from != to {
        for step in 1..=4 {
            window.event(Event::PointerMoved(from + (to - from) * (step as f32 / 4.0)));
            window.run();
        }
    }
    window.event(button(to, false));
    window.run();
}
