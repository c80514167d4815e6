//! The sample farm is sound: areas, valid rings, no overlaps, the same bytes each time, a story that holds together.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests: stopping with a sentence is the answer

use std::collections::{BTreeMap, BTreeSet};

use awn_core::crs::LocalPlane;
use awn_core::geometry::geodesic_area_m2;
use awn_core::model::{Farm, FarmId, Field, Record, Records, mode_of_action};
use awn_sample_farm::{BUSINESS, FARMS, SampleFile, extras, files};
use geo::{
    Area, BooleanOps, BoundingRect, Contains, Coord, Intersects, LineString, MultiPolygon, Point, Polygon, Validation,
};
use serde_json::Value;

fn ring(value: &Value) -> LineString<f64> {
    let number = |v: &Value| v.as_f64().unwrap();
    value.as_array().unwrap().iter().map(|p| (number(&p[0]), number(&p[1]))).collect::<Vec<_>>().into()
}

fn shape(geometry: &Value) -> MultiPolygon<f64> {
    assert_eq!(geometry["type"], "Polygon");
    let rings: Vec<_> = geometry["coordinates"].as_array().unwrap().iter().map(ring).collect();
    MultiPolygon(vec![Polygon::new(rings[0].clone(), rings[1..].to_vec())])
}

fn features(start: &str) -> Vec<Value> {
    let named = |file: &SampleFile| file.name.starts_with(start);
    let parse =
        |file: SampleFile| serde_json::from_slice::<Value>(&file.bytes).unwrap()["features"].as_array().unwrap().clone();
    files().into_iter().filter(named).flat_map(parse).collect()
}

fn fields() -> Vec<(String, String, MultiPolygon<f64>)> {
    let text = |v: &Value| v.as_str().unwrap().to_owned();
    let field = |f: &Value| (text(&f["properties"]["farm"]), text(&f["properties"]["name"]), shape(&f["geometry"]));
    features("boundaries").iter().map(field).collect()
}

fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let file = files().into_iter().find(|file| file.name == name).unwrap();
    let mut reader = csv::Reader::from_reader(file.bytes.as_slice());
    reader.deserialize().map(Result::unwrap).collect()
}

/// Records with the boundaries read in.
fn records() -> Records {
    let mut records = Records::default();
    for name in FARMS {
        let farm = Farm { id: FarmId::new(), business: String::new(), name: name.to_owned() };
        for (_, field, boundary) in fields().into_iter().filter(|field| field.0 == name) {
            records.put(Record::Field(Field::new(farm.id, field, boundary)));
        }
        records.put(Record::Farm(farm));
    }
    records
}

#[test]
fn forty_fields_on_nine_hundred_hectares() {
    let fields = fields();
    let total: f64 = fields.iter().map(|field| geodesic_area_m2(&field.2)).sum::<f64>() / 10_000.0;
    assert!((38..=42).contains(&fields.len()) && (850.0..=950.0).contains(&total), "{} fields, {total} ha", fields.len());
    for (_, name, shape) in &fields {
        let area = geodesic_area_m2(shape) / 10_000.0;
        assert!((6.0..=45.0).contains(&area), "{name}: {area} ha");
    }
    let names: BTreeSet<_> = fields.iter().map(|field| &field.1).collect();
    assert_eq!(names.len(), fields.len(), "every field has its own name");
    assert!(fields.iter().map(|field| field.2.0[0].interiors().len()).sum::<usize>() >= 3);
}

