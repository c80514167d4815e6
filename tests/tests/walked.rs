//! Walks as they were walked, held against shapely and pyproj.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stop where something is wrong

mod support;

use awn_core::crs::LocalPlane;
use awn_core::exchange::{WalkedOptions, walked};
use awn_core::model::{FieldId, PlanSettings, Record, TakenAt, Tramlines, TramlinesId, Walked};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::{Edit, Project};
use awn_core::stops::propose;
use geo::Coord;
use jiff::civil::date;
use serde_json::json;
use support::{Folder, project};

const YEAR: i32 = 2027;

/// The project with tramlines and six planned stops in its first field, a square of 200 m.
fn planned() -> (Project, FieldId) {
    let mut project = project();
    let field = project.records().fields.values().next().unwrap().clone();
    let corner = field.boundary.0[0].exterior().0[0];
    let mut edit = Edit::new(project.records(), "Set up");
    edit.put(Record::Tramlines(Tramlines {
        id: TramlinesId::new(),
        field: field.id,
        anchor: Coord { x: corner.x + 0.0005, y: corner.y + 0.0005 },
        bearing_deg: 0.0,
        spacing_m: 24.0,
        headland_m: 12.0,
        area: None,
        lines: Vec::new(),
    }));
    let command = edit.done();
    project.apply(command).unwrap();
    let settings = PlanSettings { stops: 6, ..PlanSettings::default() };
    let plan = propose(project.records(), field.id, YEAR, &settings, &Quiet).unwrap();
    let mut edit = Edit::new(project.records(), "Plan");
    edit.put(Record::Plan(plan));
    let command = edit.done();
    project.apply(command).unwrap();
    (project, field.id)
}

fn gpx(points: &[Coord<f64>], marks: &[(&str, Coord<f64>)], day: &str) -> String {
    let point =
        |at: &Coord<f64>| format!("<trkpt lat=\"{:.7}\" lon=\"{:.7}\"><time>{day}T09:30:00Z</time></trkpt>", at.y, at.x);
    let mark = |(name, at): &(&str, Coord<f64>)| format!("<wpt lat=\"{}\" lon=\"{}\"><name>{name}</name></wpt>", at.y, at.x);
    format!(
        "<gpx xmlns=\"http://www.topografix.com/GPX/1/1\" version=\"1.1\" creator=\"x\">{}<trk><trkseg>{}</trkseg></trk></gpx>",
        marks.iter().map(mark).collect::<String>(),
        points.iter().map(point).collect::<String>()
    )
}

fn options() -> WalkedOptions {
    WalkedOptions { year: YEAR, ..WalkedOptions::default() }
}

fn read(project: &Project, text: String, options: &WalkedOptions) -> (Option<Walked>, Problems) {
    let folder = Folder::new();
    let file = folder.write("track.gpx", text);
    let mut problems = Problems::new();
    let import = walked(project.records(), &file, options, &mut problems, &Quiet);
    let found = import.ok().and_then(|import| match &import.command.changes.first()?.after {
        Some(Record::Walked(walk)) => Some(walk.clone()),
        _ => None,
    });
    (found, problems)
}

/// A walk as a receiver records it: along the planned walk, some metres off, a point each few metres.
fn wobbly(line: &[Coord<f64>]) -> Vec<Coord<f64>> {
    let mut points = Vec::new();
    for pair in line.windows(2) {
        for step in 0..8 {
            let part = f64::from(step) / 8.0;
            let turn = (points.len() as f64) * 0.7;
            let off = Coord { x: 2.5e-5 * turn.sin(), y: 1.5e-5 * turn.cos() };
            points.push(pair[0] + (pair[1] - pair[0]) * part + off);
        }
    }
    points
}

