//! Commands: what changes, before and after.

use serde::{Deserialize, Serialize};

use crate::model::{Record, Records};
use crate::project::ProjectError;

/// One record before and after. Neither: nothing. Only after: added. Only before: removed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// The record before, if there was one.
    pub before: Option<Record>,
    /// The record after, if there is one.
    pub after: Option<Record>,
}

/// A named group of changes that is done and undone as one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Command {
    /// What it does, for the undo menu: "Move gate of Long Acre".
    pub name: String,
    /// The changes, in order.
    pub changes: Vec<Change>,
}

impl Command {
    /// The command that takes this one back.
    #[must_use]
    pub fn inverse(&self) -> Self {
        let changes =
            self.changes.iter().rev().map(|change| Change { before: change.after.clone(), after: change.before.clone() });
        Self { name: self.name.clone(), changes: changes.collect() }
    }

    /// Applies the changes to records. Fails, and leaves them half changed, if a record is not as it was when the
    /// command was made: callers apply to a copy.
    pub fn apply_to(&self, records: &mut Records) -> Result<(), ProjectError> {
        for change in &self.changes {
            let named = change.before.as_ref().or(change.after.as_ref());
            let Some(named) = named else { continue };
            let current = records.current(named);
            let expected = match (&change.before, named) {
                (None, Record::Settings(_)) => current.clone(),
                (before, _) => before.clone(),
            };
            if current != expected {
                return Err(ProjectError::Stale { command: self.name.clone() });
            }
            match &change.after {
                Some(after) => records.put(after.clone()),
                None => records.remove(named),
            }
        }
        Ok(())
    }
}

/// Collects changes against the present records into a [`Command`].
#[derive(Debug)]
pub struct Edit<'a> {
    records: &'a Records,
    command: Command,
}

impl<'a> Edit<'a> {
    /// An edit of these records under a name for the undo menu.
    pub fn new(records: &'a Records, name: impl Into<String>) -> Self {
        Self { records, command: Command { name: name.into(), changes: Vec::new() } }
    }

    /// Adds a record, or replaces the one with the same identifier; nothing if it is the same already.
    pub fn put(&mut self, record: Record) {
        let before = self.records.current(&record);
        if before.as_ref() != Some(&record) {
            self.command.changes.push(Change { before, after: Some(record) });
        }
    }

    /// Removes a record; nothing if it is not there.
    pub fn remove(&mut self, record: &Record) {
        if let Some(before) = self.records.current(record) {
            self.command.changes.push(Change { before: Some(before), after: None });
        }
    }

    /// The command.
    pub fn done(self) -> Command {
        self.command
    }
}
