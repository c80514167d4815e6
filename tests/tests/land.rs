//! Fields split and merged: areas against shapely, and what becomes of history, gates, no-go areas and tramlines.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use awn_core::crs::LocalPlane;
use awn_core::land::{CutError, Ground, LandError, change_ground, cut, merge, split};
use awn_core::model::{Field, FieldId, NoGo, NoGoId, Record, Records, Sample};
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::{geometry, stops};
use awn_tests::random_field::RandomField;
use geo::{Contains as _, Coord, LineString, MultiPolygon, Point, Polygon};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::json;

const YEAR: i32 = 2027;

fn wkt(rings: &[&LineString<f64>], word: &str) -> String {
    let ring = |ring: &LineString<f64>| {
        let corners: Vec<_> = ring.coords().map(|c| format!("{:?} {:?}", c.x, c.y)).collect();
        format!("({})", corners.join(", "))
    };
    let rings: Vec<_> = rings.iter().map(|line| ring(line)).collect();
    if word == "LINESTRING" { format!("LINESTRING {}", rings.join("")) } else { format!("POLYGON ({})", rings.join(", ")) }
}

fn polygon_wkt(polygon: &Polygon<f64>) -> String {
    let rings: Vec<_> = std::iter::once(polygon.exterior()).chain(polygon.interiors()).collect();
    wkt(&rings, "POLYGON")
}

fn plane_of(field: &Field) -> LocalPlane {
    LocalPlane::around(geometry::bounds(&field.boundary).unwrap()).unwrap()
}

#[test]
fn parts_are_those_of_shapely() {
    let mut cases = Vec::new();
    let mut ours = Vec::new();
    for number in 0..40 {
        let made = RandomField::numbered(number);
        let field = made.records.fields[&made.field].clone();
        let plane = plane_of(&field);
        let shape = plane.to_metres(&field.boundary);
        let mut random = ChaCha8Rng::seed_from_u64(number);
        // A bent line right across, by way of a place inside.
        let turn = random.random_range(0.0..std::f64::consts::PI);
        let bend = random.random_range(-0.4..0.4);
        let far = |angle: f64| Coord { x: angle.cos() * 3000.0, y: angle.sin() * 3000.0 };
        let middle = plane.metres(geometry::label_point(&field.boundary).unwrap());
        let line = LineString(vec![middle + far(turn), middle, middle - far(turn + bend)]);
        let parts = cut(&shape, &line).unwrap();
        ours.push(parts.iter().map(geo::Area::unsigned_area).collect::<Vec<_>>());
        cases.push(json!({ "shape": polygon_wkt(&shape.0[0]), "line": wkt(&[&line], "LINESTRING") }));
    }
    let theirs = awn_tests::reference::run("split", &json!({ "split": cases, "union": [] }));
    for (number, ours) in ours.iter().enumerate() {
        let theirs: Vec<f64> = serde_json::from_value(theirs["split"][number].clone()).unwrap();
        // Slivers under 50 m2 are slips of the hand here.
        let theirs: Vec<f64> = theirs.into_iter().filter(|area| *area >= 50.0).collect();
        assert_eq!(ours.len(), theirs.len(), "field {number}: {ours:?} for {theirs:?}");
        for (our, their) in ours.iter().zip(&theirs) {
            // The overlay library counts on a grid of about 2^-30 of the extent, with the ends of the cut far outside: a tenth of a
            // millimetre on the ground, along a cut of up to a kilometre.
            assert!((our - their).abs() < 0.1, "field {number}: {ours:?} for {theirs:?}");
        }
    }
}

/// A field with a plan, a sample and a no-go area.
fn known() -> (Project, FieldId) {
    let made = RandomField::numbered(7);
    let mut project = Project::in_memory();
    let mut edit = awn_core::project::Edit::new(project.records(), "Begin");
    for record in made.records.iter() {
        edit.put(record);
    }
    let sample = Sample::new("S-1", made.field, 2026);
    edit.put(Record::Sample(sample));
    let command = edit.done();
    project.apply(command).unwrap();
    (project, made.field)
}

fn across(field: &Field) -> LineString<f64> {
    let bounds = geometry::bounds(&field.boundary).unwrap();
    let middle = geometry::label_point(&field.boundary).unwrap();
    LineString(vec![Coord { x: middle.x, y: bounds.min().y }, Coord { x: middle.x, y: bounds.max().y }])
}

fn parts_in(records: &Records, of: FieldId) -> Vec<Field> {
    records.fields.values().filter(|field| field.came_from.contains(&of)).map(|field| (**field).clone()).collect()
}

