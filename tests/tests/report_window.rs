//! The Report lens: pages as they will be printed, made anew when something changes; and what can be written from it.

#![allow(clippy::unwrap_used, clippy::panic)] // stopping with a sentence is the answer here

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::dialogs::ScriptedDialogs;
use awn::gui::jobs::Jobs;
use awn::gui::request::Request;
use awn::gui::view::Colouring;
use awn::gui::view::report::ReportView;
use awn_core::report::Part;
use awn_tests::window::{Window, act, ask, click, sample_farm_window};
use egui::Key;
use egui_kittest::kittest::Queryable as _;

/// The lens with a report of a few parts, which is made at once.
fn report_lens(folder: &std::path::Path, answers: Vec<std::path::PathBuf>) -> Window {
    let mut window = sample_farm_window([1280.0, 800.0], folder, answers, awn_sample_farm::SEASON);
    let parts = [Part::Cover, Part::Summary, Part::RatingMap].into();
    ask(&mut window, Request::SetReport(Box::new(ReportView { parts, ..ReportView::default() })));
    act(&mut window, Action::LensReport);
    window
}

#[test]
fn pages_stand_in_the_lens_and_follow_what_is_chosen() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = report_lens(folder.path(), vec![]);
    let pages = &window.state().state().caches.report;
    let count = pages.report.as_ref().unwrap().pages.count();
    assert!(count >= 3, "{count}");
    // Those in view have been drawn, and not as white paper.
    let (_, picture) = &pages.pictures[&0];
    assert!(picture.image.pixels.iter().any(|pixel| pixel.r() < 100));
    assert!(!pages.pictures.contains_key(&(count - 1)) || count < 4);
    window.get_by_label("Page 1");
    window.get_by_label(&format!("Page {count}"));
    let before = pages.number;
    click(&mut window, "Summary");
    let pages = &window.state().state().caches.report;
    assert_eq!(pages.number, before + 1);
    assert!(pages.report.as_ref().unwrap().pages.count() < count);
    assert!(!window.state().view().report.parts.contains(&Part::Summary));
    // Going away and coming back makes nothing anew.
    act(&mut window, Action::LensFields);
    act(&mut window, Action::LensReport);
    assert_eq!(window.state().state().caches.report.number, before + 1);
}

#[test]
fn the_report_says_what_the_field_list_shows() {
    let folder = tempfile::tempdir().unwrap();
    let window = report_lens(folder.path(), vec![]);
    let state = window.state().state();
    let content = &state.caches.report.report.as_ref().unwrap().content;
    let rows = &state.caches.facts.rows;
    assert_eq!(content.lines.len(), rows.len());
    for (line, row) in content.lines.iter().zip(rows) {
        assert_eq!((line.id, line.worst, line.years, line.due), (row.id, row.worst, row.years, row.due));
        assert_eq!(awn_core::units::ha(line.area_m2), awn_core::units::ha(row.area_m2));
    }
}

#[test]
fn what_is_seen_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = |name: &str| folder.path().join(name);
    let answers = ["report.pdf", "map.svg", "map.png", "map.pdf", "shared.xlsx", "all.gpkg"].map(out).to_vec();
    let mut window = report_lens(folder.path(), answers);
    act(&mut window, Action::ExportReport);
    assert!(std::fs::read(out("report.pdf")).unwrap().starts_with(b"%PDF-1.7"));
    act(&mut window, Action::LensFields);
    ask(&mut window, Request::SetColouring(Colouring::Age));
    act(&mut window, Action::ExportMap);
    let svg = std::fs::read_to_string(out("map.svg")).unwrap();
    // The whole farm is in view, coloured by age.
    assert!(svg.contains("neatline") && svg.contains("Last test") && svg.contains("data-name=\"Ravel Hill\""));
    let field = window.state().state().caches.facts.rows.iter().find(|row| row.name == "Ravel Hill").unwrap().id;
    ask(&mut window, Request::ZoomTo(field));
    act(&mut window, Action::ExportMap);
    act(&mut window, Action::ExportMap);
    let png = std::fs::read(out("map.png")).unwrap();
    // A4 lying down at 300 dots to the inch (ISO/IEC 15948, 11.2.2: width and height in bytes 16 to 23).
    let side = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
    assert_eq!((side(16), side(20)), (3508, 2480));
    assert!(png.windows(4).any(|chunk| chunk == b"pHYs"));
    assert!(std::fs::read(out("map.pdf")).unwrap().starts_with(b"%PDF-1.7"));
    act(&mut window, Action::ExportShared);
    act(&mut window, Action::ExportEverything);
    assert!(std::fs::read(out("shared.xlsx")).unwrap().starts_with(b"PK"));
    assert!(std::fs::read(out("all.gpkg")).unwrap().starts_with(b"SQLite format 3"));
}

