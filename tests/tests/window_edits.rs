//! Changes by hand in the window: stops, pins, no-go areas, tramlines, gates, boundaries, fields split and merged; plans compared.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::Path;

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::tool::Tool;
use awn::gui::view::{Beside, HowMany};
use awn_core::model::{FieldId, Method, Plan};
use awn_core::stops::Target;
use awn_tests::window::{Window, act, ask, click, close_messages, press, press_with, sample_farm_window};
use egui::Role;
use egui::{Key, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::kittest::Queryable as _;
use geo::{Contains as _, Coord, Distance as _, Intersects as _};

const SIZE: [f32; 2] = [1280.0, 720.0];
/// The season of the sample farm.
const YEAR: i32 = 2027;

/// The sample farm with a plan for one due field, on which the map is zoomed, in the Walk lens.
fn planned(folder: &Path) -> (Window, FieldId, String) {
    let mut window = sample_farm_window(SIZE, folder, vec![], YEAR);
    let facts = window.state().state().caches.facts.clone();
    let row = facts.rows.iter().find(|row| row.due).unwrap();
    ask(&mut window, Request::Select { field: Some(row.id), add: false, scroll: true });
    act(&mut window, Action::LensWalk);
    act(&mut window, Action::ProposeStops);
    act(&mut window, Action::ZoomToSelection);
    close_messages(&mut window);
    (window, row.id, row.name.clone())
}

fn plan(window: &Window, field: FieldId) -> Plan {
    (**window.state().records().unwrap().plan_of(field, YEAR).expect("a plan")).clone()
}

fn undo_name(window: &Window) -> String {
    window.state().state().document.as_ref().unwrap().undo.clone().unwrap()
}

fn undo(window: &mut Window) {
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
}

fn pos(window: &Window, at: Coord<f64>) -> Pos2 {
    window.state().camera().pos_of(at).unwrap()
}

fn metres(window: &Window, field: FieldId) -> awn_core::crs::LocalPlane {
    let field = window.state().records().unwrap().fields[&field].clone();
    awn_core::crs::LocalPlane::around(awn_core::geometry::bounds(&field.boundary).unwrap()).unwrap()
}

#[test]
fn a_pinned_stop_stays_when_stops_are_proposed_again() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, name) = planned(folder.path());
    let before = plan(&window, field);
    click(&mut window, "Pin stop 3");
    assert_eq!(undo_name(&window), format!("Pin stop 3 of {name}"));
    let mut form = window.state().view().plan.clone();
    form.settings.stops = 5;
    ask(&mut window, Request::SetPlanForm(form.clone()));
    act(&mut window, Action::ProposeStops);
    let after = plan(&window, field);
    assert_eq!(after.stops.len(), 5);
    let pinned = after.pinned();
    assert_eq!(pinned.len(), 1);
    let plane = metres(&window, field);
    let moved = geo::Euclidean.distance(plane.metres(pinned[0]), plane.metres(before.stops[2].position));
    assert!(moved < 0.01, "a pinned stop went {moved} m");
    // However their number is asked for, it stays.
    form.how_many = HowMany::Minutes;
    form.minutes = 60.0;
    ask(&mut window, Request::SetPlanForm(form));
    act(&mut window, Action::ProposeStops);
    let timed = plan(&window, field);
    assert!(timed.minutes() <= 60.0 && timed.pinned().len() == 1, "{:?}", timed.notes);
    let moved = geo::Euclidean.distance(plane.metres(timed.pinned()[0]), plane.metres(pinned[0]));
    assert!(moved < 0.01, "a pinned stop went {moved} m");
}

#[test]
fn stops_are_added_and_removed_by_hand() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, name) = planned(folder.path());
    let before = plan(&window, field);
    click(&mut window, "Add a stop");
    assert!(matches!(window.state().view().tool, Tool::AddStop(_)));
    let middle = window.state().state().caches.facts.row(field).unwrap().label;
    let at = pos(&window, middle);
    press(&mut window, at, at);
    let more = plan(&window, field);
    assert_eq!(more.stops.len(), before.stops.len() + 1);
    assert_eq!(undo_name(&window), format!("Add a stop to {name}"));
    assert_eq!(window.state().view().tool, Tool::Choose, "one click adds one stop");
    assert!((more.stops.iter().map(|stop| stop.share).sum::<f64>() - 1.0).abs() < 1e-9);
    // A click on a stop chooses it; Delete takes it away.
    let at = pos(&window, more.stops[1].position);
    press(&mut window, at, at);
    assert_eq!(window.state().view().stop, Some(1));
    window.key_press(Key::Delete);
    window.run();
    assert_eq!(plan(&window, field).stops.len(), before.stops.len());
    undo(&mut window);
    undo(&mut window);
    assert_eq!(plan(&window, field), before);
}

