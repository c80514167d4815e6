//! Maps: well-formed, true to scale, a legend that counts what is there, letters that do not collide, the same bytes each time.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests: stopping with a sentence is the answer

use std::collections::{BTreeMap, BTreeSet};

use awn_core::exchange::{self, BoundaryOptions, FileOptions, ScoutingOptions};
use awn_core::model::{
    DensityUnit, Field, FieldId, Figures, Method, Plan, PlanId, PlanSettings, Rating, Record, Records, Stop, SurveyKind,
    Walk,
};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::rating::{History, RatingOf, field_ratings};
use awn_core::report::{Colouring, MapRequest, map_png, map_svg};
use awn_core::season;
use awn_sample_farm::SEASON;
use awn_tests::drawing::{area, classed, figure, legend, rings};
use roxmltree::{Document, Node};

const COLOURINGS: [Colouring; 6] =
    [Colouring::Rating, Colouring::RatingAndAge, Colouring::Change, Colouring::Age, Colouring::Density, Colouring::Due];

/// The sample farm, read in through the same doors as anybody's files.
fn farm() -> &'static Records {
    static FARM: std::sync::OnceLock<Records> = std::sync::OnceLock::new();
    FARM.get_or_init(read_in)
}

fn read_in() -> Records {
    let dir = tempfile::tempdir().unwrap();
    let mut records = Records::default();
    let mut problems = Problems::new();
    let mut history = false;
    for file in awn_sample_farm::files() {
        let path = dir.path().join(file.name);
        std::fs::write(&path, &file.bytes).unwrap();
        let maps = file.name.starts_with("boundaries") || file.name.starts_with("gates");
        if !maps && !history {
            history = true;
            awn_sample_farm::extras(&records).apply_to(&mut records).unwrap();
        }
        let zones = file.name.contains("zones");
        let import = if file.name.starts_with("boundaries") {
            exchange::boundaries(&records, &path, &BoundaryOptions::default(), &mut problems, &Quiet)
        } else if file.name.starts_with("gates") {
            exchange::gates(&records, &path, &FileOptions::default(), &mut problems, &Quiet)
        } else if file.name.starts_with("scouting") {
            let options = ScoutingOptions::new(
                awn_sample_farm::date_in(file.name),
                if zones { SurveyKind::Zones } else { SurveyKind::Points },
                if zones { DensityUnit::Class } else { DensityUnit::HeadsPerM2 },
            );
            exchange::scouting(&records, &path, &options, &mut problems, &Quiet)
        } else {
            exchange::results(&records, &path, &[], &mut problems, &Quiet)
        };
        let import = import.unwrap_or_else(|error| panic!("{}: {error}: {:?}", file.name, problems.list));
        assert_eq!(import.skipped, 0, "{}: {:?}", file.name, problems.list);
        import.command.apply_to(&mut records).unwrap();
    }
    for gate in records.gates.values() {
        assert!(gate.name.starts_with(&records.fields[&gate.field].name), "{} went to the wrong field", gate.name);
    }
    records
}

/// The farm with a plan of six stops along a line in one field, made by hand: what is drawn is under test, not the planner.
fn planned() -> (Records, FieldId) {
    let mut records = farm().clone();
    let field = records.fields_named("Ravel Hill", Some(SEASON)).remove(0);
    let middle = awn_core::geometry::label_point(&field.boundary).unwrap();
    let gate = records.gates_of(field.id).next().unwrap().position;
    let place = |i: u32| geo::Coord { x: middle.x - 0.002 + 0.0007 * f64::from(i), y: middle.y + 0.0004 * f64::from(i % 3) };
    let stops: Vec<Stop> = (0..6)
        .map(|i| Stop {
            position: place(i),
            share: [0.4, 0.2, 0.1, 0.1, 0.15, 0.05][i as usize],
            tramline: None,
            pinned: false,
            person: 1,
            unit: 1,
            inclusion: None,
        })
        .collect();
    let mut line = vec![gate];
    line.extend(stops.iter().map(|stop| stop.position));
    line.push(gate);
    let figures = Figures {
        balance: 0.1,
        weighted_distance_m: 40.0,
        distance_95_m: 90.0,
        tramlines: 3,
        extent_m: 250.0,
        gate_distance_m: Some(80.0),
        population_within_25_m: 0.4,
        population_in_sampled_patches: None,
        population_reached: 1.0,
        detection: 0.9,
        n_eff: 40.0,
        random_stops: None,
    };
    let plan = Plan {
        id: PlanId::new(),
        field: field.id,
        year: SEASON,
        method: Method::EvenCover,
        settings: PlanSettings::default(),
        stops,
        gate: Some(gate),
        walk: Walk { line: line.into(), length_m: 1_000.0, minutes: 30.0, exact: true },
        patches: vec![],
        figures,
        gate_figures: None,
        second_walk: None,
        advice: String::new(),
        patches_hold: None,
        estimate: None,
        set_aside: false,
        notes: vec![],
    };
    let id = plan.field;
    records.put(Record::Plan(plan));
    (records, id)
}

