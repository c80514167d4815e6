//! What drawn shapes become, and shapes with a corner changed: functions of records, each giving a change or a sentence why not.

use awn_core::crs::LocalPlane;
use awn_core::geometry;
use awn_core::land::{self, Ground, change_ground};
use awn_core::model::{Farm, FarmId, Field, FieldId, Record, Records, Tramlines, TramlinesId};
use awn_core::project::{Command, Edit};
use geo::{BooleanOps as _, Coord, Line, LineString, MultiPolygon, Polygon, Validation as _};

use crate::commands;
use crate::gui::jobs::kind::Change;
use crate::gui::logic::edits::USUAL_SPACING_M;
use crate::gui::view::tool::{Corner, Sketch, SketchOf};

/// A drawn shape smaller than this is a slip of the hand, m2.
const LEAST_AREA_M2: f64 = 4.0;

/// The change that a finished shape makes. A new field goes to the farm of the field `near`, or to the first farm.
pub fn finish(records: &Records, sketch: &Sketch, near: Option<FieldId>, year: i32) -> Result<Change, String> {
    match sketch.what {
        SketchOf::NoGo(field) => {
            let area = area_of(&sketch.corners)?;
            let held = records.fields.get(&field).ok_or("There is no such field any more.")?;
            let inside = area.intersection(&held.boundary);
            if inside.0.is_empty() {
                return Err(format!("The area lies outside {}; draw it inside the boundary.", held.name));
            }
            Ok(ground_change(records, field, year, &commands::add_no_go(records, field, inside)))
        }
        SketchOf::Tramlines(field) => {
            let lines = tramlines_through(records, field, &sketch.corners)?;
            Ok(ground_change(records, field, year, &commands::lay_tramlines(records, &lines, true)))
        }
        SketchOf::Split(field) => {
            let command = land::split(records, field, &LineString(sketch.corners.clone()), year)
                .map_err(|error| format!("Not split: {error}."))?;
            Ok(Change { choose: Some(new_fields(&command)), command, said: None })
        }
        SketchOf::Boundary => Ok(new_field(records, near, area_of(&sketch.corners)?)),
    }
}

/// The fields that a command adds.
pub fn new_fields(command: &Command) -> Vec<FieldId> {
    let added = command.changes.iter().filter(|change| change.before.is_none());
    added
        .filter_map(|change| match &change.after {
            Some(Record::Field(field)) => Some(field.id),
            _ => None,
        })
        .collect()
}

/// A change of a field's ground with the sentences that go with it.
pub fn ground_change(records: &Records, field: FieldId, year: i32, ground: &Ground) -> Change {
    let (command, said) = change_ground(records, field, year, ground);
    Change { command, said: (!said.is_empty()).then(|| said.join("\n")), choose: None }
}

fn area_of(corners: &[Coord<f64>]) -> Result<MultiPolygon<f64>, String> {
    let area = MultiPolygon(vec![Polygon::new(LineString(corners.to_vec()), vec![])]);
    if !area.is_valid() {
        return Err("The outline crosses itself; draw it without a loop.".to_owned());
    }
    if geometry::geodesic_area_m2(&area) < LEAST_AREA_M2 {
        return Err("The shape has no area; click corners that lie apart.".to_owned());
    }
    Ok(area)
}

fn tramlines_through(records: &Records, field: FieldId, places: &[Coord<f64>]) -> Result<Tramlines, String> {
    let [first, second, ..] = places else { return Err("Two places are needed.".to_owned()) };
    let plane = LocalPlane::at(*first).map_err(|error| error.to_string())?;
    let line = Line::new(plane.metres(*first), plane.metres(*second));
    if line.dx().hypot(line.dy()) < 1.0 {
        return Err("The two places lie on top of each other; click two places far apart on one tramline.".to_owned());
    }
    let before = records.tramlines_of(field).next();
    Ok(Tramlines {
        id: TramlinesId::new(),
        field,
        anchor: *first,
        bearing_deg: geometry::bearing_of(&line).rem_euclid(180.0),
        spacing_m: before.map_or(USUAL_SPACING_M, |lines| lines.spacing_m),
        headland_m: before.map_or(USUAL_SPACING_M, |lines| lines.headland_m),
        area: None,
        lines: Vec::new(),
    })
}

