//! Insets and views: where the land lies, and what only the window shows, on paper.

#![allow(clippy::unwrap_used)] // helpers of tests: stopping is the answer

use awn_core::model::{
    Field, Record, Records, RoundSettings, Rounds, RoundsId, TakenAt, Visit, Walked, WalkedFigures, WalkedId,
};
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::rating::RatingOf;
use awn_core::report::{Colouring, Dress, Expected, Layer, Layers, MapRequest, View, draw_map, map_svg};
use awn_sample_farm::SEASON;
use awn_tests::drawing::{area, classed, figure, legend, rings};
use jiff::civil::date;
use roxmltree::Document;

fn farm() -> &'static Records {
    static FARM: std::sync::OnceLock<Records> = std::sync::OnceLock::new();
    FARM.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let path = awn::demo::write_sample_farm(folder.path(), &Quiet).unwrap();
        (**Project::open(&path).unwrap().records()).clone()
    })
}

fn request(colouring: Colouring) -> MapRequest {
    MapRequest { colouring, of: RatingOf::Worst, year: SEASON, fields: None, title: String::new(), size_mm: (297.0, 210.0) }
}

#[test]
fn the_inset_marks_where_the_land_lies_to_scale() {
    // Great-circle distances of the farms' places on the sphere, haversine (Sinnott 1984), against the inset's own bar.
    let moved = |records: &mut Records, farm: &str, lon: f64, lat: f64| {
        let farm = records.farm_named(farm).unwrap().id;
        let fields: Vec<_> = records.fields.values().filter(|field| field.farm == farm).cloned().collect();
        for field in fields {
            let boundary = geo::MapCoords::map_coords(&field.boundary, |c| geo::Coord { x: c.x + lon, y: c.y + lat });
            records.put(Record::Field(Field { boundary, ..(*field).clone() }));
        }
    };
    for size_mm in [(297.0, 210.0), (210.0, 297.0)] {
        let svg = map_svg(farm(), &MapRequest { size_mm, ..request(Colouring::Rating) });
        let document = Document::parse(&svg).unwrap();
        assert_eq!(classed(&document, "inset").len(), 1);
        assert!(!classed(&document, "inset-mark").is_empty(), "no mark on the land");
        let land = classed(&document, "land")[0].attribute("d").unwrap();
        let largest = land.split_inclusive('Z').map(area).fold(0.0, f64::max);
        assert!(largest > 50.0, "{largest} mm2 of land in the inset");
        let mut records = farm().clone();
        let farms: Vec<String> = records.farms.values().map(|farm| farm.name.clone()).collect();
        moved(&mut records, &farms[0], -1.9, 4.6);
        let svg = map_svg(&records, &MapRequest { size_mm, ..request(Colouring::Rating) });
        let document = Document::parse(&svg).unwrap();
        let marks: Vec<(f64, f64)> =
            classed(&document, "inset-mark").iter().map(|mark| (figure(mark, "cx"), figure(mark, "cy"))).collect();
        let bar = classed(&document, "inset-bar")[0];
        let ends = rings(bar.attribute("d").unwrap()).remove(0);
        let m_per_mm = figure(&bar, "data-metres") / (ends[1].0 - ends[0].0);
        let farthest = marks.iter().flat_map(|a| marks.iter().map(move |b| (a.0 - b.0).hypot(a.1 - b.1) * m_per_mm));
        let drawn = farthest.fold(0.0, f64::max);
        let middle = |name: &str| {
            let farm = records.farm_named(name).unwrap().id;
            let list = records.fields_in(SEASON).into_iter().filter(|field| field.farm == farm);
            let bounds: Vec<_> = list.filter_map(|field| awn_core::geometry::bounds(&field.boundary)).collect();
            let low = bounds.iter().fold((180.0_f64, 90.0_f64), |at, b| (at.0.min(b.min().x), at.1.min(b.min().y)));
            let high = bounds.iter().fold((-180.0_f64, -90.0_f64), |at, b| (at.0.max(b.max().x), at.1.max(b.max().y)));
            (low.0.midpoint(high.0), low.1.midpoint(high.1))
        };
        let there = middle(&farms[0]);
        let ground = farms[1..].iter().map(|name| haversine(there, middle(name))).fold(0.0, f64::max);
        // Marks stand on hundredths of a mm, a few hundred metres of ground, and the sphere is not the ellipsoid (0.3 %).
        assert!((drawn / ground - 1.0).abs() < 0.02, "{drawn} for {ground}");
    }
}

