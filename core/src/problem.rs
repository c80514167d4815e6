//! Problems: what is wrong in somebody's data, said so that they can mend it.
//!
//! Readers and checks take `&mut Problems`, note what they find and go on, so that one bad row does not hide the next.

use geo::{Coord, Rect};
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

/// Where on the ground a problem lies: bounds in degrees, kept to 1e-7 (about 1 cm) so that problems can be compared. In JSON: west,
/// south, east, north.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "[f64; 4]", into = "[f64; 4]")]
pub struct Spot([i32; 4]);

impl Spot {
    /// The bounds.
    pub fn bounds(self) -> Rect<f64> {
        let [west, south, east, north] = self.into();
        Rect::new(Coord { x: west, y: south }, Coord { x: east, y: north })
    }
}

impl From<Rect<f64>> for Spot {
    fn from(bounds: Rect<f64>) -> Self {
        [bounds.min().x, bounds.min().y, bounds.max().x, bounds.max().y].into()
    }
}

impl From<[f64; 4]> for Spot {
    fn from(degrees: [f64; 4]) -> Self {
        // 180 degrees are 1.8e9, which an i32 holds.
        Self(degrees.map(|degrees| (degrees * 1e7).round() as i32))
    }
}

impl From<Spot> for [f64; 4] {
    fn from(spot: Spot) -> Self {
        spot.0.map(|value| f64::from(value) / 1e7)
    }
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
    /// Where on the ground it lies, if that is known.
    #[serde(rename = "at", default, skip_serializing_if = "Option::is_none")]
    pub spot: Option<Spot>,
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
        self.list.push(Problem { place: place.into(), what: what.into(), hint: hint.into(), severity, spot: None });
    }

    /// Says where on the ground the problem added last lies.
    pub fn lies_at(&mut self, bounds: Option<Rect<f64>>) {
        if let Some(problem) = self.list.last_mut() {
            problem.spot = bounds.map(Spot::from);
        }
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
