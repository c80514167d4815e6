//! Random fields for tests: concave, with or without a hole, one to three patches, tramlines at any bearing, a gate at a corner.

use std::f64::consts::TAU;

use awn_core::crs::LocalPlane;
use awn_core::model::{
    DensityUnit, Farm, FarmId, Field, FieldId, Gate, GateId, Record, Records, ScoutPoint, Survey, SurveyId, SurveyKind,
    Tramlines, TramlinesId,
};
use geo::{Area as _, Contains as _, Coord, LineString, MultiPolygon, Point, Polygon};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// A random field in a project of its own.
pub struct RandomField {
    /// Farm, field, gate, tramlines and one survey.
    pub records: Records,
    /// The field.
    pub field: FieldId,
    /// The harvest year of the survey.
    pub year: i32,
    /// Area in ha.
    pub hectares: f64,
}

impl RandomField {
    /// The field of a number: the same each time.
    pub fn numbered(number: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(1000 + number);
        let plane = LocalPlane::at(Coord { x: random.random_range(-2.0..1.5), y: random.random_range(51.5..54.0) }).unwrap();
        let shape = outline(&mut random);
        let area = shape.unsigned_area();

        let farm = Farm { id: FarmId::new(), business: String::new(), name: "Sallowby".into() };
        let field = Field::new(farm.id, format!("Field {number}"), plane.to_degrees(&shape));
        let corner = shape.0[0].exterior().0[random.random_range(0..shape.0[0].exterior().0.len() - 1)];
        let gate = Gate { id: GateId::new(), field: field.id, name: String::new(), position: plane.degrees(corner) };
        let spacing_m = if random.random_bool(0.5) { 24.0 } else { 36.0 };
        let lines = Tramlines {
            id: TramlinesId::new(),
            field: field.id,
            anchor: plane.degrees(Coord { x: 3.0, y: 5.0 }),
            bearing_deg: random.random_range(0.0..180.0),
            spacing_m,
            headland_m: spacing_m,
            area: None,
            lines: Vec::new(),
        };
        let points = scouted(&shape, &mut random)
            .into_iter()
            .map(|(at, value)| ScoutPoint { position: plane.degrees(at), value })
            .collect();
        let survey = Survey {
            id: SurveyId::new(),
            date: jiff::civil::date(2026, 6, 12),
            kind: SurveyKind::Points,
            unit: DensityUnit::HeadsPerM2,
            source: "random".into(),
            points,
            zones: Vec::new(),
            rasters: Vec::new(),
        };
        let id = field.id;
        let mut records = Records::default();
        for record in
            [Record::Farm(farm), Record::Field(field), Record::Gate(gate), Record::Tramlines(lines), Record::Survey(survey)]
        {
            records.put(record);
        }
        Self { records, field: id, year: 2026, hectares: area / 1e4 }
    }
}

/// An outline of 3 to 25 ha: a circle whose radius goes up and down, stretched; in half of them a pond.
fn outline(random: &mut ChaCha8Rng) -> MultiPolygon<f64> {
    let corners = random.random_range(8..16_usize);
    let radii: Vec<f64> = (0..corners).map(|_| random.random_range(0.55..1.0)).collect();
    let stretch = random.random_range(0.6..1.6);
    let ring = |scale: f64| -> LineString<f64> {
        let at = |k: usize| {
            let turn = TAU * (k % corners) as f64 / corners as f64;
            Coord { x: scale * radii[k % corners] * turn.cos() * stretch, y: scale * radii[k % corners] * turn.sin() }
        };
        (0..=corners).map(at).collect()
    };
    let wanted = random.random_range(3.0..25.0) * 1e4;
    let unit = Polygon::new(ring(1.0), vec![]).unsigned_area();
    let scale = (wanted / unit).sqrt();
    let pond = random.random_bool(0.5).then(|| {
        let middle = Coord { x: random.random_range(-0.15..0.15) * scale, y: random.random_range(-0.15..0.15) * scale };
        let size = random.random_range(8.0..20.0);
        let at =
            |k: usize| Coord { x: size * (TAU * k as f64 / 8.0).cos(), y: size * (TAU * k as f64 / 8.0).sin() } + middle;
        (0..=8).map(|k| at(k % 8)).collect::<LineString<f64>>()
    });
    MultiPolygon(vec![Polygon::new(ring(scale), pond.into_iter().collect())])
}

/// Heads/m2 at points 20 m apart: one to three patches on a little everywhere.
fn scouted(shape: &MultiPolygon<f64>, random: &mut ChaCha8Rng) -> Vec<(Coord<f64>, f64)> {
    let rect = geo::BoundingRect::bounding_rect(shape).unwrap();
    let mut patches = Vec::new();
    while patches.len() < 3 {
        let middle =
            Coord { x: random.random_range(rect.min().x..rect.max().x), y: random.random_range(rect.min().y..rect.max().y) };
        if shape.contains(&Point(middle)) {
            patches.push((middle, random.random_range(20.0..90.0), random.random_range(15.0..60.0_f64)));
        }
    }
    patches.truncate(random.random_range(1..=3));
    let mut points = Vec::new();
    let (mut x, step) = (rect.min().x + 10.0, 20.0);
    while x < rect.max().x {
        let mut y = rect.min().y + 10.0;
        while y < rect.max().y {
            let at = Coord { x, y };
            if shape.contains(&Point(at)) {
                let bell = |(middle, most, width): &(Coord<f64>, f64, f64)| {
                    let away = at - *middle;
                    most * (-(away.x * away.x + away.y * away.y) / (2.0 * width * width)).exp()
                };
                points.push((at, 0.3 + patches.iter().map(bell).sum::<f64>()));
            }
            y += step;
        }
        x += step;
    }
    points
}
