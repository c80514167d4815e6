//! Errors by row, kept to a number that a person reads.

use geo::Rect;

use crate::exchange::ImportError;
use crate::problem::Problems;

/// So many rows are named; the rest is counted.
const MOST: usize = 50;

/// Passes errors on to [`Problems`] and counts them.
pub(super) struct RowErrors<'a> {
    pub problems: &'a mut Problems,
    file: String,
    count: usize,
}

impl<'a> RowErrors<'a> {
    /// Errors of a file.
    pub fn new(file: &str, problems: &'a mut Problems) -> Self {
        Self { problems, file: file.to_owned(), count: 0 }
    }

    /// One error.
    pub fn add(&mut self, place: String, what: impl Into<String>, hint: impl Into<String>) {
        self.count += 1;
        if self.count <= MOST {
            self.problems.error(place, what, hint);
        }
    }

    /// How many there were.
    pub fn count(&self) -> usize {
        self.count
    }

    /// As [`add`](Self::add), for an error whose place on the ground is known.
    pub fn add_at(&mut self, bounds: Option<Rect<f64>>, place: String, what: impl Into<String>, hint: impl Into<String>) {
        self.add(place, what, hint);
        if self.count <= MOST {
            self.problems.lies_at(bounds);
        }
    }

    /// Whether further errors are only counted: no hint need be worked out for them.
    pub fn is_full(&self) -> bool {
        self.count >= MOST
    }

    /// Whether there was none.
    pub fn is_clean(&self) -> bool {
        self.count == 0
    }

    /// An error if there was any.
    pub fn finish(self) -> Result<(), ImportError> {
        if self.count > MOST {
            self.problems.error(
                &self.file,
                format!("{} more rows have errors.", self.count - MOST),
                "Mend those above first.",
            );
        }
        if self.count > 0 { Err(ImportError::Problems) } else { Ok(()) }
    }
}