/// Metres between two places in degrees, on a sphere of 6 371 009 m.
fn haversine(a: (f64, f64), b: (f64, f64)) -> f64 {
    let half = |x: f64| (x.to_radians() / 2.0).sin().powi(2);
    let h = half(b.1 - a.1) + a.1.to_radians().cos() * b.1.to_radians().cos() * half(b.0 - a.0);
    2.0 * 6_371_009.0 * h.sqrt().asin()
}

#[test]
fn the_drive_of_a_day_walks_as_walked_and_heads_expected_are_drawn_as_seen() {
    let mut records = farm().clone();
    let fields: Vec<_> = records.fields_in(SEASON).into_iter().take(3).collect();
    let gates: Vec<_> = fields.iter().map(|field| records.gates_of(field.id).next().unwrap().position).collect();
    let day = date(SEASON as i16, 7, 14);
    let visit = |(at, field): (usize, &std::sync::Arc<Field>)| Visit {
        field: field.id,
        date: day,
        car: 1,
        number: at + 1,
        gate: gates[at],
        km: 1.0,
        arrive_min: 10.0,
        minutes: 30.0,
    };
    let settings = RoundSettings { base: gates[0], ..RoundSettings::default() };
    let visits = fields.iter().enumerate().map(visit).collect();
    records.put(Record::Rounds(Rounds { id: RoundsId::new(), year: SEASON, settings, visits, left_out: Vec::new() }));
    let figures = WalkedFigures {
        length_m: 400.0,
        away_m: vec![3.0, 40.0],
        stops: vec![gates[1], awn_core::geometry::label_point(&fields[1].boundary).unwrap()],
        tramlines: 1,
        area_m2: 9_000.0,
        population_within_25_m: 0.3,
        taken_at: TakenAt::Stops,
        places: Vec::new(),
        visited: None,
        planned: None,
        warnings: Vec::new(),
    };
    let track = geo::MultiLineString(vec![vec![gates[1], figures.stops[1]].into()]);
    records.put(Record::Walked(Walked {
        id: WalkedId::new(),
        field: fields[1].id,
        year: SEASON,
        plan: None,
        date: Some(day),
        person: String::new(),
        source: String::new(),
        track,
        figures,
    }));
    let bounds = awn_core::geometry::bounds(&fields[1].boundary).unwrap();
    let drawn = |layers: Layers, bounds| {
        let dress =
            Dress { view: Some(View { bounds, layers, patterns: false }), round: Some((day, 1)), ..Dress::default() };
        draw_map(&records, &request(Colouring::Plain), &dress).svg
    };
    let svg = drawn(Layers::of(&[Layer::Outlines, Layer::Rounds, Layer::Walked]), bounds);
    let document = Document::parse(&svg).unwrap();
    let way = rings(classed(&document, "round")[0].attribute("d").unwrap()).remove(0);
    assert_eq!(way.len(), gates.len() + 2, "from the base past each gate and back");
    assert_eq!(way.first(), way.last());
    assert_eq!((classed(&document, "walked").len(), classed(&document, "missed").len()), (1, 1));
    assert!(svg.contains("walk as walked") && svg.contains("drive of the day"), "the legend is silent");
    let without = drawn(Layers::of(&[Layer::Outlines]), bounds);
    assert!(!without.contains("class=\"round\"") && !without.contains("class=\"walked\""));

    let heads = fields.iter().zip([0.2, 7.0, 900.0]).map(|(field, heads)| (field.id, heads)).collect();
    let expected = std::sync::Arc::new(Expected { scenario: "Late drilling".into(), harvest: 2036, heads });
    let dress = Dress { expected: Some(expected), ..Dress::default() };
    let svg = draw_map(&records, &request(Colouring::Expected), &dress).svg;
    let rows = legend(&Document::parse(&svg).unwrap());
    let all = records.fields_in(SEASON).len();
    assert_eq!(rows.iter().map(|row| row.1).sum::<usize>(), all);
    assert_eq!((rows[5].1, rows[0].1), (all - 3, 1), "{rows:?}");
    assert!(svg.contains("Late drilling") && svg.contains("2036") && svg.contains("no forecast"));
}