fn request(colouring: Colouring) -> MapRequest {
    MapRequest { colouring, of: RatingOf::Worst, year: SEASON, fields: None, title: String::new(), size_mm: (297.0, 210.0) }
}

#[test]
fn every_map_is_well_formed_and_the_same_each_time() {
    for colouring in COLOURINGS {
        let svg = map_svg(farm(), &request(colouring));
        let document = Document::parse(&svg).unwrap();
        assert_eq!(classed(&document, "field").len(), 40, "{colouring:?}");
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("map.svg");
        std::fs::write(&path, &svg).unwrap();
        let seen = awn_tests::reference::run("svg", &serde_json::json!({ "path": path }));
        assert_eq!(seen["faults"], serde_json::json!([]), "{colouring:?}");
        assert!(seen["elements"].as_u64().unwrap() > 200, "{seen}");
        assert!(svg == map_svg(farm(), &request(colouring)), "{colouring:?} differs the second time");
    }
    let picture = map_png(farm(), &request(Colouring::Rating), 60.0).unwrap();
    assert!(picture == map_png(farm(), &request(Colouring::Rating), 60.0).unwrap());
    // Width and height stand in bytes 16 to 23 of a PNG (ISO/IEC 15948, 11.2.2): 297 and 210 mm at 60 to the inch.
    let side = |at: usize| u32::from_be_bytes(picture[at..at + 4].try_into().unwrap());
    assert_eq!((side(16), side(20)), (702, 496));
}

#[test]
fn legend_counts_the_ratings() {
    let svg = map_svg(farm(), &request(Colouring::Rating));
    let rows = legend(&Document::parse(&svg).unwrap());
    let known = field_ratings(farm(), SEASON);
    let fields = farm().fields_in(SEASON);
    for (row, rating) in
        rows.iter().zip([Some(Rating::RRR), Some(Rating::RR), Some(Rating::RQuestion), Some(Rating::S), None])
    {
        let of: Vec<_> = fields.iter().filter(|field| known[&field.id].worst == rating).collect();
        let ha: f64 = of.iter().map(|field| field.area_m2()).sum::<f64>() / 10_000.0;
        assert_eq!(row.1, of.len(), "{row:?}");
        assert!((row.2 - ha).abs() <= 0.005 + 1e-9, "{row:?}: {ha}");
    }
    assert_eq!(rows.len(), 5);
}

#[test]
fn one_map_answers_both_rating_and_age() {
    let svg = map_svg(farm(), &request(Colouring::RatingAndAge));
    let rows = legend(&Document::parse(&svg).unwrap());
    let known = field_ratings(farm(), SEASON);
    let fields = farm().fields_in(SEASON);
    assert_eq!(rows.iter().map(|row| row.1).sum::<usize>(), fields.len());
    // Counted here from the ratings of each mode of action: the newest year in which the worst of them was found.
    let worst_of = |field: &Field| {
        let known = &known[&field.id];
        let years = known.groups.values().filter(|group| Some(group.rating) == known.worst).map(|group| group.year);
        Some(SEASON - years.max()?)
    };
    let past = fields.iter().filter(|field| worst_of(field).is_some_and(|age| age >= 5)).count();
    let in_legend: usize = rows.iter().filter(|row| row.0.contains("5 or more")).map(|row| row.1).sum();
    assert_eq!(in_legend, past, "{rows:?}");
}

#[test]
fn a_map_of_one_mode_of_action_knows_nothing_of_the_others() {
    let of = RatingOf::Group("2".into());
    let svg = map_svg(farm(), &MapRequest { of: of.clone(), ..request(Colouring::Rating) });
    let rows = legend(&Document::parse(&svg).unwrap());
    let known = field_ratings(farm(), SEASON);
    let fields = farm().fields_in(SEASON);
    let untested = fields.iter().filter(|field| !known[&field.id].groups.contains_key("2")).count();
    assert_eq!(rows[4].1, untested, "{rows:?}");
    assert!(svg.contains("ALS"));
    let changes = map_svg(farm(), &MapRequest { of: of.clone(), ..request(Colouring::Change) });
    let rows = legend(&Document::parse(&changes).unwrap());
    let history = History::of(farm(), SEASON);
    let worse = fields.iter().filter(|field| history.change(field.id, &of).is_some_and(|change| change.steps() > 0));
    let in_legend: usize = rows.iter().filter(|row| row.0.starts_with("worse")).map(|row| row.1).sum();
    assert_eq!(in_legend, worse.count(), "{rows:?}");
}

