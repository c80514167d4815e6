//! Asking for a file. The real dialog runs on its own thread, so that the window goes on drawing; one at a time.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

use crate::gui::logic::samples::Page;
use awn_core::exchange::Treatment;
use awn_core::formats::SHEETS;

use crate::gui::photos;
use crate::gui::view::import_form::{ImportKind, to_offer};

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
    /// A question that the system could not put, for the window to put itself.
    fn not_put(&mut self) -> Option<Question> {
        None
    }
    /// Shows a picture with the system's viewer.
    fn view(&mut self, picture: &Path) -> Result<(), String>;
}

/// The system's own dialogs.
#[derive(Default)]
pub struct SystemDialogs {
    open: Option<(Question, Instant, Receiver<Vec<PathBuf>>)>,
    more: Vec<PathBuf>,
    not_put: Option<Question>,
}

/// A dialog that ends sooner than this without an answer was never seen: nobody reads and closes one so fast. A desktop whose
/// dialogs are broken says so in no other way.
const UNSEEN: Duration = Duration::from_secs(1);

/// Whether the system may have file dialogs. On Linux and its kin they come over the session's message bus, or from `zenity`.
fn may_have_dialogs() -> bool {
    if !cfg!(all(unix, not(target_os = "macos"))) {
        return true;
    }
    let set = |name| std::env::var_os(name).filter(|value| !value.is_empty());
    let bus = set("DBUS_SESSION_BUS_ADDRESS").is_some()
        || set("XDG_RUNTIME_DIR").is_some_and(|folder| Path::new(&folder).join("bus").exists());
    bus || set("PATH").is_some_and(|path| std::env::split_paths(&path).any(|folder| folder.join("zenity").is_file()))
}

impl Dialogs for SystemDialogs {
    fn ask(&mut self, question: Question, wake: egui::Context) {
        if self.open.is_some() {
            return;
        }
        if !may_have_dialogs() {
            self.not_put = Some(question);
            wake.request_repaint();
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
            self.open = Some((question, Instant::now(), receiver));
        }
    }

    fn answer(&mut self) -> Option<(Question, Option<PathBuf>)> {
        let (_, begun, receiver) = self.open.as_ref()?;
        let paths = match receiver.try_recv() {
            Ok(paths) => paths,
            Err(TryRecvError::Empty) => return None,
            Err(TryRecvError::Disconnected) => Vec::new(),
        };
        let unseen = paths.is_empty() && begun.elapsed() < UNSEEN;
        let (question, ..) = self.open.take()?;
        if unseen {
            self.not_put = Some(question);
            return None;
        }
        let mut paths = paths.into_iter();
        let first = paths.next();
        self.more = paths.collect();
        Some((question, first))
    }

    fn more(&mut self) -> Vec<PathBuf> {
        std::mem::take(&mut self.more)
    }

    fn not_put(&mut self) -> Option<Question> {
        self.not_put.take()
    }

    fn view(&mut self, picture: &Path) -> Result<(), String> {
        photos::open(picture)
    }
}

/// What a dialog gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A file that is there.
    Open,
    /// Files that are there, which are taken in one after the other.
    OpenMany,
    /// A place for a file; this name is proposed.
    Save(&'static str),
    /// A folder; this name is proposed where one has to be typed.
    Folder(&'static str),
}

/// A question as it is put.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// What stands over it.
    pub title: String,
    /// What it gives.
    pub wanted: Wanted,
    /// What the files are called.
    pub filter: String,
    /// Their endings, in small letters.
    pub endings: Vec<&'static str>,
}

impl Asked {
    /// Whether it gives files that are there.
    pub fn opens(&self) -> bool {
        matches!(self.wanted, Wanted::Open | Wanted::OpenMany)
    }
}

