//! Task data of ISO 11783-10 (TASKDATA.XML): partfields, guidance lines, field access points, and areas not to be entered.
//!
//! Element names and attribute letters are the standard's: CTR customer, FRM farm, PFD partfield, PLN polygon, LSG line
//! string, PNT point, GGP guidance group, GPN guidance pattern, XFR a file with more elements. The types of PLN and LSG are
//! as public code uses them; those of PNT and GPN are from memory. WGS 84.

use std::collections::BTreeMap;
use std::path::Path;

use geo::{Contains as _, Coord, Geometry, LineString, MultiPolygon, Point, Polygon};

use crate::crs::Crs;
use crate::formats::columns::Growing;
use crate::formats::layers::{self, Layer, choose};
use crate::formats::{Cell, Reading, Table, files, xml};
use crate::problem::Problems;

/// Types of PLN: the partfield's boundary.
const BOUNDARY: &str = "1";
/// Types of PLN that are not to be entered: water surface, building, road, obstacle.
const NOT_ENTERED: [(&str, &str); 4] = [("3", "water"), ("4", "building"), ("5", "road"), ("6", "obstacle")];
/// Types of LSG: exterior and interior ring, tramline.
const EXTERIOR: &str = "1";
const INTERIOR: &str = "2";
const TRAMLINE: &str = "3";
/// Type of PNT: field access.
const ACCESS: &str = "3";
/// Length of a line that is given by one point and a heading, degrees of latitude (about 500 m).
const A_PLUS_LENGTH: f64 = 0.0045;

/// Whether a root element is that of task data.
pub(super) fn is_root(name: &str) -> bool {
    matches!(name, "ISO11783_TaskData" | "ISO11783LinkList" | "XFC")
}

/// Reads a file's bytes; `path` is where files that it names stand beside it.
pub(super) fn read(place: &str, path: &Path, bytes: &[u8], ask: Reading<'_>, problems: &mut Problems) -> Option<Table> {
    choose(place, layers(place, path, bytes, problems)?, ask, problems)
}

/// Its layers; those without a row are left out.
pub(super) fn layers(place: &str, path: &Path, bytes: &[u8], problems: &mut Problems) -> Option<Vec<Layer>> {
    let text = xml::text_of(bytes);
    let document = xml::document(place, &text, problems)?;
    let more: Vec<(String, String)> = others(&document.root_element(), path, problems);
    let mut documents = vec![document];
    for (name, text) in &more {
        documents.push(xml::document(name, text, problems)?);
    }
    let roots: Vec<_> = documents.iter().flat_map(|document| xml::elements(document.root_element())).collect();
    let names = Names::of(&roots);
    let mut data = Data { place: place.to_owned(), ..Data::default() };
    for partfield in roots.iter().filter(|node| node.tag_name().name() == "PFD") {
        data.partfield(*partfield, &names, problems);
    }
    let layers = [
        (layers::PARTFIELDS, data.partfields),
        ("guidance lines", data.lines),
        ("field access", data.access),
        (layers::NOT_ENTERED, data.no_go),
    ];
    let layers: Vec<Layer> = layers
        .into_iter()
        .filter(|(_, growing)| growing.len() > 0)
        .map(|(name, growing)| Layer { name: name.to_owned(), table: growing.table(place, Some(Crs::Wgs84)) })
        .collect();
    if layers.is_empty() {
        problems.error(place, "it is task data, but holds no partfield (PFD).", "Export the fields as well.");
        return None;
    }
    Some(layers)
}

/// The files that XFR elements name, beside the first one.
fn others(root: &xml::Node<'_, '_>, path: &Path, problems: &mut Problems) -> Vec<(String, String)> {
    let names = xml::elements(*root).filter(|node| node.tag_name().name() == "XFR").filter_map(|node| node.attribute("A"));
    // Names of the standard are eight letters and digits; anything else could be a path to somewhere else.
    let plain = |name: &&str| name.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_');
    let mut list = Vec::new();
    for name in names.filter(plain) {
        let beside = files::beside(&path.with_file_name(format!("{name}.xml")), "xml");
        if let Some(bytes) = beside.and_then(|file| files::bytes(&file, problems)) {
            list.push((format!("{name}.xml"), xml::text_of(&bytes).into_owned()));
        } else {
            let what = format!("its part {name}.xml is missing.");
            problems.error(files::file_name(path), what, "Copy the whole folder.");
        }
    }
    list
}