#[test]
fn legend_counts_ages_and_due_fields() {
    let all = farm().fields_in(SEASON).len();
    let known = field_ratings(farm(), SEASON);
    let svg = map_svg(farm(), &request(Colouring::Age));
    let rows = legend(&Document::parse(&svg).unwrap());
    assert_eq!(rows.iter().map(|row| row.1).sum::<usize>(), all);
    let past = farm()
        .fields_in(SEASON)
        .iter()
        .filter(|field| known[&field.id].years_since_test.is_some_and(|age| age >= 5))
        .count();
    assert_eq!(rows[1].1, past, "{rows:?}");
    let svg = map_svg(farm(), &request(Colouring::Due));
    let rows = legend(&Document::parse(&svg).unwrap());
    let due = season::due(farm(), SEASON).iter().filter(|due| due.due).count();
    assert_eq!(rows[..rows.len() - 1].iter().map(|row| row.1).sum::<usize>(), due, "{rows:?}");
    assert_eq!(rows.iter().map(|row| row.1).sum::<usize>(), all);
}

#[test]
fn legend_of_densities_covers_all_the_land() {
    let svg = map_svg(farm(), &request(Colouring::Density));
    let rows = legend(&Document::parse(&svg).unwrap());
    let ha: f64 = farm().fields_in(SEASON).iter().map(|field| field.area_m2()).sum::<f64>() / 10_000.0;
    let in_legend: f64 = rows.iter().map(|row| row.2).sum();
    assert!((in_legend - ha).abs() < 0.04, "{in_legend} ha in the legend, {ha} ha of fields");
    assert!(rows[..4].iter().all(|row| row.1 > 0) && rows[5].1 > 0, "{rows:?}");
    // Measured on paper: cells are cut at the outlines, and only slivers along them, whose middles lie outside, are missing.
    let document = Document::parse(&svg).unwrap();
    let bars = classed(&document, "scale-bar");
    let bar = &rings(bars[0].attribute("d").unwrap())[0];
    let mm_per_m = (bar[1].0 - bar[0].0) / figure(&bars[0], "data-metres");
    let turned = |ring: &Vec<(f64, f64)>| {
        let next = ring.iter().cycle().skip(1);
        ring.iter().zip(next).map(|(a, b)| a.0 * b.1 - a.1 * b.0).sum::<f64>() / 2.0
    };
    // Rings and their holes turn against each other.
    let of = |path: &Node<'_, '_>| rings(path.attribute("d").unwrap()).iter().map(turned).sum::<f64>().abs();
    let drawn: f64 = classed(&document, "density").iter().map(of).sum::<f64>() / (mm_per_m * mm_per_m) / 10_000.0;
    let scouted: f64 = rows[..5].iter().map(|row| row.2).sum();
    assert!((0.95..1.002).contains(&(drawn / scouted)), "{drawn} ha on paper, {scouted} ha in the legend");
}

#[test]
fn areas_measured_on_paper_agree_with_the_ground() {
    let fields: BTreeMap<_, _> = farm().fields_in(SEASON).into_iter().map(|field| (field.name.clone(), field)).collect();
    for size_mm in [(297.0, 210.0), (210.0, 297.0), (420.0, 420.0)] {
        let svg = map_svg(farm(), &MapRequest { size_mm, ..request(Colouring::Rating) });
        let document = Document::parse(&svg).unwrap();
        let bars = classed(&document, "scale-bar");
        let bar = &rings(bars[0].attribute("d").unwrap())[0];
        let mm_per_m = (bar[1].0 - bar[0].0) / figure(&bars[0], "data-metres");
        assert!(bar[1].0 - bar[0].0 > 18.0, "the scale bar is too short to measure by");
        let drawn = classed(&document, "field");
        let (mut paper, mut ground) = (0.0, 0.0);
        for field in drawn {
            let on_paper = area(field.attribute("d").unwrap()) / (mm_per_m * mm_per_m);
            let on_ground = fields[field.attribute("data-name").unwrap()].area_m2();
            paper += on_paper;
            ground += on_ground;
            assert!(
                (on_paper / on_ground - 1.0).abs() < 0.005,
                "{:?}: {on_paper} for {on_ground}",
                field.attribute("data-name")
            );
        }
        assert!((paper / ground - 1.0).abs() < 0.005, "{paper} for {ground}");
    }
}

