//! Helpers of the tests: the folders of the project, and reference programs in Python.

#![allow(clippy::expect_used, clippy::missing_panics_doc, clippy::unwrap_used, clippy::panic)] // these are tests: stopping with a sentence is the answer

pub mod damage;
pub mod drawing;
pub mod program;
pub mod random_field;
pub mod random_season;
pub mod random_stops;
pub mod reference;
pub mod window;

use std::path::PathBuf;

/// A path inside the project's folder.
pub fn project_path(inside: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..").join(inside)
}
