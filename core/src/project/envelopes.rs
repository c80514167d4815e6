//! Samples with the stages they came to, and walks as they were walked, as rows and back.

use geo::{Geometry, MultiLineString};
use rusqlite::types::Value;

use crate::model::{Sample, StageEvent, Walked};
use crate::project::ProjectError;
use crate::project::tables::{Cells, Row, json, maybe, text, year};

/// The rows of a sample: its own, then one a stage.
pub(super) fn sample(sample: &Sample) -> Vec<Row> {
    let own = Row::plain(
        "samples",
        vec![
            text(&sample.code),
            text(&sample.field),
            year(sample.year),
            maybe(sample.taken.as_ref(), text),
            maybe(sample.plan.as_ref(), text),
            text(&sample.note),
            Value::Integer(sample.unit as i64),
            text(&sample.species),
            text(&sample.patches),
            maybe(sample.mugs, Value::Real),
            maybe(sample.shed_percent, Value::Real),
            text(&sample.weather),
            maybe(sample.stands_for_percent, Value::Real),
            json(&sample.tests),
            text(&sample.actives),
        ],
    );
    let stages = (1..).zip(&sample.events).map(|(number, event)| {
        let values = vec![
            Value::Integer(number),
            text(event.stage.label()),
            maybe(event.date.as_ref(), text),
            text(&event.person),
            text(&event.note),
        ];
        Row::plain("sample_stages", values)
    });
    std::iter::once(own).chain(stages).collect()
}

/// The sample of a row, without its stages.
pub(super) fn read_sample(cells: &Cells<'_>) -> Result<Sample, ProjectError> {
    Ok(Sample {
        id: cells.parsed("id")?,
        code: cells.get("code")?,
        field: cells.parsed("field")?,
        year: cells.get("year")?,
        taken: cells.maybe_parsed("taken")?,
        plan: cells.maybe_parsed("plan")?,
        note: cells.get("note")?,
        unit: cells.get("unit")?,
        species: cells.get("species")?,
        patches: cells.get("patches")?,
        mugs: cells.get("mugs")?,
        shed_percent: cells.get("shed_percent")?,
        weather: cells.get("weather")?,
        stands_for_percent: cells.get("stands_for_percent")?,
        tests: cells.json("tests")?,
        actives: cells.get("actives")?,
        events: Vec::new(),
    })
}

/// The stage of a row.
pub(super) fn read_stage(cells: &Cells<'_>) -> Result<StageEvent, ProjectError> {
    Ok(StageEvent {
        stage: cells.parsed("stage")?,
        date: cells.maybe_parsed("date")?,
        person: cells.get("person")?,
        note: cells.get("note")?,
    })
}

/// The row of a walk as it was walked.
pub(super) fn walked(walked: &Walked) -> Row {
    let values = vec![
        text(&walked.field),
        year(walked.year),
        maybe(walked.plan.as_ref(), text),
        maybe(walked.date.as_ref(), text),
        text(&walked.person),
        text(&walked.source),
        json(&walked.figures),
    ];
    Row { table: "walked", geometry: Some(walked.track.clone().into()), values }
}

/// The walk of a row.
pub(super) fn read_walked(cells: &Cells<'_>) -> Result<Walked, ProjectError> {
    let track = match cells.geometry()? {
        Geometry::MultiLineString(lines) => lines,
        Geometry::LineString(line) => MultiLineString(vec![line]),
        _ => return Err(cells.damaged("the geometry is no line")),
    };
    Ok(Walked {
        id: cells.parsed("id")?,
        field: cells.parsed("field")?,
        year: cells.get("year")?,
        plan: cells.maybe_parsed("plan")?,
        date: cells.maybe_parsed("date")?,
        person: cells.get("person")?,
        source: cells.get("source")?,
        track,
        figures: cells.json("figures")?,
    })
}