#[test]
fn halves_take_up_where_the_whole_ended_and_merged_they_are_the_whole() {
    let (mut project, field) = known();
    let whole = project.records().fields[&field].clone();
    let gates = project.records().gates_of(field).count();
    let before = project.records().clone();
    project.apply(split(project.records(), field, &across(&whole), YEAR).unwrap()).unwrap();
    let parts = parts_in(project.records(), field);
    assert!(parts.len() >= 2);
    let area: f64 = parts.iter().map(Field::area_m2).sum();
    assert!((area - whole.area_m2()).abs() < 1.0);
    let records = project.records().clone();
    assert!(records.fields[&field].exists_in(YEAR - 1) && !records.fields[&field].exists_in(YEAR));
    assert_eq!(
        parts.iter().map(|part| records.gates_of(part.id).count()).sum::<usize>(),
        gates,
        "each gate opens into one part"
    );
    let anchors: Vec<_> = before.tramlines_of(field).map(|lines| (lines.anchor, lines.bearing_deg)).collect();
    for part in &parts {
        let here: Vec<_> = records.tramlines_of(part.id).map(|lines| (lines.anchor, lines.bearing_deg)).collect();
        assert_eq!(here, anchors, "tramlines stay where they are");
        assert!(part.name.starts_with(&whole.name) && part.name != whole.name);
    }
    assert_eq!(records.sample_coded("S-1").unwrap().field, field, "a sample stays with the land it came from");
    let ids: Vec<FieldId> = parts.iter().map(|part| part.id).collect();
    project.apply(merge(project.records(), &ids, YEAR + 1).unwrap()).unwrap();
    let merged = project.records().fields_in(YEAR + 1);
    assert_eq!(merged.len(), 1);
    assert!((merged[0].area_m2() - whole.area_m2()).abs() < 1.0);
    assert_eq!(project.records().gates_of(merged[0].id).count(), gates);
    // Both are taken back as they were.
    project.undo().unwrap();
    project.undo().unwrap();
    assert_eq!(*project.records(), before);
}

#[test]
fn what_cannot_be_split_or_merged_says_why() {
    let (project, field) = known();
    let records = project.records();
    let whole = records.fields[&field].clone();
    let beside = LineString(across(&whole).0.iter().map(|c| Coord { x: c.x + 0.2, y: c.y }).collect());
    assert_eq!(split(records, field, &beside, YEAR), Err(LandError::Cut(CutError::OnePiece)));
    assert_eq!(merge(records, &[field], YEAR), Err(LandError::TooFew));
    // A neighbour five kilometres off is none.
    let mut other =
        Field::new(whole.farm, "Far Piece", geo::MapCoords::map_coords(&whole.boundary, |c| Coord { x: c.x + 0.1, y: c.y }));
    let mut both = (**records).clone();
    both.put(Record::Field(other.clone()));
    let apart = merge(&both, &[field, other.id], YEAR);
    assert!(matches!(apart, Err(LandError::Apart(_))), "{apart:?}");
    // Of another farm it would not be merged if it touched.
    let farm = awn_core::model::Farm { id: awn_core::model::FarmId::new(), business: String::new(), name: "Other".into() };
    other.farm = farm.id;
    both.put(Record::Farm(farm));
    both.put(Record::Field(other.clone()));
    assert!(matches!(merge(&both, &[field, other.id], YEAR), Err(LandError::Farms(..))));
}

#[test]
fn neighbours_with_a_narrow_gap_are_joined() {
    let plane = LocalPlane::at(Coord { x: -0.4, y: 52.3 }).unwrap();
    let farm = awn_core::model::Farm { id: awn_core::model::FarmId::new(), business: String::new(), name: "Farm".into() };
    let strip = |from: f64, to: f64| {
        let ring: LineString<f64> = vec![(from, 0.0), (to, 0.0), (to, 200.0), (from, 200.0)].into();
        plane.to_degrees(&MultiPolygon(vec![Polygon::new(ring, vec![])]))
    };
    let mut records = Records::default();
    let west = Field::new(farm.id, "West", strip(0.0, 100.0));
    let east = Field::new(farm.id, "East", strip(104.0, 300.0));
    records.put(Record::Farm(farm));
    records.put(Record::Field(west.clone()));
    records.put(Record::Field(east.clone()));
    let mut after = records.clone();
    merge(&records, &[west.id, east.id], YEAR).unwrap().apply_to(&mut after).unwrap();
    let merged = &after.fields_in(YEAR)[0];
    assert_eq!(merged.name, "East", "named after the larger");
    assert_eq!(merged.boundary.0.len(), 1);
    // 300 m by 200 m, the gap of 4 m closed.
    assert!((merged.area_m2() - 60_000.0).abs() < 5.0, "{}", merged.area_m2());
}

#[test]
fn a_no_go_area_works_the_plan_out_again_in_the_same_step() {
    let (mut project, field) = known();
    let made = RandomField::numbered(7);
    let plan = stops::propose(project.records(), field, made.year, &project.records().settings.plan, &Quiet).unwrap();
    let mut edit = awn_core::project::Edit::new(project.records(), "Plan");
    edit.put(Record::Plan(plan.clone()));
    let command = edit.done();
    project.apply(command).unwrap();
    let plane = plane_of(&project.records().fields[&field].clone());
    let at = plane.metres(plan.stops[0].position);
    let square: LineString<f64> = [(-20.0, -20.0), (20.0, -20.0), (20.0, 20.0), (-20.0, 20.0)]
        .iter()
        .map(|(x, y)| at + Coord { x: *x, y: *y })
        .collect::<Vec<_>>()
        .into();
    let area = plane.to_degrees(&MultiPolygon(vec![Polygon::new(square, vec![])]));
    let area = NoGo { id: NoGoId::new(), field, reason: "trial plots".into(), area };
    let ground = Ground { name: "Add no-go area".into(), put: vec![Record::NoGo(area.clone())], remove: vec![] };
    let (command, said) = change_ground(project.records(), field, made.year, &ground);
    assert!(said.is_empty(), "{said:?}");
    assert_eq!(command.changes.len(), 2);
    project.apply(command).unwrap();
    let again = project.records().plan_of(field, made.year).unwrap().clone();
    assert_eq!(again.id, plan.id);
    assert_eq!(again.stops.len(), plan.stops.len());
    assert!(again.stops.iter().all(|stop| !area.area.contains(&Point(stop.position))));
    project.undo().unwrap();
    assert_eq!(**project.records().plan_of(field, made.year).unwrap(), plan);
}
