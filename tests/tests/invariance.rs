//! What must not change a plan: the unit of density, how the field lies to north and where on the globe, the order of the input,
//! and, as long as no stop lies near it, the gate (that one is in `stops.rs`).
//!
//! Positions are compared in metres of the field's own plane; they pass through degrees and back, which rounds them at about a
//! billionth of a metre.

#![allow(clippy::unwrap_used)] // helpers of tests stop where something is wrong

use awn_core::crs::LocalPlane;
use awn_core::model::{Field, Gate, Method, Plan, PlanSettings, Record, Records, ScoutPoint, Survey, Tramlines};
use awn_core::progress::Quiet;
use awn_core::stops;
use awn_core::walk::Site;
use awn_tests::random_field::RandomField;
use geo::{Coord, Distance as _, Euclidean, LineString, MapCoords as _, MultiPolygon, Polygon};
use rand::SeedableRng as _;
use rand::seq::SliceRandom as _;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Stops of the same plan lie no further apart than this, m.
const SAME_M: f64 = 1e-3;
/// Figures of the same plan differ by less: balance and shares as they are, distances by part.
const SAME: f64 = 1e-4;
/// Random fields looked at.
const FIELDS: u64 = 24;

fn turned(at: Coord<f64>, degrees: f64) -> Coord<f64> {
    // Clockwise, as bearings are counted.
    let (sin, cos) = degrees.to_radians().sin_cos();
    Coord { x: at.x * cos + at.y * sin, y: at.y * cos - at.x * sin }
}

/// A field turned clockwise about its centroid, carried to another place on the globe, its points in another order.
struct Moved {
    records: Records,
    plane: LocalPlane,
    degrees: f64,
}

impl Moved {
    fn of(land: &RandomField, degrees: f64, to: Coord<f64>, shuffle: Option<u64>) -> Self {
        let field = &*land.records.fields[&land.field];
        let from = Site::of(&land.records, field).unwrap().plane;
        let plane = LocalPlane::at(to).unwrap();
        let carried = |at: Coord<f64>| plane.degrees(turned(from.metres(at), degrees));
        let mut records = land.records.clone();
        records.put(Record::Field(Field { boundary: field.boundary.map_coords(carried), ..field.clone() }));
        for gate in land.records.gates.values() {
            records.put(Record::Gate(Gate { position: carried(gate.position), ..(**gate).clone() }));
        }
        for lines in land.records.tramlines.values() {
            let bearing_deg = lines.bearing_deg + degrees;
            records.put(Record::Tramlines(Tramlines { anchor: carried(lines.anchor), bearing_deg, ..(**lines).clone() }));
        }
        for survey in land.records.surveys.values() {
            let moved = |point: &ScoutPoint| ScoutPoint { position: carried(point.position), ..point.clone() };
            let mut points: Vec<ScoutPoint> = survey.points.iter().map(moved).collect();
            if let Some(seed) = shuffle {
                points.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
            }
            records.put(Record::Survey(Survey { points, ..(**survey).clone() }));
        }
        Self { records, plane, degrees }
    }

    /// Where the stops of a plan of the moved field lie in the field as it was, m.
    fn back(&self, plan: &Plan) -> Vec<Coord<f64>> {
        plan.stops.iter().map(|stop| turned(self.plane.metres(stop.position), -self.degrees)).collect()
    }
}

fn settings(stops: usize, method: Method) -> PlanSettings {
    PlanSettings { stops, method, ..PlanSettings::default() }
}

fn propose(land: &RandomField, records: &Records, settings: &PlanSettings) -> Plan {
    stops::propose(records, land.field, land.year, settings, &Quiet).unwrap()
}

/// The largest distance from a place of one list to the nearest of another, m; infinite if they are not as many.
fn apart(one: &[Coord<f64>], other: &[Coord<f64>]) -> f64 {
    if one.len() != other.len() {
        return f64::INFINITY;
    }
    let nearest = |a: &Coord<f64>| other.iter().map(|b| Euclidean.distance(*a, *b)).fold(f64::INFINITY, f64::min);
    one.iter().map(nearest).fold(0.0, f64::max)
}

/// How far the stops of a moved field lie from those of the field, and by what its figures differ.
fn difference(land: &RandomField, moved: &Moved, settings: &PlanSettings) -> (f64, f64) {
    let plan = propose(land, &land.records, settings);
    let plane = Site::of(&land.records, &land.records.fields[&land.field]).unwrap().plane;
    let own: Vec<Coord<f64>> = plan.stops.iter().map(|stop| plane.metres(stop.position)).collect();
    let other = propose(land, &moved.records, settings);
    let (a, b) = (&plan.figures, &other.figures);
    let figures = [
        a.balance - b.balance,
        a.weighted_distance_m / b.weighted_distance_m - 1.0,
        a.population_within_25_m - b.population_within_25_m,
        plan.walk.length_m / other.walk.length_m - 1.0,
    ];
    (apart(&own, &moved.back(&other)), figures.into_iter().map(f64::abs).fold(0.0, f64::max))
}