#[test]
fn lengths_areas_and_distances_are_those_of_shapely() {
    let (project, id) = planned();
    let field = &project.records().fields[&id];
    let plan = project.records().plan_of(id, YEAR).unwrap();
    let whole = wobbly(&plan.walk.line.0);
    for points in [whole.clone(), whole[..whole.len() / 3].to_vec()] {
        let (walk, problems) = read(&project, gpx(&points, &[], "2027-07-14"), &options());
        let walk = walk.unwrap_or_else(|| panic!("{problems:?}"));
        let found = &walk.figures;
        assert_eq!((walk.date, found.taken_at), (Some(date(2027, 7, 14)), TakenAt::Stops));
        let area = json!({ "type": "MultiPolygon", "coordinates": field.boundary.iter().map(|polygon| vec![
            polygon.exterior().0.iter().map(|c| [c.x, c.y]).collect::<Vec<_>>()]).collect::<Vec<_>>() });
        let line: Vec<[f64; 2]> = points.iter().map(|c| [(c.x * 1e7).round() / 1e7, (c.y * 1e7).round() / 1e7]).collect();
        let stops: Vec<[f64; 2]> = plan.stops.iter().map(|stop| [stop.position.x, stop.position.y]).collect();
        let theirs = awn_tests::reference::run(
            "walked",
            &json!({ "field": area, "track": { "type": "LineString", "coordinates": line }, "stops": stops, "near_m": 25.0 }),
        );
        let number = |key: &str| theirs[key].as_f64().unwrap();
        println!(
            "length {} / {}, area {} / {}, share {} / {}",
            found.length_m,
            number("length_m"),
            found.area_m2,
            number("area_m2"),
            found.population_within_25_m,
            number("share")
        );
        assert!((found.length_m / number("length_m") - 1.0).abs() < 1e-5, "{} {}", found.length_m, number("length_m"));
        // The track is smoothed by half a metre before it is widened.
        assert!((found.area_m2 / number("area_m2") - 1.0).abs() < 0.01, "{} {}", found.area_m2, number("area_m2"));
        for (ours, theirs) in found.away_m.iter().zip(theirs["away_m"].as_array().unwrap()) {
            assert!((ours - theirs.as_f64().unwrap()).abs() < 0.01, "{ours} {theirs}");
        }
        // Without scouting the ground itself counts; the two lattices of 5 m lie differently.
        assert!((found.population_within_25_m - number("share")).abs() < 0.02, "{}", found.population_within_25_m);
    }
}

#[test]
fn a_whole_walk_reaches_all_and_a_corner_is_said() {
    let (project, id) = planned();
    let plan = project.records().plan_of(id, YEAR).unwrap().clone();
    let (walk, problems) = read(&project, gpx(&wobbly(&plan.walk.line.0), &[], "2027-07-14"), &options());
    let found = walk.unwrap().figures;
    assert_eq!((found.reached(), found.away_m.len()), (6, 6), "{problems:?}");
    assert!(found.warnings.is_empty(), "{:?}", found.warnings);
    let (visited, planned) = (found.visited.unwrap(), found.planned.unwrap());
    assert!((visited.balance - planned.balance).abs() < 0.05, "{} {}", visited.balance, planned.balance);
    assert_eq!(visited.tramlines, planned.tramlines);

    // Places marked in the corner by the road count, and not the stops that were taken along on the receiver.
    let corner = project.records().fields[&id].boundary.0[0].exterior().0[0];
    let at = |x: f64, y: f64| Coord { x: corner.x + x, y: corner.y + y };
    let name = project.records().fields[&id].name.clone();
    let stop = plan.stops[0].position;
    let marks = [("1", at(2e-4, 2e-4)), ("2", at(3e-4, 2e-4)), ("3", at(3e-4, 3e-4)), (&*format!("{name} 1"), stop)];
    let (walk, _) = read(&project, gpx(&[at(0.0, 1e-4), at(4e-4, 3e-4)], &marks, "2027-07-14"), &options());
    let found = walk.unwrap().figures;
    assert_eq!((found.taken_at, found.places.len(), found.reached()), (TakenAt::Marks, 3, 0));
    assert!(found.warnings.iter().any(|warning| warning.contains("from one corner")), "{:?}", found.warnings);
    assert!(found.warnings.iter().any(|warning| warning.contains("6 of 6 stops")), "{:?}", found.warnings);
    assert!(found.visited.unwrap().balance > 3.0 * planned.balance);
}

