//! Names, roles, keys and sizes of the window: that everything can be done without a mouse, by people who hear the window read or need
//! it larger, and on systems without file dialogs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::time::Duration;

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::dialogs::ScriptedDialogs;
use awn::gui::jobs::Jobs;
use awn::gui::request::Request;
use awn::gui::view::tool::Tool;
use awn_tests::window::{Window, act, ask, click, press, sample_farm_window, window};
use egui::accesskit;
use egui::{Event, Key, Modifiers, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};

const SIZE: [f32; 2] = [1280.0, 720.0];
/// The season of the sample farm.
const YEAR: i32 = 2027;
const LENSES: [Action; 7] = [
    Action::LensFields,
    Action::LensScout,
    Action::LensWalk,
    Action::LensSamples,
    Action::LensResults,
    Action::LensAct,
    Action::LensReport,
];

#[test]
fn every_action_says_what_it_does_and_no_keys_clash() {
    let mut seen = Vec::new();
    for action in Action::ALL.iter().copied() {
        assert!(!action.text().is_empty() && action.tooltip().ends_with('.'), "{action:?}");
        for shortcut in [action.shortcut(), action.other_shortcut()].into_iter().flatten() {
            assert!(!seen.contains(&shortcut), "{action:?}: {shortcut:?} is taken");
            seen.push(shortcut);
        }
    }
    let mut all = Action::ALL.to_vec();
    all.dedup();
    assert_eq!(all.len(), Action::UsualText as usize + 1, "an action is missing from the list");
    let words: BTreeSet<&str> = all.iter().map(|action| action.text()).collect();
    assert_eq!(words.len(), all.len(), "two actions have one name");
}

/// What can be reached by the keyboard or pressed, and has no name or no role that a screen reader could tell.
fn unnamed(window: &Window) -> Vec<String> {
    let mut list = Vec::new();
    for node in window.root().children_recursive() {
        let node = node.accesskit_node();
        let can = |action| node.data().supports_action(action);
        if !can(accesskit::Action::Focus) && !can(accesskit::Action::Click) {
            continue;
        }
        // Bars beside what scrolls are the toolkit's, and what has no place is not shown.
        let shown = node.bounding_box().is_some_and(|place| place.x0.is_finite() && place.x1 > place.x0);
        if node.role() == accesskit::Role::ScrollBar || !shown {
            continue;
        }
        let nameless = node.label().is_none_or(|label| label.trim().is_empty());
        let roleless = matches!(node.role(), accesskit::Role::Unknown | accesskit::Role::GenericContainer);
        if nameless || roleless {
            let place = node.bounding_box().map(|place| (place.x0.round(), place.y0.round()));
            list.push(format!("{:?} {:?} at {place:?}", node.role(), node.value()));
        }
    }
    list
}

/// Controls of a lens that are greyed: right of the map, or the whole of the page.
fn greyed(window: &Window) -> Vec<String> {
    let nodes = window.root().children_recursive().map(|node| node.accesskit_node());
    let in_panel = |node: &egui_kittest::kittest::AccessKitNode<'_>| {
        node.bounding_box().is_some_and(|place| place.x0 > 760.0 && (60.0..640.0).contains(&place.y0))
    };
    let held = nodes.filter(|node| node.is_disabled() && in_panel(node));
    held.map(|node| format!("{:?} {:?}", node.role(), node.label())).collect()
}

#[test]
fn everything_that_can_be_pressed_or_typed_into_has_a_name_and_a_role() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    let rows = window.state().state().caches.facts.rows.clone();
    let tested = rows.iter().find(|row| row.last_test.is_some() && row.due).unwrap().id;
    let mut faults = BTreeSet::new();
    for chosen in [None, Some(tested)] {
        for lens in LENSES {
            ask(&mut window, Request::Select { field: chosen, add: false, scroll: true });
            act(&mut window, lens);
            if lens == Action::LensWalk {
                act(&mut window, Action::ProposeStops);
            }
            faults.extend(unnamed(&window).into_iter().map(|fault| format!("{lens:?}: {fault}")));
        }
    }
    act(&mut window, Action::LensFields);
    for card in [Action::ShowLayers, Action::ShowHistory, Action::ReshapeField, Action::DrawNoGo, Action::ShowPalette] {
        act(&mut window, card);
        faults.extend(unnamed(&window).into_iter().map(|fault| format!("{card:?}: {fault}")));
    }
    assert!(
        faults.is_empty(),
        "{} without a name or role:\n{}",
        faults.len(),
        faults.into_iter().collect::<Vec<_>>().join("\n")
    );
}

