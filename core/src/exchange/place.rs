//! From a table's coordinates to degrees: which system holds, and positions from columns.

use geo::{Coord, CoordsIter as _, Euclidean, Geometry, Length as _, LineString, MultiPolygon, Point, Polygon};

use crate::crs::{Converter, Crs};
use crate::exchange::ImportError;
use crate::exchange::columns::{self, PositionColumns};
use crate::exchange::position::{self, Grid};
use crate::exchange::row_errors::RowErrors;
use crate::formats::{Row, Table};
use crate::problem::Problems;

/// Side of a grid square beyond which its corner is no position, m.
const COARSE_M: f64 = 10.0;

/// The converter for a table: the system the user gives goes before the one the file names.
pub(super) fn converter(table: &Table, given: Option<&Crs>, problems: &mut Problems) -> Result<Converter, ImportError> {
    let converter = converter_of(&table.name, table.crs.as_ref(), given, problems)?;
    let first = |row: &Row| row.geometry.as_ref()?.coords_iter().next();
    let Some(other) = converter.system().by_eastings(table.rows.iter().filter_map(first).map(|at| at.x)) else {
        return Ok(converter);
    };
    let what = format!(
        "its eastings are those of {} (with and without the zone's number in front), not of {} as it says; {0} was used.",
        other.label(),
        converter.system().label()
    );
    problems.warning(&table.name, what, "Check that the fields lie where they should.");
    converter_of(&table.name, None, Some(&other), problems)
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
    if let Some(found) = columns::position(table, projected) {
        if found.degrees {
            table.crs = Some(Crs::Wgs84);
        }
        return points(table, problems, |table, row| two_columns(table, row, found));
    }
    if let Some(column) = columns::grid_reference(table) {
        return grid_references(table, column, problems);
    }
    if let Some(column) = columns::pair(table) {
        table.crs = Some(Crs::Wgs84);
        return points(table, problems, |table, row| {
            let text = table.cell(row, column).written();
            position::pair(&text).ok_or_else(|| format!("“{text}” is no latitude and longitude."))
        });
    }
    problems.error(
        &table.name,
        format!("no columns with a position were found among: {}.", table.columns.join(", ")),
        "Name them lon and lat, easting and northing (with --crs), or grid reference (such as TF 123 456).",
    );
    Err(ImportError::Problems)
}

/// Gives every row the position that `read` finds in it; a row without one is an error that says why.
fn points(
    table: &mut Table,
    problems: &mut Problems,
    mut read: impl FnMut(&Table, &Row) -> Result<Coord<f64>, String>,
) -> Result<(), ImportError> {
    let mut errors = RowErrors::new(&table.name, problems);
    let found: Vec<_> = table
        .rows
        .iter()
        .map(|row| match read(table, row) {
            Ok(position) => Some(Geometry::Point(Point(position))),
            Err(what) => {
                errors.add(table.place(row), what, "Write the position as the other rows do, or delete the row.");
                None
            }
        })
        .collect();
    for (row, geometry) in table.rows.iter_mut().zip(found) {
        row.geometry = geometry;
    }
    errors.finish()
}

/// A position of two columns: numbers, or angles with minutes and letters where the names say degrees.
fn two_columns(table: &Table, row: &Row, found: PositionColumns) -> Result<Coord<f64>, String> {
    let read = |column: usize, letters| {
        let cell = table.cell(row, column);
        let angle = || if found.degrees { position::angle(&cell.written(), letters) } else { None };
        cell.number().filter(|number| number.is_finite()).or_else(angle).ok_or_else(|| {
            let name = table.columns.get(column).map_or("", String::as_str);
            format!(
                "“{}” in column {name} is no number{}.",
                cell.written(),
                if found.degrees { " and no angle" } else { "" }
            )
        })
    };
    Ok(Coord { x: read(found.x, ('E', 'W'))?, y: read(found.y, ('N', 'S'))? })
}

/// Positions of references such as "TF 123 456"; all of one grid, which then is the table's system.
fn grid_references(table: &mut Table, column: usize, problems: &mut Problems) -> Result<(), ImportError> {
    let (mut grid, mut coarse) = (None, 0);
    points(table, problems, |table, row| {
        let text = table.cell(row, column).written();
        let found = position::grid_reference(&text)
            .ok_or_else(|| format!("“{text}” is no grid reference such as TF 123 456 (Ireland: S 123 456)."))?;
        if *grid.get_or_insert(found.grid) != found.grid {
            return Err(format!("“{text}” is of another national grid than the rows before."));
        }
        coarse += usize::from(found.square_m > COARSE_M);
        Ok(found.corner)
    })?;
    if coarse > 0 {
        let what = format!("{coarse} grid references name squares of 100 m or more; their south-west corners were taken.");
        problems.warning(&table.name, what, "Give eight or ten digits.");
    }
    table.crs = Some(match grid {
        Some(Grid::Irish) => Crs::from_epsg(29903),
        _ => Crs::from_epsg(27700),
    });
    Ok(())
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

/// The ends of a line round a field may lie so far apart, as a share of its length.
const GAP: f64 = 0.05;

/// The areas inside lines that come back to where they began, as a track driven round a field does; none if a line does not.
pub(super) fn outlines(geometry: &Geometry<f64>) -> Option<MultiPolygon<f64>> {
    let lines: Vec<LineString<f64>> = match geometry {
        Geometry::LineString(line) => vec![line.clone()],
        Geometry::MultiLineString(lines) => lines.0.clone(),
        Geometry::GeometryCollection(parts) => parts
            .iter()
            .map(outlines)
            .collect::<Option<Vec<_>>>()?
            .into_iter()
            .flat_map(|area| area.0)
            .map(|area| area.exterior().clone())
            .collect(),
        _ => return None,
    };
    let closes = |line: &LineString<f64>| match (line.0.first(), line.0.last()) {
        (Some(first), Some(last)) => {
            line.0.len() > 3 && (first.x - last.x).hypot(first.y - last.y) <= GAP * Euclidean.length(line)
        }
        _ => false,
    };
    let all = !lines.is_empty() && lines.iter().all(closes);
    all.then(|| MultiPolygon(lines.into_iter().map(|line| Polygon::new(line, vec![])).collect()))
}

/// The points of a geometry that is made of points only; empty if it is not.
pub(super) fn points_of(geometry: &Geometry<f64>) -> Vec<Coord<f64>> {
    match geometry {
        Geometry::Point(point) => vec![point.0],
        Geometry::MultiPoint(points) => points.iter().map(|point| point.0).collect(),
        _ => Vec::new(),
    }
}
