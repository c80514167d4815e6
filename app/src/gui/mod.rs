//! The window.

use std::path::PathBuf;

/// Opens the window, with a project if one is named; returns when it is closed.
pub fn run(project: Option<PathBuf>) -> anyhow::Result<()> {
    let _ = project;
    anyhow::bail!("the window is being written")
}
