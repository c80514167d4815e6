//! GeoJSON (RFC 7946): a collection, one feature, or a bare geometry; longitude and latitude on WGS 84.
//!
//! The `crs` member of the older draft is still honoured, with a warning.

use std::collections::BTreeMap;

use geo::{Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};
use rayon::prelude::*;
use serde::de::{Error as _, IgnoredAny, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::value::RawValue;
use serde_json::{Map, Value};

use crate::crs::Crs;
use crate::formats::directions::{self, Outlines};
use crate::formats::{Cell, RowData, Table, code_page};
use crate::problem::Problems;

/// A file's outermost object. Features are kept as text, so that one that is damaged does not hide the others and none is
/// held twice.
#[derive(Deserialize)]
struct Root<'a> {
    #[serde(rename = "type")]
    kind: Option<String>,
    crs: Option<Value>,
    #[serde(borrow)]
    features: Option<Vec<&'a RawValue>>,
}

/// Reads a file's bytes.
pub(super) fn read(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Table> {
    let text = code_page::text_of(bytes);
    if text.trim_start().starts_with('[') {
        problems.error(place, "it is JSON, but no GeoJSON: it is a list.", "Export it as a FeatureCollection.");
        return None;
    }
    let root: Root<'_> = match serde_json::from_str(&text).or_else(|error| lines(&text).ok_or(error)) {
        Ok(root) => root,
        Err(error) => {
            let place = format!("{place}, line {}", error.line());
            let hint = "The file is cut off or damaged: copy it again from where it came from.";
            problems.error(place, format!("it cannot be read as GeoJSON ({error})."), hint);
            return None;
        }
    };
    let crs = system(place, root.crs.as_ref(), problems)?;
    let features: Vec<&str> = match root.kind.as_deref() {
        Some("FeatureCollection") => root.features.unwrap_or_default().into_iter().map(RawValue::get).collect(),
        Some(_) => vec![&*text],
        None => {
            problems.error(place, "it is JSON, but no GeoJSON: it has no “type”.", "Export it again as GeoJSON.");
            return None;
        }
    };
    let mut columns: Vec<String> = Vec::new();
    let mut index: BTreeMap<String, usize> = BTreeMap::new();
    let mut rows = Vec::new();
    let texts = features.chunks(CHUNK).flat_map(|chunk| chunk.par_iter().map(|text| feature(text)).collect::<Vec<_>>());
    for (number, read) in (1..).zip(texts) {
        let row = format!("{place}, row {number}");
        let (geometry, properties, open) = match read {
            Ok(read) => read,
            Err(error) => {
                problems.error(row, format!("the feature cannot be read ({error})."), "Mend it or take it out of the file.");
                continue;
            }
        };
        let mut cells = vec![Cell::Empty; columns.len()];
        for (name, value) in properties {
            let column = if let Some(column) = index.get(&name) {
                *column
            } else {
                columns.push(name.clone());
                index.insert(name, columns.len() - 1);
                columns.len() - 1
            };
            cells.resize(columns.len(), Cell::Empty);
            if let Some(cell) = cells.get_mut(column) {
                *cell = cell_of(&value);
            }
        }
        if open > 0 {
            problems.warning(row, format!("{open} of its rings did not end where they began; they were closed."), "");
        }
        rows.push(RowData { number, geometry, cells });
    }
    for row in &mut rows {
        row.cells.resize(columns.len(), Cell::Empty);
    }
    let table = Table { name: place.to_owned(), columns, rows: rows.into(), crs: Some(crs) };
    // The old draft, which had the member, said nothing of directions.
    if root.crs.is_none() {
        directions::note(&table, Outlines::Anticlockwise, problems);
    }
    Some(table)
}

/// So many features are read at a time, on all threads, and then taken in, so that no more of them are held twice.
const CHUNK: usize = 8192;

type Properties = Map<String, Value>;

/// The shape of a feature or bare geometry, its properties, and how many of its rings were not closed.
fn feature(text: &str) -> Result<(Option<Geometry<f64>>, Properties, usize), serde_json::Error> {
    let feature: FeatureText<'_> = serde_json::from_str(text)?;
    let mut open = 0;
    let bare = GeometryText { kind: feature.kind, coordinates: feature.coordinates, geometries: feature.geometries };
    let geometry = if bare.kind == "Feature" { feature.geometry } else { Some(bare) };
    let geometry = geometry.map(|geometry| shape(&geometry, &mut open)).transpose()?;
    Ok((geometry, feature.properties.unwrap_or_default(), open))
}

