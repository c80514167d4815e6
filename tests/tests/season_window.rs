//! The season in the window: due list, pins, ripeness checks, rounds, the strip along the lower edge.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::Path;

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::season::RoundsForm;
use awn::gui::view::tool::Tool;
use awn_core::model::{DueRule, DueSign, Mark};
use awn_core::season::Basis;
use awn_tests::window::{Window, act, ask, click, press, sample_farm_window};
use egui::{Event, Key, Role, pos2};
use egui_kittest::kittest::Queryable as _;

const SIZE: [f32; 2] = [1280.0, 720.0];
/// The season of the sample farm.
const YEAR: i32 = 2027;

fn farm(folder: &Path, answers: Vec<std::path::PathBuf>) -> Window {
    sample_farm_window(SIZE, folder, answers, YEAR)
}

fn type_over(window: &mut Window, label: &str, text: &str) {
    window.get_by_role_and_label(Role::TextInput, label).focus();
    window.run();
    window.key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
    window.run();
    window.event(Event::Text(text.to_owned()));
    window.run();
}

#[test]
fn the_due_list_pins_vetoes_and_explains() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = farm(folder.path(), vec![]);
    let due = window.state().state().caches.facts.due.clone();
    let first = due.iter().find(|due| due.due && due.mark.is_none() && due.parts.len() > 1).unwrap().clone();
    let name = window.state().state().caches.facts.row(first.field).unwrap().name.clone();
    // Each bar says its parts to a screen reader.
    let part = &first.parts[0];
    window.get_all_by_label_contains(&format!("{} {:.0}", part.sign.name(), part.points)).next().unwrap();
    click(&mut window, &format!("Veto {name}"));
    let records = window.state().records().unwrap().clone();
    assert_eq!(records.due_mark(first.field, YEAR).unwrap().mark, Mark::Vetoed);
    let row = window.state().state().caches.facts.row(first.field).unwrap().clone();
    assert!(!row.due && row.reasons[0].starts_with("Vetoed"));
    click(&mut window, &format!("Pin {name}"));
    assert_eq!(window.state().records().unwrap().due_mark(first.field, YEAR).unwrap().mark, Mark::Pinned);
    click(&mut window, &format!("Pin {name}"));
    assert!(window.state().records().unwrap().due_mark(first.field, YEAR).is_none());
    let undo = window.state().state().ctx().undo.map(ToOwned::to_owned);
    assert_eq!(undo, Some(format!("Release {name} for harvest {YEAR}")));
}

#[test]
fn a_budget_and_changed_rules_reorder_the_list() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = farm(folder.path(), vec![]);
    let mut rules = window.state().records().unwrap().settings.due.clone();
    rules.samples = Some(3);
    rules.set(DueSign::Never, DueRule { on: true, points: 0.0, sooner: 0 });
    ask(&mut window, Request::SetDueRules(Box::new(rules)));
    let facts = window.state().state().caches.facts.clone();
    assert_eq!(facts.spent.as_ref().unwrap().fields.len(), 3);
    window.get_by_label_contains("Left out: ");
    click(&mut window, "How the score is made");
    // Interval and limits stand there, with what they mean.
    window.get_by_label_contains("A field is due 5 harvests after its last test");
    window.get_all_by_label("Same mode of action, harvests").next().unwrap();
    window.get_by_label("Modes of action looked at: 1, 2…");
    click(&mut window, "Back to the usual rules");
    let kept = window.state().records().unwrap().settings.due.clone();
    assert!(kept.are_usual() && kept.samples == Some(3));
    let before = window.state().view().selected.len();
    click(&mut window, "Choose what is left out");
    assert!(window.state().view().selected.len() > before);
}

#[test]
fn a_ripeness_check_is_typed_on_the_field_page() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = farm(folder.path(), vec![]);
    let ripe = window.state().state().caches.facts.ripe.clone();
    let (field, days) = ripe.fields.iter().find(|(_, days)| days.basis == Basis::OtherFields).unwrap();
    ask(&mut window, Request::Select { field: Some(*field), add: false, scroll: true });
    window.get_by_label(&format!("10 to 20 % shed {}", days.words()));
    type_over(&mut window, "Day of the check", "2027-07-04");
    type_over(&mut window, "Who looked", "trainee");
    click(&mut window, "Add the check");
    let records = window.state().records().unwrap().clone();
    let check = records.ripe_checks.values().find(|check| check.field == *field).unwrap();
    assert_eq!((check.date.to_string().as_str(), check.shed_percent, check.who.as_str()), ("2027-07-04", 10.0, "trainee"));
    // 10 % on 4 July is earlier than the others: the dates follow.
    let now = window.state().state().caches.facts.ripe.fields[field].clone();
    assert!(now.basis == Basis::Checks && now.days.from < days.days.from, "{now:?}");
    window.get_by_label_contains("4 July: 10 % of ALOMY shed, trainee");
    // A date in January is refused with a sentence, and nothing is kept.
    type_over(&mut window, "Day of the check", "2027-01-04");
    click(&mut window, "Add the check");
    assert!(window.state().view().problems_open);
    window.get_by_label_contains("outside the season of black-grass");
    assert_eq!(window.state().records().unwrap().ripe_checks.len(), records.ripe_checks.len());
    click(&mut window, "Remove the check of 4 July");
    assert!(window.state().records().unwrap().ripe_checks.values().all(|check| check.field != *field));
}

