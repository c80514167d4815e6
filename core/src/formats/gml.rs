//! GML 2 and 3 (OGC 02-069, 07-036) as land registers hand it out: every feature a row, every kind of feature a layer.
//!
//! The order of the axes follows the name of the system (OGC 09-048r5 and common practice): a URN or an address of the
//! naming authority means the authority's own order (for EPSG:4326 latitude first); the short form "EPSG:4326" and the
//! old address ending in "epsg.xml#4326" mean x first. Arcs become chords; other curves are named and left out.

use std::collections::BTreeMap;

use crate::crs::Crs;
use crate::formats::columns::Growing;
use crate::formats::gml_shape::{self, Axes};
use crate::formats::layers::{Layer, choose};
use crate::formats::{Cell, Reading, Table, xml};
use crate::problem::Problems;

/// Reads a file's bytes.
pub(super) fn read(place: &str, bytes: &[u8], ask: Reading<'_>, problems: &mut Problems) -> Option<Table> {
    choose(place, layers(place, bytes, problems)?, ask, problems)
}

/// Its layers.
pub(super) fn layers(place: &str, bytes: &[u8], problems: &mut Problems) -> Option<Vec<Layer>> {
    let text = xml::text_of(bytes);
    let document = xml::document(place, &text, problems)?;
    let mut names: Vec<&str> = Vec::new();
    let mut kinds: BTreeMap<&str, Kind> = BTreeMap::new();
    let mut systems = Systems::default();
    let default = document.descendants().find_map(|node| node.attribute("srsName"));
    for feature in features(document.root_element()) {
        let name = feature.tag_name().name();
        let kind = kinds.entry(name).or_insert_with(|| {
            names.push(name);
            Kind::default()
        });
        let number = kind.growing.len() + 1;
        let row = format!("{place}, row {number}");
        let mut shape = None;
        if let Some(found) = geometry(feature) {
            match systems.of(found, default) {
                Err(why) => problems.error(&row, why, "Export it in a system with an EPSG number."),
                Ok((crs, axes)) => match (&kind.crs, crs) {
                    (Some(held), Some(crs)) if *held != crs => {
                        let what =
                            format!("it is in {}, the rows before in {}; it was left out.", crs.label(), held.label());
                        problems.warning(&row, what, "Export all in one coordinate system.");
                    }
                    (_, crs) => {
                        if let Some(crs) = crs {
                            kind.crs = Some(crs);
                        }
                        match gml_shape::shape(found, axes) {
                            Ok(read) => shape = Some(read),
                            Err(why) => problems.warning(
                                &row,
                                format!("its shape cannot be read ({why}); it was left out."),
                                "Mend it, or export it again with straight edges.",
                            ),
                        }
                    }
                },
            }
        }
        kind.growing.push(number, shape, attributes(feature));
    }
    if names.is_empty() {
        problems.error(
            place,
            "it is XML, but no features were found in it.",
            "Give GML, KML, GPX or ISO 11783-10 task data.",
        );
        return None;
    }
    let made = names.into_iter().filter_map(|name| {
        let kind = kinds.remove(name)?;
        Some(Layer { name: name.to_owned(), table: kind.growing.table(place, kind.crs) })
    });
    Some(made.collect())
}

#[derive(Default)]
struct Kind {
    growing: Growing,
    crs: Option<Crs>,
}

/// The features: what stands in the members of a collection, at whatever depth the first of them is found.
fn features<'a, 'd>(root: xml::Node<'a, 'd>) -> Vec<xml::Node<'a, 'd>> {
    let one = ["featureMember", "member", "cityObjectMember"];
    let is_member =
        |node: &xml::Node<'_, '_>| one.contains(&node.tag_name().name()) || node.tag_name().name() == "featureMembers";
    let within_geometry = |node: &xml::Node<'_, '_>| node.ancestors().skip(1).any(|around| is_shape(&around));
    let nested = |node: &xml::Node<'_, '_>| node.ancestors().skip(1).any(|around| is_member(&around));
    let members = root.descendants().filter(|node| node.is_element() && is_member(node) && !within_geometry(node));
    let found: Vec<_> = members.filter(|node| !nested(node) || holds_collection(node)).flat_map(xml::elements).collect();
    found.into_iter().filter(|feature| !is_collection(feature)).collect()
}

fn is_collection(node: &xml::Node<'_, '_>) -> bool {
    let name = node.tag_name().name();
    name == "FeatureCollection" || name == "SimpleFeatureCollection"
}

/// Whether a member lies in a collection that is itself a member.
fn holds_collection(node: &xml::Node<'_, '_>) -> bool {
    node.parent_element().is_some_and(|parent| is_collection(&parent))
}

const SHAPES: [&str; 17] = [
    "Polygon",
    "Surface",
    "MultiPolygon",
    "MultiSurface",
    "CompositeSurface",
    "PolyhedralSurface",
    "LineString",
    "Curve",
    "MultiLineString",
    "MultiCurve",
    "CompositeCurve",
    "OrientableCurve",
    "LinearRing",
    "Point",
    "MultiPoint",
    "MultiGeometry",
    "GeometryCollection",
];

