//! The whole job in the window from an empty project to a recoloured map: by the names that a screen reader hears, by keys where the
//! keyboard has them, and by the pointer where a stop is dragged.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::Path;

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::layers::{Layer, LayerList};
use awn::gui::view::{Colouring, Lens};
use awn_core::model::Rating;
use awn_core::rating::RatingOf;
use awn_tests::window::{Window, act, ask, click, press, sample_farm_window, window};
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::Queryable as _;

/// Two invented fields of 8 and 6 ha side by side.
const MAP: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"farm":"Wold End","name":"Kiln Piece"},"geometry":{"type":"Polygon","coordinates":[[[-0.5,52.1],[-0.4955,52.1],[-0.4955,52.1025],[-0.5,52.1025],[-0.5,52.1]]]}},
{"type":"Feature","properties":{"farm":"Wold End","name":"Dry Bottom"},"geometry":{"type":"Polygon","coordinates":[[[-0.495,52.1],[-0.4915,52.1],[-0.4915,52.1025],[-0.495,52.1025],[-0.495,52.1]]]}}]}"#;
const YEAR: i32 = 2027;

fn write(folder: &Path, name: &str, text: &str) -> std::path::PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path
}

/// Heads counted every 40 m in Kiln Piece, thick in its middle.
fn scouting() -> String {
    let mut text = "lon,lat,heads_per_m2\n".to_owned();
    for i in 0..8 {
        for j in 0..6 {
            let (x, y) = (-0.4997 + 0.000_58 * f64::from(i), 52.1002 + 0.000_4 * f64::from(j));
            let away = f64::from((i - 4) * (i - 4) + (j - 3) * (j - 3));
            text.push_str(&format!("{x:.6},{y:.6},{:.1}\n", 60.0 * (-away / 6.0).exp()));
        }
    }
    text
}

fn key(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    window.run();
}

#[test]
fn from_a_boundary_file_to_a_recoloured_map() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let boundaries = write(at, "fields.geojson", MAP);
    let gates = write(at, "gates.csv", "lon,lat\n-0.5,52.1003\n-0.495,52.1003\n");
    let heads = write(at, "heads-2027-06-12.csv", &scouting());
    let walks = at.join("walks.gpx");
    let results = write(
        at,
        "pots.csv",
        "sample;field;year;assay;active;reduction %;standard %;rating\nKP-1;Kiln Piece;2027;pot;cycloxydim;30;95;RR\n\
         KP-1;Kiln Piece;2027;pot;mesosulfuron-methyl + iodosulfuron-methyl-sodium;90;96;S\n",
    );
    let answers = vec![boundaries, at.join("season.gpkg"), gates, heads, walks.clone(), results];
    let mut window = window([1280.0, 720.0], answers);

    // Import: a first start begins from the boundary file.
    click(&mut window, "Start from a boundary file…");
    click(&mut window, "Import");
    ask(&mut window, Request::SetYear(YEAR));
    window.get_by_label("Map of 2 fields");
    act(&mut window, Action::ImportGates);
    click(&mut window, "Import");
    assert_eq!(window.state().records().unwrap().gates.len(), 2);

    // Scout.
    act(&mut window, Action::LensScout);
    assert_eq!(window.state().view().lens, Lens::Scout);
    act(&mut window, Action::ImportScouting);
    click(&mut window, "Import");
    assert_eq!(window.state().records().unwrap().surveys.len(), 1);

    // Propose.
    click(&mut window, "Kiln Piece");
    act(&mut window, Action::LensWalk);
    key(&mut window, Key::P);
    let field = window.state().view().single().unwrap();
    let plan = window.state().records().unwrap().plan_of(field, YEAR).expect("stops are proposed").clone();
    assert!(plan.stops.len() > 2);

    // Drag the first stop, and take that back.
    key(&mut window, Key::Num9);
    let from = window.state().camera().pos_of(plan.stops[0].position).unwrap();
    press(&mut window, from, from + egui::vec2(60.0, 24.0));
    let dragged = window.state().records().unwrap().plan_of(field, YEAR).unwrap().clone();
    assert_ne!(dragged.stops, plan.stops);
    key(&mut window, Key::Z);
    assert_eq!(window.state().records().unwrap().plan_of(field, YEAR).unwrap().stops, plan.stops);

    // Export.
    key(&mut window, Key::E);
    let gpx = std::fs::read_to_string(&walks).unwrap();
    assert_eq!(gpx.matches("<trk>").count(), plan.walks().count());

    // Results, and the map recoloured by a mode of action.
    act(&mut window, Action::LensResults);
    act(&mut window, Action::ImportResults);
    window.get_by_label_contains("2 results new");
    click(&mut window, "Import");
    let facts = window.state().state().caches.facts.clone();
    assert_eq!(facts.row(field).unwrap().worst, Some(Rating::RRR));
    let disputed = facts.results.iter().find(|row| row.found.agrees() == Some(false)).expect("30 beside 95 is RRR").id;
    let view = awn::gui::view::results::ResultsView { open: Some(disputed), ..Default::default() };
    ask(&mut window, Request::SetResults(view));
    window.get_by_label_contains("Disputed: the laboratory printed RR, by the limits it is RRR");
    click(&mut window, "Ratings for: Worst of any mode of action");
    click(&mut window, "HRAC group 2, ALS");
    assert_eq!(window.state().view().rating_of, RatingOf::Group("2".into()));
    click(&mut window, "Colour by: Last rating");
    click(&mut window, "Years since test");
    assert_eq!(window.state().view().colouring, Colouring::Age);

    // All of it is in the file.
    let held = window.state().records().unwrap().clone();
    drop(window);
    let project = awn_core::project::Project::open(&at.join("season.gpkg")).unwrap();
    assert_eq!(**project.records(), *held);
}

