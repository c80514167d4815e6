//! Assays, standards and results as rows, and back.

use rusqlite::types::Value;

use crate::model::{Assay, Standard, TestResult, mode_of_group};
use crate::project::ProjectError;
use crate::project::tables::{Cells, Row, json, maybe, text, year};

/// The row of an assay.
pub(super) fn assay(assay: &Assay) -> Row {
    Row::plain(
        "assays",
        vec![
            text(assay.kind.label()),
            year(assay.year),
            text(&assay.source),
            maybe(assay.date.as_ref(), text),
            text(&assay.laboratory),
            text(&assay.comment),
        ],
    )
}

/// The row of a standard.
pub(super) fn standard(standard: &Standard) -> Row {
    Row::plain(
        "standards",
        vec![
            text(&standard.assay),
            text(&standard.name),
            text(standard.role.label()),
            text(&standard.active),
            maybe(standard.dose.as_ref(), text),
            maybe(standard.measure, |measure| text(measure.label())),
            Value::Real(standard.reduction),
            maybe(standard.se, Value::Real),
            maybe(standard.n, |n| Value::Integer(n.into())),
            maybe(standard.raw.as_ref(), json),
        ],
    )
}

/// The row of a result. The legacy letter is for people who open the file in a GIS; it is not read again.
pub(super) fn result(result: &TestResult) -> Row {
    Row::plain(
        "results",
        vec![
            text(&result.sample),
            text(&result.assay),
            text(&result.active),
            text(&result.group),
            maybe(result.reduction, Value::Real),
            maybe(result.standard, Value::Real),
            maybe(result.se, Value::Real),
            maybe(result.n, |n| Value::Integer(n.into())),
            maybe(result.dose.as_ref(), text),
            maybe(result.lab_rating, |rating| text(rating.label())),
            maybe(mode_of_group(&result.group), |mode| text(mode.legacy)),
            year(result.hrac_table),
            maybe(result.measure, |measure| text(measure.label())),
            maybe(result.raw.as_ref(), json),
            text(&result.comment),
        ],
    )
}

/// The assay of a row.
pub(super) fn read_assay(cells: &Cells<'_>) -> Result<Assay, ProjectError> {
    Ok(Assay {
        id: cells.parsed("id")?,
        kind: cells.parsed("kind")?,
        year: cells.get("year")?,
        source: cells.get("source")?,
        date: cells.maybe_parsed("date")?,
        laboratory: cells.get("laboratory")?,
        comment: cells.get("comment")?,
    })
}

/// The standard of a row.
pub(super) fn read_standard(cells: &Cells<'_>) -> Result<Standard, ProjectError> {
    Ok(Standard {
        id: cells.parsed("id")?,
        assay: cells.parsed("assay")?,
        name: cells.get("name")?,
        role: cells.parsed("role")?,
        active: cells.get("active")?,
        dose: cells.get("dose")?,
        measure: cells.maybe_parsed("measure")?,
        reduction: cells.get("reduction")?,
        se: cells.get("se")?,
        n: cells.get("n")?,
        raw: cells.maybe_json("raw")?,
    })
}

/// The result of a row.
pub(super) fn read_result(cells: &Cells<'_>) -> Result<TestResult, ProjectError> {
    Ok(TestResult {
        id: cells.parsed("id")?,
        sample: cells.parsed("sample")?,
        assay: cells.parsed("assay")?,
        active: cells.get("active")?,
        group: cells.get("hrac_group")?,
        hrac_table: cells.get("hrac_table")?,
        reduction: cells.get("reduction")?,
        standard: cells.get("standard")?,
        se: cells.get("se")?,
        n: cells.get("n")?,
        dose: cells.get("dose")?,
        measure: cells.maybe_parsed("measure")?,
        raw: cells.maybe_json("raw")?,
        lab_rating: cells.maybe_parsed("lab_rating")?,
        comment: cells.get("comment")?,
    })
}
