//! The coming years and patches in the window, driven by the names that a screen reader hears.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::PathBuf;

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::Colouring;
use awn::gui::view::act::{ActRequest, ActTab, ActView};
use awn::gui::view::outlook::{Figure, OutlookView, OutlookWish};
use awn_core::model::{FieldId, LowLikelyHigh};
use awn_tests::window::{Window, act, ask, click, sample_farm_window};
use egui_kittest::kittest::Queryable as _;

const SIZE: [f32; 2] = [1280.0, 720.0];

fn tab(window: &mut Window, tab: ActTab) {
    let view = ActView { tab, ..window.state().view().act.clone() };
    ask(window, Request::Act(ActRequest::Show(Box::new(view))));
}

fn show(window: &mut Window, change: impl FnOnce(&mut OutlookView)) {
    let mut view = window.state().view().outlook.clone();
    change(&mut view);
    ask(window, Request::Outlook(OutlookWish::Show(Box::new(view))));
}

/// The lens with the field chosen that has the thickest patches.
fn lens(folder: &tempfile::TempDir, answers: Vec<PathBuf>) -> (Window, FieldId) {
    let mut window = sample_farm_window(SIZE, folder.path(), answers, awn_sample_farm::SEASON);
    act(&mut window, Action::LensAct);
    tab(&mut window, ActTab::Years);
    window.get_by_label_contains("Choose one field");
    let records = window.state().records().unwrap().clone();
    let mean = |field: &FieldId| {
        let start = awn_core::act::outlook::start::start_of(&records, &records.fields[field], 2026, None).ok()?;
        Some((start.mean() * 1e6) as u64)
    };
    let field = records.fields_in(2027).iter().map(|field| field.id).max_by_key(mean).unwrap();
    ask(&mut window, Request::Select { field: Some(field), add: false, scroll: false });
    (window, field)
}

#[test]
fn the_coming_years_of_a_field_stand_as_chart_and_table() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field) = lens(&folder, vec![]);
    let found = window.state().state().caches.outlook.clone().expect("drawn");
    assert_eq!((found.field, found.found.as_ref().unwrap().scenarios.len()), (field, 4));
    window.get_by_label_contains("Chart of Heads/m2 by harvest; at harvest 2036 As now");
    window.get_by_label_contains("It is never a recommendation");
    for figure in Figure::ALL {
        show(&mut window, |view| view.figure = figure);
        window.get_by_label_contains(&format!("Chart of {}", figure.label()));
    }
    // One scenario less, three harvests.
    let first = *window.state().records().unwrap().scenarios.keys().next().unwrap();
    show(&mut window, |view| {
        view.chosen = vec![first];
        view.years = 3;
        view.figure = Figure::Heads;
    });
    let found = window.state().state().caches.outlook.clone().unwrap().found.unwrap();
    assert_eq!((found.scenarios.len(), found.scenarios[0].years.len()), (1, 3));
    window.get_by_label_contains("at harvest 2029 As now");
}

#[test]
fn a_scenario_is_changed_and_what_cannot_be_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, _) = lens(&folder, vec![]);
    click(&mut window, "New scenario");
    let mut draft = window.state().view().outlook.editing.clone().expect("a draft");
    draft.name = "As now".into();
    draft.years[0].drilled = Some("05-20".into());
    draft.years[0].control = LowLikelyHigh::new(80.0, 70.0, 90.0);
    show(&mut window, |view| view.editing = Some(draft.clone()));
    click(&mut window, "Keep scenario");
    let wrong = window.state().view().outlook.wrong.join("\n");
    for said in ["another scenario has this name", "is not drilled on 20 May", "do not rise"] {
        assert!(wrong.contains(said), "{said}: {wrong}");
    }
    draft.name = "Rest of the rotation".into();
    draft.years[0].drilled = Some("10-20".into());
    draft.years[0].control = LowLikelyHigh::new(80.0, 90.0, 95.0);
    show(&mut window, |view| view.editing = Some(draft.clone()));
    click(&mut window, "Keep scenario");
    assert_eq!(window.state().records().unwrap().scenarios[&draft.id].name, "Rest of the rotation");
    act(&mut window, Action::Undo);
    assert!(!window.state().records().unwrap().scenarios.contains_key(&draft.id));
    // Prices and costs.
    click(&mut window, "Prices and costs");
    let mut costs = window.state().view().outlook.costs.clone().expect("a form");
    costs.hour_cost = Some(21.5);
    show(&mut window, |view| view.costs = Some(costs));
    click(&mut window, "Keep prices and costs");
    assert_eq!(window.state().records().unwrap().settings.outlook.hour_cost, Some(21.5));
    assert!(window.state().view().outlook.costs.is_none());
}

#[test]
fn patches_are_weighed_and_written_and_the_map_looks_ahead() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("zones.geojson");
    let (mut window, _) = lens(&folder, vec![file.clone()]);
    tab(&mut window, ActTab::Patches);
    let patches = window.state().state().caches.outlook.clone().unwrap().patches.len();
    assert!(patches > 0);
    window.get_by_label_contains("The best case");
    show(&mut window, |view| view.patches = vec![0]);
    click(&mut window, "Patches for a sprayer…");
    let written = std::fs::read_to_string(&file).unwrap();
    assert_eq!(written.matches("\"Feature\"").count(), 1, "{written}");
    ask(&mut window, Request::SetColouring(Colouring::Expected));
    assert_eq!(window.state().view().shown_colouring(), Colouring::Expected);
    let expected = window.state().state().caches.expected.clone().expect("drawn");
    assert_eq!((expected.harvest, expected.scenario.as_str()), (2036, "As now"));
    assert!(expected.heads.len() > 20);
    window.get_by_label_contains("No density to start from");
}
