//! Files brought into the window: several dropped at once, looked at, their columns chosen, imported, undone.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

mod support;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use awn::gui::request::Request;
use awn::gui::view::import_form::ImportKind;
use awn_core::project::Project;
use awn_tests::window::{Window, ask, click, window};
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use support::Folder;

/// A file in the hand of the mouse.
#[derive(Debug)]
struct Dropped(PathBuf);

impl egui::DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}

fn drop_files(window: &mut Window, files: &[PathBuf]) {
    window.input_mut().dropped_files = files.iter().map(|file| Arc::new(Dropped(file.clone())) as _).collect();
    window.run();
}

/// A window with an empty project.
fn empty(folder: &Folder) -> Window {
    let project = folder.path("farm.gpkg");
    drop(Project::create(&project).unwrap());
    let mut window = window([1280.0, 720.0], vec![]);
    window.state().open(&project);
    window.run();
    window
}

fn offered(window: &Window) -> Option<(String, ImportKind)> {
    window.state().view().form.as_ref().map(|form| (form.file_name(), form.kind))
}

/// All parts of a shapefile dropped with a table of gates are two files, offered one after the other.
#[test]
fn files_dropped_together_are_offered_one_after_the_other() {
    let folder = Folder::new();
    let mut parts: Vec<PathBuf> = Vec::new();
    for end in ["dbf", "prj", "shp", "shx"] {
        let to = folder.path(&format!("fields.{end}"));
        std::fs::copy(support::data(&format!("real-boundaries/dk_parcels_2026.{end}")), &to).unwrap();
        parts.push(to);
    }
    let gates = folder.write("gates.csv", "Name,lon,lat\nRoad,0,52\n");
    let mut window = empty(&folder);
    drop_files(&mut window, &[parts.as_slice(), &[gates]].concat());
    assert_eq!(offered(&window), Some(("fields.shp".into(), ImportKind::Boundaries)));
    window.get_by_label("Next: gates.csv.");
    ask(&mut window, Request::LookAtImport);
    let form = window.state().view().form.clone().unwrap();
    let preview = form.preview.as_ref().unwrap();
    assert!(!preview.refused && preview.bounds.is_some() && preview.lines.len() >= 100);
    // Nothing is written by looking.
    assert!(window.state().records().unwrap().fields.is_empty());
    ask(&mut window, Request::Import);
    assert_eq!(window.state().records().unwrap().fields.len(), 100);
    assert_eq!(offered(&window), Some(("gates.csv".into(), ImportKind::Gates)));
    click(&mut window, "Do not import");
    assert_eq!(offered(&window), None);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert!(window.state().records().unwrap().fields.is_empty());
}

/// A table whose headings say nothing: refused at first look, its columns listed to choose from, then read, and remembered.
#[test]
fn columns_of_points_are_chosen_by_hand() {
    let folder = Folder::new();
    let file = folder.write("fields.geojson", support::farm_map(&[("Hill Farm", "Long Acre", 0.0, 0.0)]));
    let mut window = empty(&folder);
    drop_files(&mut window, &[file]);
    ask(&mut window, Request::Import);
    let table = folder.write("places.csv", "P1;P2;label\n-0,399;52,501;Road gate\n");
    drop_files(&mut window, &[table]);
    let mut form = window.state().view().form.clone().unwrap();
    form.kind = ImportKind::Gates;
    form.crs = "EPSG:4326".into();
    ask(&mut window, Request::SetForm(Some(Box::new(form))));
    click(&mut window, "Look first");
    let mut form = window.state().view().form.clone().unwrap();
    let preview = form.preview.clone().unwrap();
    assert!(preview.refused);
    assert_eq!(preview.columns.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["P1", "P2", "label"]);
    // The problem names the choice as the window has it, not the options of the command line.
    let lists = &window.state().state().problems;
    assert!(lists.iter().flat_map(|list| &list.problems).any(|problem| problem.what.contains("P1, P2, label")));
    assert!(window.query_all_by_label_contains("--x-column").next().is_none());
    form.place.x = Some("P1".into());
    form.place.y = Some("P2".into());
    ask(&mut window, Request::SetForm(Some(Box::new(form))));
    click(&mut window, "Look first");
    assert!(!window.state().view().form.as_ref().unwrap().preview.as_ref().unwrap().refused);
    click(&mut window, "Import");
    let records = window.state().records().unwrap();
    assert_eq!(records.gates.values().map(|gate| gate.name.as_str()).collect::<Vec<_>>(), ["Road gate"]);
    assert_eq!(records.settings.boundary_layouts.len(), 1);
}
