//! Crops, sprays, programmes and what is planned in fields as rows, and back.

use rusqlite::types::Value;

use crate::model::{Crop, FieldProgramme, Programme, Spray};
use crate::project::ProjectError;
use crate::project::tables::{Cells, Row, json, maybe, text, year};

/// The row of a crop.
pub(super) fn crop(crop: &Crop) -> Row {
    let drilled = maybe(crop.drilled.as_ref(), text);
    Row::plain("crops", vec![text(&crop.field), year(crop.year), text(&crop.crop), drilled, text(&crop.cultivation)])
}

/// The row of a spray.
pub(super) fn spray(spray: &Spray) -> Row {
    Row::plain(
        "sprays",
        vec![
            text(&spray.field),
            year(spray.year),
            maybe(spray.date.as_ref(), text),
            text(&spray.active),
            text(&spray.group),
            maybe(spray.dose_g_per_ha, Value::Real),
            text(&spray.effect),
            text(&spray.growth_stage),
            maybe(spray.cost_per_ha, Value::Real),
        ],
    )
}

/// The row of a programme.
pub(super) fn programme(programme: &Programme) -> Row {
    let values = vec![text(&programme.name), text(&programme.crop), json(&programme.steps), text(&programme.note)];
    Row::plain("programmes", values)
}

/// The row of what is planned in a field.
pub(super) fn field_programme(planned: &FieldProgramme) -> Row {
    let programme = maybe(planned.programme.as_ref(), text);
    Row::plain("field_programmes", vec![text(&planned.field), year(planned.year), programme, json(&planned.measures)])
}

/// The crop of a row.
pub(super) fn read_crop(cells: &Cells<'_>) -> Result<Crop, ProjectError> {
    Ok(Crop {
        id: cells.parsed("id")?,
        field: cells.parsed("field")?,
        year: cells.get("year")?,
        crop: cells.get("crop")?,
        drilled: cells.maybe_parsed("drilled")?,
        cultivation: cells.get("cultivation")?,
    })
}

/// The spray of a row.
pub(super) fn read_spray(cells: &Cells<'_>) -> Result<Spray, ProjectError> {
    Ok(Spray {
        id: cells.parsed("id")?,
        field: cells.parsed("field")?,
        year: cells.get("year")?,
        date: cells.maybe_parsed("date")?,
        active: cells.get("active")?,
        group: cells.get("hrac_group")?,
        dose_g_per_ha: cells.get("dose_g_per_ha")?,
        effect: cells.get("effect")?,
        growth_stage: cells.get("growth_stage")?,
        cost_per_ha: cells.get("cost_per_ha")?,
    })
}

/// The programme of a row.
pub(super) fn read_programme(cells: &Cells<'_>) -> Result<Programme, ProjectError> {
    Ok(Programme {
        id: cells.parsed("id")?,
        name: cells.get("name")?,
        crop: cells.get("crop")?,
        steps: cells.json("steps")?,
        note: cells.get("note")?,
    })
}

/// What is planned in a field, of a row.
pub(super) fn read_field_programme(cells: &Cells<'_>) -> Result<FieldProgramme, ProjectError> {
    Ok(FieldProgramme {
        id: cells.parsed("id")?,
        field: cells.parsed("field")?,
        year: cells.get("year")?,
        programme: cells.maybe_parsed("programme")?,
        measures: cells.json("measures")?,
    })
}
