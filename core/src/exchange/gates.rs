//! Gates: points, each given to the nearest field.

use std::path::Path;

use geo::{Coord, Distance as _, Euclidean, Geometry, Point};

use crate::crs::LocalPlane;
use crate::exchange::near::Near;
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{FileOptions, Import, ImportError, boundaries, place, point_columns};
use crate::formats::{self, Shapes};
use crate::model::{FieldId, Gate, GateId, Record, Records};
use crate::problem::Problems;
use crate::progress::Progress;
use crate::project::Edit;
use crate::units;

/// A point farther from every field belongs to none, m.
const FARTHEST_M: f64 = 100.0;
/// A point as near to a gate of the field is that gate, m.
const SAME_GATE_M: f64 = 5.0;

/// Reads gates: points, each given to the nearest field. A gate within 5 m of one that the field has already moves that one.
pub fn gates(
    records: &Records,
    file: &Path,
    options: &FileOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let mut table = formats::read_as(file, options.reading(Shapes::Points), problems).ok_or(ImportError::Problems)?;
    if records.fields.is_empty() {
        problems.error(&table.name, "there are no fields that gates could belong to.", "Add the boundaries first.");
        return Err(ImportError::Problems);
    }
    let columns = point_columns::with_points(records, &mut table, options, problems)?;
    let converter = place::converter(&table, options.crs.as_ref(), problems)?;
    let name_column = table.column(&["name", "gate", "gate name", "label", "naam", "navn", "nom"]);
    let near = Near::new(records.fields.values().map(|field| &**field).filter(|field| field.until_year.is_none()));
    let mut edit = Edit::new(records, "Add gates");
    let mut known: Vec<Gate> = records.gates.values().map(|gate| (**gate).clone()).collect();
    let there = known.len();
    let (mut added, mut updated, mut skipped) = (0, 0, 0);
    let mut errors = RowErrors::new(&table.name, problems);
    for (index, row) in table.rows.iter().enumerate() {
        if index % 256 == 0 {
            progress.check(index, table.rows.len())?;
        }
        let positions = row.geometry().map(|shape| place::points_of(&shape)).unwrap_or_default();
        if positions.is_empty() {
            errors.problems.warning(table.place(row), "it is no point; it was left out.", "");
            skipped += 1;
        }
        for position in positions {
            let position = match converter.geometry(&Geometry::Point(Point(position))) {
                Ok(Geometry::Point(point)) => point.0,
                Ok(_) => continue,
                Err(error) => {
                    errors.add(table.place(row), format!("{error}."), place::OUTSIDE_HINT);
                    continue;
                }
            };
            let Some((field, _)) = near.nearest(position, FARTHEST_M) else {
                let what = format!("no field lies within {FARTHEST_M} m of the gate; it was left out.");
                errors.problems.warning(table.place(row), what, "Check its position, or add the field's boundary first.");
                errors.problems.lies_at(Some(geo::Rect::new(position, position)));
                skipped += 1;
                continue;
            };
            let name = name_column.map(|column| table.cell(row, column).written()).unwrap_or_default();
            match same_gate(&known, field, position) {
                Some(found) if found >= there => {
                    errors.problems.warning(table.place(row), "the file has this gate already; it was left out.", "");
                    skipped += 1;
                }
                Some(found) => {
                    if let Some(gate) = known.get_mut(found) {
                        gate.position = position;
                        if !name.is_empty() {
                            gate.name = name;
                        }
                        updated += 1;
                    }
                }
                None => {
                    known.push(Gate { id: GateId::new(), field, name, position });
                    added += 1;
                }
            }
        }
    }
    errors.finish()?;
    for gate in known {
        edit.put(Record::Gate(gate));
    }
    if let Some(layout) = options.place.layout(&table) {
        edit.put(Record::Settings(boundaries::with_layout(&records.settings, layout)));
    }
    let mut summary = vec![format!("{}: {}", table.name, units::count(added + updated, "gate"))];
    summary.extend(columns.said());
    summary.push(format!("Coordinates: {} to WGS 84 ({})", converter.system().label(), converter.conversion()));
    Ok(Import { added, updated, skipped, summary, place: columns, ..Import::of(edit.done()) })
}

/// The index of the gate of a field that lies nearest to a position and near enough to be the same.
fn same_gate(gates: &[Gate], field: FieldId, position: Coord<f64>) -> Option<usize> {
    let plane = LocalPlane::at(position).ok()?;
    gates
        .iter()
        .enumerate()
        .filter(|(_, gate)| gate.field == field)
        .map(|(index, gate)| (index, Euclidean.distance(&Point::new(0.0, 0.0), &Point(plane.metres(gate.position)))))
        .filter(|(_, distance)| *distance <= SAME_GATE_M)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(index, _)| index)
}
