//! Pins, ripeness checks and rounds as rows, and back.

use geo::Point;
use rusqlite::types::Value;

use crate::model::{DueMark, RipeCheck, Rounds, Visit};
use crate::project::ProjectError;
use crate::project::tables::{Cells, Row, json, text, year};

/// The row of a field pinned or vetoed.
pub(super) fn mark(mark: &DueMark) -> Row {
    Row::plain("due_marks", vec![text(&mark.field), year(mark.year), text(mark.mark.label()), text(&mark.reason)])
}

/// The row of a ripeness check.
pub(super) fn check(check: &RipeCheck) -> Row {
    Row::plain(
        "ripeness_checks",
        vec![text(&check.field), text(&check.date), text(&check.species), Value::Real(check.shed_percent), text(&check.who)],
    )
}

/// The row of rounds, and one for each visit.
pub(super) fn rounds(rounds: &Rounds) -> Vec<Row> {
    let own = Row::plain("rounds", vec![year(rounds.year), json(&rounds.settings), json(&rounds.left_out)]);
    let visits = rounds.visits.iter().map(|visit| {
        let values = vec![
            text(&visit.field),
            text(&visit.date),
            Value::Integer(visit.car as i64),
            Value::Integer(visit.number as i64),
            Value::Real(visit.km),
            Value::Real(visit.arrive_min),
            Value::Real(visit.minutes),
        ];
        Row::feature("round_visits", Point(visit.gate), values)
    });
    std::iter::once(own).chain(visits).collect()
}

pub(super) fn read_mark(cells: &Cells<'_>) -> Result<DueMark, ProjectError> {
    Ok(DueMark {
        id: cells.parsed("id")?,
        field: cells.parsed("field")?,
        year: cells.get("year")?,
        mark: cells.parsed("mark")?,
        reason: cells.get("reason")?,
    })
}

pub(super) fn read_check(cells: &Cells<'_>) -> Result<RipeCheck, ProjectError> {
    Ok(RipeCheck {
        id: cells.parsed("id")?,
        field: cells.parsed("field")?,
        date: cells.parsed("date")?,
        species: cells.get("species")?,
        shed_percent: cells.get("shed_percent")?,
        who: cells.get("who")?,
    })
}

/// Rounds without their visits.
pub(super) fn read_rounds(cells: &Cells<'_>) -> Result<Rounds, ProjectError> {
    Ok(Rounds {
        id: cells.parsed("id")?,
        year: cells.get("year")?,
        settings: cells.json("settings")?,
        visits: Vec::new(),
        left_out: cells.json("left_out")?,
    })
}

pub(super) fn read_visit(cells: &Cells<'_>) -> Result<Visit, ProjectError> {
    Ok(Visit {
        field: cells.parsed("field")?,
        date: cells.parsed("date")?,
        car: cells.get("car")?,
        number: cells.get("number")?,
        gate: cells.point()?,
        km: cells.get("km")?,
        arrive_min: cells.get("arrive_min")?,
        minutes: cells.get("minutes")?,
    })
}