/// Moves the keyboard by Tab until what has this name has it.
fn tab_to(window: &mut Window, label: &str) {
    for _ in 0..400 {
        window.key_press(Key::Tab);
        window.run();
        if window.query_all_by_label(label).any(|node| node.is_focused()) {
            return;
        }
    }
    panic!("Tab never comes to {label}");
}

#[test]
fn a_field_is_chosen_planned_and_given_a_stop_and_a_gate_without_a_mouse() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window([1280.0, 720.0], folder.path(), vec![], YEAR);
    let row = window.state().state().caches.facts.rows[0].clone();
    tab_to(&mut window, &row.name);
    window.key_press(Key::Space);
    window.run();
    assert_eq!(window.state().view().single(), Some(row.id));
    act(&mut window, Action::LensWalk);
    key(&mut window, Key::P);
    let plan = window.state().records().unwrap().plan_of(row.id, YEAR).unwrap().clone();

    // A stop by its place, typed as degrees.
    act(&mut window, Action::AddStop);
    window.get_by_label("Place of the stop").focus();
    window.run();
    let near = plan.stops[0].position;
    window.event(Event::Text(format!("{:.6}, {:.6}", near.y + 0.0003, near.x)));
    window.run();
    window.key_press(Key::Enter);
    window.run();
    let more = window.state().records().unwrap().plan_of(row.id, YEAR).unwrap().clone();
    assert_eq!(more.stops.len(), plan.stops.len() + 1);

    // A gate by a grid reference: it goes to the nearest place of the boundary.
    let reference = awn_core::crs::PlaceNames::default().name(near).unwrap();
    let gates = window.state().records().unwrap().gates_of(row.id).count();
    act(&mut window, Action::AddGate);
    window.get_by_label("Place of the gate").focus();
    window.run();
    window.event(Event::Text("TL 12 34".into()));
    window.run();
    window.get_by_label_contains("1000 m: give eight or ten figures");
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run();
    window.event(Event::Text(reference));
    window.run();
    window.key_press(Key::Enter);
    window.run();
    assert_eq!(window.state().records().unwrap().gates_of(row.id).count(), gates + 1);

    // A no-go area, corner by corner.
    act(&mut window, Action::DrawNoGo);
    for (north, east, name) in [(0.0, 0.0, "First corner"), (0.0002, 0.0, "Next corner"), (0.0002, 0.0003, "Next corner")] {
        window.get_by_label(name).focus();
        window.run();
        window.event(Event::Text(format!("{:.6}, {:.6}", row.label.y + north, row.label.x + east)));
        window.run();
        window.key_press(Key::Enter);
        window.run();
    }
    let before = window.state().records().unwrap().no_go_of(row.id).count();
    act(&mut window, Action::FinishDrawing);
    assert_eq!(window.state().records().unwrap().no_go_of(row.id).count(), before + 1);
}

#[test]
fn a_pinch_zooms_and_layers_are_as_they_were_left() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window([1280.0, 720.0], folder.path(), vec![], YEAR);
    let before = window.state().camera().zoom();
    window.event(Event::PointerMoved(egui::pos2(640.0, 400.0)));
    window.run();
    window.event(Event::Zoom(2.0));
    window.run();
    assert!((window.state().camera().zoom() - before - 1.0).abs() < 1e-6, "{before} {}", window.state().camera().zoom());

    let mut layers = LayerList::default();
    layers.set_shown(Lens::Fields, Layer::Labels, false);
    layers.set_opacity(Layer::Fills, 0.3);
    layers.shift(Layer::Gates, 1);
    let mut again = self::window([1280.0, 720.0], vec![]);
    again.state_mut().recall_layers(&layers.written());
    again.state().open(&folder.path().join("nothing.gpkg"));
    again.run();
    let project = awn::demo::write_sample_farm(&folder.path().join("again"), &awn_core::progress::Quiet).unwrap();
    again.state().open(&project);
    again.run();
    assert_eq!(again.state().view().layers, layers, "opening a project leaves the map drawn as it was");
}

#[test]
fn photos_of_a_field_are_opened_with_the_systems_viewer() {
    let folder = tempfile::tempdir().unwrap();
    let photo = write(folder.path(), "gate way.jpg", "not really");
    let mut window =
        sample_farm_window([1280.0, 1080.0], folder.path(), vec![photo.clone(), folder.path().join("run.sh")], YEAR);
    let row = window.state().state().caches.facts.rows[0].clone();
    ask(&mut window, Request::Select { field: Some(row.id), add: false, scroll: true });
    click(&mut window, "Add a photo…");
    let note = window.state().records().unwrap().fields[&row.id].note.clone();
    assert!(note.ends_with(&format!("photo: {}", photo.display())), "{note}");
    click(&mut window, "gate way.jpg");
    window.get_by_label_contains("with the system's viewer");
    // What is no picture is never started, and a photo that is gone is said to be.
    click(&mut window, "Add a photo…");
    click(&mut window, "run.sh");
    window.get_by_label_contains("is no picture");
    std::fs::remove_file(&photo).unwrap();
    click(&mut window, "gate way.jpg");
    window.get_by_label_contains("is not there");
    act(&mut window, Action::Undo);
    act(&mut window, Action::Undo);
    assert!(window.query_by_label("gate way.jpg").is_none());
}
