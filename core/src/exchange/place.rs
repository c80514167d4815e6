//! From a table's coordinates to degrees: which system holds, and positions from columns.

use geo::{Coord, Geometry, MultiPolygon, Point};

use crate::crs::{Converter, Crs};
use crate::exchange::ImportError;
use crate::exchange::columns::{self, PositionColumns};
use crate::exchange::row_errors::RowErrors;
use crate::formats::Table;
use crate::problem::Problems;

/// The converter for a table: the system the user gives goes before the one the file names.
pub(super) fn converter(table: &Table, given: Option<&Crs>, problems: &mut Problems) -> Result<Converter, ImportError> {
    converter_of(&table.name, table.crs.as_ref(), given, problems)
}

/// As [`converter`], for a file of a name that says `said` of its system.
pub(super) fn converter_of(
    name: &str,
    said: Option<&Crs>,
    given: Option<&Crs>,
    problems: &mut Problems,
) -> Result<Converter, ImportError> {
    if let (Some(given), Some(said)) = (given, said)
        && given != said
    {
        problems.note(name, format!("the file says {}, but {} was given and used.", said.label(), given.label()), "");
    }
    let Some(system) = given.or(said) else {
        problems.error(
            name,
            "it does not say in which coordinate system its positions are (a shapefile says so in its .prj file).",
            "Give the coordinate system: --crs EPSG:27700, for example.",
        );
        return Err(ImportError::Problems);
    };
    Converter::new(system).map_err(|error| {
        problems.error(name, format!("{error}."), "Give one that is known: --crs EPSG:27700, for example.");
        ImportError::Problems
    })
}

/// What to say when a position cannot be converted.
pub(super) const OUTSIDE_HINT: &str =
    "Check that the coordinate system is the right one; give another with --crs if it is not.";

/// A table whose rows have positions: if none has a geometry, points are made from columns. Gives the system that then
/// holds where the columns decide it.
pub(super) fn with_points(table: &mut Table, given: Option<&Crs>, problems: &mut Problems) -> Result<(), ImportError> {
    if table.rows.iter().any(|row| row.geometry.is_some()) || table.crs.is_some() {
        return Ok(());
    }
    let projected = given.is_some_and(|crs| *crs != Crs::Wgs84);
    let Some(found) = columns::position(table, projected) else {
        problems.error(
            &table.name,
            format!("no columns with a position were found among: {}.", table.columns.join(", ")),
            "Name them lon and lat, or easting and northing (with --crs).",
        );
        return Err(ImportError::Problems);
    };
    if found.degrees {
        table.crs = Some(Crs::Wgs84);
    }
    points(table, found, problems)
}

fn points(table: &mut Table, found: PositionColumns, problems: &mut Problems) -> Result<(), ImportError> {
    let (x_name, y_name) = (table.columns.get(found.x).cloned(), table.columns.get(found.y).cloned());
    let mut errors = RowErrors::new(&table.name, problems);
    for index in 0..table.rows.len() {
        let Some(row) = table.rows.get(index) else { continue };
        let (x, y) = (table.cell(row, found.x), table.cell(row, found.y));
        let position = match (x.number(), y.number()) {
            (Some(x), Some(y)) if x.is_finite() && y.is_finite() => Some(Coord { x, y }),
            _ => {
                let (cell, name) = if x.number().is_some_and(f64::is_finite) { (y, &y_name) } else { (x, &x_name) };
                let what = format!("“{}” in column {} is no number.", cell.written(), name.clone().unwrap_or_default());
                errors.add(table.place(row), what, "Write the position as two numbers, or delete the row.");
                None
            }
        };
        if let Some(row) = table.rows.get_mut(index) {
            row.geometry = position.map(|position| Geometry::Point(Point(position)));
        }
    }
    errors.finish()
}

/// The areas of a geometry; empty if it has none.
pub(super) fn areas(geometry: &Geometry<f64>) -> MultiPolygon<f64> {
    match geometry {
        Geometry::Polygon(polygon) => MultiPolygon(vec![polygon.clone()]),
        Geometry::MultiPolygon(shape) => shape.clone(),
        Geometry::GeometryCollection(parts) => MultiPolygon(parts.iter().flat_map(|part| areas(part).0).collect()),
        Geometry::Rect(rect) => MultiPolygon(vec![rect.to_polygon()]),
        Geometry::Triangle(triangle) => MultiPolygon(vec![triangle.to_polygon()]),
        _ => MultiPolygon(vec![]),
    }
}

/// The points of a geometry that is made of points only; empty if it is not.
pub(super) fn points_of(geometry: &Geometry<f64>) -> Vec<Coord<f64>> {
    match geometry {
        Geometry::Point(point) => vec![point.0],
        Geometry::MultiPoint(points) => points.iter().map(|point| point.0).collect(),
        _ => Vec::new(),
    }
}
