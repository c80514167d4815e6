//! Asking for a file. The real dialog runs on its own thread, so that the window goes on drawing; one at a time.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use crate::gui::handle_samples::Page;
use awn_core::exchange::Treatment;
use awn_core::formats::SHEETS;

use crate::gui::import_form::{ImportKind, to_offer};
use crate::gui::photos;

/// What is asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Question {
    /// A project to open.
    OpenProject,
    /// Where to keep a new project.
    NewProject,
    /// Where to keep a new project into which this boundary file is read next.
    NewProjectFor(PathBuf),
    /// A folder for the sample farm.
    SampleFarmFolder,
    /// A boundary file to start from.
    StartBoundaries,
    /// A map or picture to lay under the fields.
    Background,
    /// A file to import.
    Import(ImportKind),
    /// A table of sprays, crops or programmes.
    Table(Treatment),
    /// Where to write the order of fields.
    SaveOrder,
    /// Where to write walks.
    SaveWalks,
    /// Where to write stops.
    SaveStops,
    /// Where to write the calendar of the rounds.
    SaveCalendar,
    /// A folder for the files of the rounds.
    RoundsFolder,
    /// Where to write the table of results.
    SaveResults,
    /// A photo of a field.
    Photo(awn_core::model::FieldId),
    /// Where to write pages.
    SavePages(Page),
    /// Where to write the report.
    SaveReport,
    /// Where to write the map.
    SaveMap,
    /// Where to write all data.
    SaveEverything,
    /// Where to write the copy to share.
    SaveShared,
    /// A picture for the cover of the report.
    Picture,
    /// Where to write patches for a sprayer.
    SavePatches,
}

/// Asks questions and gives answers later.
pub trait Dialogs {
    /// Asks; ignored while another question is open.
    fn ask(&mut self, question: Question, wake: egui::Context);
    /// The answer, once there is one: none when the dialog was closed without choosing.
    fn answer(&mut self) -> Option<(Question, Option<PathBuf>)>;
    /// Files chosen together with the one that was answered last.
    fn more(&mut self) -> Vec<PathBuf> {
        Vec::new()
    }
    /// Shows a picture with the system's viewer.
    fn view(&mut self, picture: &Path) -> Result<(), String>;
}

/// The system's own dialogs.
#[derive(Default)]
pub struct SystemDialogs {
    open: Option<(Question, Receiver<Vec<PathBuf>>)>,
    more: Vec<PathBuf>,
}

impl Dialogs for SystemDialogs {
    fn ask(&mut self, question: Question, wake: egui::Context) {
        if self.open.is_some() {
            return;
        }
        let (sender, receiver) = channel();
        let asked = question.clone();
        let spawned = std::thread::Builder::new().name("file dialog".into()).spawn(move || {
            // The window may have been closed meanwhile; then there is nobody to tell.
            sender.send(show(&asked)).ok();
            wake.request_repaint();
        });
        if spawned.is_ok() {
            self.open = Some((question, receiver));
        }
    }

    fn answer(&mut self) -> Option<(Question, Option<PathBuf>)> {
        let paths = match self.open.as_ref()?.1.try_recv() {
            Ok(paths) => paths,
            Err(TryRecvError::Empty) => return None,
            Err(TryRecvError::Disconnected) => Vec::new(),
        };
        let mut paths = paths.into_iter();
        let first = paths.next();
        self.more = paths.collect();
        self.open.take().map(|(question, _)| (question, first))
    }

    fn more(&mut self) -> Vec<PathBuf> {
        std::mem::take(&mut self.more)
    }

    fn view(&mut self, picture: &Path) -> Result<(), String> {
        photos::open(picture)
    }
}

/// Shows the dialog of a question; several files may be chosen where each is imported in turn.
fn show(question: &Question) -> Vec<PathBuf> {
    let areas = [
        "shp", "gpkg", "geojson", "json", "geojsonl", "ndjson", "kml", "kmz", "gpx", "gml", "fgb", "xml", "zip", "csv",
        "tsv", "txt", "xlsx", "xlsm",
    ];
    if let Question::Import(kind) = question {
        let scouting: Vec<&str> = areas.into_iter().chain(["tif", "tiff", "asc"]).collect();
        let endings: &[&str] = match kind {
            ImportKind::Results => &SHEETS,
            ImportKind::Scouting => &scouting,
            _ => &areas,
        };
        let dialog = rfd::FileDialog::new().set_title(format!("Import {}", kind.noun())).add_filter(kind.noun(), endings);
        return to_offer(dialog.add_filter("any file", &["*"]).pick_files().unwrap_or_default());
    }
    one(question, &areas).into_iter().collect()
}