#[test]
fn shapes_are_valid_and_do_not_overlap_but_adjoin() {
    let fields = fields();
    let plane = LocalPlane::at(Coord { x: -0.2150, y: 52.3400 }).unwrap();
    let flat: Vec<_> = fields.iter().map(|field| plane.to_metres(&field.2)).collect();
    let mut neighbours = 0;
    for (i, one) in flat.iter().enumerate() {
        assert!(fields[i].2.is_valid(), "{}: {:?}", fields[i].1, fields[i].2.check_validation());
        for (j, other) in flat.iter().enumerate().skip(i + 1) {
            if one.bounding_rect().unwrap().intersects(&other.bounding_rect().unwrap()) {
                let overlap = one.intersection(other).unsigned_area();
                assert!(overlap < 1.0, "{} and {}: {overlap} m2", fields[i].1, fields[j].1);
            }
            let corners: BTreeSet<_> =
                fields[i].2.0[0].exterior().0.iter().map(|c| (c.x.to_bits(), c.y.to_bits())).collect();
            let shared = fields[j].2.0[0].exterior().0.iter().filter(|c| corners.contains(&(c.x.to_bits(), c.y.to_bits())));
            neighbours += usize::from(shared.count() >= 2);
        }
    }
    assert!(neighbours >= 20, "{neighbours} pairs of fields share a hedge");
}

#[test]
fn farms_lie_three_to_eight_kilometres_apart() {
    let plane = LocalPlane::at(Coord { x: -0.2150, y: 52.3400 }).unwrap();
    let middle = |farm: &str| {
        let places: Vec<_> =
            fields().iter().filter(|field| field.0 == farm).map(|f| plane.metres(f.2.0[0].exterior().0[0])).collect();
        places.iter().fold(Coord { x: 0.0, y: 0.0 }, |sum, place| sum + *place) / places.len() as f64
    };
    for (a, b) in [(0, 1), (0, 2), (1, 2)] {
        let apart = middle(FARMS[a]) - middle(FARMS[b]);
        let apart = apart.x.hypot(apart.y);
        assert!((3_000.0..=8_000.0).contains(&apart), "{a} {b}: {apart} m");
    }
}

#[test]
fn same_bytes_each_time() {
    let (one, other) = (files(), files());
    assert!(one.iter().zip(&other).all(|(a, b)| a.name == b.name && a.bytes == b.bytes) && one.len() == other.len());
}

#[test]
fn every_gate_is_nearest_to_its_own_field() {
    let fields = fields();
    for gate in table("gates.csv") {
        let at = Point::new(gate["lon"].parse().unwrap(), gate["lat"].parse().unwrap());
        let inside: Vec<_> = fields.iter().filter(|field| field.2.contains(&at)).map(|field| field.1.as_str()).collect();
        assert!(inside.len() == 1 && gate["name"].starts_with(inside[0]), "{}: in {inside:?}", gate["name"]);
    }
}

#[test]
fn scouting_is_skewed_and_leaves_fields_out() {
    let (mut points, mut zeros, mut greatest, mut scouted, mut clean) = (0, 0, 0.0_f64, BTreeSet::new(), 0);
    for name in ["scouting-2026-06-16.csv", "scouting-2026-06-19.csv"] {
        let rows = table(name);
        for (_, field, shape) in fields() {
            let values: Vec<f64> = rows
                .iter()
                .filter(|row| shape.contains(&Point::new(row["lon"].parse().unwrap(), row["lat"].parse().unwrap())))
                .map(|row| row["heads_per_m2"].parse().unwrap())
                .collect();
            if values.is_empty() {
                continue;
            }
            assert!((15..=60).contains(&values.len()), "{field}: {} points", values.len());
            clean += usize::from(values.iter().all(|value| *value == 0.0));
            points += values.len();
            zeros += values.iter().filter(|value| **value == 0.0).count();
            greatest = values.into_iter().fold(greatest, f64::max);
            scouted.insert(field);
        }
    }
    assert!(zeros * 3 > points && zeros * 10 < points * 9, "{zeros} zeros of {points}");
    assert!((50.0..2_000.0).contains(&greatest), "{greatest} heads/m2");
    assert!(clean >= 1 && scouted.len() >= 15, "{clean} clean of {}", scouted.len());
    let classes: BTreeSet<i64> =
        features("scouting-zones").iter().map(|f| f["properties"]["class"].as_i64().unwrap()).collect();
    assert_eq!(classes, (0..=4).collect());
}

