//! The estate: three farms with their fields and gates, and the files that hold them.

use awn_core::crs::LocalPlane;
use geo::{Coord, MapCoords as _, MultiPolygon};
use serde_json::{Value, json};

use crate::SampleFile;
use crate::land::{Layout, Piece, lay_out};
use crate::names::{FARMS, FIELDS, SPLIT};
use crate::shape::{self, Ring, at, norm};

/// Where the business's plane has its middle: a place in the arable east of England that stands for no farm.
const MIDDLE: (f64, f64) = (-0.2150, 52.3400);

const LAYOUTS: [Layout; 3] = [
    Layout {
        seed: 11,
        outline: &[
            (-1200.0, -450.0),
            (-700.0, -850.0),
            (-150.0, -760.0),
            (300.0, -950.0),
            (900.0, -700.0),
            (1250.0, -150.0),
            (1000.0, 250.0),
            (1100.0, 750.0),
            (500.0, 900.0),
            (250.0, 690.0),
            (-350.0, 820.0),
            (-900.0, 620.0),
            (-860.0, 200.0),
            (-1250.0, 50.0),
        ],
        middle: (0.0, 0.0),
        hectares: 390.0,
        pieces: 17,
        not_ours: &[3],
        holes: &[(0, 16.0), (9, 42.0)],
    },
    Layout {
        seed: 22,
        outline: &[
            (-900.0, -700.0),
            (-250.0, -800.0),
            (250.0, -560.0),
            (850.0, -640.0),
            (1000.0, -50.0),
            (760.0, 180.0),
            (820.0, 700.0),
            (200.0, 820.0),
            (-180.0, 640.0),
            (-620.0, 780.0),
            (-1000.0, 300.0),
            (-840.0, -150.0),
        ],
        middle: (5100.0, 1900.0),
        hectares: 270.0,
        pieces: 12,
        not_ours: &[7],
        holes: &[(2, 19.0), (10, 55.0)],
    },
    Layout {
        seed: 33,
        outline: &[
            (-1300.0, -300.0),
            (-820.0, -560.0),
            (-300.0, -480.0),
            (60.0, -760.0),
            (640.0, -820.0),
            (1120.0, -420.0),
            (1050.0, 60.0),
            (1400.0, 380.0),
            (820.0, 620.0),
            (420.0, 430.0),
            (60.0, 640.0),
            (-540.0, 560.0),
            (-1180.0, 240.0),
        ],
        middle: (-1500.0, 4700.0),
        hectares: 325.0,
        pieces: 14,
        not_ours: &[5],
        holes: &[(4, 24.0), (11, 36.0)],
    },
];

/// A field of the estate.
pub struct Land {
    /// Number of the farm in [`FARMS`].
    pub farm: usize,
    /// Name.
    pub name: &'static str,
    /// Shape in m of the business's plane.
    pub piece: Piece,
    /// Bearing of the tramlines, degrees clockwise from north, 0 to 180.
    pub bearing: f64,
    /// Gates, m.
    pub gates: Vec<Coord<f64>>,
}

/// The estate.
pub struct Estate {
    /// The business's plane.
    pub plane: LocalPlane,
    /// Fields, by farm.
    pub lands: Vec<Land>,
}

impl Estate {
    /// A field of today by its name.
    pub fn land(&self, name: &str) -> Option<&Land> {
        self.lands.iter().find(|land| land.name == name)
    }

    /// A shape in degrees, to 7 decimals (a centimetre).
    pub fn in_degrees(&self, ring: &Ring, holes: &[Ring]) -> MultiPolygon<f64> {
        MultiPolygon(vec![shape::polygon(ring, holes).map_coords(|c| self.lonlat(c))])
    }

    /// A position in degrees, to 7 decimals.
    pub fn lonlat(&self, metres: Coord<f64>) -> Coord<f64> {
        let degrees = self.plane.degrees(metres);
        let round = |v: f64| (v * 1e7).round() / 1e7;
        at(round(degrees.x), round(degrees.y))
    }

    /// The field that was split, as it was before.
    pub fn whole(&self) -> Option<MultiPolygon<f64>> {
        let mother = self.land(SPLIT[0])?.piece.mother.as_ref()?;
        Some(self.in_degrees(&shape::rounded(mother, 11.0), &[]))
    }
}

/// Lays the estate out.
pub fn estate() -> Estate {
    let middle = at(MIDDLE.0, MIDDLE.1);
    #[allow(clippy::expect_used)] // a constant of this file
    let plane = LocalPlane::at(middle).expect("the middle is in degrees");
    let mut lands = Vec::new();
    for (farm, layout) in LAYOUTS.iter().enumerate() {
        let yard = at(layout.middle.0 + 120.0, layout.middle.1 - 80.0);
        for (piece, name) in lay_out(layout).into_iter().zip(FIELDS[farm]) {
            let bearing = bearing_of(&piece.ring);
            let gates = gates(&piece.ring, yard);
            lands.push(Land { farm, name, piece, bearing, gates });
        }
    }
    Estate { plane, lands }
}

