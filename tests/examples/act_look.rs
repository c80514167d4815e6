//! Pictures of the Act lens without a display: `cargo run -p awn-tests --example act_look FOLDER [dark]` writes PNG files into the folder.

#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::disallowed_methods)] // a tool for looking: stopping is the answer to any failure

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::request::Request;
use awn::gui::view::Colouring;
use awn::gui::view::act::{ActRequest, ActTab, ActView, Draft, Entry, TableForm};
use awn_core::exchange::Treatment;
use awn_core::model::Record;
use awn_core::project::{Edit, Project};
use awn_tests::window::{Window, act, ask, window_in};

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "act-look".into()));
    let dark = std::env::args().nth(2).is_some_and(|word| word == "dark");
    std::fs::create_dir_all(&folder).unwrap();
    let project = awn::demo::write_sample_farm(&folder.join("farm"), &awn_core::progress::Quiet).unwrap();
    let theme = if dark { egui::Theme::Dark } else { egui::Theme::Light };
    for (name, size) in [("small", [1280.0, 720.0]), ("large", [1920.0, 1080.0])] {
        let mut window = window_in(size, vec![], theme, 1.0);
        window.state().open(&project);
        window.run();
        ask(&mut window, Request::SetYear(awn_sample_farm::SEASON));
        act(&mut window, Action::LensAct);
        pages(&mut window, &folder, name);
    }
    let bare = bare(&folder, &project);
    let mut window = window_in([1280.0, 720.0], vec![], theme, 1.0);
    window.state().open(&bare);
    window.run();
    ask(&mut window, Request::SetYear(awn_sample_farm::SEASON));
    act(&mut window, Action::LensAct);
    let one = window.state().state().caches.facts.rows[0].id;
    for tab in ActTab::ALL {
        show(&mut window, |view| view.tab = tab);
        for (name, field) in [("all", None), ("field", Some(one))] {
            ask(&mut window, Request::Select { field, add: false, scroll: false });
            window.run();
            window.render().unwrap().save(folder.join(format!("bare-{}-{name}.png", tab.label()))).unwrap();
        }
    }
}

/// The sample farm's fields without anything planned, sprayed, grown, tested, scouted or set.
fn bare(folder: &Path, project: &Path) -> PathBuf {
    let path = folder.join("bare.gpkg");
    std::fs::copy(project, &path).unwrap();
    let mut open = Project::open(&path).unwrap();
    let records = open.records().clone();
    let mut edit = Edit::new(&records, "Clear");
    for planned in records.field_programmes.values() {
        edit.remove(&Record::FieldProgramme((**planned).clone()));
    }
    for programme in records.programmes.values() {
        edit.remove(&Record::Programme((**programme).clone()));
    }
    for scenario in records.scenarios.values() {
        edit.remove(&Record::Scenario((**scenario).clone()));
    }
    for spray in records.sprays.values() {
        edit.remove(&Record::Spray((**spray).clone()));
    }
    for crop in records.crops.values() {
        edit.remove(&Record::Crop((**crop).clone()));
    }
    for result in records.results.values() {
        edit.remove(&Record::Result((**result).clone()));
    }
    for survey in records.surveys.values() {
        edit.remove(&Record::Survey((**survey).clone()));
    }
    open.apply(edit.done()).unwrap();
    path
}

fn pages(window: &mut Window, folder: &Path, size: &str) {
    let keep = |window: &mut Window, name: &str| {
        window.run();
        let picture = window.render().unwrap();
        picture.save(folder.join(format!("{size}-{name}.png"))).unwrap();
        println!("{size}-{name}.png");
    };
    keep(window, "money");
    ask(window, Request::SetColouring(Colouring::ControlLeft));
    keep(window, "control");
    act(window, Action::ChooseWorst);
    keep(window, "worst");
    ask(window, Request::SetColouring(Colouring::Expected));
    keep(window, "expected");
    ask(window, Request::SetColouring(Colouring::AtRisk));
    show(window, |view| view.tab = ActTab::History);
    keep(window, "uses-of-field");
    act(window, Action::SelectNone);
    keep(window, "uses");
    let programme = window.state().records().unwrap().programmes.values().next().unwrap().clone();
    show(window, |view| (view.tab, view.open) = (ActTab::Programmes, Some(programme.id)));
    keep(window, "programmes");
    show(window, |view| view.draft = Some(Draft::of(&programme)));
    keep(window, "draft");
    show(window, |view| (view.draft, view.tab) = (None, ActTab::Order));
    keep(window, "order");
    show(window, |view| view.entry = Some(Entry::new(Treatment::Sprays, Some("Long Acre"), 2027)));
    keep(window, "entry");
    let mut form = TableForm::new(Treatment::Sprays, None);
    form.text = "Field\tRate\tActive ingredient\tDate applied\nRavel Hill\t240\tFlufenacet\t3 October 2026\nRavel Hill\t1.5 l/ha\tPropyzamide\t\n".into();
    show(window, |view| (view.entry, view.table) = (None, Some(form)));
    keep(window, "paste");
}

fn show(window: &mut Window, change: impl FnOnce(&mut ActView)) {
    let mut view = window.state().view().act.clone();
    change(&mut view);
    ask(window, Request::Act(ActRequest::Show(Box::new(view))));
}
