//! What stands round the map: the list of actions, the history, the page of a field, the season.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::Lens;
use awn_tests::window::{Window, act, ask, click, sample_farm_window};
use egui::{Event, Key, Role};
use egui_kittest::kittest::Queryable as _;

const SIZE: [f32; 2] = [1280.0, 720.0];
/// The season of the sample farm.
const YEAR: i32 = 2027;

fn type_text(window: &mut Window, text: &str) {
    window.event(Event::Text(text.to_owned()));
    window.run();
}

fn press_key(window: &mut Window, key: Key) {
    window.key_press(key);
    window.run();
}

#[test]
fn anything_can_be_done_by_typing_its_name() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    window.key_press_modifiers(egui::Modifiers::COMMAND, Key::J);
    window.run();
    type_text(&mut window, "resul");
    press_key(&mut window, Key::ArrowDown);
    press_key(&mut window, Key::ArrowUp);
    press_key(&mut window, Key::Enter);
    assert_eq!(window.state().view().lens, Lens::Results);
    assert!(window.state().view().palette.is_none());
    // A field's name takes there.
    let row = window.state().state().caches.facts.rows[7].clone();
    act(&mut window, Action::ShowPalette);
    type_text(&mut window, &row.name);
    click(&mut window, &format!("Go to {}", row.name));
    assert_eq!(window.state().view().single(), Some(row.id));
    // What cannot be done is not offered, and Escape closes the list without touching the choice.
    act(&mut window, Action::ShowPalette);
    type_text(&mut window, "finish drawing");
    window.get_by_label("Nothing of that name can be done now.");
    press_key(&mut window, Key::Escape);
    assert!(window.state().view().palette.is_none());
    assert_eq!(window.state().view().single(), Some(row.id));
}

#[test]
fn every_action_that_can_be_done_is_in_the_list() {
    let folder = tempfile::tempdir().unwrap();
    let window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    let ctx = window.state().state().ctx();
    let offered = awn::gui::view::palette::found(&ctx, "");
    for action in Action::ALL.iter().filter(|action| action.enabled(&ctx) && **action != Action::ShowPalette) {
        assert!(offered.contains(&awn::gui::view::palette::Found::Action(*action)), "{action:?}");
    }
}

#[test]
fn the_history_goes_back_to_any_step_and_forward_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    let first = window.state().records().unwrap().clone();
    let (before, _) = {
        let ctx = window.state().state().ctx();
        (ctx.history.0.len(), ctx.history.1)
    };
    act(&mut window, Action::LensWalk);
    let due: Vec<_> =
        window.state().state().caches.facts.rows.iter().filter(|row| row.due).map(|row| row.id).take(3).collect();
    for field in &due {
        ask(&mut window, Request::Propose(vec![*field]));
    }
    let last = window.state().records().unwrap().clone();
    act(&mut window, Action::ShowHistory);
    let name = window.state().state().caches.facts.row(due[2]).unwrap().name.clone();
    window.get_by_label_contains(&format!("Propose stops for {name}"));
    ask(&mut window, Request::GoToStep(before));
    assert_eq!(**window.state().records().unwrap(), *first);
    assert_eq!(window.state().state().ctx().history.0.len(), before + 3, "later steps stay in the list");
    ask(&mut window, Request::GoToStep(before + 3));
    assert_eq!(**window.state().records().unwrap(), *last);
}

#[test]
fn the_page_of_a_field_is_changed_in_place() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    let row = window.state().state().caches.facts.rows.iter().find(|row| row.last_test.is_some()).unwrap().clone();
    ask(&mut window, Request::Select { field: Some(row.id), add: false, scroll: true });
    for section in ["Latest ratings", "Ratings over the years", "Crops", "Samples", "Notes"] {
        window.get_by_role_and_label(Role::Label, section);
    }
    let field = window.get_by_role_and_label(Role::TextInput, "Name of the field");
    field.focus();
    window.run();
    window.key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
    window.run();
    type_text(&mut window, "Top of the world");
    press_key(&mut window, Key::Enter);
    assert_eq!(window.state().records().unwrap().fields[&row.id].name, "Top of the world");
    let undo = window.state().state().ctx().undo.map(ToOwned::to_owned);
    assert_eq!(undo, Some(format!("Rename {}", row.name)));
    window.get_by_role_and_label(Role::TextInput, "Crop of harvest 2027").focus();
    window.run();
    window.key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
    window.run();
    type_text(&mut window, "spring barley");
    press_key(&mut window, Key::Enter);
    let records = window.state().records().unwrap().clone();
    let crop = records.crops.values().find(|crop| crop.field == row.id && crop.year == YEAR).unwrap();
    assert_eq!(crop.crop, "spring barley");
}

#[test]
fn the_season_says_when_seed_is_ripe() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    window.get_by_label("Season of harvest 2027: seed is ripe about 8 to 21 July");
    ask(&mut window, Request::SetYear(2026));
    window.get_by_label("Season of harvest 2026: seed is ripe about 8 to 21 July");
}

#[test]
fn a_removed_field_is_gone_from_this_harvest_only() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    let row = window.state().state().caches.facts.rows[3].clone();
    ask(&mut window, Request::Select { field: Some(row.id), add: false, scroll: true });
    act(&mut window, Action::RemoveField);
    assert!(window.state().state().caches.facts.row(row.id).is_none());
    ask(&mut window, Request::SetYear(YEAR - 1));
    assert!(window.state().state().caches.facts.row(row.id).is_some());
}
