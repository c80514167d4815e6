//! What an import would bring, for looking at before anything is written.

use awn_core::exchange::Import;
use awn_core::geometry;
use awn_core::model::Record;
use geo::{BoundingRect as _, Coord, LineString, MultiPolygon, Rect};

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
    /// Columns of the layer read.
    pub columns: Vec<String>,
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
        let lines = preview.lines.iter().filter_map(LineString::bounding_rect);
        preview.bounds = geometry::merged_bounds(lines.chain(preview.points.iter().map(|at| Rect::new(*at, *at))));
        let counts =
            format!("{} would be added, {} brought up to date, {} left out.", import.added, import.updated, import.skipped);
        preview.said = std::iter::once(counts).chain(import.summary.iter().cloned()).collect();
        preview
    }

    fn area(&mut self, area: &MultiPolygon<f64>) {
        for part in area {
            self.lines.push(part.exterior().clone());
            self.lines.extend(part.interiors().iter().cloned());
        }
    }
}