fn is_shape(node: &xml::Node<'_, '_>) -> bool {
    node.is_element() && SHAPES.contains(&node.tag_name().name())
}

/// The geometry of a feature: of several the first with an area, or else the first line, or else the first.
fn geometry<'a, 'd>(feature: xml::Node<'a, 'd>) -> Option<xml::Node<'a, 'd>> {
    let topmost =
        |node: &xml::Node<'a, 'd>| !node.ancestors().skip(1).take_while(|around| *around != feature).any(|a| is_shape(&a));
    let all: Vec<_> = feature.descendants().skip(1).filter(is_shape).filter(topmost).collect();
    let rank = |node: &xml::Node<'_, '_>| {
        let name = node.tag_name().name();
        if name.contains("Surface") || name.contains("Polygon") || name.starts_with("MultiGeom") {
            0
        } else {
            1 + usize::from(name.ends_with("Point"))
        }
    };
    all.into_iter().min_by_key(rank)
}

/// Systems by their names in the file, each looked up once.
#[derive(Default)]
struct Systems {
    known: BTreeMap<String, Result<(Crs, bool), String>>,
}

impl Systems {
    /// The system of a geometry, if any is named, and how its numbers stand.
    fn of(&mut self, node: xml::Node<'_, '_>, default: Option<&str>) -> Result<(Option<Crs>, Axes), String> {
        let around = node.ancestors().find_map(|node| node.attribute("srsName"));
        let inside = || node.descendants().find_map(|node| node.attribute("srsName"));
        let Some(name) = around.or_else(inside).or(default) else {
            return Ok((None, Axes { north_first: false }));
        };
        let found = self.known.entry(name.to_owned()).or_insert_with(|| system(name));
        found.clone().map(|(crs, north_first)| (Some(crs), Axes { north_first }))
    }
}

/// The system of a name, and whether its numbers begin with the northing or latitude.
fn system(name: &str) -> Result<(Crs, bool), String> {
    let plain = name.trim();
    let last = plain.rsplit([':', '/', '#']).next().unwrap_or_default();
    if let Some(crs) = german_survey(last) {
        return Ok((crs, false));
    }
    let crs = Crs::from_name(plain).ok_or_else(|| format!("the coordinate system “{plain}” is not known."))?;
    let lower = plain.to_ascii_lowercase();
    let authority_order = lower.starts_with("urn:") || lower.contains("/def/crs/");
    // CRS84 is longitude first under any name.
    let of_epsg = !lower.contains("crs84");
    let code = match &crs {
        Crs::Wgs84 if of_epsg => Some(4326),
        Crs::Epsg(code) => Some(*code),
        _ => None,
    };
    let north_first = match code.filter(|_| authority_order) {
        Some(code) => Crs::north_first(code).map_err(|error| format!("{error}."))?,
        None => false,
    };
    Ok((crs, north_first))
}

/// The names of the German surveys: "ETRS89_UTM32" is EPSG:25832, "DE_DHDN_3GK3" EPSG:31467 (GeoInfoDok 6, from memory);
/// easting first.
fn german_survey(name: &str) -> Option<Crs> {
    let zone = |prefix: &str| name.strip_prefix(prefix)?.get(..2)?.parse::<u32>().ok();
    if let Some(zone @ 28..=38) = zone("ETRS89_UTM") {
        return Some(Crs::from_epsg(25800 + zone));
    }
    let zone = name.strip_prefix("DE_DHDN_3GK")?.get(..1)?.parse::<u32>().ok()?;
    (2..=5).contains(&zone).then(|| Crs::from_epsg(31464 + zone))
}

/// Texts and numbers of a feature, at whatever depth, but not of its geometry.
fn attributes(feature: xml::Node<'_, '_>) -> Vec<(String, Cell)> {
    let mut list = Vec::new();
    if let Some(id) = feature.attributes().find(|attribute| matches!(attribute.name(), "id" | "fid")) {
        list.push(("gml_id".to_owned(), Cell::text(id.value())));
    }
    let mut waiting: Vec<xml::Node<'_, '_>> = xml::elements(feature).collect();
    waiting.reverse();
    while let Some(node) = waiting.pop() {
        if is_shape(&node) || node.tag_name().name() == "boundedBy" {
            continue;
        }
        let inside: Vec<_> = xml::elements(node).collect();
        if inside.is_empty() {
            let text = xml::text(node);
            let link = || node.attributes().find(|attribute| attribute.name() == "href").map(|a| a.value().to_owned());
            let value = if text.is_empty() { link().unwrap_or_default() } else { text };
            list.push((node.tag_name().name().to_owned(), Cell::text(&value).number_if_plain()));
        } else {
            waiting.extend(inside.into_iter().rev());
        }
    }
    list
}