#[test]
fn a_lens_shows_nothing_that_it_cannot_do_yet() {
    let folder = tempfile::tempdir().unwrap();
    // An empty project, where nearly nothing can be done yet; then the sample farm.
    let mut empty = window(SIZE, vec![folder.path().join("empty.gpkg")]);
    empty.run();
    act(&mut empty, Action::NewProject);
    let mut farm = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    for lens in LENSES {
        for window in [&mut empty, &mut farm] {
            act(window, lens);
            assert_eq!(greyed(window), Vec::<String>::new(), "{lens:?}");
        }
    }
    let row = farm.state().state().caches.facts.rows[0].id;
    ask(&mut farm, Request::Select { field: Some(row), add: false, scroll: true });
    for lens in LENSES {
        act(&mut farm, lens);
        assert_eq!(greyed(&farm), Vec::<String>::new(), "{lens:?} with a field chosen");
    }
}

#[test]
fn the_window_asks_for_files_itself_where_the_system_cannot() {
    let folder = tempfile::tempdir().unwrap();
    let mut window: Harness<'static, App> = Harness::builder()
        .with_size(SIZE)
        .with_max_steps(24)
        .build_eframe(|made| App::new(&made.egui_ctx, Jobs::inline(), Box::new(ScriptedDialogs::absent()), None));
    window.run();
    click(&mut window, "Open the sample farm");
    window.get_by_label("Folder for the sample farm");
    let typed = |window: &mut Harness<'static, App>, text: &str| {
        window.get_by_label("Place of the file").focus();
        window.run();
        window.key_press_modifiers(Modifiers::COMMAND, Key::A);
        window.run();
        window.event(Event::Text(text.to_owned()));
        window.run();
    };
    typed(&mut window, &folder.path().join("farm").display().to_string());
    window.key_press(Key::Enter);
    window.run();
    window.get_by_label("Map of 40 fields");
    // A file to read is found in the list under the line, which shows only what can be read.
    std::fs::write(folder.path().join("pots.csv"), "sample,field\n").unwrap();
    std::fs::write(folder.path().join("photo.jpg"), "x").unwrap();
    act(&mut window, Action::ImportResults);
    typed(&mut window, &format!("{}/", folder.path().display()));
    assert!(window.query_by_label("photo.jpg").is_none());
    click(&mut window, "pots.csv");
    click(&mut window, "Open");
    assert!(window.state().view().form.is_some() && window.state().view().chooser.is_none());
    // Escape closes the card without an answer.
    act(&mut window, Action::OpenProject);
    assert!(window.state().view().chooser.is_some());
    window.key_press(Key::Escape);
    window.run();
    assert!(window.state().view().chooser.is_none());
}

#[test]
fn text_has_sizes_and_the_map_keeps_its_keys() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    let press_key = |window: &mut Window, modifiers, key| {
        window.key_press_modifiers(modifiers, key);
        window.run();
    };
    for _ in 0..3 {
        press_key(&mut window, Modifiers::COMMAND, Key::T);
    }
    assert!((window.ctx.zoom_factor() - 1.5).abs() < 1e-6, "{}", window.ctx.zoom_factor());
    press_key(&mut window, Modifiers::COMMAND | Modifiers::SHIFT, Key::T);
    assert!((window.ctx.zoom_factor() - 1.3).abs() < 1e-6);
    act(&mut window, Action::UsualText);
    let zoom = window.state().camera().zoom();
    for key in [Key::Plus, Key::Equals] {
        press_key(&mut window, Modifiers::COMMAND, key);
    }
    assert!((window.state().camera().zoom() - zoom - 1.0).abs() < 1e-6, "the map is zoomed");
    assert!((window.ctx.zoom_factor() - 1.0).abs() < 1e-6, "and the text is not");
}

#[test]
fn corners_go_to_boundaries_near_them_and_are_removed_by_key() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    let rows = window.state().state().caches.facts.rows.clone();
    let records = window.state().records().unwrap().clone();
    let row = rows.iter().max_by(|a, b| a.area_m2.total_cmp(&b.area_m2)).unwrap();
    // Messages lie over the lower edge of the map.
    let messages: Vec<u64> = window.state().state().toasts.iter().map(|toast| toast.id).collect();
    for message in messages {
        ask(&mut window, Request::DismissToast(message));
    }
    ask(&mut window, Request::Select { field: Some(row.id), add: false, scroll: true });
    act(&mut window, Action::ZoomToSelection);
    act(&mut window, Action::ReshapeField);
    // By keyboard: the first corner, the next, and away with it.
    click(&mut window, "Choose the next corner");
    click(&mut window, "Choose the next corner");
    let chosen = window.state().view().corner.expect("a corner is chosen");
    assert_eq!(chosen.index, 1);
    window.key_press(Key::Delete);
    window.run();
    let corners = |window: &Window| {
        window.state().records().unwrap().fields[&row.id]
            .boundary
            .0
            .iter()
            .map(|part| part.exterior().0.len())
            .sum::<usize>()
    };
    let before: usize = records.fields[&row.id].boundary.0.iter().map(|part| part.exterior().0.len()).sum();
    assert_eq!(corners(&window), before - 1);
    assert_eq!(window.state().view().tool, Tool::Reshape(row.id), "the tool stays in hand");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert_eq!(corners(&window), before);
    // A no-go area whose corner is dragged near the boundary ends on it.
    let near = records.fields[&row.id].boundary.0[0].exterior().0[0];
    let inside = row.label;
    act(&mut window, Action::DrawNoGo);
    for (x, y) in [(0.0, 0.0), (0.0006, 0.0), (0.0006, 0.0004)] {
        ask(&mut window, Request::AddCorner(geo::Coord { x: inside.x + x, y: inside.y + y }));
    }
    act(&mut window, Action::FinishDrawing);
    act(&mut window, Action::ReshapeField);
    let from = window.state().camera().pos_of(inside).unwrap();
    let to = window.state().camera().pos_of(near).unwrap();
    press(&mut window, from, to + vec2(4.0, 3.0));
    let area = window.state().records().unwrap().no_go_of(row.id).last().unwrap().area.clone();
    let ends = area
        .0
        .iter()
        .flat_map(|part| part.exterior().0.clone())
        .any(|corner| (corner.x - near.x).abs() < 1e-9 && (corner.y - near.y).abs() < 1e-9);
    let said: Vec<String> = window.state().state().toasts.iter().map(|toast| toast.text.clone()).collect();
    assert!(ends, "{area:?} {near:?} from {from:?} to {to:?}: {said:?}");
}

