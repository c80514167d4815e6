//! `awn check`: damage to the file, and problems in the data.

use std::path::Path;

use awn_core::problem::Problems;
use awn_core::project;
use awn_core::units::count;
use serde_json::json;

use super::answer::Answer;

/// Looks through a project; problems go to `problems`.
pub fn run(path: &Path, problems: &mut Problems) -> anyhow::Result<Answer> {
    let project = super::open(path)?;
    if let Some(damage) = project.file_damage()? {
        problems.error(path.display().to_string(), damage, "Open a copy from your backup.");
    }
    project::check(project.records(), problems);
    awn_core::samples::check(project.records(), problems);
    let found = problems.list.len();
    let text = if found == 0 { "No problems found.\n".to_owned() } else { format!("{} found.\n", count(found, "problem")) };
    let mut answer = Answer::new(json!({ "checked": path, "problems_found": found }), text);
    answer.found_problems = !problems.is_clean();
    Ok(answer)
}
