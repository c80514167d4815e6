//! The Results lens, driven by the names that a screen reader hears.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::Path;

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::view::results::{Entry, ResultsTab, ResultsView};
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
    ask(&mut window, Request::SetForm(Some(Box::new(form))));
    window.get_by_label_contains("1 result new, 0 replaced");
    window.get_by_label("Import").click();
    window.run();
    assert!(window.state().records().unwrap().sample_coded("Z-1").is_some());
}

#[test]
fn the_settings_of_ratings_are_switches_that_can_be_undone() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = results_lens(folder.path(), 720.0);
    window.get_by_label("How they are rated…").click();
    window.run();
    window.get_by_label("RR and RRR must differ from the standard").click();
    window.run();
    assert!(window.state().records().unwrap().settings.results.must_differ);
    let low = window.get_by_label("Lowest expected standard");
    low.focus();
    window.run();
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    window.get_by_label("Lowest expected standard").type_text("95");
    window.run();
    window.key_press(egui::Key::Tab);
    window.run();
    assert_eq!(window.state().records().unwrap().settings.results.expected_standard, [95.0, 100.0]);
    let doubtful = |window: &Window| {
        let rows = &window.state().state().caches.facts.results;
        rows.iter().filter(|row| row.found.doubts.iter().any(|doubt| doubt.what.contains("95 to 100 % is expected"))).count()
    };
    assert!(doubtful(&window) > 0);
    ask(&mut window, Request::Do(Action::Undo));
    assert_eq!((doubtful(&window), window.state().records().unwrap().settings.results.expected_standard[0]), (0, 80.0));
    ask(&mut window, Request::Do(Action::Undo));
    assert!(!window.state().records().unwrap().settings.results.must_differ);
}

#[test]
fn land_by_class_and_the_table_as_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let project = awn::demo::write_sample_farm(folder.path(), &awn_core::progress::Quiet).unwrap();
    let table = folder.path().join("out.xlsx");
    let mut window = window([1280.0, 720.0], vec![table.clone(), folder.path().join("out.csv")]);
    window.state().open(&project);
    window.run();
    ask(&mut window, Request::Do(Action::LensResults));
    window.get_by_label("Land").click();
    window.run();
    // The shares that a screen reader hears are those of the core.
    let records = window.state().records().unwrap().clone();
    let year = window.state().view().year;
    let (farm, groups) = awn_core::rating::land_by_class(&records, year).into_iter().next().unwrap();
    let (group, land) = groups.iter().find(|(_, land)| land.share(Rating::RRR).is_some_and(|share| share > 0.0)).unwrap();
    let name = awn_core::model::mode_of_group(group).unwrap().name;
    let wanted =
        format!("{}, HRAC {group} {name}: RRR {:.0} %", records.farms[&farm].name, 100.0 * land.share(Rating::RRR).unwrap());
    window.get_by_label_contains(&wanted);
    ask(&mut window, Request::Do(Action::ExportResults));
    ask(&mut window, Request::Do(Action::ExportResults));
    let rows = std::fs::read_to_string(folder.path().join("out.csv")).unwrap().lines().count() - 1;
    assert_eq!(rows, window.state().state().caches.facts.results.len());
    assert!(std::fs::read(&table).unwrap().starts_with(b"PK"));
}

#[test]
fn a_code_that_nearly_matches_is_taken_for_the_same_by_a_tick() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = results_lens(folder.path(), 1400.0);
    let row = window.state().state().caches.facts.results[0].clone();
    // The code without its marks: nobody else has it.
    let code: String = row.sample.chars().filter(|c| c.is_alphanumeric()).collect();
    assert_ne!(code, row.sample);
    let field = window.state().records().unwrap().fields[&row.field].clone();
    let name = format!("{}/{}", window.state().records().unwrap().farm_name(&field), field.name);
    let table = folder.path().join("results.csv");
    let heading = "sample,field,year,assay,active,rating,reduction_percent,standard_percent";
    std::fs::write(&table, format!("{heading}\n{code},{name},{},pot,propyzamide,S,95,99\n", row.year)).unwrap();
    let samples = window.state().records().unwrap().samples.len();
    window.state().open(&table);
    window.run();
    window.get_by_label(&format!("{code} is {}", row.sample)).click();
    window.run();
    window.get_by_label("Import").click();
    window.run();
    let records = window.state().records().unwrap();
    assert_eq!(records.samples.len(), samples);
    assert!(records.results.values().any(|result| result.active == "propyzamide"));
}

#[test]
fn a_standard_under_a_name_of_its_own_is_told_by_a_tick() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = results_lens(folder.path(), 1400.0);
    let field = window.state().state().caches.facts.rows[0].clone();
    let table = folder.path().join("results.csv");
    let heading = "sample,field,year,assay,active,reduction_percent";
    let rows = format!("ST-1,{}/{},2026,pot,propyzamide,45\nWindmill,,2026,pot,propyzamide,90\n", field.farm, field.name);
    std::fs::write(&table, format!("{heading}\n{rows}")).unwrap();
    window.state().open(&table);
    window.run();
    window.get_by_label_contains("there is no sample “Windmill”");
    window.get_by_label("Windmill is the S standard").click();
    window.run();
    window.get_by_label("Import").click();
    window.run();
    let rows = &window.state().state().caches.facts.results;
    let found = &rows.iter().find(|row| row.sample == "ST-1").unwrap().found;
    // 45 beside 90 is half of it: RR by the published limits.
    assert_eq!((found.standard, found.rating), (Some(90.0), Some(Rating::RR)));
}

#[test]
fn a_rating_without_figures_is_shown_as_the_laboratorys() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = results_lens(folder.path(), 1400.0);
    let row =
        window.state().state().caches.facts.rows.iter().find(|row| row.worst.is_none()).expect("one is untested").clone();
    let table = folder.path().join("results.csv");
    let rows = format!("sample,field,year,assay,active,rating\nLB-1,{}/{},2026,pot,cycloxydim,RR\n", row.farm, row.name);
    std::fs::write(&table, rows).unwrap();
    window.state().open(&table);
    window.run();
    window.get_by_label("Import").click();
    window.run();
    let state = window.state().state();
    let field = state.caches.facts.row(row.id).unwrap();
    assert_eq!((field.worst, field.worst_by.is_laboratory()), (Some(Rating::RR), true));
    let open = state.caches.facts.results.iter().find(|result| result.sample == "LB-1").unwrap().id;
    ask(&mut window, Request::SetResults(ResultsView { open: Some(open), words: "LB-1".into(), ..ResultsView::default() }));
    window.get_by_label_contains("nothing is worked out by us");
    assert!(window.query_all_by_label_contains("the laboratory's rating, not worked out by us").count() > 0);
}
