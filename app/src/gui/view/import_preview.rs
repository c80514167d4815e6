//! What an import would bring, for looking at before anything is written.

use awn_core::exchange::{BoundaryColumns, Import, PlaceColumns};
use awn_core::formats::{self, Reading, Shapes};
use awn_core::model::{Record, SurveyKind};
use awn_core::problem::Problems;
use awn_core::{geometry, units};
use geo::{BoundingRect as _, Coord, LineString, MultiPolygon, Rect};

use crate::gui::view::import_form::{ImportForm, ImportKind};

/// Shapes in degrees and words.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Preview {
    /// Rings and lines.
    pub lines: Vec<LineString<f64>>,
    /// Points.
    pub points: Vec<Coord<f64>>,
    /// Bounds of all.
    pub bounds: Option<Rect<f64>>,
    /// What would be done, line by line; why nothing would, if the file is refused.
    pub said: Vec<String>,
    /// Whether the import would be refused.
    pub refused: bool,
    /// Problems found, which stand in the list of problems.
    pub problems: usize,
    /// The file's layers, if it has several.
    pub layers: Vec<String>,
    /// Columns of the layer read, each with the first value that says anything.
    pub columns: Vec<(String, String)>,
    /// Of boundaries: the columns that were read as what.
    pub read_as: BoundaryColumns,
    /// Of points in a table: the columns from which positions were read.
    pub place: PlaceColumns,
    /// Outlines that were broken, as the file has them.
    pub broken: Vec<LineString<f64>>,
    /// What was repaired: in words, and where.
    pub repaired: Vec<(String, Rect<f64>)>,
}

/// The kind of shapes that an import is after.
fn wanted(form: &ImportForm) -> Shapes {
    match form.kind {
        ImportKind::Boundaries => Shapes::Areas,
        ImportKind::NoGo => Shapes::NoGo,
        ImportKind::Tramlines | ImportKind::Walk => Shapes::Lines,
        ImportKind::Gates => Shapes::Points,
        ImportKind::Scouting if form.survey == SurveyKind::Zones => Shapes::Areas,
        ImportKind::Scouting | ImportKind::Results => Shapes::Any,
    }
}

impl Preview {
    /// What an import would write.
    pub fn of(import: &Import) -> Self {
        let mut preview = Self::default();
        for record in import.command.changes.iter().filter_map(|change| change.after.as_ref()) {
            match record {
                Record::Field(field) => preview.area(&field.boundary),
                Record::NoGo(no_go) => preview.area(&no_go.area),
                Record::Gate(gate) => preview.points.push(gate.position),
                Record::Tramlines(set) => preview.lines.extend(set.lines.iter().cloned()),
                Record::Survey(survey) => {
                    preview.points.extend(survey.points.iter().map(|point| point.position));
                    survey.zones.iter().for_each(|zone| preview.area(&zone.area));
                }
                _ => {}
            }
        }
        for shape in &import.repaired {
            for part in &shape.before {
                preview.broken.push(part.exterior().clone());
                preview.broken.extend(part.interiors().iter().cloned());
            }
            let (before, after) = (geometry::geodesic_area_m2(&shape.before), geometry::geodesic_area_m2(&shape.after));
            let words =
                format!("{}: {} ha as the file has it, {} ha as read", shape.name, units::ha(before), units::ha(after));
            preview.repaired.extend(geometry::bounds(&shape.after).map(|bounds| (words, bounds)));
        }
        preview.read_as = import.columns.clone().unwrap_or_default();
        preview.place = import.place.clone();
        let lines = preview.lines.iter().filter_map(LineString::bounding_rect);
        preview.bounds = geometry::merged_bounds(lines.chain(preview.points.iter().map(|at| Rect::new(*at, *at))));
        let counts =
            format!("{} would be added, {} brought up to date, {} left out.", import.added, import.updated, import.skipped);
        preview.said = std::iter::once(counts).chain(import.summary.iter().cloned()).collect();
        preview
    }

    /// Notes the columns of the file, whether it would be refused or not.
    pub fn read_columns(&mut self, form: &ImportForm) {
        let layer = Some(form.layer.trim()).filter(|layer| !layer.is_empty());
        let reading = Reading { layer, shapes: wanted(form), letters: form.encoding.parse().ok() };
        let Some(table) = formats::read_as(&form.file, reading, &mut Problems::new()) else { return };
        let first = |column: usize| {
            let cells = table.rows.iter().map(|row| table.cell(row, column).written());
            cells.into_iter().find(|text| !text.is_empty()).unwrap_or_default()
        };
        self.columns = table.columns.iter().enumerate().map(|(index, name)| (name.clone(), first(index))).collect();
    }

    fn area(&mut self, area: &MultiPolygon<f64>) {
        for part in area {
            self.lines.push(part.exterior().clone());
            self.lines.extend(part.interiors().iter().cloned());
        }
    }
}
