//! Scenarios as rows, and back.

use crate::model::Scenario;
use crate::project::ProjectError;
use crate::project::tables::{Cells, Row, json, text};

/// The row of a scenario.
pub(super) fn scenario(scenario: &Scenario) -> Row {
    Row::plain("scenarios", vec![text(&scenario.name), text(&scenario.note), json(&scenario.years)])
}

/// The scenario of a row.
pub(super) fn read_scenario(cells: &Cells<'_>) -> Result<Scenario, ProjectError> {
    Ok(Scenario { id: cells.parsed("id")?, name: cells.get("name")?, note: cells.get("note")?, years: cells.json("years")? })
}
