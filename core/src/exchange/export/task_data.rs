//! Task data of ISO 11783-10 (TASKDATA.XML) with the fields of a harvest year: partfields with boundary, areas not to be entered,
//! field access and guidance lines, and the farms, businesses and crops they name. WGS 84.
//!
//! The text of the standard was not at hand. From public code that reads and writes such files: the elements, the types of PLN
//! (1 boundary, 6 obstacle) and of LSG (1 exterior, 2 interior, 3 tramline, 5 guidance pattern). From memory: the types of PNT
//! (2 other, 3 field access, 6 and 7 first and second point of a guidance line), those of GPN (1 a straight line through two
//! points), 32 letters at most for a designator, whole square metres for areas and whole millimetres for widths.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Coord, LineString, MultiPolygon, Orient as _};

use crate::crs::LocalPlane;
use crate::exchange::export::kml::escaped;
use crate::model::{Field, Records, Tramlines};

/// Letters of a designator.
const LONGEST: usize = 32;
/// Length of a guidance line, m: any length says the same.
const LINE_M: f64 = 200.0;

/// The file's bytes.
pub(super) fn write(records: &Records, year: i32) -> Vec<u8> {
    let fields = records.fields_in(year);
    let mut ids = Ids::default();
    let mut body = String::new();
    for field in &fields {
        let farm = records.farms.get(&field.farm);
        let business = farm.map(|farm| farm.business.as_str()).filter(|name| !name.trim().is_empty());
        let customer = business.map(|name| ids.of("CTR", name, ""));
        let farm = farm.map(|farm| {
            let of = customer.as_ref().map(|id| format!(" I=\"{id}\"")).unwrap_or_default();
            ids.of("FRM", &farm.name, &of)
        });
        let crop = records.crops.values().find(|crop| crop.field == field.id && crop.year == year);
        let crop = crop.map(|crop| ids.of("CTP", &crop.crop, ""));
        body += &partfield(records, field, &mut ids, &[("E", customer), ("F", farm), ("G", crop)]);
    }
    let heads: String = ["CTR", "FRM", "CTP"].iter().map(|kind| ids.heads(kind)).collect();
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<ISO11783_TaskData VersionMajor=\"4\" VersionMinor=\"3\" \
         ManagementSoftwareManufacturer=\"Awn\" ManagementSoftwareVersion=\"{}\" DataTransferOrigin=\"1\">\n{heads}{body}</ISO11783_TaskData>\n",
        env!("CARGO_PKG_VERSION")
    )
    .into_bytes()
}

/// Identifiers such as FRM2, counted for each kind of element.
#[derive(Default)]
struct Ids {
    counts: BTreeMap<&'static str, usize>,
    /// Kind and name, with the identifier and what else the element says.
    known: BTreeMap<(&'static str, String), (String, String)>,
    /// Designators of partfields that were given.
    taken: BTreeSet<String>,
}

impl Ids {
    fn next(&mut self, kind: &'static str) -> String {
        let count = self.counts.entry(kind).or_default();
        *count += 1;
        format!("{kind}{count}")
    }

    /// The identifier of a name, made when it is first met.
    fn of(&mut self, kind: &'static str, name: &str, more: &str) -> String {
        let key = (kind, name.trim().to_owned());
        if let Some((id, _)) = self.known.get(&key) {
            return id.clone();
        }
        let id = self.next(kind);
        self.known.insert(key, (id.clone(), more.to_owned()));
        id
    }

    fn heads(&self, wanted: &str) -> String {
        let mut list: Vec<_> = self.known.iter().filter(|((kind, _), _)| *kind == wanted).collect();
        list.sort_by_key(|(_, (id, _))| (id.len(), id.clone()));
        let line = |((kind, name), (id, more)): &(&(&str, String), &(String, String))| {
            format!("<{kind} A=\"{id}\" B=\"{}\"{more}/>\n", designator(name))
        };
        list.iter().map(line).collect()
    }

