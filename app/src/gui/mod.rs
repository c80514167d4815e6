//! The window.
//!
//! `logic` takes in finished [`jobs`], carries out [`request`]s and keeps caches fresh; `ui` draws panels and map from
//! [`ctx`] and queues requests. One list of [`action`]s feeds menu, shortcuts and tooltips. Every edit is a command that a
//! thread writes ([`document`]); every colour and size stands in [`style`].

pub mod action;
pub mod app;
pub mod ctx;
pub mod dialogs;
pub mod document;
pub mod facts;
pub mod jobs;
mod keys;
pub mod logic;
pub mod map;
pub mod notices;
pub mod panels;
pub mod photos;
pub mod recent;
pub mod request;
pub mod state;
pub mod strip;
pub mod style;
pub mod view;
pub mod widgets;

use std::path::PathBuf;

use anyhow::anyhow;

use app::App;
use dialogs::SystemDialogs;
use jobs::Jobs;

/// The window's icon.
fn icon() -> anyhow::Result<egui::IconData> {
    let picture = include_bytes!("../../../assets/icon/awn-128.png");
    eframe::icon_data::from_png_bytes(picture).map_err(|error| anyhow!("the icon cannot be read: {error}"))
}

/// Opens the window, with a project if one is named; returns when it is closed.
pub fn run(project: Option<PathBuf>) -> anyhow::Result<()> {
    let viewport = egui::ViewportBuilder::default()
        .with_title("Awn")
        .with_app_id("awn")
        .with_inner_size([1280.0, 720.0])
        .with_min_inner_size([800.0, 480.0])
        .with_drag_and_drop(true)
        .with_icon(icon()?);
    // Size of the window, widths of panels, the theme and the layers of the map are as they were left.
    let options = eframe::NativeOptions { viewport, persist_window: true, ..Default::default() };
    let make =
        move |made: &eframe::CreationContext<'_>| -> Result<Box<dyn eframe::App>, Box<dyn std::error::Error + Send + Sync>> {
            let wake = made.egui_ctx.clone();
            let jobs = Jobs::on_threads(move || wake.request_repaint());
            let mut app = App::new(&made.egui_ctx, jobs, Box::new(SystemDialogs::default()), recent::place());
            if let Some(text) = made.storage.and_then(|held| held.get_string(app::LAYERS)) {
                app.recall_layers(&text);
            }
            if let Some(path) = &project {
                app.open(path);
            }
            Ok(Box::new(app))
        };
    eframe::run_native("awn", options, Box::new(make)).map_err(|error| anyhow!("the window could not be opened: {error}"))
}