#[test]
fn tracks_that_are_none_of_the_field_are_said_with_what_to_do() {
    let (project, id) = planned();
    let line = project.records().plan_of(id, YEAR).unwrap().walk.line.0.clone();
    let far: Vec<Coord<f64>> = line.iter().map(|c| Coord { x: c.x - 2.0, y: c.y + 1.0 }).collect();
    let other = project.records().fields.values().nth(1).unwrap().clone();
    let no_track = "<gpx version=\"1.1\"><wpt lat=\"52.5\" lon=\"-0.4\"/></gpx>".to_owned();
    for (text, options, what, hint) in [
        (gpx(&far, &[], "2027-07-14"), options(), "runs through no field: the nearest is", "right day and farm"),
        (gpx(&line, &[], "2026-07-14"), options(), "does not go with harvest 2027", "Choose the harvest"),
        (gpx(&far, &[], "2027-07-14"), WalkedOptions { field: Some(id), ..options() }, "runs through no field", "right day"),
        (no_track, options(), "", ""),
    ] {
        let (walk, problems) = read(&project, text, &options);
        assert!(walk.is_none());
        let told = problems.errors().next().unwrap_or_else(|| panic!("nothing said: {what}"));
        assert!(told.what.contains(what) && told.hint.contains(hint), "{told:?}");
    }
    // The field next door was named.
    let elsewhere = WalkedOptions { field: Some(other.id), ..options() };
    let (walk, problems) = read(&project, gpx(&line[..1], &[], "2027-07-14"), &elsewhere);
    match walk {
        // Within 100 m of it: kept, with the warning that it does not enter it.
        Some(walk) => assert!(walk.figures.warnings.iter().any(|warning| warning.contains("does not enter")), "{walk:?}"),
        None => assert!(problems.errors().any(|problem| problem.hint.contains("choose that field")), "{problems:?}"),
    }
    // Out of season is a warning.
    let (walk, problems) = read(&project, gpx(&line, &[], "2027-11-02"), &options());
    assert!(walk.is_some() && problems.list.iter().any(|problem| problem.what.contains("out of season")), "{problems:?}");
}

#[test]
fn a_track_read_again_takes_the_place_of_itself() {
    let (mut project, id) = planned();
    let line = project.records().plan_of(id, YEAR).unwrap().walk.line.0.clone();
    let folder = Folder::new();
    let file = folder.write("track.gpx", gpx(&line, &[], "2027-07-14"));
    for (added, updated) in [(1, 0), (0, 1)] {
        let import = walked(project.records(), &file, &options(), &mut Problems::new(), &Quiet).unwrap();
        assert_eq!((import.added, import.updated), (added, updated));
        project.apply(import.command).unwrap();
    }
    assert_eq!(project.records().walked.len(), 1);
}

/// Segments of a track, without times; a segment may be empty.
fn timeless(segments: &[&[Coord<f64>]]) -> String {
    let point = |at: &Coord<f64>| format!("<trkpt lat=\"{:.7}\" lon=\"{:.7}\"/>", at.y, at.x);
    let part = |points: &&[Coord<f64>]| format!("<trkseg>{}</trkseg>", points.iter().map(point).collect::<String>());
    let all: String = segments.iter().map(part).collect();
    format!("<gpx xmlns=\"http://www.topografix.com/GPX/1/1\" version=\"1.1\" creator=\"x\"><trk>{all}</trk></gpx>")
}

