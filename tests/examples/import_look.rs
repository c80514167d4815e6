//! Draws the import form with a broken outline, columns, points in a table and problems into pictures: `cargo run -p awn-tests --example import_look -- FOLDER`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn::gui::app::App;
use awn::gui::request::Request;
use awn::gui::view::import_form::{ImportForm, ImportKind};
use awn_core::project::Project;
use awn_tests::window::window_in;
use egui::Theme;
use egui_kittest::Harness;
use serde_json::json;

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).expect("a folder for the pictures"));
    std::fs::create_dir_all(&folder).unwrap();
    let project = folder.join("empty.gpkg");
    std::fs::remove_file(&project).ok();
    drop(Project::create(&project).unwrap());
    let file = folder.join("home farm.geojson");
    std::fs::write(&file, fields()).unwrap();
    for (name, size, theme) in [
        ("light-1280", [1280.0, 720.0], Theme::Light),
        ("dark-1280", [1280.0, 720.0], Theme::Dark),
        ("light-1920", [1920.0, 1080.0], Theme::Light),
    ] {
        pictures(&folder, name, size, theme, &project, &file);
    }
}

/// Three fields, of which one is a bow tie and one says another area than it has.
fn fields() -> String {
    let at = |x: f64, y: f64| json!([-0.4 + x / 67_760.0, 52.5 + y / 111_280.0]);
    let rings = [
        ("Long Acre", 12.0, vec![at(0.0, 0.0), at(400.0, 0.0), at(400.0, 300.0), at(0.0, 300.0), at(0.0, 0.0)]),
        ("Pit Close", 6.0, vec![at(450.0, 0.0), at(750.0, 300.0), at(750.0, 0.0), at(450.0, 300.0), at(450.0, 0.0)]),
        ("Mill Field", 9.0, vec![at(0.0, 350.0), at(300.0, 350.0), at(320.0, 600.0), at(0.0, 560.0), at(0.0, 350.0)]),
    ];
    let features = rings.map(|(name, area, ring)| {
        json!({ "type": "Feature", "geometry": { "type": "Polygon", "coordinates": [ring] },
            "properties": { "BLOCK": name, "HOLDING": "Home Farm", "CROP": "winter wheat", "AREA_HA": area, "YEAR": 2026 } })
    });
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

fn pictures(folder: &Path, name: &str, size: [f32; 2], theme: Theme, project: &Path, file: &Path) {
    let mut window = window_in(size, vec![], theme, 1.0);
    window.state().open(project);
    window.run();
    window.state().ask(Request::SetForm(Some(Box::new(ImportForm::new(file.to_owned(), Some(ImportKind::Boundaries))))));
    window.run();
    shoot(&mut window, folder, name, "1-form");
    window.state().ask(Request::LookAtImport);
    window.run();
    shoot(&mut window, folder, name, "2-looked");
    let form = window.state().view().form.clone().unwrap();
    let (_, bounds) =
        form.preview.as_ref().and_then(|preview| preview.repaired.first().cloned()).expect("a repaired outline");
    window.state().ask(Request::ShowPlace(bounds));
    window.run();
    shoot(&mut window, folder, name, "3-repaired");
    window.state().ask(Request::Import);
    window.run();
    let places = folder.join("places.csv");
    std::fs::write(&places, "P1;P2;label\n-0,399;52,501;Road gate\n-0,398;52,502;Wood gate\n").unwrap();
    let mut form = ImportForm::new(places, Some(ImportKind::Gates));
    form.crs = "EPSG:4326".into();
    window.state().ask(Request::SetForm(Some(Box::new(form))));
    window.state().ask(Request::Wait(vec!["scouting june.csv".into(), "tramlines.kml".into()]));
    window.run();
    window.state().ask(Request::LookAtImport);
    window.run();
    shoot(&mut window, folder, name, "4-columns-not-known");
    let mut form = window.state().view().form.clone().unwrap();
    (form.place.x, form.place.y) = (Some("P1".into()), Some("P2".into()));
    window.state().ask(Request::SetForm(Some(Box::new(form))));
    window.run();
    window.state().ask(Request::LookAtImport);
    window.run();
    shoot(&mut window, folder, name, "5-columns-by-hand");
}

fn shoot(window: &mut Harness<'_, App>, folder: &Path, name: &str, what: &str) {
    window.step();
    window.render().unwrap().save(folder.join(format!("{name}-{what}.png"))).unwrap();
}