#[test]
fn keys_pressed_within_one_frame_are_done_in_their_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR);
    let row = window.state().state().caches.facts.rows.iter().find(|row| row.due).unwrap().clone();
    ask(&mut window, Request::Select { field: Some(row.id), add: false, scroll: true });
    act(&mut window, Action::LensWalk);
    let plan = |window: &Window| window.state().records().unwrap().plan_of(row.id, YEAR).is_some();
    assert!(!plan(&window));
    let key = |window: &mut Window, modifiers: Modifiers, key| {
        window.event_modifiers(Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers }, modifiers);
    };
    key(&mut window, Modifiers::COMMAND, Key::P);
    key(&mut window, Modifiers::COMMAND, Key::Z);
    window.run();
    assert!(!plan(&window), "proposed, and taken back in the same breath");
    key(&mut window, Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    window.run();
    assert!(plan(&window));
    for pressed in [Key::Z, Key::P, Key::Z] {
        key(&mut window, Modifiers::COMMAND, pressed);
    }
    window.run();
    assert!(!plan(&window));
}

#[test]
fn undo_stops_what_is_still_being_worked_out() {
    let folder = tempfile::tempdir().unwrap();
    let project: PathBuf = awn::demo::write_sample_farm(folder.path(), &awn_core::progress::Quiet).unwrap();
    // Work on threads, as in the program itself.
    let mut window: Harness<'static, App> = Harness::builder()
        .with_size(SIZE)
        .build_eframe(|made| App::new(&made.egui_ctx, Jobs::on_threads(|| {}), Box::new(ScriptedDialogs::default()), None));
    window.state().open(&project);
    let wait_for = |window: &mut Harness<'static, App>, done: &dyn Fn(&App) -> bool| {
        for _ in 0..2400 {
            window.step();
            if done(window.state()) {
                return;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        panic!("waited in vain");
    };
    wait_for(&mut window, &|app| !app.state().caches.facts.rows.is_empty());
    window.state().ask(Request::SetYear(YEAR));
    wait_for(&mut window, &|app| app.state().caches.facts_for.is_some_and(|(.., year)| year == YEAR));
    let before = window.state().records().unwrap().clone();
    let undo = window.state().state().document.as_ref().unwrap().undo.clone();
    window.state().ask(Request::Do(Action::LensWalk));
    window.state().ask(Request::Do(Action::ProposeStops));
    window.step();
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.step();
    // Long enough for all forty plans to have been worked out.
    for _ in 0..100 {
        window.step();
        std::thread::sleep(Duration::from_millis(20));
    }
    assert_eq!(**window.state().records().unwrap(), *before, "neither the plans nor anything before them was changed");
    assert_eq!(window.state().state().document.as_ref().unwrap().undo, undo);
}

#[test]
fn the_season_is_walked_through_by_arrows() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window(SIZE, folder.path(), vec![], YEAR - 1);
    window.get_by_label_contains("Season of harvest 2026").focus();
    window.run();
    let week = |window: &Window| window.state().view().season.week.clone();
    window.key_press(Key::ArrowRight);
    window.run();
    let first = week(&window).expect("something happens in the season of the sample farm");
    assert!(!first.fields.is_empty());
    assert_eq!(window.state().view().selected, first.fields);
    window.key_press(Key::ArrowRight);
    window.run();
    if let Some(second) = week(&window) {
        assert!(second.from > first.from);
        window.key_press(Key::ArrowLeft);
        window.run();
        assert_eq!(week(&window), Some(first));
    }
}
