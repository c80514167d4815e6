//! Small pictures of the real window: colours, letters and hatches of the map's classes, furniture, and figures drawn in panels.
//!
//! The pictures stand in `tests/data/pictures`. After a wanted change of looks: `UPDATE_SNAPSHOTS=1 cargo test --workspace --test
//! pictures`, and look at what has changed. Where they differ, `NAME.diff.png` and `NAME.new.png` are written beside them.

#![allow(clippy::unwrap_used, clippy::expect_used)] // stopping with a sentence is the answer here

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::Colouring;
use awn_tests::project_path;
use awn_tests::window::{Window, act, ask, close_messages, sample_farm_window, window};
use egui::Theme;
use egui_kittest::{SnapshotOptions, SnapshotResults, try_image_snapshot_options};
use image::imageops::crop_imm;

const SIZE: [f32; 2] = [1280.0, 720.0];
/// The legend and one of the farms, pixels: left, top, width, height.
const MAP: [u32; 4] = [392, 56, 360, 330];

/// A part of what the window shows, beside the picture that is kept. Edges may fall a little otherwise on another processor.
fn compare(window: &mut Window, name: &str, [left, top, width, height]: [u32; 4]) -> egui_kittest::SnapshotResult {
    let shown = window.render().expect("a picture: .ci/setup installs what draws it without a graphics card");
    let part = crop_imm(&shown, left, top, width, height).to_image();
    let options = SnapshotOptions::new()
        .threshold(2.0)
        .max_failed_pixels((width * height / 200) as usize)
        .output_path(project_path("tests/data/pictures"));
    try_image_snapshot_options(&part, name, &options)
}

#[test]
fn every_colouring_of_the_map_with_its_legend() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], 2027);
    close_messages(&mut window);
    let mut results = SnapshotResults::new();
    for (theme, word) in [(Theme::Light, "light"), (Theme::Dark, "dark")] {
        window.ctx.set_theme(theme);
        for (colouring, name) in [
            (Colouring::Rating, "rating"),
            (Colouring::RatingAndAge, "rating-and-age"),
            (Colouring::Age, "age"),
            (Colouring::Change, "change"),
            (Colouring::Due, "due"),
        ] {
            ask(&mut window, Request::SetColouring(colouring));
            results.add(compare(&mut window, &format!("map-{name}-{word}"), MAP));
        }
    }
    act(&mut window, Action::LensScout);
    close_messages(&mut window);
    results.add(compare(&mut window, "map-density-dark", MAP));
    act(&mut window, Action::LensResults);
    close_messages(&mut window);
    results.add(compare(&mut window, "panel-results-dark", [900, 60, 380, 300]));
}

#[test]
fn the_start_page() {
    let mut window = window(SIZE, vec![]);
    window.run();
    let mut results = SnapshotResults::new();
    results.add(compare(&mut window, "start", [400, 180, 480, 300]));
}
