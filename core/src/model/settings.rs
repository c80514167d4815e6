//! Settings of a project.

use serde::{Deserialize, Serialize};

use crate::model::PlanSettings;

/// What a project's user has set; one record a project.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Name of the project, shown in the title.
    pub name: String,
    /// A field is due again when its last test is this many harvests ago (common practice, no source).
    pub retest_interval_years: i32,
    /// Settings that new plans start from.
    pub plan: PlanSettings,
}

impl Default for Settings {
    fn default() -> Self {
        Self { name: String::new(), retest_interval_years: 5, plan: PlanSettings::default() }
    }
}