/// A feature, or a bare geometry, as its text.
#[derive(Deserialize)]
struct FeatureText<'a> {
    #[serde(rename = "type")]
    kind: String,
    properties: Option<Properties>,
    #[serde(borrow)]
    geometry: Option<GeometryText<'a>>,
    #[serde(borrow)]
    coordinates: Option<&'a RawValue>,
    #[serde(borrow)]
    geometries: Option<Vec<GeometryText<'a>>>,
}

/// A geometry; its numbers are read once its kind is known.
#[derive(Deserialize)]
struct GeometryText<'a> {
    #[serde(rename = "type")]
    kind: String,
    #[serde(borrow)]
    coordinates: Option<&'a RawValue>,
    #[serde(borrow)]
    geometries: Option<Vec<GeometryText<'a>>>,
}

/// A position: heights and whatever else stands behind the first two numbers are passed over.
struct Position(Coord<f64>);

impl<'de> Deserialize<'de> for Position {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Numbers;
        impl<'de> Visitor<'de> for Numbers {
            type Value = Position;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a position")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Position, A::Error> {
                let few = || A::Error::custom("a position has fewer than two numbers");
                let x = list.next_element()?.ok_or_else(few)?;
                let y = list.next_element()?.ok_or_else(few)?;
                while list.next_element::<IgnoredAny>()?.is_some() {}
                Ok(Position(Coord { x, y }))
            }
        }
        from.deserialize_seq(Numbers)
    }
}

/// Newline-delimited GeoJSON, a feature a line (RFC 8142 with or without its record separators); none if it is not that.
fn lines(text: &str) -> Option<Root<'_>> {
    // With separators a record may go over several lines.
    let separator = if text.contains('\u{1e}') { '\u{1e}' } else { '\n' };
    let lines = text.split(separator).map(str::trim).filter(|line| !line.is_empty());
    let features: Vec<&RawValue> = lines.map(|line| serde_json::from_str(line).ok()).collect::<Option<_>>()?;
    let typed = !features.is_empty() && features.iter().all(|feature| feature.get().contains("\"type\""));
    typed.then(|| Root { kind: Some("FeatureCollection".to_owned()), crs: None, features: Some(features) })
}

/// The coordinate system; none and an error if the old member names one that is not known.
fn system(place: &str, member: Option<&Value>, problems: &mut Problems) -> Option<Crs> {
    let Some(member) = member.filter(|member| !member.is_null()) else { return Some(Crs::Wgs84) };
    let properties = member.get("properties");
    let name = properties.and_then(|p| p.get("name").or_else(|| p.get("code")));
    let name = name.map(|name| name.as_str().map_or_else(|| name.to_string(), str::to_owned)).unwrap_or_default();
    match Crs::from_name(&name) {
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

/// The shape of a geometry; `open` counts rings that were not closed.
fn shape(geometry: &GeometryText<'_>, open: &mut usize) -> Result<Geometry<f64>, serde_json::Error> {
    fn of<'a, T: Deserialize<'a>>(geometry: &GeometryText<'a>) -> Result<T, serde_json::Error> {
        let missing = || serde_json::Error::custom("a geometry has no coordinates");
        serde_json::from_str(geometry.coordinates.ok_or_else(missing)?.get())
    }
    let line = |list: Vec<Position>| LineString(list.into_iter().map(|position| position.0).collect());
    let mut polygon = |rings: Vec<Vec<Position>>| {
        let mut rings = rings.into_iter().map(line);
        let outer = rings.next().unwrap_or_else(|| LineString(vec![]));
        let holes: Vec<_> = rings.collect();
        *open += std::iter::once(&outer).chain(&holes).filter(|ring| !ring.is_closed()).count();
        Polygon::new(outer, holes)
    };
    Ok(match geometry.kind.as_str() {
        "Point" => Geometry::Point(Point(of::<Position>(geometry)?.0)),
        "MultiPoint" => {
            Geometry::MultiPoint(MultiPoint(of::<Vec<Position>>(geometry)?.into_iter().map(|at| Point(at.0)).collect()))
        }
        "LineString" => Geometry::LineString(line(of(geometry)?)),
        "MultiLineString" => {
            Geometry::MultiLineString(MultiLineString(of::<Vec<_>>(geometry)?.into_iter().map(line).collect()))
        }
        "Polygon" => Geometry::Polygon(polygon(of(geometry)?)),
        "MultiPolygon" => Geometry::MultiPolygon(MultiPolygon(of::<Vec<_>>(geometry)?.into_iter().map(polygon).collect())),
        "GeometryCollection" => {
            let parts = geometry.geometries.iter().flatten();
            Geometry::GeometryCollection(GeometryCollection(parts.map(|part| shape(part, open)).collect::<Result<_, _>>()?))
        }
        other => return Err(serde_json::Error::custom(format!("“{other}” is no kind of geometry"))),
    })
}
