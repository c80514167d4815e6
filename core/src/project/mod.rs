//! The project: all records, the history of edits, and the file they live in.
//!
//! Every edit is one [`Command`], applied in memory and written to the file in one transaction at once; there is no
//! unsaved work. Undo and redo apply the inverse command and are themselves written, so they outlive a crash.

mod check;
mod command;
mod envelopes;
mod error;
mod laboratory;
mod listing;
mod lock;
mod outlook;
mod schema;
mod season;
mod store;
mod tables;
mod treatments;
mod upgrade;

use std::path::{Path, PathBuf};
use std::sync::Arc;

pub use check::check;
pub use command::{Change, Command, Edit};
pub use error::ProjectError;
pub use listing::{DataTable, data_tables};
pub use lock::Holder;

use crate::model::Records;
use crate::progress::{Progress, Quiet};
use store::Store;

/// One step of the history. What it changed stays in the file until it is undone or done again: of a large import that is as much
/// as all the records.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The name of its command.
    pub name: String,
    /// When it was made, RFC 3339.
    pub made: String,
    /// The command, for a project in memory.
    command: Option<Command>,
}

/// An open project.
#[derive(Debug)]
pub struct Project {
    records: Arc<Records>,
    /// Steps done, oldest first, then steps undone, the next to redo first.
    steps: Vec<Step>,
    done: usize,
    generation: u64,
    store: Option<Store>,
}

impl Project {
    /// A new project in memory only; nothing is written.
    pub fn in_memory() -> Self {
        Self { records: Arc::default(), steps: Vec::new(), done: 0, generation: 0, store: None }
    }

    /// Makes a new project file. Fails if the file is there already.
    pub fn create(path: &Path) -> Result<Self, ProjectError> {
        let store = Store::create(path)?;
        Ok(Self { store: Some(store), ..Self::in_memory() })
    }

    /// Opens a project file, upgrading an older one on a copy first. When another program holds it for writing, it
    /// opens read-only and [`Project::held_by`] says who has it.
    pub fn open(path: &Path) -> Result<Self, ProjectError> {
        let store = Store::open(path)?;
        let records = Arc::new(store.records()?);
        let (steps, done) = store.steps()?;
        Ok(Self { records, steps, done, generation: 0, store: Some(store) })
    }

    /// All records. Copying the `Arc` gives a snapshot for background work.
    pub fn records(&self) -> &Arc<Records> {
        &self.records
    }

    /// A number that grows with every change; a result computed at another generation is stale.
    pub fn generation(&self) -> u64 {
        self.generation
    }

    /// The project file; none for a project in memory.
    pub fn path(&self) -> Option<PathBuf> {
        self.store.as_ref().map(|store| store.path().to_owned())
    }

    /// The name people call the project: its own, or its file's.
    pub fn title(&self) -> String {
        let own = self.records.settings.name.trim();
        if !own.is_empty() {
            return own.to_owned();
        }
        self.path()
            .and_then(|path| path.file_stem().map(|stem| stem.to_string_lossy().into_owned()))
            .unwrap_or_else(|| "New project".to_owned())
    }

    /// What the database says of damage to the file; none: it is whole.
    pub fn file_damage(&self) -> Result<Option<String>, ProjectError> {
        self.store.as_ref().map_or(Ok(None), Store::damage)
    }

    /// Who holds the file for writing, if that is not this program: the project is then read-only.
    pub fn held_by(&self) -> Option<&Holder> {
        self.store.as_ref().and_then(Store::held_by)
    }

    /// Applies a command and writes it in one transaction. A command without changes does nothing.
    pub fn apply(&mut self, command: Command) -> Result<(), ProjectError> {
        self.apply_with(command, &Quiet)
    }

    /// As [`Project::apply`], telling `progress`; a cancelled command leaves everything as it was.
    pub fn apply_with(&mut self, command: Command, progress: &dyn Progress) -> Result<(), ProjectError> {
        if command.changes.is_empty() {
            return Ok(());
        }
        let mut records = Records::clone(&self.records);
        command.apply_to(&mut records)?;
        let mut step = Step { name: command.name.clone(), made: jiff::Timestamp::now().to_string(), command: None };
        match &mut self.store {
            Some(store) => store.write_step(&command, &step.made, self.done, progress)?,
            None => step.command = Some(command),
        }
        self.steps.truncate(self.done);
        self.steps.push(step);
        self.done += 1;
        self.replace(records);
        Ok(())
    }

    /// Takes back the last command; returns its name, or none if there is nothing to take back.
    pub fn undo(&mut self) -> Result<Option<String>, ProjectError> {
        let Some(last) = self.done.checked_sub(1) else { return Ok(None) };
        let Some(command) = self.command(last)? else { return Ok(None) };
        self.move_to(last, &command.inverse())?;
        Ok(Some(command.name))
    }

    /// Does the last command that was taken back again; returns its name, or none if there is none.
    pub fn redo(&mut self) -> Result<Option<String>, ProjectError> {
        let Some(command) = self.command(self.done)? else { return Ok(None) };
        self.move_to(self.done + 1, &command)?;
        Ok(Some(command.name))
    }

    /// The command of a step; none if there is no such step.
    fn command(&self, at: usize) -> Result<Option<Command>, ProjectError> {
        let Some(step) = self.steps.get(at) else { return Ok(None) };
        match (&step.command, &self.store) {
            (None, Some(store)) => store.command(at).map(Some),
            (command, _) => Ok(command.clone()),
        }
    }

    fn move_to(&mut self, done: usize, command: &Command) -> Result<(), ProjectError> {
        let mut records = Records::clone(&self.records);
        command.apply_to(&mut records)?;
        if let Some(store) = &mut self.store {
            store.write_move(command, done)?;
        }
        self.done = done;
        self.replace(records);
        Ok(())
    }

    fn replace(&mut self, records: Records) {
        self.records = Arc::new(records);
        self.generation += 1;
    }

    /// The name of the command that undo takes back.
    pub fn undo_name(&self) -> Option<&str> {
        self.done.checked_sub(1).and_then(|last| self.steps.get(last)).map(|step| step.name.as_str())
    }

    /// The name of the command that redo does again.
    pub fn redo_name(&self) -> Option<&str> {
        self.steps.get(self.done).map(|step| step.name.as_str())
    }

    /// All steps, oldest first, those taken back included; and how many of them are done.
    pub fn steps(&self) -> (&[Step], usize) {
        (&self.steps, self.done)
    }

    /// Takes back or does again, one by one, until so many steps are done; gives how many moves that took.
    pub fn go_to(&mut self, done: usize) -> Result<usize, ProjectError> {
        let mut moves = 0;
        while self.done > done && self.undo()?.is_some() {
            moves += 1;
        }
        while self.done < done && self.redo()?.is_some() {
            moves += 1;
        }
        Ok(moves)
    }

    /// The steps done, oldest first.
    pub fn history(&self) -> &[Step] {
        self.steps.get(..self.done).unwrap_or_default()
    }
}