#[test]
fn tracks_without_times_and_in_pieces_are_read() {
    let (project, id) = planned();
    let points = wobbly(&project.records().plan_of(id, YEAR).unwrap().walk.line.0);
    let (whole, _) = read(&project, gpx(&points, &[], "2027-07-14"), &options());
    let whole = whole.unwrap().figures;
    let (walk, problems) = read(&project, timeless(&[&points]), &options());
    let walk = walk.unwrap();
    assert_eq!((walk.date, &walk.figures), (None, &whole));
    let told = problems.list.iter().find(|p| p.what.contains("of which day")).unwrap_or_else(|| panic!("{problems:?}"));
    assert!(told.hint.contains("Give the day"), "{told:?}");
    // The day is given by hand then.
    let (walk, problems) =
        read(&project, timeless(&[&points]), &WalkedOptions { date: Some(date(2027, 7, 15)), ..options() });
    assert_eq!(walk.unwrap().date, Some(date(2027, 7, 15)), "{problems:?}");
    // A receiver that lost its signal: the way between the pieces was not walked under its eyes and is no part of the track.
    let (one, two) = (points.len() / 3, 2 * points.len() / 3);
    let (walk, _) = read(&project, timeless(&[&points[..one], &[], &points[two..]]), &options());
    let found = walk.unwrap();
    assert_eq!(found.track.0.len(), 2);
    assert!(found.figures.length_m < 0.75 * whole.length_m, "{} {}", found.figures.length_m, whole.length_m);
    assert!(found.figures.reached() < whole.reached() && !found.figures.warnings.is_empty());
    // Pieces that join lack nothing.
    let (walk, _) = read(&project, timeless(&[&points[..=one], &points[one..]]), &options());
    let found = walk.unwrap().figures;
    assert!((found.length_m - whole.length_m).abs() < 1e-6 && found.reached() == whole.reached());
}

#[test]
fn tracks_with_nothing_in_them_are_said() {
    let (project, id) = planned();
    let stop = project.records().plan_of(id, YEAR).unwrap().stops[0].position;
    for text in [
        timeless(&[]),
        timeless(&[&[]]),
        "<gpx version=\"1.1\"/>".to_owned(),
        String::new(),
        "no file of that kind".to_owned(),
    ] {
        let (walk, problems) = read(&project, text.clone(), &options());
        let told = problems.errors().next().unwrap_or_else(|| panic!("nothing said of {text:?}"));
        assert!(walk.is_none() && !told.hint.is_empty(), "{told:?}");
    }
    // One point, or the same point again and again, is a place and no walk.
    for points in [vec![stop], vec![stop; 5]] {
        let (walk, problems) = read(&project, timeless(&[&points]), &WalkedOptions { field: Some(id), ..options() });
        match walk {
            Some(walk) => assert!(walk.figures.length_m < 0.01 && !walk.figures.warnings.is_empty(), "{walk:?}"),
            None => assert!(problems.errors().all(|problem| !problem.hint.is_empty()), "{problems:?}"),
        }
    }
}

#[test]
fn a_stop_is_reached_within_fifteen_metres() {
    let (project, id) = planned();
    let stop = project.records().plan_of(id, YEAR).unwrap().stops[0].position;
    let plane = LocalPlane::at(stop).unwrap();
    for (away, reached) in [(0.0, true), (14.9, true), (15.1, false)] {
        // A line past the stop, so long that its ends do not count; the bearing of the walk must not matter.
        for (x, y) in [(1.0, 0.0), (0.0, 1.0), (0.6, 0.8)] {
            let at = |along: f64| plane.degrees(Coord { x: along * x - away * y, y: along * y + away * x });
            let (walk, problems) = read(&project, timeless(&[&[at(-60.0), at(60.0)]]), &options());
            let found = walk.unwrap_or_else(|| panic!("{problems:?}")).figures;
            assert!((found.away_m[0] - away).abs() < 0.02, "{} for {away}", found.away_m[0]);
            assert_eq!(found.away_m[0] <= 15.0, reached, "{away} m");
        }
    }
}

#[test]
fn a_walk_in_the_corner_by_the_gate_is_said_without_any_mark() {
    let (project, id) = planned();
    let corner = project.records().fields[&id].boundary.0[0].exterior().0[0];
    let at = |x: f64, y: f64| Coord { x: corner.x + x, y: corner.y + y };
    let points: Vec<Coord<f64>> = (0..20).map(|n| at(2e-5 * f64::from(n), 1e-4 + 1e-5 * f64::from(n % 3))).collect();
    let (walk, problems) = read(&project, timeless(&[&points]), &options());
    let found = walk.unwrap_or_else(|| panic!("{problems:?}")).figures;
    assert_eq!((found.taken_at, found.reached()), (TakenAt::Track, 0));
    let said = problems.list.iter().find(|problem| problem.what.contains("from one corner")).unwrap();
    assert!(said.what.contains("Take seed from the rest of the field"), "{said:?}");
}