/// Where the centroid of a field lies, degrees.
fn centre(land: &RandomField) -> Coord<f64> {
    Site::of(&land.records, &land.records.fields[&land.field]).unwrap().plane.centre()
}

/// Fields for which moving changes where the stops lie or what the figures say: number, metres, difference.
fn changed(moved: impl Fn(&RandomField) -> Moved + Sync, settings: &PlanSettings) -> Vec<(u64, f64, f64)> {
    let differing = |number: u64| {
        let land = RandomField::numbered(number);
        let (apart, figures) = difference(&land, &moved(&land), settings);
        (number, apart, figures)
    };
    (0..FIELDS).into_par_iter().map(differing).filter(|(_, apart, figures)| *apart > SAME_M || *figures > SAME).collect()
}

/// A field carried a way, turned, in both ways of choosing that look at density.
fn stays_the_same(degrees: f64, by: Coord<f64>, shuffle: Option<u64>) {
    for method in [Method::EvenCover, Method::RandomDraw] {
        let moved = |land: &RandomField| Moved::of(land, degrees, centre(land) + by, shuffle);
        let off = changed(moved, &settings(8, method));
        assert!(off.is_empty(), "{method:?}: {off:?}");
    }
}

#[test]
fn a_turned_field_gets_the_same_plan() {
    for degrees in [37.3, 90.0, 180.0] {
        stays_the_same(degrees, Coord { x: 0.0, y: 0.0 }, None);
    }
}

#[test]
fn a_field_elsewhere_gets_the_same_plan() {
    // A hundredth of a micrometre, and to another county.
    stays_the_same(0.0, Coord { x: 1e-13, y: 0.0 }, None);
    stays_the_same(0.0, Coord { x: 2.7, y: 1.1 }, None);
}

#[test]
fn the_order_of_points_changes_nothing() {
    stays_the_same(0.0, Coord { x: 0.0, y: 0.0 }, Some(3));
}

#[test]
fn ten_times_as_dense_is_the_same_plan() {
    for method in [Method::EvenCover, Method::RandomDraw] {
        let moved = |land: &RandomField| {
            let mut moved = Moved::of(land, 0.0, centre(land), None);
            let surveys: Vec<Survey> = moved.records.surveys.values().map(|survey| (**survey).clone()).collect();
            for survey in surveys {
                let points = survey.points.iter().map(|point| ScoutPoint { value: 10.0 * point.value, ..point.clone() });
                moved.records.put(Record::Survey(Survey { points: points.collect(), ..survey }));
            }
            moved
        };
        let off = changed(moved, &settings(8, method));
        assert!(off.is_empty(), "{method:?}: {off:?}");
    }
}

/// A rectangle of whole metres without scouting has as many ties as a field can have: sides of equal length, a centroid in the
/// middle of its bounds, cells midway between stops, the same pull everywhere. Only the figures are compared there: mirrored plans
/// are as good.
#[test]
fn a_bare_rectangle_gets_as_good_a_plan_however_it_lies() {
    let mut land = RandomField::numbered(0);
    land.records.surveys.clear();
    let plane = LocalPlane::at(Coord { x: -0.4, y: 52.6 }).unwrap();
    let corners = [(-200.0, -120.0), (200.0, -120.0), (200.0, 120.0), (-200.0, 120.0), (-200.0, -120.0)];
    let ring: LineString<f64> = corners.map(|(x, y)| plane.degrees(Coord { x, y })).to_vec().into();
    let field = (*land.records.fields[&land.field]).clone();
    land.records.put(Record::Field(Field { boundary: MultiPolygon(vec![Polygon::new(ring, vec![])]), ..field }));
    let gate = (**land.records.gates.values().next().unwrap()).clone();
    land.records.put(Record::Gate(Gate { position: plane.degrees(Coord { x: -200.0, y: -120.0 }), ..gate }));
    let lines = (**land.records.tramlines.values().next().unwrap()).clone();
    let anchor = plane.degrees(Coord { x: -188.0, y: 0.0 });
    land.records.put(Record::Tramlines(Tramlines { anchor, bearing_deg: 0.0, spacing_m: 24.0, headland_m: 24.0, ..lines }));
    for degrees in [0.0, 37.3, 90.0, 180.0, 271.0] {
        let moved = Moved::of(&land, degrees, centre(&land) + Coord { x: 1e-9, y: 0.0 }, None);
        let (apart, figures) = difference(&land, &moved, &settings(8, Method::EvenCover));
        println!("turned by {degrees}: stops {apart:.2e} m apart, figures {figures:.2e}");
        assert!(figures < SAME, "turned by {degrees}: {figures}");
    }
}
