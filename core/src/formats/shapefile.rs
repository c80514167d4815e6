//! Shapefiles: .shp for shapes, .dbf for attributes, .prj for the coordinate system, .cpg for the letters.
//!
//! Heights and measures are dropped. Without a .dbf only the shapes are read, which is said; a missing .prj is left to the
//! caller, who may know the system.

use std::io::Cursor;
use std::path::Path;

use geo::{Coord, Geometry, LineString, MultiLineString, MultiPoint, Point};
use shapefile::record::traits::HasXY;
use shapefile::{Shape, ShapeReader};

use crate::formats::directions::{self, Outlines};
use crate::formats::{Letters, RowData, Table, dbf, files, prj, rings, shp_order};
use crate::problem::Problems;

/// Reads a shapefile.
pub(super) fn read(path: &Path, letters: Option<Letters>, problems: &mut Problems) -> Option<Table> {
    let place = files::file_name(path);
    let bytes = files::bytes(path, problems)?;
    let attributes = match files::beside(path, "dbf") {
        Some(dbf_path) => Some(attributes(path, &dbf_path, letters, problems)?),
        None => None,
    };
    let crs = prj::beside(path, problems);
    let index = files::beside(path, "shx").and_then(|shx| files::bytes(&shx, &mut Problems::new()));
    let ordered = shp_order::in_order(&bytes, index.as_deref());
    let shapes = shapes(&place, ordered.as_deref().unwrap_or(&bytes), problems)?;
    let Some((dbf_name, attributes)) = attributes else {
        problems.warning(
            &place,
            "the .dbf file that belongs to it is missing, so nothing is known of its shapes but where they are.",
            "Copy the .dbf file of the same name beside it and import again, or name the fields yourself.",
        );
        let row = |(index, geometry)| RowData { number: index + 1, geometry, cells: Vec::new() };
        let rows: Vec<RowData> = shapes.into_iter().enumerate().map(row).collect();
        let table = Table { name: place, columns: Vec::new(), rows: rows.into(), crs };
        directions::note(&table, Outlines::Clockwise, problems);
        return Some(table);
    };
    if shapes.len() != attributes.rows.len() {
        problems.error(
            place,
            format!("it has {} shapes, but {dbf_name} has {} rows.", shapes.len(), attributes.rows.len()),
            "The files do not belong together, or one is cut off: copy all of them again.",
        );
        return None;
    }
    let rows: Vec<RowData> = shapes
        .into_iter()
        .zip(attributes.rows)
        .enumerate()
        .filter_map(|(index, (geometry, cells))| Some(RowData { number: index + 1, geometry, cells: cells? }))
        .collect();
    let table = Table { name: place, columns: attributes.columns, rows: rows.into(), crs };
    directions::note(&table, Outlines::Clockwise, problems);
    Some(table)
}

/// The name and content of the .dbf file; none if it is damaged.
fn attributes(
    path: &Path,
    dbf_path: &Path,
    letters: Option<Letters>,
    problems: &mut Problems,
) -> Option<(String, dbf::Attributes)> {
    let code_page = files::beside(path, "cpg")
        .and_then(|cpg| files::bytes(&cpg, problems))
        .map(|text| String::from_utf8_lossy(&text).trim().to_owned());
    let name = files::file_name(dbf_path);
    let read = dbf::read(&name, &files::bytes(dbf_path, problems)?, code_page.as_deref(), letters, problems)?;
    Some((name, read))
}

/// The shape of every record; none for null shapes.
fn shapes(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Vec<Option<Geometry<f64>>>> {
    let cut_off = "The file is cut off or damaged: copy it again from where it came from.";
    let mut reader = match ShapeReader::new(Cursor::new(bytes)) {
        Ok(reader) => reader,
        Err(error) => {
            problems.error(place, format!("it cannot be read as a shapefile ({}).", said(&error)), cut_off);
            return None;
        }
    };
    // The length in the header counts 16-bit words.
    let header = bytes.get(24..28).and_then(|raw| <[u8; 4]>::try_from(raw).ok()).map_or(0, i32::from_be_bytes);
    let said_length = usize::try_from(header).unwrap_or(0) * 2;
    if said_length > bytes.len() {
        problems.error(place, format!("it says that it has {said_length} bytes, but has {}.", bytes.len()), cut_off);
        return None;
    }
    let mut list = Vec::new();
    for (index, shape) in reader.iter_shapes().enumerate() {
        let row = format!("{place}, row {}", index + 1);
        let shape = match shape {
            Ok(shape) => shape,
            Err(error) => {
                problems.error(row, format!("the shape cannot be read ({}).", said(&error)), cut_off);
                return None;
            }
        };
        list.push(geometry(shape, &row, problems));
    }
    Some(list)
}

fn said(error: &shapefile::Error) -> String {
    match error {
        shapefile::Error::IoError(_) => "it ends early".to_owned(),
        other => other.to_string(),
    }
}

fn geometry(shape: Shape, row: &str, problems: &mut Problems) -> Option<Geometry<f64>> {
    fn line<P: HasXY>(points: &[P]) -> LineString<f64> {
        points.iter().map(|point| Coord { x: point.x(), y: point.y() }).collect()
    }
    fn lines<P: HasXY>(parts: &[Vec<P>]) -> Geometry<f64> {
        Geometry::MultiLineString(MultiLineString(parts.iter().map(|part| line(part)).collect()))
    }
    fn points<P: HasXY>(points: &[P]) -> Geometry<f64> {
        Geometry::MultiPoint(MultiPoint(points.iter().map(|point| Point::new(point.x(), point.y())).collect()))
    }
    let mut area = |list: Vec<LineString<f64>>| {
        let open = list.iter().filter(|ring| !ring.is_closed()).count();
        if open > 0 {
            problems.warning(row, format!("{open} of its rings did not end where they began; they were closed."), "");
        }
        Geometry::MultiPolygon(rings::polygons(list))
    };
    Some(match shape {
        Shape::NullShape => return None,
        Shape::Point(point) => Geometry::Point(Point::new(point.x, point.y)),
        Shape::PointM(point) => Geometry::Point(Point::new(point.x, point.y)),
        Shape::PointZ(point) => Geometry::Point(Point::new(point.x, point.y)),
        Shape::Multipoint(list) => points(list.points()),
        Shape::MultipointM(list) => points(list.points()),
        Shape::MultipointZ(list) => points(list.points()),
        Shape::Polyline(list) => lines(list.parts()),
        Shape::PolylineM(list) => lines(list.parts()),
        Shape::PolylineZ(list) => lines(list.parts()),
        Shape::Polygon(polygon) => area(polygon.rings().iter().map(|ring| line(ring.points())).collect()),
        Shape::PolygonM(polygon) => area(polygon.rings().iter().map(|ring| line(ring.points())).collect()),
        Shape::PolygonZ(polygon) => area(polygon.rings().iter().map(|ring| line(ring.points())).collect()),
        Shape::Multipatch(_) => {
            problems.warning(
                row,
                "a shape made of faces in space (multipatch) is not read.",
                "Convert it to polygons first.",
            );
            return None;
        }
    })
}
