//! The Samples lens, driven by the names that a screen reader hears: from the plan to posted samples, by hand.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::samples::SamplesView;
use awn_core::model::{SampleId, Stage};
use awn_core::samples::stage_of;
use awn_tests::window::{Window, act, ask, click, sample_farm_window};
use egui_kittest::kittest::Queryable as _;

const YEAR: i32 = 2027;

fn stages(window: &Window, ids: &[SampleId]) -> Vec<Stage> {
    let records = window.state().records().unwrap();
    ids.iter().map(|id| stage_of(records, &records.samples[id])).collect()
}

fn set(window: &mut Window, change: impl FnOnce(&mut SamplesView)) {
    let mut view = window.state().state().view.samples.clone();
    change(&mut view);
    ask(window, Request::SetSamples(Box::new(view)));
}

#[test]
fn a_season_from_plan_to_post_is_done_in_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let pages = ["cards.pdf", "labels.pdf", "forms.pdf"].map(|name| folder.path().join(name));
    let mut window = sample_farm_window([1280.0, 900.0], folder.path(), pages.to_vec(), YEAR);
    act(&mut window, Action::SelectDue);
    let fields: Vec<_> = window.state().state().view.selected.iter().copied().take(3).collect();
    ask(&mut window, Request::SelectMany { fields: fields.clone(), add: false });
    act(&mut window, Action::LensWalk);
    act(&mut window, Action::ProposeStops);
    act(&mut window, Action::LensSamples);
    act(&mut window, Action::PlanSamples);
    let records = window.state().records().unwrap().clone();
    let ids: Vec<SampleId> =
        records.samples_in(YEAR).iter().filter(|sample| fields.contains(&sample.field)).map(|sample| sample.id).collect();
    assert_eq!(ids.len(), 3);

    // What the form would lack stands on the sample's page before anything is printed.
    set(&mut window, |view| view.open = Some(ids[0]));
    window.get_by_label("Not known for the form");
    window.get_by_label("The day it was taken.");
    set(&mut window, |view| view.open = None);
    // Pages: cards of the chosen fields, labels and forms of the chosen samples.
    set(&mut window, |view| view.chosen = ids.iter().copied().collect());
    for name in ["Field cards…", "Labels…", "Forms…"] {
        click(&mut window, name);
    }
    for page in &pages {
        assert!(std::fs::read(page).unwrap().starts_with(b"%PDF"), "{}", page.display());
    }
    window.get_by_label_contains("Gaps in the forms");
    ask(&mut window, Request::CloseProblems);

    for (stage, day, button) in [
        (Stage::Collected, "2027-07-14", "Mark 3 samples collected"),
        (Stage::Dried, "2027-07-21", "Mark 3 samples dried"),
        (Stage::Sealed, "2027-07-22", "Mark 3 samples sealed"),
        (Stage::Posted, "2027-07-22", "Mark 3 samples posted"),
    ] {
        set(&mut window, |view| {
            view.chosen = ids.iter().copied().collect();
            day.clone_into(&mut view.date);
            "Bo".clone_into(&mut view.person);
            if stage == Stage::Collected {
                "1".clone_into(&mut view.mugs);
                "15".clone_into(&mut view.shed);
            }
        });
        click(&mut window, button);
        assert_eq!(stages(&window, &ids), [stage; 3], "{button}");
    }
    let records = window.state().records().unwrap();
    let sample = &records.samples[&ids[0]];
    assert_eq!(
        (sample.mugs, sample.shed_percent, sample.taken.unwrap().to_string()),
        (Some(1.0), Some(15.0), "2027-07-14".into())
    );
    assert_eq!(sample.events.last().unwrap().person, "Bo");

    // The page of one sample tells all of it; its last stage can be taken back, and undone at once for all.
    set(&mut window, |view| view.open = Some(ids[0]));
    window.get_by_label_contains("posted 22 July 2027, Bo");
    window.get_by_label_contains("Results of the dish test about 30 September 2027");
    set(&mut window, |view| view.open = None);
    set(&mut window, |view| view.chosen = ids.iter().copied().take(1).collect());
    click(&mut window, "Take back the last stage");
    assert_eq!(stages(&window, &ids), [Stage::Sealed, Stage::Posted, Stage::Posted]);
    act(&mut window, Action::Undo);
    act(&mut window, Action::Undo);
    assert_eq!(stages(&window, &ids), [Stage::Sealed; 3]);
}

#[test]
fn what_cannot_be_is_said_beside_the_samples() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window([1280.0, 900.0], folder.path(), vec![], YEAR);
    act(&mut window, Action::LensSamples);
    let id = window.state().state().caches.facts.samples[0].sample.id;
    set(&mut window, |view| {
        view.chosen = [id].into();
        "2026-07-14".clone_into(&mut view.date);
    });
    act(&mut window, Action::MoveSamples);
    window.get_by_label_contains("Give the name of who did it");
    window.get_by_label_contains("cannot be taken on 14 July 2026");
    set(&mut window, |view| "tomorrow".clone_into(&mut view.date));
    act(&mut window, Action::MoveSamples);
    window.get_by_label_contains("such as 2027-07-14");
    assert_eq!(stages(&window, &[id]), [Stage::Planned]);
}

#[test]
fn on_start_people_are_reminded_of_what_is_late() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window([1280.0, 900.0], folder.path(), vec![], YEAR);
    let told = &window.state().state().toasts;
    let text = told.iter().map(|toast| toast.text.as_str()).collect::<String>();
    // Of last harvest two are collected, one dried, one sealed: none posted.
    assert!(text.contains("4 samples of harvest 2026 collected but not posted, the oldest since 14 July 2026"), "{text}");
    act(&mut window, Action::LensSamples);
    click(&mut window, "4 samples of harvest 2026 collected but not posted, the oldest since 14 July 2026.");
    assert_eq!(window.state().state().view.year, 2026);
    assert_eq!(window.state().state().view.samples.chosen.len(), 4);
}

#[test]
fn a_track_is_read_and_stands_on_the_samples_page() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = sample_farm_window([1280.0, 900.0], folder.path(), vec![], YEAR);
    let field = window.state().state().caches.facts.rows.iter().find(|row| row.due).unwrap().id;
    ask(&mut window, Request::Select { field: Some(field), add: false, scroll: false });
    act(&mut window, Action::LensWalk);
    act(&mut window, Action::ProposeStops);
    act(&mut window, Action::LensSamples);
    act(&mut window, Action::PlanSamples);
    let plan = window.state().records().unwrap().plan_of(field, YEAR).unwrap().clone();
    let points: String = plan.walk.line.coords().map(|at| format!("<trkpt lat=\"{}\" lon=\"{}\"/>", at.y, at.x)).collect();
    let file = folder.path().join("wednesday.gpx");
    std::fs::write(&file, format!("<gpx version=\"1.1\"><trk><trkseg>{points}</trkseg></trk></gpx>")).unwrap();
    window.state().open(&file);
    window.run();
    click(&mut window, "Import");
    let stops = plan.stops.len();
    let records = window.state().records().unwrap().clone();
    let walk = records.walked_in(field, YEAR).next().expect("kept");
    assert_eq!((walk.figures.reached(), walk.figures.away_m.len()), (stops, stops));
    let id = records.samples_in(YEAR).iter().find(|sample| sample.field == field).unwrap().id;
    set(&mut window, |view| view.open = Some(id));
    window.get_by_label("day not known (wednesday.gpx)");
    window.get_by_label("Stops reached");
}
