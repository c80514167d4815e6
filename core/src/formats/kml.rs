//! KML 2.0 to 2.3 (OGC 12-007): every placemark a row, with its name, folder, description and extended data.
//!
//! Longitude, latitude, heights dropped. Styles, pictures and links to other files are not followed.

use geo::{Coord, Geometry, GeometryCollection, LineString, Point, Polygon};

use crate::crs::Crs;
use crate::formats::columns::Growing;
use crate::formats::directions::{self, Outlines};
use crate::formats::{Cell, Table, xml};
use crate::problem::Problems;

/// Nesting of geometries in geometries beyond this is damage.
const DEEPEST: usize = 8;

/// Reads a file's bytes.
pub(super) fn read(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Table> {
    let text = xml::text_of(bytes);
    let document = xml::document(place, &text, problems)?;
    if document.root_element().tag_name().name() != "kml" {
        problems.error(place, "it is XML, but no KML.", "Export it again as KML.");
        return None;
    }
    let mut growing = Growing::default();
    let marks = document.descendants().filter(|node| node.tag_name().name() == "Placemark");
    for (number, mark) in (1..).zip(marks) {
        let row = format!("{place}, row {number}");
        let mut open = 0;
        let parts: Option<Vec<_>> = xml::elements(mark).filter(is_shape).map(|node| shape(node, 0, &mut open)).collect();
        let Some(parts) = parts else {
            problems.error(row, "a list of coordinates is damaged.", "Mend it or take the placemark out of the file.");
            continue;
        };
        if open > 0 {
            problems.warning(row, format!("{open} of its rings did not end where they began; they were closed."), "");
        }
        growing.push(number, together(parts), attributes(mark));
    }
    if document.descendants().any(|node| node.tag_name().name() == "NetworkLink") {
        problems.warning(place, "it links to other files, which were not read.", "Import those files as well.");
    }
    let table = growing.table(place, Some(Crs::Wgs84));
    directions::note(&table, Outlines::AnticlockwiseOnly, problems);
    Some(table)
}

fn is_shape(node: &xml::Node<'_, '_>) -> bool {
    let shapes = ["Point", "LineString", "LinearRing", "Polygon", "MultiGeometry", "Track", "MultiTrack"];
    shapes.contains(&node.tag_name().name())
}

/// One geometry of several; none of none.
fn together(mut parts: Vec<Geometry<f64>>) -> Option<Geometry<f64>> {
    match parts.len() {
        0 => None,
        1 => parts.pop(),
        _ => Some(Geometry::GeometryCollection(GeometryCollection(parts))),
    }
}

/// A geometry; none if its numbers are damaged. `open` counts rings that were not closed.
fn shape(node: xml::Node<'_, '_>, depth: usize, open: &mut usize) -> Option<Geometry<f64>> {
    Some(match node.tag_name().name() {
        "Point" => Geometry::Point(Point(*positions(node)?.first()?)),
        "LineString" | "LinearRing" => Geometry::LineString(LineString(positions(node)?)),
        "Track" => Geometry::LineString(LineString(track(node)?)),
        "Polygon" => Geometry::Polygon(polygon(node, open)?),
        _ if depth > DEEPEST => return None,
        _ => {
            let parts: Option<Vec<_>> =
                xml::elements(node).filter(is_shape).map(|part| shape(part, depth + 1, open)).collect();
            Geometry::GeometryCollection(GeometryCollection(parts?))
        }
    })
}

fn polygon(node: xml::Node<'_, '_>, open: &mut usize) -> Option<Polygon<f64>> {
    let rings = |name: &'static str| {
        xml::elements(node)
            .filter(move |boundary| boundary.tag_name().name() == name)
            .flat_map(|boundary| xml::elements(boundary).filter(|ring| ring.tag_name().name() == "LinearRing"))
            .map(positions)
    };
    let outer = LineString(rings("outerBoundaryIs").next().unwrap_or(Some(Vec::new()))?);
    let holes: Vec<LineString<f64>> = rings("innerBoundaryIs").map(|ring| ring.map(LineString)).collect::<Option<_>>()?;
    *open += std::iter::once(&outer).chain(&holes).filter(|ring| !ring.is_closed()).count();
    Some(Polygon::new(outer, holes))
}

fn positions(node: xml::Node<'_, '_>) -> Option<Vec<Coord<f64>>> {
    match xml::child(node, "coordinates") {
        Some(list) => xml::tuples(&xml::text(list), ',', ' '),
        None => Some(Vec::new()),
    }
}

/// The positions of a track, "x y z" each.
fn track(node: xml::Node<'_, '_>) -> Option<Vec<Coord<f64>>> {
    let coords = xml::elements(node).filter(|coord| coord.tag_name().name() == "coord");
    coords
        .map(|coord| {
            let text = xml::text(coord);
            let mut numbers = text.split_whitespace().map(|number| number.parse().ok());
            Some(Coord { x: numbers.next()??, y: numbers.next()?? })
        })
        .collect()
}

/// Name, folder, description and extended data.
fn attributes(mark: xml::Node<'_, '_>) -> Vec<(String, Cell)> {
    let text = |node: xml::Node<'_, '_>, name| Cell::text(&xml::child_text(node, name).unwrap_or_default());
    let folder = mark.ancestors().skip(1).find(|node| node.tag_name().name() == "Folder");
    let mut list = vec![
        ("name".to_owned(), text(mark, "name")),
        ("folder".to_owned(), folder.map_or(Cell::Empty, |folder| text(folder, "name"))),
        ("description".to_owned(), text(mark, "description")),
    ];
    for data in mark.descendants() {
        let Some(name) = data.attribute("name") else { continue };
        let value = match data.tag_name().name() {
            "Data" => text(data, "value"),
            "SimpleData" => Cell::text(&xml::text(data)),
            _ => continue,
        };
        list.push((name.to_owned(), value.number_if_plain()));
    }
    list
}
