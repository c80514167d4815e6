//! Short messages for what finished, and lists of problems, which stay until the user clears them.

use awn_core::problem::{Problem, Severity};

/// How long a message stays, seconds.
pub const TOAST_SECONDS: f64 = 6.0;

/// A short message.
#[derive(Debug, Clone)]
pub struct Toast {
    /// To tell them apart.
    pub id: u64,
    /// What happened.
    pub text: String,
    /// It went wrong.
    pub failed: bool,
    /// It stays until it is closed.
    pub stays: bool,
    /// When it goes, seconds of the window's clock; none: not shown yet.
    pub until: Option<f64>,
}

/// The problems of one file or one piece of work.
#[derive(Debug, Clone)]
pub struct ProblemList {
    /// What was done: "Import of scouting.csv".
    pub title: String,
    /// The problems.
    pub problems: Vec<Problem>,
}

impl ProblemList {
    /// How many are errors or warnings.
    pub fn count(&self) -> usize {
        self.problems.iter().filter(|problem| problem.severity != Severity::Note).count()
    }
}
