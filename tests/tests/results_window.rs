//! The Results lens, driven by the names that a screen reader hears.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::Path;

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::results_view::{Entry, ResultsTab, ResultsView};
use awn_core::exchange::Meaning;
use awn_core::model::Rating;
use awn_tests::window::window;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;

type Window = Harness<'static, App>;

fn results_lens(folder: &Path, height: f32) -> Window {
    let project = awn::demo::write_sample_farm(folder, &awn_core::progress::Quiet).unwrap();
    let mut window = window([1280.0, height], vec![]);
    window.state().open(&project);
    window.run();
    ask(&mut window, Request::Do(Action::LensResults));
    window
}

fn ask(window: &mut Window, request: Request) {
    window.state().ask(request);
    window.run();
}

#[test]
fn a_disputed_rating_is_explained() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = results_lens(folder.path(), 720.0);
    let rows = &window.state().state().caches.facts.results;
    let disputed = rows.iter().find(|row| row.found.agrees() == Some(false)).expect("the sample farm has one").clone();
    ask(&mut window, Request::SetResults(ResultsView { disputed: true, open: Some(disputed.id), ..ResultsView::default() }));
    let lab = disputed.found.lab.map_or("", Rating::label);
    window.get_by_label_contains(&format!("Disputed: the laboratory printed {lab}"));
    window.get_by_label_contains("Limits: 0.90, 0.80 and 0.40 of");
    window.get_by_label_contains("either class is close");
    window.get_by_label("Close").click();
    window.run();
    assert!(window.query_by_label_contains("Disputed:").is_none());
}

#[test]
fn the_chart_says_every_result_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = results_lens(folder.path(), 720.0);
    ask(&mut window, Request::SetResults(ResultsView { tab: ResultsTab::Chart, ..ResultsView::default() }));
    let row = window.state().state().caches.facts.results[0].clone();
    let words = format!("{} {} {}: reduction", row.sample, row.field_name, row.active);
    window.get_by_label_contains(&words).click();
    window.run();
    assert_eq!(window.state().state().view.results.open, Some(row.id));
}

#[test]
fn a_result_is_typed_with_the_checks_of_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = results_lens(folder.path(), 720.0);
    let before = window.state().records().unwrap().results.len();
    let field = window.state().state().caches.facts.rows[0].clone();
    let mut entry = Entry::new(Some(&format!("{}/{}", field.farm, field.name)), 2026);
    entry.set_pots(true);
    let type_in = |entry: &mut Entry, wanted: Meaning, text: &str| {
        let line = entry.lines.iter_mut().find(|(meaning, _)| *meaning == wanted).unwrap();
        text.clone_into(&mut line.1);
    };
    for (meaning, text) in [
        (Meaning::Sample, "TY-1"),
        (Meaning::Active, "cycloxidym"),
        (Meaning::Alive, "2/6, 3/6, 1/6"),
        (Meaning::UntreatedAlive, "6/6, 6/6, 6/6"),
        (Meaning::StandardReduction, "94"),
    ] {
        type_in(&mut entry, meaning, text);
    }
    ask(&mut window, Request::SetResults(ResultsView { entry: Some(entry.clone()), ..ResultsView::default() }));
    window.get_by_label("Keep result").click();
    window.run();
    window.get_by_label_contains("Did you mean cycloxydim");
    assert_eq!(window.state().records().unwrap().results.len(), before);
    type_in(&mut entry, Meaning::Active, "cycloxydim");
    ask(&mut window, Request::SetResults(ResultsView { entry: Some(entry), ..ResultsView::default() }));
    window.get_by_label("Keep result").click();
    window.run();
    let records = window.state().records().unwrap();
    let sample = records.sample_coded("TY-1").unwrap().id;
    let kept = records.results.values().find(|result| result.sample == sample).unwrap();
    // 6 of 18 live, all untreated do.
    assert!((kept.reduction.unwrap() - 100.0 * 12.0 / 18.0).abs() < 1e-9 && kept.raw.as_ref().unwrap().treated.len() == 3);
    ask(&mut window, Request::Do(Action::Undo));
    assert_eq!(window.state().records().unwrap().results.len(), before);
}

#[test]
fn an_import_shows_how_columns_are_read_and_lets_them_be_changed() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = results_lens(folder.path(), 1400.0);
    let field = window.state().state().caches.facts.rows[0].clone();
    let table = folder.path().join("results.csv");
    let rows =
        format!("Nr,field,year,assay,active,Killed,standard\nZ-1,{}/{},2026,pot,cycloxydim,50,90\n", field.farm, field.name);
    std::fs::write(&table, rows).unwrap();
    window.state().open(&table);
    window.run();
    window.get_by_label_contains("the column sample is missing");
    let mut form = window.state().state().view.form.clone().unwrap();
    form.columns = vec![("Nr".into(), "sample".into()), ("Killed".into(), "reduction_percent".into())];
    ask(&mut window, Request::SetForm(Some(form)));
    window.get_by_label_contains("1 result new, 0 replaced");
    window.get_by_label("Import").click();
    window.run();
    assert!(window.state().records().unwrap().sample_coded("Z-1").is_some());
}
