//! The Act lens, driven by the names that a screen reader hears.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::act::{ActRequest, ActTab, ActView, Draft, Entry, TableForm};
use awn::gui::view::{Colouring, Lens};
use awn_core::exchange::Treatment;
use awn_core::model::Records;
use awn_tests::window::{Window, act, ask, click, sample_farm_window};
use egui_kittest::kittest::Queryable as _;

const SIZE: [f32; 2] = [1280.0, 720.0];

fn lens(folder: &tempfile::TempDir, answers: Vec<std::path::PathBuf>) -> Window {
    let mut window = sample_farm_window(SIZE, folder.path(), answers, awn_sample_farm::SEASON);
    act(&mut window, Action::LensAct);
    window
}

fn show(window: &mut Window, change: impl FnOnce(&mut ActView)) {
    let mut view = window.state().view().act.clone();
    change(&mut view);
    ask(window, Request::Act(ActRequest::Show(Box::new(view))));
}

fn records(window: &Window) -> &Records {
    window.state().records().unwrap()
}

#[test]
fn the_worst_field_reads_as_sentences_and_every_page_defers() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = lens(&folder, vec![]);
    assert_eq!(window.state().view().shown_colouring(), Colouring::AtRisk);
    let defers = |window: &Window| window.get_all_by_label_contains("never a recommendation").next().is_some();
    assert!(defers(&window));
    click(&mut window, "Look at the field with most money at risk");
    let worst = window.state().state().caches.facts.act.checks.fields[0].clone();
    assert_eq!(window.state().view().single(), Some(worst.field));
    window.get_by_label_contains("On susceptible plants it would control");
    window.get_by_label_contains("pays for control that tests say is lost here");
    for tab in ActTab::ALL {
        show(&mut window, |view| view.tab = tab);
        assert!(defers(&window), "{}", tab.label());
    }
}

#[test]
fn a_programme_is_changed_put_on_a_field_and_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = lens(&folder, vec![]);
    let programme = records(&window).programme_named("Wheat, autumn stack").unwrap().clone();
    let without = window.state().state().caches.facts.act.checks.without[0];
    ask(&mut window, Request::Select { field: Some(without), add: false, scroll: false });
    let put =
        ActRequest::Put { fields: vec![without], programme: Some(programme.id), measures: Some(vec!["plough".into()]) };
    ask(&mut window, Request::Act(put));
    assert!(window.state().state().caches.facts.act.checks.of(without).is_some());
    // A step with a dose of product is refused in words; a sound one is kept.
    show(&mut window, |view| {
        view.tab = ActTab::Programmes;
        let mut draft = Draft::of(&programme);
        draft.steps.push(["GS 12", "pinoxaden", "0.8 l/ha", "80-90-95", "31"].map(ToOwned::to_owned));
        view.draft = Some(draft);
    });
    click(&mut window, "Keep programme");
    window.get_by_label_contains("the product is not known");
    show(&mut window, |view| view.draft.as_mut().unwrap().steps.last_mut().unwrap()[2] = "45 g/ha".into());
    click(&mut window, "Keep programme");
    assert_eq!(records(&window).programmes[&programme.id].steps.len(), programme.steps.len() + 1);
    act(&mut window, Action::Undo);
    act(&mut window, Action::Undo);
    assert!(records(&window).field_programme(without, awn_sample_farm::SEASON).is_none());
    assert_eq!(records(&window).programmes[&programme.id], programme);
}

#[test]
fn sprays_are_typed_and_pasted() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = lens(&folder, vec![]);
    let before = records(&window).sprays.len();
    let name = window.state().state().caches.facts.rows[0].name.clone();
    show(&mut window, |view| {
        view.tab = ActTab::History;
        let mut entry = Entry::new(Treatment::Sprays, Some(&name), 2027);
        for (heading, text) in &mut entry.lines {
            match *heading {
                "active" => "flufenacet".clone_into(text),
                "dose" => "240".clone_into(text),
                _ => {}
            }
        }
        view.entry = Some(entry);
    });
    click(&mut window, "Keep spray");
    window.get_by_label_contains("has no unit");
    show(&mut window, |view| {
        let entry = view.entry.as_mut().unwrap();
        entry.lines.iter_mut().find(|(heading, _)| *heading == "dose").unwrap().1 = "240 g/ha".into();
    });
    click(&mut window, "Keep spray");
    assert_eq!(records(&window).sprays.len(), before + 1);
    // Changed: it takes the place of what was there, whatever is changed in it.
    let typed = records(&window).sprays.values().find(|spray| spray.year == 2027).unwrap().clone();
    show(&mut window, |view| {
        let mut entry = Entry::of(&awn_core::model::Record::Spray((*typed).clone()), &name).unwrap();
        entry.lines.iter_mut().find(|(heading, _)| *heading == "date").unwrap().1 = "2026-10-18".into();
        view.entry = Some(entry);
    });
    click(&mut window, "Keep spray");
    assert_eq!(records(&window).sprays.len(), before + 1);
    let mut form = TableForm::new(Treatment::Sprays, None);
    form.text = format!("field\tactive\tRate\n{name}\tpropyzamide\t840\n");
    show(&mut window, |view| view.table = Some(form));
    window.get_by_label_contains("no harvest year");
    show(&mut window, |view| {
        let form = view.table.as_mut().unwrap();
        (form.year, form.unit) = ("2027".into(), "g/ha".into());
    });
    window.get_by_label_contains("1 spray new");
    click(&mut window, "Keep sprays");
    assert_eq!(records(&window).sprays.len(), before + 2);
    assert!(window.state().view().act.table.is_none());
}

#[test]
fn the_order_is_saved_as_pdf_and_files_open_the_form() {
    let folder = tempfile::tempdir().unwrap();
    let pdf = folder.path().join("order.pdf");
    let csv = folder.path().join("steps.csv");
    std::fs::write(&csv, "programme,active,control,cost\nMine,glyphosate,90,9.5\n").unwrap();
    let mut window = lens(&folder, vec![pdf.clone(), csv]);
    show(&mut window, |view| view.tab = ActTab::Order);
    window.get_all_by_label_contains("Last: resistance confirmed").next().expect("the sample farm has such fields");
    act(&mut window, Action::SaveOrder);
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF"));
    act(&mut window, Action::LensFields);
    act(&mut window, Action::ImportProgrammes);
    assert_eq!(window.state().view().lens, Lens::Act);
    click(&mut window, "Keep programmes");
    assert_eq!(records(&window).programme_named("Mine").unwrap().cost_per_ha(), 9.5);
}