#[test]
fn results_are_plausible_and_the_laboratory_disagrees_twice() {
    let (mut disagreements, mut ratings, mut fields_tested) = (0, BTreeMap::<String, usize>::new(), BTreeSet::new());
    for year in ["2019", "2021", "2024", "2026"] {
        for row in table(&format!("results-{year}.csv")) {
            let number = |name: &str| row[name].parse::<f64>().unwrap();
            assert_eq!(row["year"], year);
            assert!(mode_of_action(&row["active"]).is_some(), "{}", row["active"]);
            assert!(
                (82.0..=97.0).contains(&number("standard_percent"))
                    && (-10.0..=100.0).contains(&number("reduction_percent"))
            );
            // Moss et al. 1999: S from 90 %, R? from 80 %, RR from 40 % of the standard's reduction.
            let share = number("reduction_percent") / number("standard_percent");
            let expected = if share >= 0.9 {
                "S"
            } else if share >= 0.8 {
                "R?"
            } else if share >= 0.4 {
                "RR"
            } else {
                "RRR"
            };
            if row["lab_rating"] != expected {
                disagreements += 1;
                assert!([0.9, 0.8, 0.4].iter().any(|limit| (share - limit).abs() < 0.015), "{row:?}");
            }
            *ratings.entry(expected.to_owned()).or_default() += 1;
            fields_tested.insert(row["field"].clone());
        }
    }
    assert_eq!(disagreements, 2);
    assert!(["S", "R?", "RR", "RRR"].iter().all(|rating| ratings.get(*rating).is_some_and(|n| *n >= 10)), "{ratings:?}");
    let never = fields().iter().filter(|field| !fields_tested.contains(&field.1)).count();
    assert!((3..=10).contains(&never), "{never} fields never tested");
}

#[test]
fn extras_add_the_split_field_and_history() {
    let mut records = records();
    let command = extras(&records);
    command.apply_to(&mut records).unwrap();
    assert_eq!(records.settings.name, BUSINESS);
    let whole = records.fields_named("Great Wend", Some(2021)).remove(0);
    assert_eq!(whole.until_year, Some(2022));
    let halves: Vec<_> = records.fields.values().filter(|field| field.came_from == [whole.id]).collect();
    assert!(halves.len() == 2 && halves.iter().all(|half| half.from_year == Some(2023)));
    let sum: f64 = halves.iter().map(|half| half.area_m2()).sum();
    assert!((sum / whole.area_m2() - 1.0).abs() < 0.003, "halves {sum}, whole {}", whole.area_m2());
    for year in 2019..=2027 {
        assert!((records.fields_in(year).len() == 39) == (year < 2023), "{year}: {}", records.fields_in(year).len());
    }
    assert_eq!(records.tramlines.len(), 40);
    assert!(records.no_go.len() >= 2);
    for area in records.no_go.values() {
        assert!(records.fields[&area.field].boundary.contains(&area.area), "{}", records.fields[&area.field].name);
    }
    assert_eq!(records.crops.len(), 38 * 8 + 4 + 2 * 4);
    assert!(
        records.sprays.values().all(|spray| mode_of_action(&spray.active).is_some_and(|mode| mode.group == spray.group))
    );
    assert!(records.sprays.values().any(|spray| !spray.effect.is_empty()));
    // Looks at ripeness: only a little has shed in early July, and more from walk to walk.
    let checks = records.ripe_checks_in(2027);
    assert!((12..=40).contains(&checks.len()), "{} checks", checks.len());
    let mean = |day: i8| {
        let of: Vec<f64> = checks.iter().filter(|check| check.date.day() == day).map(|check| check.shed_percent).collect();
        of.iter().sum::<f64>() / of.len() as f64
    };
    assert!(mean(1) < mean(8) && checks.iter().all(|check| (0.0..=25.0).contains(&check.shed_percent)));
    assert_eq!(records.due_marks.len(), 2);
    let again = extras(&records);
    assert!(again.changes.iter().all(|change| !matches!(
        change.after,
        Some(Record::Field(_) | Record::Tramlines(_) | Record::NoGo(_) | Record::RipeCheck(_) | Record::DueMark(_))
    )));
}