#[test]
fn pages_are_counted_and_turned_by_buttons_and_keys() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = report_lens(folder.path(), vec![]);
    let count = window.state().state().caches.report.report.as_ref().unwrap().pages.count();
    assert!(count >= 3, "{count}");
    let at = |page: usize| format!("Page {page} of {count}");
    window.get_by_label(&at(1));
    click(&mut window, "Next page");
    window.get_by_label(&at(2));
    click(&mut window, "Page before");
    window.get_by_label(&at(1));
    // The rest of the page comes first, then the next.
    for _ in 0..2 {
        window.key_press(Key::PageDown);
        window.run();
    }
    window.get_by_label(&at(2));
    window.key_press(Key::End);
    window.run();
    window.get_by_label(&at(count));
    window.key_press(Key::PageUp);
    window.run();
    window.get_by_label(&at(count - 1));
    window.key_press(Key::Home);
    window.run();
    window.get_by_label(&at(1));
}

#[test]
fn a_report_that_is_stopped_leaves_the_one_before_on_show() {
    let folder = tempfile::tempdir().unwrap();
    let project = awn::demo::write_sample_farm(folder.path(), &awn_core::progress::Quiet).unwrap();
    let mut window = egui_kittest::Harness::builder().with_size([1280.0, 800.0]).with_max_steps(24).build_eframe(|made| {
        App::new(&made.egui_ctx, Jobs::on_threads(|| {}), Box::new(ScriptedDialogs::new(vec![])), None)
    });
    let wait = |window: &mut Window, until: &dyn Fn(&App) -> bool| {
        for _ in 0..12_000 {
            if until(window.state()) {
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(5));
            window.step();
        }
        panic!("it never happened");
    };
    window.state().open(&project);
    wait(&mut window, &|app| !app.state().caches.facts.rows.is_empty());
    window.state().ask(Request::SetYear(awn_sample_farm::SEASON));
    let view = ReportView { parts: [Part::Cover, Part::Summary].into(), ..ReportView::default() };
    window.state().ask(Request::SetReport(Box::new(view.clone())));
    window.state().ask(Request::Do(Action::LensReport));
    wait(&mut window, &|app| app.state().caches.report.report.is_some());
    // Once its first page has been drawn, nothing more is going on.
    wait(&mut window, &|app| !app.state().caches.report.lacks(0));
    let before = window.state().state().caches.report.report.clone().unwrap();
    let number = window.state().state().caches.report.number;
    // All maps and pages take long enough to be stopped.
    window.state().ask(Request::SetReport(Box::new(ReportView { parts: Part::ALL.into_iter().collect(), ..view })));
    window.step();
    window.step();
    window.get_by_label("Setting the report");
    window.get_by_label("Stop").click_accesskit();
    wait(&mut window, &|app| app.state().caches.report.wrong.is_some());
    let pages = &window.state().state().caches.report;
    assert!(std::sync::Arc::ptr_eq(&before, pages.report.as_ref().unwrap()), "the report before is gone");
    assert_eq!(pages.number, number);
    window.step();
    window.get_by_label_contains("Stopped.");
    window.get_by_label(&format!("Page 1 of {}", before.pages.count()));
}