#[test]
fn the_menu_under_the_second_button_speaks_of_what_is_there() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, _) = planned(folder.path());
    let before = plan(&window, field);
    let at = pos(&window, before.stops[4].position);
    press_with(&mut window, PointerButton::Secondary, at, at);
    window.get_by_role_and_label(Role::Button, "Pin stop 5");
    click(&mut window, "Remove stop 5");
    assert_eq!(plan(&window, field).stops.len(), before.stops.len() - 1);
}

#[test]
fn a_no_go_area_moves_stops_and_walk_out_of_it_and_undo_brings_both_back() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, name) = planned(folder.path());
    let before = plan(&window, field);
    act(&mut window, Action::DrawNoGo);
    let centre = pos(&window, before.stops[3].position);
    for corner in [vec2(-40.0, -40.0), vec2(40.0, -40.0), vec2(40.0, 40.0), vec2(-40.0, 40.0)] {
        press(&mut window, centre + corner, centre + corner);
    }
    click(&mut window, "Finish drawing");
    let records = window.state().records().unwrap().clone();
    let areas: Vec<_> = records.no_go_of(field).collect();
    let area = areas.last().expect("a no-go area");
    assert_eq!(undo_name(&window), format!("Add no-go area to {name}"));
    let after = plan(&window, field);
    assert_ne!(after.stops, before.stops);
    for stop in &after.stops {
        assert!(!area.area.contains(&geo::Point(stop.position)), "a stop lies in the no-go area");
    }
    // The walk may touch its edge, not lead through it: what lies inside by a metre counts.
    let plane = metres(&window, field);
    let inner = geo::Buffer::buffer(&plane.to_metres(&area.area), -1.0);
    for walk in after.walks() {
        assert!(!plane.to_metres(&walk.line).intersects(&inner), "the walk leads through the no-go area");
    }
    undo(&mut window);
    assert_eq!(plan(&window, field), before);
    assert_eq!(window.state().records().unwrap().no_go_of(field).count(), areas.len() - 1);
}

#[test]
fn tramlines_are_drawn_with_two_clicks() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, name) = planned(folder.path());
    act(&mut window, Action::DrawTramlines);
    let middle = pos(&window, window.state().state().caches.facts.row(field).unwrap().label);
    // 30 to the right for 40 up: a bearing of 36.87 degrees.
    let ends = [middle + vec2(-30.0, 40.0), middle + vec2(30.0, -40.0)];
    for end in ends {
        press(&mut window, end, end);
    }
    assert_eq!(undo_name(&window), format!("Lay tramlines in {name}"));
    let records = window.state().records().unwrap().clone();
    let sets: Vec<_> = records.tramlines_of(field).collect();
    assert_eq!(sets.len(), 1);
    // The map is conformal: the bearing on the screen is that on the ground, within the convergence of a field.
    let wanted = (30.0_f64).atan2(40.0).to_degrees();
    assert!((sets[0].bearing_deg - wanted).abs() < 0.5, "{} for {wanted}", sets[0].bearing_deg);
    let plane = metres(&window, field);
    for stop in &plan(&window, field).stops {
        // Every stop lies on a line parallel to the first, or on the headland.
        let at = plane.metres(stop.position) - plane.metres(sets[0].anchor);
        let (sin, cos) = sets[0].bearing_deg.to_radians().sin_cos();
        let off = ((at.x * cos - at.y * sin) / sets[0].spacing_m).abs();
        assert!(stop.tramline.is_none() || (off - off.round()).abs() * sets[0].spacing_m < 0.05, "{off}");
    }
}

