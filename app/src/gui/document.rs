//! The open project as the window sees it: a snapshot to draw from, and a queue of edits that are written one after another on
//! a thread, because writing a large import or undoing it takes longer than a frame.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use awn_core::model::Records;
use awn_core::progress::Progress;
use awn_core::project::{Command, Project};

/// An edit waiting to be written.
#[derive(Debug, Clone)]
pub enum Edit {
    /// A command, and what to tell people when it is done.
    Apply(Command, Option<String>),
    /// Take back the last command.
    Undo,
    /// Do again what was taken back.
    Redo,
    /// Take back or do again until so many steps are done.
    GoTo(usize),
}

/// The open project.
pub struct Document {
    project: Arc<Mutex<Project>>,
    /// The records as last written.
    pub records: Arc<Records>,
    /// Their generation.
    pub generation: u64,
    /// Name of the command that undo takes back.
    pub undo: Option<String>,
    /// Name of the command that redo does again.
    pub redo: Option<String>,
    /// Who else has the file; then it is read-only here.
    pub held_by: Option<String>,
    /// The file.
    pub path: Option<PathBuf>,
    /// The name people call it.
    pub title: String,
    /// Every step, oldest first: its name and when it was made (RFC 3339).
    pub history: Arc<Vec<(String, String)>>,
    /// How many of them are done.
    pub done: usize,
    /// Edits not written yet.
    pub waiting: VecDeque<Edit>,
}

impl Document {
    /// A document around a project.
    pub fn new(project: Project) -> Self {
        let mut document = Self {
            records: project.records().clone(),
            generation: 0,
            undo: None,
            redo: None,
            held_by: None,
            path: project.path(),
            title: String::new(),
            history: Arc::default(),
            done: 0,
            project: Arc::new(Mutex::new(project)),
            waiting: VecDeque::new(),
        };
        document.refresh();
        document
    }

    /// Takes a new snapshot after writing.
    pub fn refresh(&mut self) {
        // A writer that broke down left the project as it was: commands apply to a copy.
        let project = self.project.lock().unwrap_or_else(PoisonError::into_inner);
        self.records = project.records().clone();
        self.generation = project.generation();
        self.undo = project.undo_name().map(ToOwned::to_owned);
        self.redo = project.redo_name().map(ToOwned::to_owned);
        self.held_by = project.held_by().map(ToString::to_string);
        self.title = project.title();
        let (steps, done) = project.steps();
        self.history = Arc::new(steps.iter().map(|step| (step.name.clone(), step.made.clone())).collect());
        self.done = done;
    }

    /// The work that writes an edit: gives the sentence for people, or the error's.
    pub fn writing(&self, edit: Edit) -> impl FnOnce(&dyn Progress) -> Result<Option<String>, String> + Send + 'static {
        let project = self.project.clone();
        move |progress| {
            let mut project = project.lock().unwrap_or_else(PoisonError::into_inner);
            let done = match edit {
                Edit::Apply(command, said) => project.apply_with(command, progress).map(|()| said),
                Edit::GoTo(done) => project.go_to(done).map(|moves| {
                    (moves > 0).then(|| format!("{} taken back or done again", awn_core::units::count(moves, "step")))
                }),
                Edit::Undo => project.undo().map(|name| name.map(|name| format!("Took back: {}", lower_first(&name)))),
                Edit::Redo => project.redo().map(|name| name.map(|name| format!("Did again: {}", lower_first(&name)))),
            };
            done.map_err(|error| error.to_string())
        }
    }
}

/// A command's name inside a sentence.
pub fn lower_first(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map(|first| first.to_lowercase().collect::<String>() + letters.as_str()).unwrap_or_default()
}