#[test]
fn rounds_are_worked_out_shown_and_written() {
    let folder = tempfile::tempdir().unwrap();
    let days = folder.path().join("days");
    std::fs::create_dir_all(&days).unwrap();
    let calendar = folder.path().join("season");
    let mut window = farm(folder.path(), vec![calendar.clone(), days.clone()]);
    act(&mut window, Action::LensWalk);
    act(&mut window, Action::ProposeStops);
    // Without a base the program says what is missing.
    act(&mut window, Action::PlanRounds);
    window.get_by_label_contains("Say where the days begin");
    ask(&mut window, Request::SetTool(Tool::SetBase));
    window.get_by_label_contains("Click where the days of the rounds begin and end.");
    press(&mut window, pos2(640.0, 300.0), pos2(640.0, 300.0));
    assert_eq!(window.state().view().tool, Tool::Choose);
    let mut season = window.state().view().season.clone();
    let form: &mut RoundsForm = season.form.as_mut().unwrap();
    assert!(form.checked().is_ok(), "{form:?}");
    (form.from, form.to) = ("2027-07-05".into(), "2027-07-30".into());
    ask(&mut window, Request::SetSeason(Box::new(season)));
    click(&mut window, "Work out the rounds");
    let records = window.state().records().unwrap().clone();
    let rounds = records.rounds_of(YEAR).unwrap();
    let (date, car, visits) = rounds.days().next().unwrap();
    assert_eq!(window.state().view().season.round, Some((date, car)), "the first day is on the map");
    let name = &records.fields[&visits[0].field].name;
    window.get_all_by_label_contains(&format!("1 {name}")).next().unwrap();
    act(&mut window, Action::ExportCalendar);
    assert!(std::fs::read_to_string(calendar.with_extension("ics")).unwrap().starts_with("BEGIN:VCALENDAR"));
    act(&mut window, Action::ExportRounds);
    assert_eq!(std::fs::read_dir(&days).unwrap().count(), rounds.days().count());
    // Undo takes them back, and the strip knows them no more.
    act(&mut window, Action::Undo);
    assert!(window.state().records().unwrap().rounds_of(YEAR).is_none());
}

#[test]
fn a_week_of_the_strip_filters_list_and_map() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = farm(folder.path(), vec![]);
    let all = window.state().state().caches.order.len();
    let strip = window.get_by_label_contains("Season of harvest 2027").rect();
    // The first week of July: 30 to 37 days after 1 June of 183.
    let at = pos2(strip.left() + strip.width() * 36.0 / 183.0, strip.center().y);
    press(&mut window, at, at);
    let week = window.state().view().season.week.clone().unwrap();
    assert_eq!(week.from.to_string(), "2027-07-05");
    let checked: std::collections::BTreeSet<_> = window
        .state()
        .records()
        .unwrap()
        .ripe_checks
        .values()
        .filter(|check| (week.from..week.to).contains(&check.date))
        .map(|check| check.field)
        .collect();
    assert_eq!((week.fields.clone(), window.state().view().selected.clone()), (checked.clone(), checked));
    let order = window.state().state().caches.order.len();
    assert!(order == week.fields.len() && order < all);
    click(&mut window, "Show every week");
    assert_eq!(window.state().state().caches.order.len(), all);
    // A click on the week again lets go of it as well.
    press(&mut window, at, at);
    press(&mut window, at, at);
    assert!(window.state().view().season.week.is_none() && window.state().view().selected.is_empty());
}

#[test]
fn an_early_year_moves_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = farm(folder.path(), vec![]);
    let mut season = window.state().records().unwrap().settings.season.clone();
    season.shift_days.insert(YEAR, -4);
    ask(&mut window, Request::SetSeasonSettings(Box::new(season)));
    window.get_by_label("Season of harvest 2027: seed is ripe about 4 to 17 July");
}
