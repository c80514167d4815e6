//! The window in a test: jobs run at once, dialogs answer from a list, nothing is written outside the test's own folder.

use std::path::PathBuf;

use awn::gui::app::App;
use awn::gui::dialogs::ScriptedDialogs;
use awn::gui::jobs::Jobs;
use egui_kittest::Harness;

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
