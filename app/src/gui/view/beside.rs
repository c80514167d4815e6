//! What stands beside a plan: other ways of choosing stops, and figures against their number.

use awn_core::model::{FieldId, Plan};
use awn_core::stops::Point;

use crate::gui::view::Beside;

/// Plans to compare with the one in use.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// The field.
    pub field: FieldId,
    /// Set aside ones, then those worked out in other ways.
    pub plans: Vec<(Beside, Plan)>,
}

impl Comparison {
    /// One of them.
    pub fn plan(&self, which: Beside) -> Option<&Plan> {
        self.plans.iter().find(|(beside, _)| *beside == which).map(|(_, plan)| plan)
    }
}

/// Figures against the number of stops.
#[derive(Debug, Clone)]
pub struct Chart {
    /// The field.
    pub field: FieldId,
    /// From one stop upwards; empty if no stop can be placed.
    pub points: Vec<Point>,
    /// Why there are none.
    pub why: Option<String>,
}