impl Question {
    /// How it is put.
    pub fn asked(&self) -> Asked {
        let asked = |title: &str, wanted, filter: &str, endings: &[&'static str]| Asked {
            title: title.to_owned(),
            wanted,
            filter: filter.to_owned(),
            endings: endings.to_vec(),
        };
        let areas = [
            "shp", "gpkg", "geojson", "json", "geojsonl", "ndjson", "kml", "kmz", "gpx", "gml", "fgb", "xml", "zip", "csv",
            "tsv", "txt", "xlsx", "xlsm",
        ];
        let scouting: Vec<&str> = areas.into_iter().chain(["tif", "tiff", "asc"]).collect();
        match self {
            Self::OpenProject => asked("Open a project", Wanted::Open, "Project", &["gpkg"]),
            Self::NewProject | Self::NewProjectFor(_) => {
                asked("Keep the new project as", Wanted::Save("farm.gpkg"), "Project", &["gpkg"])
            }
            Self::SampleFarmFolder => asked("Folder for the sample farm", Wanted::Folder("sample-farm"), "", &[]),
            Self::StartBoundaries => asked("Boundary file", Wanted::Open, "Boundaries", &areas),
            Self::Background => {
                let endings = ["pmtiles", "tif", "tiff", "png", "jpg", "jpeg"];
                asked("Background", Wanted::Open, "Map tiles or a picture with its place", &endings)
            }
            Self::Import(kind) => {
                let endings: &[&'static str] = match kind {
                    ImportKind::Results => &SHEETS,
                    ImportKind::Scouting => &scouting,
                    _ => &areas,
                };
                asked(&format!("Import {}", kind.noun()), Wanted::OpenMany, kind.noun(), endings)
            }
            Self::Table(kind) => asked(&format!("Import {}s", kind.noun()), Wanted::Open, "Table", &SHEETS),
            Self::SaveOrder => {
                asked("Save the order of fields", Wanted::Save("field-order.pdf"), "PDF or text", &["pdf", "txt"])
            }
            Self::SaveWalks => asked("Export walks", Wanted::Save("walks.gpx"), "GPX", &["gpx"]),
            Self::SavePatches => {
                let endings = ["shp", "geojson", "xml"];
                asked("Patches for a sprayer", Wanted::Save("patches.shp"), "Shapefile, GeoJSON, ISO 11783-10", &endings)
            }
            Self::SaveCalendar => asked("Export the calendar", Wanted::Save("rounds.ics"), "Calendar", &["ics"]),
            Self::RoundsFolder => asked("Folder for the rounds", Wanted::Folder("rounds"), "", &[]),
            Self::SavePages(page) => {
                let (title, name) = match page {
                    Page::Cards => ("Field cards", "field-cards.pdf"),
                    Page::Labels => ("Labels for envelopes", "labels.pdf"),
                    Page::Forms => ("Forms for the laboratory", "forms.pdf"),
                };
                let endings: &[&'static str] = if *page == Page::Forms { &["pdf", "csv"] } else { &["pdf"] };
                asked(title, Wanted::Save(name), "Pages", endings)
            }
            Self::SaveStops => asked("Export stops", Wanted::Save("stops.gpx"), "GPX", &["gpx"]),
            Self::Photo(_) => asked("Photo of the field", Wanted::Open, "Pictures", &photos::ENDINGS),
            Self::SaveResults => asked("Export results", Wanted::Save("results.xlsx"), "Workbook or CSV", &["xlsx", "csv"]),
            Self::SaveReport => asked("Write the report", Wanted::Save("report.pdf"), "PDF", &["pdf"]),
            Self::SaveMap => asked("Export the map", Wanted::Save("map.png"), "PNG, SVG or PDF", &["png", "svg", "pdf"]),
            Self::SaveEverything | Self::SaveShared => {
                let (title, name) = if *self == Self::SaveShared {
                    ("Export a copy to share", "shared.xlsx")
                } else {
                    ("Export all data", "all-data.xlsx")
                };
                let filter = "Workbook, GeoPackage or CSV files in an archive";
                asked(title, Wanted::Save(name), filter, &["xlsx", "gpkg", "zip"])
            }
            Self::Picture => asked("Picture for the cover", Wanted::Open, "Picture", &awn_core::report::Cover::ENDINGS),
        }
    }
}

/// Puts a question with the system's dialog.
fn show(question: &Question) -> Vec<PathBuf> {
    let asked = question.asked();
    let mut dialog = rfd::FileDialog::new().set_title(asked.title);
    if !asked.endings.is_empty() {
        dialog = dialog.add_filter(asked.filter, &asked.endings);
    }
    let one = match asked.wanted {
        Wanted::OpenMany => return to_offer(dialog.add_filter("any file", &["*"]).pick_files().unwrap_or_default()),
        Wanted::Open => dialog.pick_file(),
        Wanted::Save(name) => dialog.set_file_name(name).save_file(),
        Wanted::Folder(_) => dialog.pick_folder(),
    };
    one.into_iter().collect()
}

/// Answers from a list, for tests.
#[derive(Default)]
pub struct ScriptedDialogs {
    answers: VecDeque<Option<PathBuf>>,
    open: Option<Question>,
    /// As on a system without dialogs.
    absent: bool,
}

impl ScriptedDialogs {
    /// Dialogs that give these answers in turn; when they run out, the next question is closed without an answer.
    pub fn new(answers: impl IntoIterator<Item = PathBuf>) -> Self {
        Self { answers: answers.into_iter().map(Some).collect(), ..Self::default() }
    }

    /// Dialogs of a system that has none.
    pub fn absent() -> Self {
        Self { absent: true, ..Self::default() }
    }
}

impl Dialogs for ScriptedDialogs {
    fn ask(&mut self, question: Question, wake: egui::Context) {
        self.open.get_or_insert(question);
        wake.request_repaint();
    }

    fn answer(&mut self) -> Option<(Question, Option<PathBuf>)> {
        let question = self.open.take_if(|_| !self.absent)?;
        Some((question, self.answers.pop_front().flatten()))
    }

    fn not_put(&mut self) -> Option<Question> {
        self.open.take_if(|_| self.absent)
    }

    fn view(&mut self, picture: &Path) -> Result<(), String> {
        photos::fault(picture).map_or(Ok(()), Err)
    }
}