#[test]
fn every_class_has_a_letter_or_hatching_and_labels_keep_apart() {
    for colouring in COLOURINGS {
        for size_mm in [(297.0, 210.0), (210.0, 297.0), (120.0, 90.0)] {
            let svg = map_svg(farm(), &MapRequest { size_mm, ..request(colouring) });
            let document = Document::parse(&svg).unwrap();
            for row in classed(&document, "legend-row") {
                assert!(!row.attribute("data-mark").unwrap().is_empty(), "{row:?}");
            }
            let labels = classed(&document, "label");
            assert!(labels.len() >= 38, "{colouring:?}: {} labels for 40 fields", labels.len());
            let boxes: Vec<Vec<f64>> = labels
                .iter()
                .map(|l| l.attribute("data-box").unwrap().split(' ').map(|v| v.parse().unwrap()).collect())
                .collect();
            for (i, a) in boxes.iter().enumerate() {
                for b in &boxes[i + 1..] {
                    let apart = a[0] + a[2] <= b[0] + 0.02
                        || b[0] + b[2] <= a[0] + 0.02
                        || a[1] + a[3] <= b[1] + 0.02
                        || b[1] + b[3] <= a[1] + 0.02;
                    assert!(apart, "{colouring:?}: labels at {a:?} and {b:?} collide");
                }
            }
        }
    }
}

#[test]
fn untested_fields_never_look_good() {
    let svg = map_svg(farm(), &request(Colouring::Rating));
    let document = Document::parse(&svg).unwrap();
    let known = field_ratings(farm(), SEASON);
    let untested: BTreeSet<_> = farm()
        .fields_in(SEASON)
        .iter()
        .filter(|field| known[&field.id].worst.is_none())
        .map(|field| field.name.clone())
        .collect();
    assert!(!untested.is_empty());
    let fields = classed(&document, "field");
    for field in fields.iter().filter(|field| untested.contains(field.attribute("data-name").unwrap())) {
        let over = field.next_sibling_element().unwrap();
        assert_eq!(over.attribute("class"), Some("pattern"), "{field:?} has no hatching");
        // Lines 3.2 mm apart, as in the legend, all over the land: their length times their distance is its area.
        let length = |line: &Vec<(f64, f64)>| (line[1].0 - line[0].0).hypot(line[1].1 - line[0].1);
        let hatched = 3.2 * rings(over.attribute("d").unwrap()).iter().map(length).sum::<f64>();
        let land = area(field.attribute("d").unwrap());
        assert!((hatched / land - 1.0).abs() < 0.1, "{hatched} mm2 of {land} hatched in {field:?}");
    }
}

#[test]
fn a_field_alone_shows_its_stops_and_walk() {
    let (records, field) = planned();
    let one = MapRequest { fields: Some(BTreeSet::from([field])), ..request(Colouring::Rating) };
    let svg = map_svg(&records, &one);
    let document = Document::parse(&svg).unwrap();
    let stops: Vec<(f64, f64)> = classed(&document, "stop").iter().map(|s| (figure(s, "cx"), figure(s, "cy"))).collect();
    assert_eq!((stops.len(), classed(&document, "walk").len(), classed(&document, "field").len()), (6, 1, 1));
    let walk = rings(classed(&document, "walk")[0].attribute("d").unwrap()).remove(0);
    assert_eq!(walk[1..7], stops, "the walk passes the stops in order");
    let in_rings = |node: &Node<'_, '_>| stops.iter().any(|(x, _)| node.has_tag_name("text") && figure(node, "x") == *x);
    let numbers: Vec<&str> = document.descendants().filter(in_rings).filter_map(|node| node.text()).collect();
    assert_eq!(numbers, ["1", "2", "3", "4", "5", "6"]);
    // The plane's own measure against the geodesic's (Karney 2013) between first and last stop.
    let plan = records.plan_of(field, SEASON).unwrap();
    let ground =
        geo::Distance::distance(&geo::Geodesic, geo::Point(plan.stops[0].position), geo::Point(plan.stops[5].position));
    let bars = classed(&document, "scale-bar");
    let bar = &rings(bars[0].attribute("d").unwrap())[0];
    let paper =
        (stops[0].0 - stops[5].0).hypot(stops[0].1 - stops[5].1) * figure(&bars[0], "data-metres") / (bar[1].0 - bar[0].0);
    assert!((paper / ground - 1.0).abs() < 0.005, "{paper} m on paper, {ground} m on the ground");
}

#[test]
fn odd_requests_give_a_map_or_a_sentence() {
    let empty = Records::default();
    for size_mm in [(297.0, 210.0), (f64::NAN, 0.0), (1.0, 90_000.0)] {
        let svg = map_svg(&empty, &MapRequest { size_mm, ..request(Colouring::Rating) });
        assert!(
            Document::parse(&svg).unwrap().descendants().any(|node| node.text().is_some_and(|t| t.contains("No field")))
        );
    }
    let title = "<b> & \"Düne\" \u{1}".to_owned();
    Document::parse(&map_svg(farm(), &MapRequest { title, ..request(Colouring::Age) })).unwrap();
    assert!(map_png(farm(), &request(Colouring::Age), f64::NAN).is_err());
    assert!(map_png(farm(), &request(Colouring::Age), 100_000.0).is_err());
}
