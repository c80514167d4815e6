//! Where to take seed, and how good a plan is.

mod budget;

pub use budget::propose_within;

use geo::Coord;

use crate::model::{FieldId, Plan, PlanSettings, Records};
use crate::progress::{Cancelled, Progress};

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// The field is missing.
    #[error("there is no such field any more")]
    NoField,
    /// No candidate is left.
    #[error("{field}: no place for a stop is left: {why}")]
    NoRoom {
        /// The field's name.
        field: String,
        /// What takes the room, and what to change.
        why: String,
    },
    /// Settings that cannot be.
    #[error("{0}")]
    Settings(String),
    /// Stopped.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// Proposes a plan for a field and harvest year.
pub fn propose(
    records: &Records,
    field: FieldId,
    year: i32,
    settings: &PlanSettings,
    progress: &dyn Progress,
) -> Result<Plan, PlanError> {
    let _ = (records, field, year, settings, progress);
    todo!()
}

/// The plan with its stops moved by hand: positions in degrees, each snapped to the nearest tramline; shares, walk and
/// figures follow. Same identifier.
pub fn with_stops(records: &Records, plan: &Plan, positions: &[Coord<f64>]) -> Result<Plan, PlanError> {
    let _ = (records, plan, positions);
    todo!()
}

/// The tramlines of a field as lines in degrees, clipped to it, for drawing, with their numbers; the headland loops have none.
pub fn tramline_lines(records: &Records, field: FieldId) -> Vec<(Option<i32>, geo::LineString<f64>)> {
    let _ = (records, field);
    todo!()
}
