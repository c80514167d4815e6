//! GPX 1.0 and 1.1: waypoints, routes and tracks as layers of their own.
//!
//! Read as plain XML: devices write extensions, empty elements and odd times, and none of them says where a point is.

use geo::{Coord, Geometry, LineString, MultiLineString, Point};

use crate::crs::Crs;
use crate::formats::columns::Growing;
use crate::formats::layers::{Layer, choose};
use crate::formats::{Cell, Reading, Table, xml};
use crate::problem::Problems;

/// How the shape of an element is read.
type Shape = fn(xml::Node<'_, '_>) -> Option<Geometry<f64>>;

/// Reads a file's bytes.
pub(super) fn read(place: &str, bytes: &[u8], ask: Reading<'_>, problems: &mut Problems) -> Option<Table> {
    choose(place, layers(place, bytes, problems)?, ask, problems)
}

/// Its layers; those without a row are left out.
pub(super) fn layers(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Vec<Layer>> {
    let text = xml::text_of(bytes);
    let document = xml::document(place, &text, problems)?;
    let root = document.root_element();
    if root.tag_name().name() != "gpx" {
        problems.error(place, "it is XML, but no GPX.", "Export it again as GPX.");
        return None;
    }
    let (mut waypoints, mut routes, mut tracks) = (Growing::default(), Growing::default(), Growing::default());
    for node in xml::elements(root) {
        let (growing, noun, read): (_, _, Shape) = match node.tag_name().name() {
            "wpt" => (&mut waypoints, "waypoint", |node| Some(Geometry::Point(Point(position(node)?)))),
            "rte" => (&mut routes, "route", |node| Some(Geometry::LineString(line(node, "rtept")?))),
            "trk" => (&mut tracks, "track", track),
            _ => continue,
        };
        let number = growing.len() + 1;
        let shape = read(node);
        if shape.is_none() {
            let what =
                format!("{noun} {number} has a point without a latitude and a longitude in degrees; it was left out.");
            problems.warning(place, what, "Mend the file, or export it again.");
        }
        let mut cells = attributes(node);
        cells.extend(begun(node).map(|time| ("begun".to_owned(), Cell::Text(time))));
        growing.push(number, shape, cells);
    }
    let layers = [("waypoints", waypoints), ("routes", routes), ("tracks", tracks)];
    let layers: Vec<Layer> = layers
        .into_iter()
        .filter(|(_, growing)| growing.len() > 0)
        .map(|(name, growing)| Layer { name: name.to_owned(), table: growing.table(place, Some(Crs::Wgs84)) })
        .collect();
    if layers.is_empty() {
        problems.error(place, "it has no waypoint, route or track.", "Export it again with what it should hold.");
        return None;
    }
    Some(layers)
}

fn position(node: xml::Node<'_, '_>) -> Option<Coord<f64>> {
    let number = |name| node.attribute(name).and_then(|value| value.trim().parse::<f64>().ok());
    Some(Coord { x: number("lon")?, y: number("lat")? })
}

fn line(node: xml::Node<'_, '_>, point: &str) -> Option<LineString<f64>> {
    let points = xml::elements(node).filter(|node| node.tag_name().name() == point);
    points.map(position).collect::<Option<Vec<_>>>().map(LineString)
}

fn track(node: xml::Node<'_, '_>) -> Option<Geometry<f64>> {
    let segments = xml::elements(node).filter(|node| node.tag_name().name() == "trkseg");
    let mut lines = segments.map(|segment| line(segment, "trkpt")).collect::<Option<Vec<_>>>()?;
    lines.retain(|line| !line.0.is_empty());
    Some(match lines.len() {
        1 => Geometry::LineString(lines.pop()?),
        _ => Geometry::MultiLineString(MultiLineString(lines)),
    })
}

/// When a track was begun: the time of its first point that has one.
fn begun(node: xml::Node<'_, '_>) -> Option<String> {
    let segments = xml::elements(node).filter(|node| node.tag_name().name() == "trkseg");
    let points = segments.flat_map(|segment| xml::elements(segment).filter(|node| node.tag_name().name() == "trkpt"));
    points.filter_map(|point| xml::child(point, "time")).map(xml::text).find(|time| !time.trim().is_empty())
}

/// The texts and numbers of a waypoint, route or track, and of its extensions.
fn attributes(node: xml::Node<'_, '_>) -> Vec<(String, Cell)> {
    let own =
        xml::elements(node).filter(|child| !matches!(child.tag_name().name(), "rtept" | "trkseg" | "extensions" | "link"));
    let more =
        xml::child(node, "extensions").into_iter().flat_map(|node| node.descendants().filter(xml::Node::is_element).skip(1));
    let list = own.chain(more).map(|node| (node.tag_name().name().to_owned(), Cell::text(&xml::text(node))));
    list.filter(|(_, cell)| !cell.is_empty())
        .map(
            |(name, cell)| {
                if matches!(name.as_str(), "name" | "desc" | "cmt") { (name, cell) } else { (name, cell.number_if_plain()) }
            },
        )
        .collect()
}
