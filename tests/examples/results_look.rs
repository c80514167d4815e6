//! Draws the Results lens with a disputed rating into pictures, for looking at: `cargo run -p awn-tests --example results_look -- FOLDER`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::results_view::{Entry, ResultsTab, ResultsView};
use awn_core::exchange;
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_tests::window::window_in;
use egui::Theme;
use egui_kittest::Harness;

/// A laboratory's table of pots with standards as rows; its rating for the first sample hangs on limits that stand still.
const POTS: &str = "sample;field;year;active;rep;alive;plants;untreated alive;rating\n\
HB-1;FIELD;2026;cycloxydim;1;1;6;6;RR\nHB-1;FIELD;2026;cycloxydim;2;2;6;6;RR\nHB-1;FIELD;2026;cycloxydim;3;2;6;6;RR\n\
HB-1;FIELD;2026;clodinafop;1;5;6;6;RRR\nHB-1;FIELD;2026;clodinafop;2;6;6;6;RRR\nHB-1;FIELD;2026;clodinafop;3;4;6;5;RRR\n\
S standard;;2026;cycloxydim;1;1;6;6;\nS standard;;2026;cycloxydim;2;1;6;6;\nS standard;;2026;cycloxydim;3;0;6;6;\n\
S standard;;2026;clodinafop;1;0;6;6;\nS standard;;2026;clodinafop;2;1;6;6;\nS standard;;2026;clodinafop;3;0;6;6;\n\
R standard;;2026;cycloxydim;1;5;6;6;\nR standard;;2026;cycloxydim;2;6;6;6;\nR standard;;2026;cycloxydim;3;5;6;6;\n";

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).expect("a folder for the pictures"));
    std::fs::create_dir_all(&folder).unwrap();
    let path = awn::demo::write_sample_farm(&folder.join("farm"), &Quiet).unwrap();
    let table = folder.join("pots-2026.csv");
    {
        let mut project = Project::open(&path).unwrap();
        let field = project.records().fields_in(2026)[0].clone();
        let name = format!("{}/{}", project.records().farm_name(&field), field.name);
        std::fs::write(&table, POTS.replace("FIELD", &name)).unwrap();
        let mut problems = Problems::new();
        let import = exchange::results(project.records(), &table, &[], &mut problems, &Quiet);
        project.apply(import.unwrap_or_else(|_| panic!("{problems:#?}")).command).unwrap();
    }
    for (name, theme) in [("light", Theme::Light), ("dark", Theme::Dark)] {
        pictures(&folder, name, theme, &path, &table);
    }
}

fn pictures(folder: &Path, name: &str, theme: Theme, project: &Path, table: &Path) {
    let mut window = window_in([1280.0, 720.0], vec![], theme, 1.0);
    window.state().open(project);
    window.run();
    window.state().ask(Request::Do(Action::LensResults));
    window.run();
    shoot(&mut window, folder, name, "1-table");
    let view = ResultsView { tab: ResultsTab::Chart, ..ResultsView::default() };
    set(&mut window, view.clone());
    shoot(&mut window, folder, name, "2-chart");
    let rows = window.state().state().caches.facts.results.clone();
    let disputed = rows.iter().find(|row| row.sample == "HB-1" && row.found.agrees() == Some(false)).expect("a dispute").id;
    set(&mut window, ResultsView { disputed: true, open: Some(disputed), ..ResultsView::default() });
    shoot(&mut window, folder, name, "3-disputed");
    set(&mut window, ResultsView { open: Some(rows[0].id), words: rows[0].field_name.clone(), ..view });
    shoot(&mut window, folder, name, "4-detail");
    set(&mut window, ResultsView { entry: Some(Entry::new(None, 2026)), ..ResultsView::default() });
    shoot(&mut window, folder, name, "5-typed");
    set(&mut window, ResultsView::default());
    window.state().open(table);
    window.run();
    shoot(&mut window, folder, name, "6-import");
}

fn set(window: &mut Harness<'_, App>, view: ResultsView) {
    window.state().ask(Request::SetResults(view));
    window.run();
}

fn shoot(window: &mut Harness<'_, App>, folder: &Path, name: &str, what: &str) {
    window.step();
    window.render().unwrap().save(folder.join(format!("{name}-{what}.png"))).unwrap();
}