/// Names of farms, customers and crops by their identifiers.
struct Names<'a>(BTreeMap<&'a str, &'a str>);

impl<'a> Names<'a> {
    fn of(roots: &[xml::Node<'a, '_>]) -> Self {
        let named = roots.iter().filter(|node| matches!(node.tag_name().name(), "FRM" | "CTR" | "CTP"));
        Self(named.filter_map(|node| Some((node.attribute("A")?, node.attribute("B")?))).collect())
    }

    fn get(&self, node: xml::Node<'_, '_>, attribute: &str) -> Cell {
        let name = node.attribute(attribute).and_then(|id| self.0.get(id));
        Cell::text(name.copied().unwrap_or_default())
    }
}

#[derive(Default)]
struct Data {
    place: String,
    partfields: Growing,
    lines: Growing,
    access: Growing,
    no_go: Growing,
}

impl Data {
    fn partfield(&mut self, node: xml::Node<'_, '_>, names: &Names<'_>, problems: &mut Problems) {
        let name = ["C", "B", "A"].into_iter().filter_map(|key| node.attribute(key)).find(|name| !name.trim().is_empty());
        let name = Cell::text(name.unwrap_or_default());
        let of_field = |label: Option<&str>| {
            vec![("name".to_owned(), Cell::text(label.unwrap_or_default())), ("field".to_owned(), name.clone())]
        };
        let mut boundary = Vec::new();
        for part in xml::elements(node) {
            let kind = part.attribute("A").unwrap_or_default();
            match part.tag_name().name() {
                "PLN" => {
                    let Some(mut areas) = self.areas(part, problems) else { continue };
                    let not_entered = NOT_ENTERED.iter().find(|(number, _)| *number == kind);
                    if let Some((_, word)) = not_entered {
                        let label = part.attribute("B").filter(|label| !label.is_empty()).unwrap_or(word);
                        let shape = Geometry::MultiPolygon(MultiPolygon(areas));
                        self.no_go.push(self.no_go.len() + 1, Some(shape), of_field(Some(label)));
                    } else if kind == BOUNDARY {
                        boundary.append(&mut areas);
                    }
                }
                "LSG" if kind == TRAMLINE => self.line(part, "driven", of_field(part.attribute("B")), problems),
                "GGP" => {
                    for pattern in xml::elements(part).filter(|node| node.tag_name().name() == "GPN") {
                        self.pattern(pattern, &of_field(pattern.attribute("B")), problems);
                    }
                }
                "PNT" if kind == ACCESS => {
                    let shape = self.position(part, problems).map(|at| Geometry::Point(Point(at)));
                    self.access.push(self.access.len() + 1, shape, of_field(part.attribute("B")));
                }
                _ => {}
            }
        }
        let shape = if boundary.is_empty() { None } else { Some(Geometry::MultiPolygon(MultiPolygon(boundary))) };
        let attributes = vec![
            ("name".to_owned(), name.clone()),
            ("farm".to_owned(), names.get(node, "F")),
            ("customer".to_owned(), names.get(node, "E")),
            ("crop".to_owned(), names.get(node, "G")),
            ("code".to_owned(), Cell::text(node.attribute("B").unwrap_or_default())),
            ("area_m2".to_owned(), Cell::text(node.attribute("D").unwrap_or_default()).number_if_plain()),
            ("id".to_owned(), Cell::text(node.attribute("A").unwrap_or_default())),
        ];
        self.partfields.push(self.partfields.len() + 1, shape, attributes);
    }