/// A new field with a name of its own, and a farm if there is none yet.
fn new_field(records: &Records, near: Option<FieldId>, boundary: MultiPolygon<f64>) -> Change {
    let names = (1..).map(|number| format!("New field {number}"));
    let name = names.into_iter().find(|name| records.fields_named(name, None).is_empty()).unwrap_or_default();
    let mut edit = Edit::new(records, format!("Draw {name}"));
    let beside = near.and_then(|field| records.fields.get(&field)).map(|field| field.farm);
    let farm = beside.or_else(|| records.farms.keys().next().copied()).unwrap_or_else(|| {
        let farm = Farm { id: FarmId::new(), business: String::new(), name: "Farm".to_owned() };
        let id = farm.id;
        edit.put(Record::Farm(farm));
        id
    });
    let field = Field::new(farm, name, boundary);
    let choose = Some(vec![field.id]);
    edit.put(Record::Field(field));
    Change { command: edit.done(), said: None, choose }
}

/// The place on a boundary nearest to a place, degrees.
pub fn on_edge(boundary: &MultiPolygon<f64>, at: Coord<f64>) -> Coord<f64> {
    use geo::{Closest, ClosestPoint as _, Point};
    let Ok(plane) = LocalPlane::at(at) else { return at };
    let rings = boundary.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
    let here = Point(plane.metres(at));
    let nearest = rings.filter_map(|ring| match plane.to_metres(ring).closest_point(&here) {
        Closest::Intersection(on) | Closest::SinglePoint(on) => Some(on.0),
        Closest::Indeterminate => None,
    });
    let away = |c: &Coord<f64>| (c.x - here.x()).hypot(c.y - here.y());
    nearest.min_by(|a, b| away(a).total_cmp(&away(b))).map_or(at, |on| plane.degrees(on))
}

/// The shape that a corner belongs to.
pub fn shape_of(records: &Records, field: FieldId, corner: Corner) -> Option<MultiPolygon<f64>> {
    match corner.no_go {
        Some(area) => records.no_go.get(&area).map(|area| area.area.clone()),
        None => records.fields.get(&field).map(|field| field.boundary.clone()),
    }
}

/// The shape with a corner elsewhere, with a new one, or (without a place) with one less. None: too few would be left.
pub fn shape_with(
    shape: &MultiPolygon<f64>,
    corner: Corner,
    new: bool,
    at: Option<Coord<f64>>,
) -> Option<MultiPolygon<f64>> {
    let mut shape = shape.clone();
    let part = shape.0.get_mut(corner.part)?;
    let mut changed = false;
    let mut change = |ring: &mut LineString<f64>| {
        // Without the closing corner.
        let mut open = ring.0.clone();
        open.pop();
        changed = match (at, new) {
            (Some(at), true) if corner.index < open.len() => {
                open.insert(corner.index + 1, at);
                true
            }
            (Some(at), false) if corner.index < open.len() => {
                open[corner.index] = at;
                true
            }
            (None, _) if open.len() > 3 && corner.index < open.len() => {
                open.remove(corner.index);
                true
            }
            _ => false,
        };
        if let Some(first) = open.first().copied() {
            open.push(first);
        }
        ring.0 = open;
    };
    if corner.ring == 0 {
        part.exterior_mut(&mut change);
    } else {
        part.interiors_mut(|rings| {
            if let Some(ring) = rings.get_mut(corner.ring - 1) {
                change(ring);
            }
        });
    }
    changed.then_some(shape)
}

/// The change that moves a corner, or adds one.
pub fn with_corner(records: &Records, field: FieldId, corner: Corner, new: bool, at: Coord<f64>) -> Result<Ground, String> {
    let shape = shape_of(records, field, corner).ok_or("There is no such shape any more.")?;
    let shape = shape_with(&shape, corner, new, Some(at)).ok_or("There is no such corner any more.")?;
    keep_shape(records, field, corner, shape)
}

/// The change that takes a corner away.
pub fn without_corner(records: &Records, field: FieldId, corner: Corner) -> Result<Ground, String> {
    let shape = shape_of(records, field, corner).ok_or("There is no such shape any more.")?;
    let shape =
        shape_with(&shape, corner, false, None).ok_or("Three corners are the fewest; remove the whole shape instead.")?;
    keep_shape(records, field, corner, shape)
}

fn keep_shape(records: &Records, field: FieldId, corner: Corner, shape: MultiPolygon<f64>) -> Result<Ground, String> {
    if !shape.is_valid() {
        return Err("The outline would cross itself; the corner went back to its place.".to_owned());
    }
    let missing = || "There is no such shape any more.".to_owned();
    match corner.no_go {
        None => commands::reshape(records, field, shape).ok_or_else(missing),
        Some(id) => {
            let held = records.no_go.get(&id).ok_or_else(missing)?;
            let name = records.fields.get(&field).map_or("", |field| field.name.as_str());
            let area = awn_core::model::NoGo { area: shape, ..(**held).clone() };
            let name = format!("Reshape no-go area of {name}");
            Ok(Ground { name, put: vec![Record::NoGo(area)], remove: vec![] })
        }
    }
}
