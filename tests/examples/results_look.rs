//! Draws the Results lens with a disputed rating into pictures, for looking at: `cargo run -p awn-tests --example results_look -- FOLDER`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn::gui::action::Action;
use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::view::results::{Entry, ResultsTab, ResultsView};
use awn_core::exchange;
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_tests::window::window_in;
use egui::Theme;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;

/// A laboratory's table of pots with standards as rows; its rating for the first sample hangs on limits that stand still.
const POTS: &str = "sample;field;year;active;rep;alive;plants;untreated alive;rating\n\
HB-1;FIELD;2026;cycloxydim;1;1;6;6;RR\nHB-1;FIELD;2026;cycloxydim;2;2;6;6;RR\nHB-1;FIELD;2026;cycloxydim;3;2;6;6;RR\n\
HB-1;FIELD;2026;clodinafop;1;5;6;6;RRR\nHB-1;FIELD;2026;clodinafop;2;6;6;6;RRR\nHB-1;FIELD;2026;clodinafop;3;4;6;5;RRR\n\
S standard;;2026;cycloxydim;1;1;6;6;\nS standard;;2026;cycloxydim;2;1;6;6;\nS standard;;2026;cycloxydim;3;0;6;6;\n\
S standard;;2026;clodinafop;1;0;6;6;\nS standard;;2026;clodinafop;2;1;6;6;\nS standard;;2026;clodinafop;3;0;6;6;\n\
R standard;;2026;cycloxydim;1;5;6;6;\nR standard;;2026;cycloxydim;2;6;6;6;\nR standard;;2026;cycloxydim;3;5;6;6;\n";

/// A sample and its standard at seven doses, three pots each, and a sample with the laboratory's rating alone.
fn doses_table() -> String {
    let mut text =
        "sample,field,year,active,dose,weight_g 1,weight_g 2,weight_g 3,untreated weight 1,untreated weight 2,rating\n"
            .to_owned();
    for (sample, field, half) in [("DR-1", "FIELD", 90.0_f64), ("S standard", "", 22.0)] {
        for dose in [7.5, 15.0, 30.0, 60.0, 120.0, 240.0, 480.0] {
            let left = |wobble: f64| 10.0 * wobble / (1.0 + (dose / half).powf(1.8));
            let pots = [left(1.06), left(0.97), left(0.93)].map(|pot| format!("{pot:.2}")).join(",");
            text.push_str(&format!("{sample},{field},2026,flufenacet,{dose} g/ha,{pots},10.2,9.8,\n"));
        }
    }
    text.push_str("LB-1,FIELD,2026,propyzamide,,,,,,,RR\n");
    text
}

