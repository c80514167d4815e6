//! GeoJSON (RFC 7946): a collection, one feature, or a bare geometry; longitude and latitude on WGS 84.
//!
//! The `crs` member of the older draft is still honoured, with a warning.

use std::collections::BTreeMap;

use geo::{Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};
use geojson::{Feature, GeometryValue, Position};
use serde_json::Value;

use crate::crs::Crs;
use crate::formats::{Cell, Row, Table, code_page};
use crate::problem::Problems;

/// Reads a file's bytes.
pub(super) fn read(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Table> {
    let text = code_page::text_of(bytes);
    let root: Value = match serde_json::from_str(&text).or_else(|error| lines(&text).ok_or(error)) {
        Ok(root) => root,
        Err(error) => {
            let place = format!("{place}, line {}", error.line());
            let hint = "The file is cut off or damaged: copy it again from where it came from.";
            problems.error(place, format!("it cannot be read as GeoJSON ({error})."), hint);
            return None;
        }
    };
    let crs = system(place, &root, problems)?;
    let features: Vec<Value> = match root.get("type").and_then(Value::as_str) {
        Some("FeatureCollection") => root.get("features").and_then(Value::as_array).cloned().unwrap_or_default(),
        Some("Feature") => vec![root],
        Some(_) => vec![serde_json::json!({ "type": "Feature", "properties": null, "geometry": root })],
        None => {
            problems.error(place, "it is JSON, but no GeoJSON: it has no “type”.", "Export it again as GeoJSON.");
            return None;
        }
    };
    let mut columns: Vec<String> = Vec::new();
    let mut index: BTreeMap<String, usize> = BTreeMap::new();
    let mut rows = Vec::new();
    for (number, value) in (1..).zip(features) {
        let row = format!("{place}, row {number}");
        let feature = match serde_json::from_value::<Feature>(value) {
            Ok(feature) => feature,
            Err(error) => {
                problems.error(row, format!("the feature cannot be read ({error})."), "Mend it or take it out of the file.");
                continue;
            }
        };
        let mut cells = vec![Cell::Empty; columns.len()];
        for (name, value) in feature.properties.unwrap_or_default() {
            let column = *index.entry(name.clone()).or_insert_with(|| {
                columns.push(name);
                columns.len() - 1
            });
            cells.resize(columns.len(), Cell::Empty);
            if let Some(cell) = cells.get_mut(column) {
                *cell = cell_of(&value);
            }
        }
        let mut open = 0;
        let geometry = feature.geometry.map(|geometry| shape(&geometry.value, &mut open));
        let geometry = match geometry {
            Some(None) => {
                problems.error(row, "a position has fewer than two numbers.", "Mend it or take it out of the file.");
                continue;
            }
            Some(found) => found,
            None => None,
        };
        if open > 0 {
            problems.warning(row, format!("{open} of its rings did not end where they began; they were closed."), "");
        }
        rows.push(Row { number, geometry, cells });
    }
    for row in &mut rows {
        row.cells.resize(columns.len(), Cell::Empty);
    }
    Some(Table { name: place.to_owned(), columns, rows, crs: Some(crs) })
}

/// Newline-delimited GeoJSON, a feature a line (RFC 8142 with or without its record separators), as a collection; none
/// if it is not that.
fn lines(text: &str) -> Option<Value> {
    let mut features = Vec::new();
    for line in text.lines().map(|line| line.trim_matches(['\u{1e}', ' ', '\t', '\r'])).filter(|line| !line.is_empty()) {
        let value: Value = serde_json::from_str(line).ok()?;
        let kind = value.get("type").and_then(Value::as_str)?.to_owned();
        features.push(match kind.as_str() {
            "Feature" => value,
            _ => serde_json::json!({ "type": "Feature", "properties": null, "geometry": value }),
        });
    }
    (!features.is_empty()).then(|| serde_json::json!({ "type": "FeatureCollection", "features": features }))
}

/// The coordinate system; none and an error if the old member names one that is not known.
fn system(place: &str, root: &Value, problems: &mut Problems) -> Option<Crs> {
    let Some(member) = root.get("crs").filter(|member| !member.is_null()) else { return Some(Crs::Wgs84) };
    let properties = member.get("properties");
    let name = properties.and_then(|p| p.get("name").or_else(|| p.get("code")));
    let name = name.map(|name| name.as_str().map_or_else(|| name.to_string(), str::to_owned)).unwrap_or_default();
    // "EPSG:25832", "urn:ogc:def:crs:EPSG::25832", "urn:ogc:def:crs:OGC:1.3:CRS84", "http://…/EPSG/0/25832"
    let last = name.rsplit([':', '/', '#']).next().unwrap_or_default();
    let found = if last.eq_ignore_ascii_case("CRS84") { Some(Crs::Wgs84) } else { last.parse().ok().map(Crs::from_epsg) };
    match found {
        Some(Crs::Wgs84) => Some(Crs::Wgs84),
        Some(crs) => {
            problems.warning(
                place,
                format!(
                    "it names the coordinate system {}, as only files of the old draft of GeoJSON do; it was used.",
                    crs.label()
                ),
                "Check that the fields lie where they should.",
            );
            Some(crs)
        }
        None => {
            problems.error(
                place,
                format!("it names a coordinate system that is not known: “{name}”."),
                "Export it in WGS 84.",
            );
            None
        }
    }
}

fn cell_of(value: &Value) -> Cell {
    match value {
        Value::Null => Cell::Empty,
        Value::Number(number) => number.as_f64().map_or(Cell::Empty, Cell::Number),
        Value::String(text) => Cell::text(text),
        other => Cell::text(&other.to_string()),
    }
}

fn coord(position: &Position) -> Option<Coord<f64>> {
    match position.as_slice() {
        [x, y, ..] => Some(Coord { x: *x, y: *y }),
        _ => None,
    }
}

fn line(positions: &[Position]) -> Option<LineString<f64>> {
    positions.iter().map(coord).collect::<Option<Vec<_>>>().map(LineString)
}

fn polygon(rings: &[Vec<Position>], open: &mut usize) -> Option<Polygon<f64>> {
    let mut rings = rings.iter().map(|ring| line(ring)).collect::<Option<Vec<_>>>()?.into_iter();
    let outer = rings.next().unwrap_or_else(|| LineString(vec![]));
    let holes: Vec<_> = rings.collect();
    *open += std::iter::once(&outer).chain(&holes).filter(|ring| !ring.is_closed()).count();
    Some(Polygon::new(outer, holes))
}

fn shape(value: &GeometryValue, open: &mut usize) -> Option<Geometry<f64>> {
    Some(match value {
        GeometryValue::Point { coordinates } => Geometry::Point(Point(coord(coordinates)?)),
        GeometryValue::MultiPoint { coordinates } => {
            Geometry::MultiPoint(MultiPoint(coordinates.iter().map(|at| coord(at).map(Point)).collect::<Option<_>>()?))
        }
        GeometryValue::LineString { coordinates } => Geometry::LineString(line(coordinates)?),
        GeometryValue::MultiLineString { coordinates } => {
            Geometry::MultiLineString(MultiLineString(coordinates.iter().map(|part| line(part)).collect::<Option<_>>()?))
        }
        GeometryValue::Polygon { coordinates } => Geometry::Polygon(polygon(coordinates, open)?),
        GeometryValue::MultiPolygon { coordinates } => {
            Geometry::MultiPolygon(MultiPolygon(coordinates.iter().map(|part| polygon(part, open)).collect::<Option<_>>()?))
        }
        GeometryValue::GeometryCollection { geometries } => Geometry::GeometryCollection(GeometryCollection(
            geometries.iter().map(|part| shape(&part.value, open)).collect::<Option<_>>()?,
        )),
    })
}
