//! No-go areas: polygons, each given to the fields it lies in.

use std::path::Path;

use geo::{Area as _, BooleanOps as _, Intersects as _, MultiPolygon};

use crate::crs::LocalPlane;
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{FileOptions, Import, ImportError, place};
use crate::formats::{self, Shapes};
use crate::geometry;
use crate::model::{Field, NoGo, NoGoId, Record, Records};
use crate::problem::Problems;
use crate::progress::Progress;
use crate::project::Edit;
use crate::units;

/// An area that covers less than this of a field only touches it, m2.
const TOUCHES_M2: f64 = 1.0;

/// Reads no-go areas. Each goes, cut to the boundary, to every field it lies in; an area that a field has already is left out.
pub fn no_go(
    records: &Records,
    file: &Path,
    options: &FileOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let table = formats::read_as(file, options.reading(Shapes::NoGo), problems).ok_or(ImportError::Problems)?;
    if records.fields.is_empty() {
        problems.error(&table.name, "there are no fields that areas could lie in.", "Add the boundaries first.");
        return Err(ImportError::Problems);
    }
    let converter = place::converter(&table, options.crs.as_ref(), problems)?;
    let reason_column = table.column(&["reason", "name", "note", "label", "type", "kind"]);
    let mut edit = Edit::new(records, "Add no-go areas");
    let (mut added, mut skipped) = (0, 0);
    let mut errors = RowErrors::new(&table.name, problems);
    for (index, row) in table.rows.iter().enumerate() {
        if index % 256 == 0 {
            progress.check(index, table.rows.len())?;
        }
        let area = match row.geometry().map(|shape| converter.geometry(&shape)) {
            Some(Ok(shape)) => geometry::repair(&place::areas(&shape)).shape,
            Some(Err(error)) => {
                errors.add(table.place(row), format!("{error}."), place::OUTSIDE_HINT);
                continue;
            }
            None => MultiPolygon(Vec::new()),
        };
        if area.0.is_empty() {
            errors.problems.warning(table.place(row), "it has no area; it was left out.", "");
            skipped += 1;
            continue;
        }
        let reason = reason_column.map(|column| table.cell(row, column).written()).unwrap_or_default();
        let parts: Vec<NoGo> = records
            .fields
            .values()
            .filter(|field| field.until_year.is_none())
            .filter_map(|field| {
                let area = inside(field, &area)?;
                Some(NoGo { id: NoGoId::new(), field: field.id, reason: reason.clone(), area })
            })
            .collect();
        if parts.is_empty() {
            errors.problems.warning(table.place(row), "it lies in no field; it was left out.", "Check its position.");
            errors.problems.lies_at(geometry::bounds(&area));
            skipped += 1;
        }
        for part in parts {
            if records.no_go_of(part.field).any(|held| held.area == part.area) {
                skipped += 1;
            } else {
                edit.put(Record::NoGo(part));
                added += 1;
            }
        }
    }
    errors.finish()?;
    let summary = vec![
        format!("{}: {}", table.name, units::count(added, "no-go area")),
        format!("Coordinates: {} to WGS 84 ({})", converter.system().label(), converter.conversion()),
    ];
    Ok(Import { added, updated: 0, skipped, summary, ..Import::of(edit.done()) })
}

/// The part of an area inside a field, degrees; none if it hardly touches it.
fn inside(field: &Field, area: &MultiPolygon<f64>) -> Option<MultiPolygon<f64>> {
    let (own, other) = (geometry::bounds(&field.boundary)?, geometry::bounds(area)?);
    if !own.intersects(&other) {
        return None;
    }
    let plane = LocalPlane::around(own).ok()?;
    let part = plane.to_metres(&field.boundary).intersection(&plane.to_metres(area));
    (part.unsigned_area() > TOUCHES_M2).then(|| plane.to_degrees(&part))
}
