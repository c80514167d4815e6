//! From a table's coordinates to degrees: which system holds, and what shapes hold.

use geo::{Coord, CoordsIter as _, Euclidean, Geometry, Length as _, LineString, MultiPolygon, Polygon};

use crate::crs::{Converter, Crs};
use crate::exchange::ImportError;
use crate::formats::{Row, Table};
use crate::problem::Problems;

/// The converter for a table: the system the user gives goes before the one the file names. Positions that do not fit it but another
/// of its kind, or fit it turned round, are read so, which is said.
pub(super) fn converter(table: &Table, given: Option<&Crs>, problems: &mut Problems) -> Result<Converter, ImportError> {
    let mut converter = converter_of(&table.name, table.crs.as_ref(), given, problems)?;
    let first = |row: Row<'_>| row.geometry().and_then(|shape| shape.coords_iter().next());
    if let Some(other) = converter.system().by_eastings(table.rows.iter().filter_map(first).map(|at| at.x)) {
        let what = format!(
            "its eastings are those of {} (with and without the zone's number in front), not of {} as it says; {0} was used.",
            other.label(),
            converter.system().label()
        );
        problems.warning(&table.name, what, "Check that the fields lie where they should.");
        converter = converter_of(&table.name, None, Some(&other), problems)?;
    }
    let step = table.rows.len() / LOOKED_AT + 1;
    let some: Vec<Coord<f64>> = table.rows.iter().step_by(step).filter_map(first).collect();
    Ok(in_its_area(&table.name, converter, &some, problems))
}

/// So many positions are looked at to see whether they lie in the area of their system.
const LOOKED_AT: usize = 200;

/// The converter, turned round if most positions lie in the area of its system only so; a warning if they do not lie there at all.
fn in_its_area(name: &str, converter: Converter, some: &[Coord<f64>], problems: &mut Problems) -> Converter {
    let Some(area) = converter.system().meant_for() else { return converter };
    let most = |converter: &Converter, lies: &dyn Fn(Coord<f64>) -> bool| {
        let found = some.iter().filter(|at| {
            let mut place = [**at];
            converter.to_lonlat(&mut place).is_ok() && lies(place[0])
        });
        2 * found.count() >= some.len()
    };
    if most(&converter, &|place| area.holds(place)) {
        return converter;
    }
    let label = converter.system().label();
    let turned = converter.turned();
    if most(&turned, &|place| area.holds(place)) {
        let what = format!(
            "the two numbers of its positions stand the other way round than {label} has them; they were read so, because only so \
             they lie in its area ({}).",
            area.name
        );
        problems.warning(name, what, "Check that the fields lie where they should.");
        return turned;
    }
    let converter = turned.turned();
    if most(&converter, &|place| area.is_near(place)) {
        return converter;
    }
    let what = format!("most of its positions do not lie in the area that {label} is meant for ({}).", area.name);
    problems.warning(name, what, OUTSIDE_HINT);
    converter
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