#[test]
fn plans_stand_side_by_side_and_another_is_taken_into_use() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, _) = planned(folder.path());
    let before = plan(&window, field);
    click(&mut window, "Set a copy aside");
    assert_eq!(window.state().records().unwrap().plans_aside(field, YEAR).count(), 1);
    assert!(window.state().view().walk.comparing);
    let found = window.state().state().caches.comparison.clone().expect("other plans");
    let ways: Vec<_> = found.plans.iter().map(|(which, _)| *which).collect();
    assert!(ways.iter().any(|which| matches!(which, Beside::Aside(_))));
    for method in [Method::RandomDraw, Method::AtGate, Method::WalkedW, Method::OneTramline] {
        assert!(ways.contains(&Beside::Way(method)), "{method:?}");
    }
    for (_, other) in &found.plans {
        assert_eq!(other.stops.len(), before.stops.len());
    }
    let (_, gate) = found.plans.iter().find(|(which, _)| *which == Beside::Way(Method::AtGate)).unwrap();
    assert!(gate.figures.balance > before.figures.balance);
    click(&mut window, "Random draw");
    assert_eq!(window.state().view().walk.beside, Some(Beside::Way(Method::RandomDraw)));
    click(&mut window, "Use this plan");
    assert_eq!(plan(&window, field).method, Method::RandomDraw);
    assert_eq!(window.state().records().unwrap().plans_aside(field, YEAR).count(), 2);
    undo(&mut window);
    assert_eq!(plan(&window, field), before);
}

#[test]
fn the_chart_shows_what_more_stops_come_to() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, _) = planned(folder.path());
    act(&mut window, Action::HowManyStops);
    let chart = window.state().state().caches.chart.clone().unwrap();
    assert_eq!(chart.field, field);
    assert!(chart.points.len() >= 10);
    let here = plan(&window, field);
    let same = chart.points.iter().find(|point| point.stops == here.stops.len()).unwrap();
    assert_eq!(same.figures, here.figures, "the chart tells of the plan that would be made");
    assert!(chart.points.last().unwrap().figures.weighted_distance_m < chart.points[0].figures.weighted_distance_m);
    window.get_by_label_contains("against the number of stops");
}

#[test]
fn a_target_gives_the_fewest_stops_that_reach_it() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, _) = planned(folder.path());
    act(&mut window, Action::HowManyStops);
    let chart = window.state().state().caches.chart.clone().unwrap();
    let wanted = chart.points[6].figures.weighted_distance_m;
    let fewest = chart.points.iter().find(|point| point.figures.weighted_distance_m <= wanted).unwrap().stops;
    let mut form = window.state().view().plan.clone();
    form.how_many = HowMany::Target;
    form.target = Target::WeightedDistance(wanted);
    ask(&mut window, Request::SetPlanForm(form));
    act(&mut window, Action::ProposeStops);
    assert_eq!(plan(&window, field).stops.len(), fewest);
}

#[test]
fn a_gate_is_added_moved_and_removed() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, name) = planned(folder.path());
    let gates = |window: &Window| -> Vec<Coord<f64>> {
        window.state().records().unwrap().gates_of(field).map(|gate| gate.position).collect()
    };
    let before = gates(&window);
    act(&mut window, Action::AddGate);
    let boundary = window.state().records().unwrap().fields[&field].boundary.clone();
    // A corner with room round it on the map.
    let map = window.get_by_label_contains("Map of").rect().shrink(120.0);
    let ring = boundary.0[0].exterior().0.clone();
    let index = (1..ring.len() - 1).find(|index| map.contains(pos(&window, ring[*index]))).expect("a corner in the middle");
    let at = pos(&window, ring[index]);
    press(&mut window, at + vec2(3.0, 3.0), at + vec2(3.0, 3.0));
    assert_eq!(gates(&window).len(), before.len() + 1);
    assert_eq!(undo_name(&window), format!("Add gate to {name}"));
    let added = *gates(&window).iter().find(|gate| !before.contains(gate)).unwrap();
    let plane = metres(&window, field);
    let edge = geo::MultiLineString(boundary.iter().map(|part| part.exterior().clone()).collect());
    let away = geo::Euclidean.distance(&geo::Point(plane.metres(added)), &plane.to_metres(&edge));
    assert!(away < 0.01, "a gate lies on the boundary, not {away} m off");
    close_messages(&mut window);
    let from = pos(&window, added);
    // Corners may lie closer together than a drag is long.
    let far = ring[index..].iter().map(|corner| pos(&window, *corner)).find(|corner| corner.distance(from) > 60.0);
    let to = far.expect("a corner further on");
    press(&mut window, from, from + (to - from) * 0.5);
    assert_eq!(undo_name(&window), format!("Move gate of {name}"));
    let moved = *gates(&window).iter().find(|gate| !before.contains(gate)).unwrap();
    assert!(geo::Euclidean.distance(plane.metres(moved), plane.metres(added)) > 5.0);
    let at = pos(&window, moved);
    press_with(&mut window, PointerButton::Secondary, at, at);
    click(&mut window, "Remove this gate");
    assert_eq!(gates(&window), before);
}

