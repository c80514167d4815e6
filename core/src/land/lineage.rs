//! Splitting and merging fields from a harvest year on.

use std::sync::Arc;

use geo::{BooleanOps as _, Coord, Distance as _, Euclidean, LineString, MultiPolygon, Point, unary_union};

use crate::crs::LocalPlane;
use crate::geometry;
use crate::land::cut::{CutError, cut};
use crate::model::{Field, FieldId, Gate, GateId, NoGo, NoGoId, Record, Records, Tramlines, TramlinesId};
use crate::project::{Command, Edit};

/// Gaps between neighbouring fields up to twice this are closed when they are merged, m: boundaries drawn one by one seldom meet.
const CLOSE_M: f64 = 3.0;

/// Why land cannot be split or merged.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LandError {
    /// A field is missing.
    #[error("there is no such field any more")]
    NoField,
    /// The line does not cut.
    #[error("{0}")]
    Cut(#[from] CutError),
    /// Fewer than two fields.
    #[error("choose two fields or more to merge them")]
    TooFew,
    /// Fields of different farms.
    #[error("{0} and {1} belong to different farms; only fields of one farm are merged")]
    Farms(String, String),
    /// Fields that do not touch.
    #[error("{0} does not touch the others; only neighbouring fields are merged")]
    Apart(String),
}

/// Splits a field along a line in degrees from a harvest year on. The parts are called "NAME A", "NAME B" by size; each says that
/// it came from the field. Gates go to the part they open into; no-go areas and tramlines are those of the whole.
pub fn split(records: &Records, field: FieldId, line: &LineString<f64>, year: i32) -> Result<Command, LandError> {
    let whole = records.fields.get(&field).ok_or(LandError::NoField)?;
    let plane = plane_of(whole)?;
    let parts = cut(&plane.to_metres(&whole.boundary), &plane.to_metres(line))?;
    let mut edit = Edit::new(records, format!("Split {}", whole.name));
    end(&mut edit, whole, year);
    let names = free_names(records, whole, parts.len(), year);
    let made: Vec<Field> = parts
        .into_iter()
        .zip(names)
        .map(|(part, name)| follower(whole, name, plane.to_degrees(&MultiPolygon(vec![part])), vec![whole.id], year))
        .collect();
    for gate in records.gates_of(field) {
        if let Some(part) = nearest(&plane, &made, gate.position) {
            edit.put(Record::Gate(Gate { id: GateId::new(), field: part.id, ..(**gate).clone() }));
        }
    }
    for part in &made {
        carry(&mut edit, records, field, part);
        edit.put(Record::Field(part.clone()));
    }
    Ok(edit.done())
}

/// Merges neighbouring fields of one farm from a harvest year on. The new field takes the name of the largest, and says which ones it
/// came from. Gates, no-go areas and tramlines come along; each set of tramlines stays within the land it was laid on.
pub fn merge(records: &Records, fields: &[FieldId], year: i32) -> Result<Command, LandError> {
    let mut list: Vec<&Arc<Field>> = fields.iter().filter_map(|id| records.fields.get(id)).collect();
    list.sort_by(|a, b| b.area_m2().total_cmp(&a.area_m2()));
    let [largest, others @ ..] = list.as_slice() else { return Err(LandError::TooFew) };
    if others.is_empty() {
        return Err(LandError::TooFew);
    }
    if let Some(other) = others.iter().find(|other| other.farm != largest.farm) {
        return Err(LandError::Farms(largest.name.clone(), other.name.clone()));
    }
    let plane = plane_of(largest)?;
    let shapes: Vec<MultiPolygon<f64>> = list.iter().map(|field| plane.to_metres(&field.boundary)).collect();
    if let Some(apart) = not_reached(&shapes).and_then(|at| list.get(at)) {
        return Err(LandError::Apart(apart.name.clone()));
    }
    let merged = closed(&shapes);
    let names: Vec<_> = list.iter().map(|field| field.name.as_str()).collect();
    let mut edit = Edit::new(records, format!("Merge {}", names.join(" and ")));
    let came_from = list.iter().map(|field| field.id).collect();
    let made = follower(largest, largest.name.clone(), plane.to_degrees(&merged), came_from, year);
    for field in &list {
        end(&mut edit, field, year);
        for gate in records.gates_of(field.id) {
            edit.put(Record::Gate(Gate { id: GateId::new(), field: made.id, ..(**gate).clone() }));
        }
        for area in records.no_go_of(field.id) {
            edit.put(Record::NoGo(NoGo { id: NoGoId::new(), field: made.id, ..(**area).clone() }));
        }
        for lines in records.tramlines_of(field.id) {
            let area = lines.area.clone().unwrap_or_else(|| field.boundary.clone());
            let area = Some(area);
            edit.put(Record::Tramlines(Tramlines { id: TramlinesId::new(), field: made.id, area, ..(**lines).clone() }));
        }
    }
    edit.put(Record::Field(made));
    Ok(edit.done())
}