    /// The areas of a PLN; none if it is damaged, which is then said.
    fn areas(&self, polygon: xml::Node<'_, '_>, problems: &mut Problems) -> Option<Vec<Polygon<f64>>> {
        let mut outers: Vec<Polygon<f64>> = Vec::new();
        let mut holes = Vec::new();
        for ring in xml::elements(polygon).filter(|node| node.tag_name().name() == "LSG") {
            let corners = LineString(self.positions(ring, problems)?);
            match ring.attribute("A").unwrap_or_default() {
                EXTERIOR => outers.push(Polygon::new(corners, vec![])),
                INTERIOR => holes.push(corners),
                _ => {}
            }
        }
        for hole in holes {
            let around = |outer: &Polygon<f64>| hole.0.first().is_some_and(|corner| outer.contains(&Point(*corner)));
            let owner = outers.iter().position(around).unwrap_or(0);
            if let Some(outer) = outers.get_mut(owner) {
                outer.interiors_push(hole);
            }
        }
        Some(outers)
    }

    fn pattern(&mut self, pattern: xml::Node<'_, '_>, attributes: &[(String, Cell)], problems: &mut Problems) {
        let kind = match pattern.attribute("C").unwrap_or_default() {
            "1" => "AB",
            "2" => "A+",
            "4" => "pivot",
            _ => "driven",
        };
        for line in xml::elements(pattern).filter(|node| node.tag_name().name() == "LSG") {
            let attributes = attributes.to_vec();
            if kind == "A+" {
                self.a_plus(pattern, line, attributes, problems);
            } else if kind == "pivot" {
                problems.note(&self.place, "a guidance pattern round a pivot was left out.", "");
            } else {
                self.line(line, kind, attributes, problems);
            }
        }
    }

    /// One point and a heading in degrees from north.
    fn a_plus(
        &mut self,
        pattern: xml::Node<'_, '_>,
        line: xml::Node<'_, '_>,
        attributes: Vec<(String, Cell)>,
        problems: &mut Problems,
    ) {
        let heading = pattern.attribute("G").and_then(|text| text.trim().parse::<f64>().ok());
        let at = self.positions(line, problems).and_then(|list| list.first().copied());
        let (Some(heading), Some(at)) = (heading.filter(|heading| heading.is_finite()), at) else {
            problems.warning(
                &self.place,
                "a guidance line from a point and a heading lacks one of them.",
                "It was left out.",
            );
            return;
        };
        let (sin, cos) = heading.to_radians().sin_cos();
        let squeeze = at.y.to_radians().cos().max(0.01);
        let end = Coord { x: at.x + A_PLUS_LENGTH * sin / squeeze, y: at.y + A_PLUS_LENGTH * cos };
        self.push_line(LineString(vec![at, end]), "A+", line, attributes);
    }

    fn line(&mut self, node: xml::Node<'_, '_>, kind: &str, attributes: Vec<(String, Cell)>, problems: &mut Problems) {
        if let Some(positions) = self.positions(node, problems) {
            self.push_line(LineString(positions), kind, node, attributes);
        }
    }

    fn push_line(
        &mut self,
        line: LineString<f64>,
        kind: &str,
        node: xml::Node<'_, '_>,
        mut attributes: Vec<(String, Cell)>,
    ) {
        attributes.push(("pattern".to_owned(), Cell::text(kind)));
        // The width of a line string is in mm.
        let width = node.attribute("C").and_then(|width| width.parse::<f64>().ok()).filter(|width| *width > 0.0);
        attributes.push(("width_m".to_owned(), width.map_or(Cell::Empty, |width| Cell::Number(width / 1000.0))));
        self.lines.push(self.lines.len() + 1, Some(Geometry::LineString(line)), attributes);
    }

    fn positions(&self, line: xml::Node<'_, '_>, problems: &mut Problems) -> Option<Vec<Coord<f64>>> {
        let points = xml::elements(line).filter(|node| node.tag_name().name() == "PNT");
        points.map(|point| self.position(point, problems)).collect()
    }

    fn position(&self, point: xml::Node<'_, '_>, problems: &mut Problems) -> Option<Coord<f64>> {
        let number = |key| point.attribute(key).and_then(|text| text.trim().parse::<f64>().ok());
        let found = number("D").zip(number("C")).map(|(x, y)| Coord { x, y });
        if found.is_none() {
            problems.warning(
                &self.place,
                "a point has no latitude and longitude; the shape it belongs to was left out.",
                "Export it with the points inside the file, not in a binary file beside it.",
            );
        }
        found
    }
}