fn one(question: &Question, areas: &[&str]) -> Option<PathBuf> {
    let dialog = rfd::FileDialog::new();
    match question {
        Question::OpenProject => dialog.set_title("Open a project").add_filter("Project", &["gpkg"]).pick_file(),
        Question::NewProject | Question::NewProjectFor(_) => dialog
            .set_title("Keep the new project as")
            .set_file_name("farm.gpkg")
            .add_filter("Project", &["gpkg"])
            .save_file(),
        Question::SampleFarmFolder => dialog.set_title("Folder for the sample farm").pick_folder(),
        Question::StartBoundaries => dialog.set_title("Boundary file").add_filter("Boundaries", areas).pick_file(),
        Question::Background => {
            let endings = ["pmtiles", "tif", "tiff", "png", "jpg", "jpeg"];
            dialog.set_title("Background").add_filter("Map tiles or a picture with its place", &endings).pick_file()
        }
        // Asked above.
        Question::Import(_) => None,
        Question::Table(kind) => {
            let title = format!("Import {}s", kind.noun());
            dialog.set_title(title).add_filter("Table", &SHEETS).pick_file()
        }
        Question::SaveOrder => dialog
            .set_title("Save the order of fields")
            .set_file_name("field-order.pdf")
            .add_filter("PDF", &["pdf"])
            .add_filter("Text", &["txt"])
            .save_file(),
        Question::SaveWalks => {
            dialog.set_title("Export walks").set_file_name("walks.gpx").add_filter("GPX", &["gpx"]).save_file()
        }
        Question::SavePatches => dialog
            .set_title("Patches for a sprayer")
            .set_file_name("patches.shp")
            .add_filter("Shapefile, GeoJSON, ISO 11783-10", &["shp", "geojson", "xml"])
            .save_file(),
        Question::SaveCalendar => {
            dialog.set_title("Export the calendar").set_file_name("rounds.ics").add_filter("Calendar", &["ics"]).save_file()
        }
        Question::RoundsFolder => dialog.set_title("Folder for the rounds").pick_folder(),
        Question::SavePages(page) => {
            let (title, name) = match page {
                Page::Cards => ("Field cards", "field-cards.pdf"),
                Page::Labels => ("Labels for envelopes", "labels.pdf"),
                Page::Forms => ("Forms for the laboratory", "forms.pdf"),
            };
            let endings: &[&str] = if *page == Page::Forms { &["pdf", "csv"] } else { &["pdf"] };
            dialog.set_title(title).set_file_name(name).add_filter("Pages", endings).save_file()
        }
        Question::SaveStops => {
            dialog.set_title("Export stops").set_file_name("stops.gpx").add_filter("GPX", &["gpx"]).save_file()
        }
        Question::Photo(_) => dialog.set_title("Photo of the field").add_filter("Pictures", &photos::ENDINGS).pick_file(),
        Question::SaveResults => dialog
            .set_title("Export results")
            .set_file_name("results.xlsx")
            .add_filter("Workbook", &["xlsx"])
            .add_filter("CSV", &["csv"])
            .save_file(),
        Question::SaveReport => {
            dialog.set_title("Write the report").set_file_name("report.pdf").add_filter("PDF", &["pdf"]).save_file()
        }
        Question::SaveMap => dialog
            .set_title("Export the map")
            .set_file_name("map.png")
            .add_filter("PNG, SVG or PDF", &["png", "svg", "pdf"])
            .save_file(),
        Question::SaveEverything | Question::SaveShared => dialog
            .set_title(if *question == Question::SaveShared { "Export a copy to share" } else { "Export all data" })
            .set_file_name(if *question == Question::SaveShared { "shared.xlsx" } else { "all-data.xlsx" })
            .add_filter("Workbook, GeoPackage or CSV files in an archive", &["xlsx", "gpkg", "zip"])
            .save_file(),
        Question::Picture => {
            dialog.set_title("Picture for the cover").add_filter("Picture", &awn_core::report::Cover::ENDINGS).pick_file()
        }
    }
}

/// Answers from a list, for tests.
#[derive(Default)]
pub struct ScriptedDialogs {
    answers: VecDeque<Option<PathBuf>>,
    open: Option<Question>,
}

impl ScriptedDialogs {
    /// Dialogs that give these answers in turn; when they run out, the next question is closed without an answer.
    pub fn new(answers: impl IntoIterator<Item = PathBuf>) -> Self {
        Self { answers: answers.into_iter().map(Some).collect(), open: None }
    }
}

impl Dialogs for ScriptedDialogs {
    fn ask(&mut self, question: Question, wake: egui::Context) {
        self.open.get_or_insert(question);
        wake.request_repaint();
    }

    fn answer(&mut self) -> Option<(Question, Option<PathBuf>)> {
        let question = self.open.take()?;
        Some((question, self.answers.pop_front().flatten()))
    }

    fn view(&mut self, picture: &Path) -> Result<(), String> {
        photos::fault(picture).map_or(Ok(()), Err)
    }
}