fn plane_of(field: &Field) -> Result<LocalPlane, LandError> {
    let bounds = geometry::bounds(&field.boundary).ok_or(LandError::NoField)?;
    LocalPlane::around(bounds).map_err(|_no_degrees| LandError::NoField)
}

/// The field ends with the harvest before.
fn end(edit: &mut Edit<'_>, field: &Field, year: i32) {
    edit.put(Record::Field(Field { until_year: Some(year - 1), ..field.clone() }));
}

fn follower(of: &Field, name: String, boundary: MultiPolygon<f64>, came_from: Vec<FieldId>, year: i32) -> Field {
    Field { from_year: Some(year), until_year: of.until_year, came_from, ..Field::new(of.farm, name, boundary) }
}

/// "NAME A", "NAME B", past letters that other fields of the farm have already.
fn free_names(records: &Records, whole: &Field, wanted: usize, year: i32) -> Vec<String> {
    let taken = |name: &str| {
        records.fields_named(name, Some(year)).iter().any(|field| field.farm == whole.farm && field.id != whole.id)
    };
    let letters = ('A'..='Z').map(|letter| format!("{} {letter}", whole.name));
    let numbers = (1..).map(|number| format!("{} part {number}", whole.name));
    letters.chain(numbers).filter(|name| !taken(name)).take(wanted).collect()
}

/// The part whose edge lies nearest to a place.
fn nearest<'a>(plane: &LocalPlane, parts: &'a [Field], at: Coord<f64>) -> Option<&'a Field> {
    let at = Point(plane.metres(at));
    let away = |part: &Field| Euclidean.distance(&plane.to_metres(&part.boundary), &at);
    parts.iter().min_by(|a, b| away(a).total_cmp(&away(b)))
}

/// No-go areas that reach into a part, and all tramlines: where they lie does not depend on the boundary.
fn carry(edit: &mut Edit<'_>, records: &Records, from: FieldId, part: &Field) {
    for area in records.no_go_of(from) {
        let inside = area.area.intersection(&part.boundary);
        if !inside.0.is_empty() {
            edit.put(Record::NoGo(NoGo { id: NoGoId::new(), field: part.id, area: inside, ..(**area).clone() }));
        }
    }
    for lines in records.tramlines_of(from) {
        edit.put(Record::Tramlines(Tramlines { id: TramlinesId::new(), field: part.id, ..(**lines).clone() }));
    }
}

/// The index of a shape that cannot be reached from the first over gaps that are closed.
fn not_reached(shapes: &[MultiPolygon<f64>]) -> Option<usize> {
    let mut reached = vec![false; shapes.len()];
    let mut waiting = vec![0];
    while let Some(at) = waiting.pop() {
        if std::mem::replace(&mut reached[at], true) {
            continue;
        }
        let near = |other: &usize| Euclidean.distance(&shapes[at], &shapes[*other]) <= 2.0 * CLOSE_M;
        waiting.extend((0..shapes.len()).filter(|other| !reached[*other]).filter(near));
    }
    reached.iter().position(|reached| !reached)
}

/// The union, with narrow gaps between the shapes closed: grown and shrunk again, then joined with what was there.
fn closed(shapes: &[MultiPolygon<f64>]) -> MultiPolygon<f64> {
    use geo::Buffer as _;
    let union = unary_union(shapes.iter().flat_map(MultiPolygon::iter));
    if union.0.len() <= 1 {
        return union;
    }
    // Mitred corners come back to where they were.
    let style =
        |by: f64| geo::algorithm::buffer::BufferStyle::new(by).line_join(geo::algorithm::buffer::LineJoin::Miter(4.0));
    let grown = union.buffer_with_style(style(CLOSE_M));
    grown.buffer_with_style(style(-CLOSE_M)).union(&union)
}
