//! Scouting as it comes from the field: counts of heads at points on two farms, and a map of classes by strips on the third.

use awn_core::model::DensityClass;
use geo::{BooleanOps as _, Contains as _, Coord, MultiPolygon, Point};
use serde_json::{Value, json};

use crate::SampleFile;
use crate::dice::Dice;
use crate::fields::{Estate, Land, collection, geometry};
use crate::shape::{self, distance_to_edge, extent, left_of, towards};
use crate::weeds::Weed;

/// Heads on a plant of black-grass in a winter cereal: 2 to 20 are common, no source; used to turn heads into plants.
const HEADS_A_PLANT: f64 = 4.0;

/// Who walked what when: file, year, farm, and the share of its fields that were left out.
const POINT_SURVEYS: [(&str, i32, usize, f64); 3] = [
    ("scouting-2025-06-18.csv", 2025, 0, 0.3),
    ("scouting-2026-06-16.csv", 2026, 0, 0.12),
    ("scouting-2026-06-19.csv", 2026, 2, 0.25),
];

/// The scouting files.
pub fn files(estate: &Estate, weeds: &[Weed]) -> Vec<SampleFile> {
    let mut files: Vec<_> = POINT_SURVEYS
        .iter()
        .enumerate()
        .map(|(number, (name, year, farm, left_out))| SampleFile {
            name,
            bytes: counts(estate, weeds, (*year, *farm, *left_out), 700 + number as u64),
        })
        .collect();
    files.push(SampleFile { name: "scouting-zones-2026-06-23.geojson", bytes: zones(estate, weeds, 2026, 1) });
    files
}

fn counts(estate: &Estate, weeds: &[Weed], (year, farm, left_out): (i32, usize, f64), seed: u64) -> Vec<u8> {
    let mut dice = Dice::new(seed);
    let mut rows = String::from("lon,lat,heads_per_m2\n");
    for (land, weed) in estate.lands.iter().zip(weeds).filter(|(land, _)| land.farm == farm) {
        if dice.chance(left_out) {
            continue;
        }
        for place in places(land, &mut dice) {
            let at = estate.lonlat(place);
            rows.push_str(&format!("{:.7},{:.7},{}\n", at.x, at.y, count_heads(weed, place, year, &mut dice)));
        }
    }
    rows.into_bytes()
}

/// Heads counted in one square metre: the mean of the place, uneven from step to step.
fn count_heads(weed: &Weed, place: Coord<f64>, year: i32, dice: &mut Dice) -> u32 {
    let mean = weed.heads_per_m2(place, year) * libm::exp(0.55 * dice.normal() - 0.15);
    (mean + 0.6 * dice.unit()) as u32
}

/// Places along the tramlines, a little off a regular grid: 15 to 60, more in larger fields.
fn places(land: &Land, dice: &mut Dice) -> Vec<Coord<f64>> {
    let ring = &land.piece.ring;
    let wanted = (14.0 + 1.1 * shape::area(ring) / 10_000.0).clamp(20.0, 55.0);
    let step = libm::sqrt(shape::area(ring) / wanted);
    let (along, across) = (towards(90.0 - land.bearing), left_of(towards(90.0 - land.bearing)));
    let (u, v) = (extent(ring, along), extent(ring, across));
    let field = shape::polygon(ring, &land.piece.holes);
    let mut places = Vec::new();
    for row in 0..((v.1 - v.0) / step).ceil() as i32 {
        for column in 0..((u.1 - u.0) / step).ceil() as i32 {
            let jitter = |dice: &mut Dice| 0.5 + dice.between(-0.22, 0.22);
            let (du, dv) = (f64::from(column) + jitter(dice), f64::from(row) + jitter(dice));
            let place = along * (u.0 + step * du) + across * (v.0 + step * dv);
            if field.contains(&Point(place)) && distance_to_edge(ring, place) > 4.0 {
                places.push(place);
            }
        }
    }
    places
}

/// Strips 24 m wide along the tramlines, cut where the class changes.
fn zones(estate: &Estate, weeds: &[Weed], year: i32, farm: usize) -> Vec<u8> {
    let mut features: Vec<Value> = Vec::new();
    for (land, weed) in estate.lands.iter().zip(weeds).filter(|(land, _)| land.farm == farm) {
        for (area, class) in strips(land, weed, year) {
            let area = geo::MapCoords::map_coords(&area, |c| estate.lonlat(c));
            features.push(json!({
                "type": "Feature",
                "properties": { "class": class, "field": land.name },
                "geometry": geometry(&area),
            }));
        }
    }
    collection(&features)
}

fn strips(land: &Land, weed: &Weed, year: i32) -> Vec<(MultiPolygon<f64>, u8)> {
    const WIDTH_M: f64 = 24.0;
    const STEP_M: f64 = 20.0;
    let ring = &land.piece.ring;
    let field = MultiPolygon(vec![shape::polygon(ring, &land.piece.holes)]);
    let (along, across) = (towards(90.0 - land.bearing), left_of(towards(90.0 - land.bearing)));
    let (u, v) = (extent(ring, along), extent(ring, across));
    let steps = ((u.1 - u.0) / STEP_M).ceil() as i32;
    let mut strips = Vec::new();
    for row in 0..((v.1 - v.0) / WIDTH_M).ceil() as i32 {
        let place =
            |step: f64, side: f64| along * (u.0 + STEP_M * step) + across * (v.0 + WIDTH_M * (f64::from(row) + side));
        let class = |step: i32| {
            let heads = weed.heads_per_m2(place(f64::from(step) + 0.5, 0.5), year);
            let plants = if heads < 0.2 { 0.0 } else { heads / HEADS_A_PLANT };
            DensityClass::of_density(plants) as u8
        };
        let mut start = 0;
        for step in 1..=steps {
            if step < steps && class(step) == class(start) {
                continue;
            }
            let (a, b) = (f64::from(start), f64::from(step));
            let strip = shape::polygon(&[place(a, 0.0), place(b, 0.0), place(b, 1.0), place(a, 1.0)], &[]);
            let inside = field.intersection(&strip);
            let large = inside.0.into_iter().filter(|part| geo::Area::unsigned_area(part) > 4.0);
            strips.extend(large.map(|part| (MultiPolygon(vec![part]), class(start))));
            start = step;
        }
    }
    strips
}
