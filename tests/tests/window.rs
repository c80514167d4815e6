//! The window, driven by the names that a screen reader hears: open, choose, colour, propose, drag, undo, export, import.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::{Colouring, Lens};
use awn_core::model::{FieldId, Plan};
use awn_tests::window::{Window, act, ask, click, close_messages, press, sample_farm_window, window};
use egui::{Key, Modifiers, Role, vec2};
use egui_kittest::kittest::Queryable as _;

const SIZE: [f32; 2] = [1280.0, 720.0];
/// The season of the sample farm.
const YEAR: i32 = 2027;

fn with_sample_farm(folder: &Path, answers: Vec<PathBuf>) -> Window {
    sample_farm_window(SIZE, folder, answers, YEAR)
}

fn field_named(window: &Window, name: &str) -> FieldId {
    let facts = &window.state().state().caches.facts;
    facts.rows.iter().find(|row| row.name == name).unwrap_or_else(|| panic!("no field {name}")).id
}

/// The name of the first field in the list that is due.
fn a_due_field(window: &Window) -> String {
    let facts = &window.state().state().caches.facts;
    facts.rows.iter().find(|row| row.due).unwrap().name.clone()
}

fn plan_of(window: &Window, name: &str) -> Option<Plan> {
    let field = field_named(window, name);
    window.state().records().unwrap().plan_of(field, YEAR).map(|plan| (**plan).clone())
}

fn undo_name(window: &Window) -> Option<&str> {
    window.state().state().document.as_ref().unwrap().undo.as_deref()
}

#[test]
fn a_newcomer_is_offered_three_ways_to_begin() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = window(SIZE, vec![folder.path().join("here")]);
    window.run();
    window.get_by_label("Start from a boundary file…");
    window.get_by_label("Open a project…");
    click(&mut window, "Open the sample farm");
    window.get_by_label("Map of 40 fields");
    assert_eq!(window.state().records().unwrap().farms.len(), 3);
}

#[test]
fn the_list_and_the_map_follow_each_other() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path(), vec![]);
    let name = window.state().state().caches.facts.rows[0].name.clone();
    let first = field_named(&window, &name);
    ask(&mut window, Request::SetFilter(name.clone()));
    click(&mut window, &name);
    assert_eq!(window.state().view().single(), Some(first));
    ask(&mut window, Request::SetFilter(String::new()));
    // The last field by name, far down the list, is clicked on the map and comes into view in the list.
    act(&mut window, Action::ZoomToAll);
    let facts = window.state().state().caches.facts.clone();
    let last = facts.rows.iter().max_by_key(|row| row.name.to_lowercase()).unwrap();
    let in_list = |window: &Window| window.query_by_role_and_label(Role::ListBoxOption, &last.name).is_some();
    assert!(!in_list(&window), "it must be out of view before");
    let pos = window.state().camera().pos_of(last.label).unwrap();
    press(&mut window, pos, pos);
    assert_eq!(window.state().view().single(), Some(last.id));
    assert!(in_list(&window));
}

#[test]
fn every_heading_sorts_both_ways() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path(), vec![]);
    let shown = |window: &Window| -> Vec<f64> {
        let caches = &window.state().state().caches;
        caches.order.iter().map(|at| caches.facts.rows[*at].area_m2).collect()
    };
    click(&mut window, "Sort by area in hectares");
    assert!(shown(&window).is_sorted_by(|a, b| a >= b));
    click(&mut window, "Sort by area in hectares");
    assert!(shown(&window).is_sorted());
    for heading in ["Sort by field", "Sort by farm", "Sort by worst rating", "Sort by how urgent a test is"] {
        let before = window.state().state().caches.order.clone();
        click(&mut window, heading);
        assert_ne!(window.state().state().caches.order, before, "{heading}");
    }
    click(&mut window, "Due only");
    let caches = &window.state().state().caches;
    assert!(!caches.order.is_empty() && caches.order.iter().all(|at| caches.facts.rows[*at].due));
}

#[test]
fn lenses_and_colourings_change_and_untested_is_never_good() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path(), vec![]);
    click(&mut window, "Colour by: Last rating");
    click(&mut window, "Years since test");
    assert_eq!(window.state().view().shown_colouring(), Colouring::Age);
    for (name, lens) in [("Scout", Lens::Scout), ("Walk", Lens::Walk), ("Results", Lens::Results)] {
        click(&mut window, name);
        assert_eq!(window.state().view().lens, lens);
    }
    let facts = &window.state().state().caches.facts;
    let untested = facts.rows.iter().find(|row| row.last_test.is_none()).expect("the sample farm has untested fields");
    for colouring in [Colouring::Rating, Colouring::RatingAndAge, Colouring::Age] {
        let how = awn::gui::map::How { colouring, of: awn_core::rating::RatingOf::Worst, year: YEAR };
        let class = awn::gui::map::class_of(facts, untested, &how);
        assert_eq!((class.fill, class.over), (None, awn::gui::map::Over::Unknown));
    }
}

