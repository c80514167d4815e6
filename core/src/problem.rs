//! Problems: what is wrong in somebody's data, said so that they can mend it.
//!
//! Readers and checks take `&mut Problems`, note what they find and go on, so that one bad row does not hide the next.

use serde::{Deserialize, Serialize};

/// How bad a [`Problem`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Worth knowing; nothing was left out.
    Note,
    /// Something was repaired, guessed or left out.
    Warning,
    /// The thing asked for cannot be done.
    Error,
}

/// One problem: where, what, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// File and row, or record: "scouting.csv, row 14".
    #[serde(rename = "where")]
    pub place: String,
    /// What is wrong, one sentence.
    pub what: String,
    /// What to do, one sentence.
    pub hint: String,
    /// How bad it is.
    pub severity: Severity,
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.place, self.what)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, " {}", self.hint) }
    }
}

/// A list of problems in the order they were met.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problems {
    /// The problems.
    pub list: Vec<Problem>,
}

impl Problems {
    /// An empty list.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a [`Severity::Note`].
    pub fn note(&mut self, place: impl Into<String>, what: impl Into<String>, hint: impl Into<String>) {
        self.push(Severity::Note, place, what, hint);
    }

    /// Adds a [`Severity::Warning`].
    pub fn warning(&mut self, place: impl Into<String>, what: impl Into<String>, hint: impl Into<String>) {
        self.push(Severity::Warning, place, what, hint);
    }

    /// Adds a [`Severity::Error`].
    pub fn error(&mut self, place: impl Into<String>, what: impl Into<String>, hint: impl Into<String>) {
        self.push(Severity::Error, place, what, hint);
    }

    fn push(&mut self, severity: Severity, place: impl Into<String>, what: impl Into<String>, hint: impl Into<String>) {
        self.list.push(Problem { place: place.into(), what: what.into(), hint: hint.into(), severity });
    }

    /// The problems of [`Severity::Error`], which forbid what was asked for.
    pub fn errors(&self) -> impl Iterator<Item = &Problem> {
        self.list.iter().filter(|p| p.severity == Severity::Error)
    }

    /// Whether any problem is an error.
    pub fn has_errors(&self) -> bool {
        self.errors().next().is_some()
    }

    /// Whether there is nothing worse than a note.
    pub fn is_clean(&self) -> bool {
        self.list.iter().all(|p| p.severity == Severity::Note)
    }

    /// Appends another list.
    pub fn extend(&mut self, other: Problems) {
        self.list.extend(other.list);
    }
}