/// Root length by concentration (Inderjit, Streibig and Olofsdotter 2002, Physiol. Plant. 114:422-428), as a laboratory would send it; a
/// herbicide's name stands in for the acid.
const RYEGRASS: &str = "sample;field;year;active;conc.;weight\n\
RG-1;FIELD;2026;pyroxasulfone;0;7.58\nRG-1;FIELD;2026;pyroxasulfone;0;8\nRG-1;FIELD;2026;pyroxasulfone;0;8.328571429\n\
RG-1;FIELD;2026;pyroxasulfone;0;7.25\nRG-1;FIELD;2026;pyroxasulfone;0;7.375\nRG-1;FIELD;2026;pyroxasulfone;0;7.9625\n\
RG-1;FIELD;2026;pyroxasulfone;0.94 ppm;8.355555556\nRG-1;FIELD;2026;pyroxasulfone;0.94 ppm;6.914285714\nRG-1;FIELD;2026;pyroxasulfone;0.94 ppm;7.75\n\
RG-1;FIELD;2026;pyroxasulfone;1.88 ppm;6.871428571\nRG-1;FIELD;2026;pyroxasulfone;1.88 ppm;6.45\nRG-1;FIELD;2026;pyroxasulfone;1.88 ppm;5.922222222\n\
RG-1;FIELD;2026;pyroxasulfone;3.75 ppm;1.925\nRG-1;FIELD;2026;pyroxasulfone;3.75 ppm;2.885714286\nRG-1;FIELD;2026;pyroxasulfone;3.75 ppm;4.233333333\n\
RG-1;FIELD;2026;pyroxasulfone;7.5 ppm;1.1875\nRG-1;FIELD;2026;pyroxasulfone;7.5 ppm;0.857142857\nRG-1;FIELD;2026;pyroxasulfone;7.5 ppm;1.057142857\n\
RG-1;FIELD;2026;pyroxasulfone;15 ppm;0.6875\nRG-1;FIELD;2026;pyroxasulfone;15 ppm;0.525\nRG-1;FIELD;2026;pyroxasulfone;15 ppm;0.825\n\
RG-1;FIELD;2026;pyroxasulfone;30 ppm;0.25\nRG-1;FIELD;2026;pyroxasulfone;30 ppm;0.22\nRG-1;FIELD;2026;pyroxasulfone;30 ppm;0.44\n";

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).expect("a folder for the pictures"));
    std::fs::create_dir_all(&folder).unwrap();
    let path = awn::demo::write_sample_farm(&folder.join("farm"), &Quiet).unwrap();
    let table = folder.join("pots-2026.csv");
    {
        let mut project = Project::open(&path).unwrap();
        let field = project.records().fields_in(2026)[0].clone();
        let name = format!("{}/{}", project.records().farm_name(&field), field.name);
        let doses = folder.join("doses-pot.csv");
        let ryegrass = folder.join("ryegrass-pot.csv");
        for (file, text) in [(&doses, doses_table()), (&ryegrass, RYEGRASS.to_owned()), (&table, POTS.to_owned())] {
            std::fs::write(file, text.replace("FIELD", &name)).unwrap();
            let mut problems = Problems::new();
            let import = exchange::results(project.records(), file, &[], &mut problems, &Quiet);
            project.apply(import.unwrap_or_else(|_| panic!("{problems:#?}")).command).unwrap();
        }
    }
    for (name, size, theme, pixels) in [
        ("light", [1280.0, 720.0], Theme::Light, 1.0),
        ("dark", [1280.0, 720.0], Theme::Dark, 1.0),
        ("dark-150", [1280.0, 720.0], Theme::Dark, 1.5),
        ("large", [1920.0, 1080.0], Theme::Light, 1.0),
        ("small-150", [853.0, 480.0], Theme::Light, 1.5),
    ] {
        pictures(&folder, name, (size, theme, pixels), &path, &table);
    }
}

fn pictures(folder: &Path, name: &str, (size, theme, pixels): ([f32; 2], Theme, f32), project: &Path, table: &Path) {
    let mut window = window_in(size, vec![], theme, pixels);
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
    for (sample, what) in [("DR-1", "4a-doses"), ("RG-1", "4d-ryegrass")] {
        let doses = rows.iter().find(|row| row.sample == sample).expect("a sample at several doses").id;
        set(&mut window, ResultsView { open: Some(doses), words: sample.into(), ..ResultsView::default() });
        window.get_by_label_contains("Response in % of untreated by dose").scroll_to_me();
        window.run();
        shoot(&mut window, folder, name, what);
    }
    let lab = rows.iter().find(|row| row.sample == "LB-1").expect("a rating alone").id;
    set(&mut window, ResultsView { open: Some(lab), words: "LB-1".into(), ..ResultsView::default() });
    shoot(&mut window, folder, name, "4b-laboratory");
    set(&mut window, ResultsView { tab: ResultsTab::Land, settings_open: true, ..ResultsView::default() });
    shoot(&mut window, folder, name, "4c-land");
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
    // A machine that is busy may keep the renderer waiting too long: once more, then.
    let picture = (0..5).find_map(|_| window.render().ok()).expect("a picture");
    picture.save(folder.join(format!("{name}-{what}.png"))).unwrap();
}