#[test]
fn stops_are_proposed_moved_taken_back_and_written() {
    let folder = tempfile::tempdir().unwrap();
    let gpx = folder.path().join("walks.gpx");
    let mut window = with_sample_farm(folder.path(), vec![gpx.clone()]);
    let name = a_due_field(&window);
    let field = field_named(&window, &name);
    ask(&mut window, Request::Select { field: Some(field), add: false, scroll: true });
    act(&mut window, Action::LensWalk);
    click(&mut window, &format!("Propose stops for {name}"));
    let plan = plan_of(&window, &name).unwrap();
    assert_eq!(plan.stops.len(), window.state().view().plan.settings.stops);
    assert_eq!(undo_name(&window), Some(format!("Propose stops for {name}").as_str()));

    act(&mut window, Action::ZoomToSelection);
    let from = window.state().camera().pos_of(plan.stops[0].position).unwrap();
    press(&mut window, from, from + vec2(24.0, 30.0));
    let moved = plan_of(&window, &name).unwrap();
    assert_eq!(undo_name(&window), Some(format!("Move stop 1 of {name}").as_str()));
    assert_eq!(moved.id, plan.id);
    assert_ne!(moved.stops, plan.stops);
    assert_ne!(moved.walk.line, plan.walk.line);
    assert!(window.state().view().drag.is_none());

    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert_eq!(plan_of(&window, &name).unwrap(), plan);
    window.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    window.run();
    assert_eq!(plan_of(&window, &name).unwrap(), moved);

    click(&mut window, "Export walks as GPX…");
    let text = std::fs::read_to_string(gpx).unwrap();
    assert!(text.contains("<trk>") || text.contains("<rte>"), "{}", &text[..200.min(text.len())]);
    // The project file itself holds what the window shows.
    let path = awn::demo::project_path(folder.path());
    let stored = awn_core::project::Project::open(&path).unwrap();
    assert_eq!(**stored.records().plan_of(field, YEAR).unwrap(), moved);
}

#[test]
fn a_file_is_imported_by_dialog_form_and_button() {
    let folder = tempfile::tempdir().unwrap();
    let boundaries = folder.path().join("home farm.geojson");
    let ring = "[[-0.5,52.1],[-0.494,52.1],[-0.494,52.104],[-0.5,52.104],[-0.5,52.1]]";
    let geojson = format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"name":"Long Acre"}},"geometry":{{"type":"Polygon","coordinates":[{ring}]}}}}]}}"#
    );
    std::fs::write(&boundaries, geojson).unwrap();
    let project = folder.path().join("home.gpkg");
    let mut window = window(SIZE, vec![boundaries, project.clone()]);
    window.run();
    click(&mut window, "Start from a boundary file…");
    assert!(project.exists());
    window.get_by_label("Import boundaries");
    // A look first: shapes and words, and nothing written.
    click(&mut window, "Look first");
    let preview = window.state().view().form.as_ref().and_then(|form| form.preview.clone()).expect("a look");
    let columns = [("name".to_owned(), "Long Acre".to_owned())];
    assert_eq!((preview.lines.len(), preview.columns.as_slice(), preview.refused), (1, &columns[..], false));
    // Columns can be said by hand from here on.
    for what in ["Farm", "Crop", "Area", "Date", "Density"] {
        assert!(window.get_all_by_label(what).count() > 0, "{what}");
    }
    window.get_by_label_contains("1 would be added");
    assert!(window.state().records().unwrap().fields.is_empty());
    click(&mut window, "Import");
    window.get_by_label("Long Acre");
    assert_eq!(window.state().records().unwrap().tramlines.len(), 1, "the form proposes a spacing");
    assert!(window.state().view().form.is_none());
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert!(window.state().records().unwrap().fields.is_empty(), "an import is one change");
}

#[test]
fn a_bad_file_changes_nothing_and_every_problem_is_listed() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path(), vec![]);
    let before = window.state().records().unwrap().clone();
    let bad = folder.path().join("scouting 2026-06-12.csv");
    std::fs::write(&bad, "lon,lat,heads_per_m2\n-0.5,52.1,many\n-0.5,95,3\n").unwrap();
    window.state().open(&bad);
    window.run();
    window.get_by_label("Import scouting");
    click(&mut window, "Import");
    assert_eq!(**window.state().records().unwrap(), *before);
    let problems = &window.state().state().problems;
    assert_eq!(problems.len(), 1);
    assert!(problems[0].problems.iter().any(|problem| problem.place.contains("row 2") && problem.what.contains("many")));
    let what = problems[0].problems[0].what.clone();
    window.get_by_label(&what);
    window.get_by_label("Problems");
    // Hints speak of the form, not of options of the command line.
    assert!(window.query_by_label_contains("--").is_none());
    click(&mut window, "Clear the list");
    assert!(window.state().state().problems.is_empty());
}

#[test]
fn a_project_that_another_holds_opens_read_only_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let path = awn::demo::write_sample_farm(folder.path(), &awn_core::progress::Quiet).unwrap();
    let _holder = awn_core::project::Project::open(&path).unwrap();
    let mut window = window(SIZE, vec![]);
    window.state().open(&path);
    window.run();
    window.get_by_label("Read-only");
    act(&mut window, Action::LensWalk);
    act(&mut window, Action::ProposeStops);
    assert!(window.state().records().unwrap().plans.is_empty());
}

#[test]
fn at_rest_the_window_draws_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = with_sample_farm(folder.path(), vec![]);
    // A message that goes by itself has to be drawn away once more.
    close_messages(&mut window);
    for lens in [Action::LensFields, Action::LensScout, Action::LensWalk, Action::LensResults] {
        act(&mut window, lens);
        window.step();
        let wait = window.output().viewport_output.values().map(|viewport| viewport.repaint_delay).min().unwrap();
        assert!(wait > std::time::Duration::from_secs(1), "{lens:?} asks for another frame in {wait:?}");
    }
}