/// The bearing along most of the boundary's length, whole degrees: sides of the same direction count together.
fn bearing_of(ring: &Ring) -> f64 {
    let along = |degrees: f64| -> f64 {
        let direction = shape::towards(90.0 - degrees);
        shape::edges(ring)
            .map(|(a, b)| {
                let cosine = shape::dot(b - a, direction).abs() / norm(b - a).max(1e-9);
                norm(b - a) * if cosine > 0.995 { cosine } else { 0.0 }
            })
            .sum()
    };
    (0..180).map(f64::from).max_by(|a, b| along(*a).total_cmp(&along(*b))).unwrap_or(0.0)
}

/// A gate near the corner nearest to the yard; large fields have a second one at the far side. 2 m inside the boundary, so
/// that it is nearer to this field than to the neighbour.
fn gates(ring: &Ring, yard: Coord<f64>) -> Vec<Coord<f64>> {
    let long: Vec<_> = shape::edges(ring).filter(|(a, b)| norm(*b - *a) > 45.0).collect();
    let gate = |(a, b): &(Coord<f64>, Coord<f64>)| {
        let (near, far) = if norm(*a - yard) < norm(*b - yard) { (*a, *b) } else { (*b, *a) };
        let along = (far - near) * (1.0 / norm(far - near));
        near + along * 18.0 + shape::left_of((*b - *a) * (1.0 / norm(*b - *a))) * 2.0
    };
    let places = || long.iter().map(gate);
    let nearest = places().min_by(|p, q| norm(*p - yard).total_cmp(&norm(*q - yard)));
    let second =
        (shape::area(ring) > 280_000.0).then(|| places().max_by(|p, q| norm(*p - yard).total_cmp(&norm(*q - yard))));
    nearest.into_iter().chain(second.flatten()).collect()
}

const BOUNDARY_FILES: [&str; 3] =
    ["boundaries-sallowby-grange.geojson", "boundaries-quernfleet.geojson", "boundaries-ottergarth-lodge.geojson"];

/// Boundaries, one file a farm, and the gates.
pub fn files(estate: &Estate) -> Vec<SampleFile> {
    let mut files: Vec<_> = BOUNDARY_FILES.iter().enumerate().map(|(farm, name)| boundaries(estate, farm, name)).collect();
    let mut rows = String::from("lon,lat,name\n");
    for land in &estate.lands {
        for (number, gate) in land.gates.iter().enumerate() {
            let at = estate.lonlat(*gate);
            let which = if number == 0 { "gate" } else { "far gate" };
            rows.push_str(&format!("{:.7},{:.7},{} {which}\n", at.x, at.y, land.name));
        }
    }
    files.push(SampleFile { name: "gates.csv", bytes: rows.into_bytes() });
    files
}

fn boundaries(estate: &Estate, farm: usize, name: &'static str) -> SampleFile {
    let features: Vec<Value> = estate
        .lands
        .iter()
        .filter(|land| land.farm == farm)
        .map(|land| {
            let shape = estate.in_degrees(&land.piece.ring, &land.piece.holes);
            json!({
                "type": "Feature",
                "properties": { "name": land.name, "farm": FARMS[farm], "tramline_bearing": land.bearing },
                "geometry": geometry(&shape),
            })
        })
        .collect();
    SampleFile { name, bytes: collection(&features) }
}

/// The GeoJSON geometry of a shape of one polygon; outer rings run counter-clockwise, holes clockwise (RFC 7946, 3.1.6).
pub fn geometry(shape: &MultiPolygon<f64>) -> Value {
    let positions = |line: &geo::LineString<f64>, outer: bool| -> Vec<Value> {
        let open = &line.0[..line.0.len().saturating_sub(1)];
        let turned = (shape::area(open) > 0.0) != outer;
        let mut list: Vec<Value> = line.0.iter().map(|c| json!([c.x, c.y])).collect();
        if turned {
            list.reverse();
        }
        list
    };
    let polygons: Vec<Value> = shape
        .iter()
        .map(|polygon| {
            let holes = polygon.interiors().iter().map(|hole| positions(hole, false));
            json!(std::iter::once(positions(polygon.exterior(), true)).chain(holes).collect::<Vec<_>>())
        })
        .collect();
    if let [one] = polygons.as_slice() {
        return json!({ "type": "Polygon", "coordinates": one });
    }
    json!({ "type": "MultiPolygon", "coordinates": polygons })
}

/// A feature collection as text, one feature a line.
pub fn collection(features: &[Value]) -> Vec<u8> {
    let lines: Vec<String> = features.iter().map(Value::to_string).collect();
    format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n", lines.join(",\n")).into_bytes()
}