    /// A designator that no other partfield has, although both may be cut.
    fn distinct(&mut self, name: &str) -> String {
        let mut given: String = name.trim().chars().take(LONGEST).collect();
        let mut number = 2;
        while !self.taken.insert(given.clone()) {
            let end = format!(" {number}");
            given = name.trim().chars().take(LONGEST - end.len()).collect::<String>() + &end;
            number += 1;
        }
        given
    }
}

fn designator(name: &str) -> String {
    escaped(&name.trim().chars().take(LONGEST).collect::<String>())
}

fn partfield(records: &Records, field: &Field, ids: &mut Ids, references: &[(&str, Option<String>); 3]) -> String {
    let references: String =
        references.iter().filter_map(|(key, id)| Some(format!(" {key}=\"{}\"", id.as_ref()?))).collect();
    // Farms may each have a field of one name; only those that are cut need to be told apart.
    let name = if field.name.trim().chars().count() > LONGEST { ids.distinct(&field.name) } else { field.name.clone() };
    let mut out = format!(
        "<PFD A=\"{}\" C=\"{}\" D=\"{:.0}\"{references}>\n{}",
        ids.next("PFD"),
        designator(&name),
        field.area_m2(),
        areas("1", None, &field.boundary)
    );
    for no_go in records.no_go_of(field.id) {
        out += &areas("6", Some(&no_go.reason), &no_go.area);
    }
    for set in records.tramlines_of(field.id) {
        for line in &set.lines {
            let points: String = line.0.iter().map(|at| point("2", None, *at)).collect();
            out += &format!("<LSG A=\"3\" C=\"{:.0}\">{points}</LSG>\n", set.spacing_m * 1000.0);
        }
    }
    for gate in records.gates_of(field.id) {
        out += &point("3", Some(&gate.name), gate.position);
        out.push('\n');
    }
    for set in records.tramlines_of(field.id).filter(|set| set.lines.is_empty()) {
        if let Some([a, b]) = ends(set) {
            out += &format!(
                "<GGP A=\"{}\" B=\"Tramlines\"><GPN A=\"{}\" B=\"Tramlines\" C=\"1\"><LSG A=\"5\" C=\"{:.0}\">{}{}</LSG></GPN></GGP>\n",
                ids.next("GGP"),
                ids.next("GPN"),
                set.spacing_m * 1000.0,
                point("6", None, a),
                point("7", None, b)
            );
        }
    }
    out + "</PFD>\n"
}

/// One PLN for each part.
fn areas(kind: &str, label: Option<&str>, shape: &MultiPolygon<f64>) -> String {
    let label = label.filter(|label| !label.trim().is_empty()).map(|label| format!(" B=\"{}\"", designator(label)));
    let label = label.unwrap_or_default();
    let ring = |kind: &str, ring: &LineString<f64>| {
        let points: String = ring.0.iter().map(|at| point("2", None, *at)).collect();
        format!("<LSG A=\"{kind}\">{points}</LSG>")
    };
    let part = |part: &geo::Polygon<f64>| {
        let holes: String = part.interiors().iter().map(|hole| ring("2", hole)).collect();
        format!("<PLN A=\"{kind}\"{label}>{}{holes}</PLN>\n", ring("1", part.exterior()))
    };
    shape.orient(geo::orient::Direction::Default).iter().map(part).collect()
}

/// Nine decimals of a degree are a tenth of a millimetre.
fn point(kind: &str, label: Option<&str>, at: Coord<f64>) -> String {
    let label = label.filter(|label| !label.trim().is_empty()).map(|label| format!(" B=\"{}\"", designator(label)));
    format!("<PNT A=\"{kind}\"{} C=\"{:.9}\" D=\"{:.9}\"/>", label.unwrap_or_default(), at.y, at.x)
}

/// Two points of the line through a set's anchor.
fn ends(set: &Tramlines) -> Option<[Coord<f64>; 2]> {
    let plane = LocalPlane::at(set.anchor).ok()?;
    let (sin, cos) = set.bearing_deg.to_radians().sin_cos();
    let along = Coord { x: LINE_M * sin, y: LINE_M * cos };
    Some([set.anchor, plane.degrees(plane.metres(set.anchor) + along)])
}
