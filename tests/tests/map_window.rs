//! The map in the window: legend and its choices, the retest interval, layers, measuring, choosing many fields, backgrounds, keys.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::Path;
use std::time::Duration;

use awn::backdrop::Background;
use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::view::aim::Aim;
use awn::gui::view::layers::Layer;
use awn::gui::view::tool::Tool;
use awn::gui::view::{Colouring, Lens};
use awn_core::rating::RatingOf;
use awn_tests::window::window;
use egui::{Event, Key, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;

type Window = Harness<'static, App>;

fn with_sample_farm(folder: &Path) -> Window {
    let project = awn::demo::write_sample_farm(folder, &awn_core::progress::Quiet).unwrap();
    let mut window = window([1280.0, 720.0], vec![]);
    window.state().open(&project);
    window.run();
    ask(&mut window, Request::SetYear(2027));
    window
}

fn ask(window: &mut Window, request: Request) {
    window.state().ask(request);
    window.run();
}

fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click();
    window.run();
}

fn button(pos: Pos2, pressed: bool) -> Event {
    Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE }
}

fn press_at(window: &mut Window, pos: Pos2) {
    window.event(Event::PointerMoved(pos));
    window.run();
    window.event(button(pos, true));
    window.event(button(pos, false));
    window.run();
    // Longer than a double click may take.
    window.run_steps(40);
}

#[test]
fn the_legend_chooses_colouring_and_mode_of_action() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path());
    click(&mut window, "Colour by: Last rating");
    click(&mut window, "Change since the test before");
    assert_eq!(window.state().view().colouring, Colouring::Change);
    click(&mut window, "Ratings for: Worst of any mode of action");
    click(&mut window, "HRAC group 2, ALS");
    assert_eq!(window.state().view().rating_of, RatingOf::Group("2".into()));
    window.get_by_label("Not tested for this");
    let facts = &window.state().state().caches.facts;
    let tested = facts.rows.iter().filter(|row| facts.ratings[&row.id].groups.contains_key("2")).count();
    assert!(tested > 0 && tested < facts.rows.len(), "the sample farm has fields of both kinds: {tested}");
}

#[test]
fn the_interval_is_an_edit_that_can_be_undone_and_reset() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path());
    ask(&mut window, Request::SetColouring(Colouring::Due));
    let due = |window: &Window| window.state().state().caches.facts.rows.iter().filter(|row| row.due).count();
    let interval = |window: &Window| window.state().records().unwrap().settings.retest_interval_years;
    let before = due(&window);
    click(&mut window, "Shorter retest interval");
    click(&mut window, "Shorter retest interval");
    assert_eq!(interval(&window), 3);
    assert!(due(&window) > before, "{} due before, {} after", before, due(&window));
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert_eq!(interval(&window), 4);
    click(&mut window, "Reset");
    assert_eq!((interval(&window), due(&window)), (5, before));
    assert!(window.query_by_label("Reset").is_none(), "nothing is left to reset");
}

#[test]
fn layers_are_shown_hidden_and_ordered() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path());
    click(&mut window, "Layers");
    click(&mut window, "Tramlines");
    click(&mut window, "Names and letters");
    let layers = &window.state().view().layers;
    assert!(layers.shows(Lens::Fields, Layer::Tramlines) && !layers.shows(Lens::Fields, Layer::Labels));
    assert!(layers.shows(Lens::Walk, Layer::Labels), "other lenses keep theirs");
    click(&mut window, "Move gates down");
    let order = &window.state().view().layers.order;
    let place = |layer| order.iter().position(|other| *other == layer).unwrap();
    assert!(place(Layer::Gates) < place(Layer::Tramlines));
}

#[test]
fn a_line_is_measured_on_the_map() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path());
    click(&mut window, "Measure");
    let start = egui::pos2(560.0, 480.0);
    let chosen = window.state().view().selected.clone();
    for off in [vec2(0.0, 0.0), vec2(120.0, 0.0), vec2(120.0, 90.0), vec2(0.0, 0.0)] {
        press_at(&mut window, start + off);
    }
    let Tool::Aim(Aim::Measure(sketch)) = &window.state().view().tool else { panic!("still measuring") };
    assert!(sketch.closed && sketch.corners.len() == 3, "{sketch:?}");
    assert_eq!(window.state().view().selected, chosen, "measuring chooses nothing");
    window.key_press(Key::Escape);
    window.run();
    assert_eq!(window.state().view().tool, Tool::Choose);
}

#[test]
fn a_rectangle_chooses_the_fields_inside() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path());
    let facts = window.state().state().caches.facts.clone();
    let farm = facts.rows[0].farm.clone();
    let of_farm: Vec<_> = facts.rows.iter().filter(|row| row.farm == farm).collect();
    let corners = of_farm.iter().flat_map(|row| [row.bounds.min(), row.bounds.max()]);
    let places: Vec<Pos2> = corners.map(|corner| window.state().camera().pos_of(corner).unwrap()).collect();
    let around = egui::Rect::from_points(&places).expand(4.0);
    click(&mut window, "Choose fields in a rectangle");
    for event in [Event::PointerMoved(around.min), button(around.min, true)] {
        window.event(event);
        window.run();
    }
    for part in [0.3, 0.7, 1.0] {
        window.event(Event::PointerMoved(around.min + around.size() * part));
        window.run();
    }
    window.event(button(around.max, false));
    window.run();
    let chosen = window.state().view().selected.clone();
    assert!(of_farm.iter().all(|row| chosen.contains(&row.id)), "{} of {}", chosen.len(), of_farm.len());
    assert_eq!(window.state().view().tool, Tool::Choose);
}

#[test]
fn arrows_and_signs_move_the_map_and_then_it_rests() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path());
    let label = window.state().state().caches.facts.rows[0].label;
    let place = |window: &Window| window.state().camera().pos_of(label).unwrap();
    let (before, zoom) = (place(&window), window.state().camera().zoom());
    window.key_down(Key::ArrowRight);
    window.run_steps(6);
    window.key_up(Key::ArrowRight);
    window.run();
    assert!(place(&window).x < before.x - 20.0, "the map goes right, what is on it left");
    window.key_press(Key::Plus);
    window.run();
    assert!(window.state().camera().zoom() > zoom);
    let wait = window.output().viewport_output.values().map(|viewport| viewport.repaint_delay).min().unwrap();
    assert!(wait > Duration::from_secs(1), "asks for another frame in {wait:?}");
}

#[test]
fn a_background_that_cannot_be_read_says_so_and_the_map_rests() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path());
    let bad = folder.path().join("bad.pmtiles");
    std::fs::write(&bad, "no archive").unwrap();
    ask(&mut window, Request::SetBackground(Background::of_file(bad)));
    for _ in 0..40 {
        std::thread::sleep(Duration::from_millis(25));
        window.step();
    }
    window.run();
    let wait = window.output().viewport_output.values().map(|viewport| viewport.repaint_delay).min().unwrap();
    assert!(wait > Duration::from_secs(1), "asks for another frame in {wait:?}");
    window.state().ask(Request::Do(Action::ShowLayers));
    window.run();
    window.get_by_label("Now: bad.pmtiles");
    // In a low window it may have to be scrolled to.
    window.get_by_label("None").click_accesskit();
    window.run();
    assert_eq!(window.state().view().background, Background::Ground);
}