#[test]
fn a_boundary_is_reshaped_corner_by_corner() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, name) = planned(folder.path());
    let shape = |window: &Window| window.state().records().unwrap().fields[&field].boundary.clone();
    let before = shape(&window);
    act(&mut window, Action::ReshapeField);
    let at = pos(&window, before.0[0].exterior().0[2]);
    press(&mut window, at, at + vec2(10.0, -8.0));
    let after = shape(&window);
    assert_eq!(undo_name(&window), format!("Reshape {name}"));
    assert_eq!(after.0[0].exterior().0.len(), before.0[0].exterior().0.len());
    assert_ne!(after, before);
    let there = pos(&window, after.0[0].exterior().0[2]);
    assert!((there - (at + vec2(10.0, -8.0))).length() < 1.0, "{there:?} for {at:?}");
    undo(&mut window);
    assert_eq!(shape(&window), before);
    window.key_press(Key::Escape);
    window.run();
    assert_eq!(window.state().view().tool, Tool::Choose);
    assert_eq!(window.state().view().single(), Some(field), "Escape puts the tool away first");
}

#[test]
fn a_new_field_is_drawn_and_one_is_split_and_merged_again() {
    let folder = tempfile::tempdir().unwrap();
    let (mut window, field, name) = planned(folder.path());
    let area = |window: &Window, id: FieldId| window.state().records().unwrap().fields[&id].area_m2();
    let whole = area(&window, field);
    let row = window.state().state().caches.facts.row(field).unwrap().clone();
    let samples = window.state().records().unwrap().samples.len();
    act(&mut window, Action::SplitField);
    // A line drawn short is lengthened until it cuts.
    let middle = pos(&window, row.label);
    for end in [middle - vec2(4.0, 40.0), middle + vec2(4.0, 40.0)] {
        press(&mut window, end, end);
    }
    window.key_press(Key::Enter);
    window.run();
    assert_eq!(undo_name(&window), format!("Split {name}"));
    let parts: Vec<FieldId> = window.state().view().selected.iter().copied().collect();
    assert!(parts.len() >= 2);
    let sum: f64 = parts.iter().map(|part| area(&window, *part)).sum();
    assert!((sum - whole).abs() < 1.0, "{sum} for {whole} m2");
    let records = window.state().records().unwrap().clone();
    assert_eq!(records.samples.len(), samples, "samples stay with the land they came from");
    assert!(records.fields[&field].exists_in(YEAR - 1) && !records.fields[&field].exists_in(YEAR));
    for part in &parts {
        assert_eq!(records.fields[part].came_from, [field]);
        assert!(records.fields[part].exists_in(YEAR) && !records.fields[part].exists_in(YEAR - 1));
    }
    // The halves keep what was found in the whole.
    let facts = window.state().state().caches.facts.clone();
    assert!(parts.iter().all(|part| facts.row(*part).unwrap().last_test == row.last_test));
    act(&mut window, Action::MergeFields);
    let merged: Vec<FieldId> = window.state().view().selected.iter().copied().collect();
    assert_eq!(merged.len(), 1);
    assert!((area(&window, merged[0]) - whole).abs() < 1.0);

    act(&mut window, Action::SelectNone);
    let fields = window.state().records().unwrap().fields.len();
    act(&mut window, Action::DrawField);
    let map = window.get_by_label_contains("Map of").rect();
    // Below the legend.
    for corner in [vec2(-60.0, 60.0), vec2(60.0, 60.0), vec2(60.0, 140.0), vec2(-60.0, 140.0)] {
        press(&mut window, map.center() + corner, map.center() + corner);
    }
    // A click on the first corner closes the shape.
    press(&mut window, map.center() + vec2(-60.0, 60.0), map.center() + vec2(-60.0, 60.0));
    assert_eq!(window.state().records().unwrap().fields.len(), fields + 1);
    assert!(undo_name(&window).starts_with("Draw New field"));
}
