//! Rounds over the farms: beside OR-tools on random seasons, on the sample farm, as files, and with bad input.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // stopping with a sentence is the answer here

use std::path::{Path, PathBuf};

use awn_core::model::{Farm, FarmId, Field, Record, Records, RoundSettings, Rounds, RoundsId, Visit};
use awn_core::progress::Quiet;
use awn_core::season::schedule;
use awn_tests::program::{Outcome, awn};
use awn_tests::random_season::{for_peer, season};
use awn_tests::{project_path, reference};
use geo::Coord;
use jiff::civil::date;
use rayon::prelude::*;
use serde_json::{Value, json};

/// The middle of the sample farm's three farms.
const BASE: &str = "-0.215,52.34";

#[test]
fn rounds_drive_within_five_per_cent_of_or_tools() {
    // What OR-tools found, with the seconds it had, is in the data; `tests/examples/rounds_peer.rs` writes it. Same rules, same
    // minutes: `tests/reference/rounds.py`, which also looks our rounds over by rules written down a second time.
    let text = std::fs::read_to_string(project_path("tests/data/rounds-peer.json")).unwrap();
    let peer: Value = serde_json::from_str(&text).unwrap();
    let seasons = peer["seasons"].as_array().unwrap();
    assert_eq!(seasons.len(), 50);
    let tasks: Vec<_> = (0..50).map(|number| season(number, 40)).collect();
    let found: Vec<_> = tasks.par_iter().map(|task| schedule(task, &Quiet).unwrap()).collect();
    let asked: Vec<Value> = tasks.iter().zip(&found).map(|(task, found)| for_peer(task, 0.0, Some(found))).collect();
    let looked = reference::run("rounds", &json!(asked));
    let mut ratios = Vec::new();
    let (mut fewer_left, mut left_some) = (0, 0);
    for (number, (task, schedule)) in tasks.iter().zip(&found).enumerate() {
        assert_eq!(looked[number]["check"], json!([]), "season {number}");
        assert_eq!(task.fault(schedule), None, "season {number}");
        let theirs = seasons[number]["left"].as_u64().unwrap() as usize;
        left_some += usize::from(theirs > 0);
        assert!(schedule.left.len() <= theirs, "season {number}: we leave {} out, they {theirs}", schedule.left.len());
        if schedule.left.len() < theirs {
            fewer_left += 1;
            continue;
        }
        let driving = task.driving_of(schedule);
        assert!((driving - looked[number]["check_drive"].as_f64().unwrap()).abs() < 1e-6);
        ratios.push(driving / seasons[number]["drive"].as_f64().unwrap());
    }
    ratios.sort_by(f64::total_cmp);
    println!(
        "driving beside OR-tools with {} s: least {:.3}, median {:.3}, largest {:.3} over {} seasons; {left_some} seasons in which not \
         all fits; we leave fewer fields out in {fewer_left}",
        peer["seconds"],
        ratios[0],
        ratios[ratios.len() / 2],
        ratios[ratios.len() - 1],
        ratios.len()
    );
    assert!(ratios.iter().all(|ratio| *ratio <= 1.05), "{ratios:?}");
}

#[test]
fn small_seasons_beside_or_tools_run_now() {
    let tasks: Vec<_> = (50..56).map(|number| season(number, 12)).collect();
    let found: Vec<_> = tasks.iter().map(|task| schedule(task, &Quiet).unwrap()).collect();
    let asked: Vec<Value> = tasks.iter().zip(&found).map(|(task, found)| for_peer(task, 1.0, Some(found))).collect();
    let theirs = reference::run("rounds", &json!(asked));
    for (number, (task, ours)) in tasks.iter().zip(&found).enumerate() {
        let theirs = &theirs[number];
        assert_eq!((theirs["faults"].clone(), theirs["check"].clone()), (json!([]), json!([])));
        let left = theirs["left"].as_array().unwrap().len();
        assert!(ours.left.len() <= left, "season {number}");
        if ours.left.len() == left {
            let ratio = task.driving_of(ours) / theirs["drive"].as_f64().unwrap();
            assert!(ratio <= 1.05, "season {number}: {ratio}");
        }
    }
}

fn farm(folder: &Path) -> PathBuf {
    awn::demo::write_sample_farm(folder, &Quiet).unwrap()
}

fn planned(folder: &Path) -> PathBuf {
    let path = farm(folder);
    // Few stops and one start of k-means: the walks are what matters here.
    let done = awn(["stops", path.to_str().unwrap(), "--year", "2027", "--due", "--stops", "4", "--json"]);
    assert_eq!(done.code, 0, "{}", done.err);
    path
}

fn rounds(path: &Path, more: &[&str]) -> Outcome {
    let fixed = ["rounds", path.to_str().unwrap(), "--year", "2027", "--json"];
    awn(fixed.iter().copied().chain(more.iter().copied()))
}

#[test]
fn the_sample_farm_gets_rounds_a_calendar_and_gpx() {
    let folder = tempfile::tempdir().unwrap();
    let path = planned(folder.path());
    let (ics, gpx) = (folder.path().join("rounds.ics"), folder.path().join("days"));
    let asked = [
        "--from",
        "2027-07-05",
        "--to",
        "2027-07-23",
        "--base",
        BASE,
        "--people",
        "2",
        "--cleanest-first",
        "--ics",
        ics.to_str().unwrap(),
        "--gpx",
        gpx.to_str().unwrap(),
    ];
    let done = rounds(&path, &asked);
    assert_eq!(done.code, 0, "{}", done.err);
    let answer = done.json();
    let days = answer["rounds"].as_array().unwrap();
    let visits: Vec<&Value> = days.iter().flat_map(|day| day["visits"].as_array().unwrap()).collect();
    assert!(visits.len() > 5, "{} visits", visits.len());
    // Inside the ripe dates, and no longer than the day.
    let ripe = awn(["ripe", path.to_str().unwrap(), "--year", "2027", "--json"]).json();
    for day in days {
        assert!(day["minutes"].as_f64().unwrap() <= 480.0 + 1e-6, "{day}");
        for visit in day["visits"].as_array().unwrap() {
            let fields = ripe["fields"].as_array().unwrap();
            let own = fields.iter().find(|field| field["field_id"] == visit["field_id"]).unwrap();
            let (date, from, to) = (day["date"].as_str(), own["from"].as_str(), own["to"].as_str());
            assert!(from <= date && date <= to, "{own} on {date:?}");
        }
    }
    // RFC 5545, by the parser of PyPI icalendar; lines of 75 octets at most (section 3.1).
    let seen = reference::run("calendar_file", &json!({ "path": ics }));
    assert_eq!(seen["errors"], json!([]));
    assert_eq!(seen["events"].as_array().unwrap().len(), visits.len());
    assert!(seen["floating"] == true && seen["longest"].as_u64().unwrap() <= 75, "{}", seen["longest"]);
    let first = &seen["events"][0];
    let opening = format!("{}T{}", days[0]["date"].as_str().unwrap(), days[0]["visits"][0]["arrive"].as_str().unwrap());
    assert!(first["start"].as_str().unwrap().starts_with(&opening), "{first} {opening}");
    assert!((first["geo"][0].as_f64().unwrap() - visits[0]["lat"].as_f64().unwrap()).abs() < 1e-5);
    assert!(first["description"].as_str().unwrap().contains("what was sprayed"));
    // GPX, by gpxpy: a waypoint and a track for each visit, a route through the gates from the base and back.
    let files: Vec<PathBuf> = std::fs::read_dir(&gpx).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(files.len(), days.len());
    for day in days {
        let name = format!("round-{}-car-{}.gpx", day["date"].as_str().unwrap(), day["car"]);
        let read = reference::run("day_gpx", &json!({ "path": gpx.join(name) }));
        let visits = day["visits"].as_array().unwrap();
        let names: Vec<String> =
            visits.iter().map(|visit| format!("{} {}", visit["number"], visit["field"].as_str().unwrap())).collect();
        assert_eq!(read["waypoints"], json!(names));
        assert_eq!(read["route"].as_array().unwrap().len(), visits.len() + 2);
        assert_eq!(read["tracks"].as_u64().unwrap() as usize, visits.len());
    }
    // The same again gives the same rounds; they are kept, shown without dates, and taken back by undo.
    let kept = rounds(&path, &[]).json();
    assert_eq!(kept["rounds"], answer["rounds"]);
    let again = rounds(&path, &asked).json();
    assert_eq!(again["rounds"], answer["rounds"]);
    // A calendar read in again moves the events that are there: same UID, higher or equal SEQUENCE (RFC 5545, 3.8.4.7 and 3.8.7.4).
    let second = reference::run("calendar_file", &json!({ "path": ics }));
    let uids = |read: &Value| -> Vec<String> {
        read["events"].as_array().unwrap().iter().map(|event| event["uid"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(uids(&seen), uids(&second));
    assert!(second["events"][0]["sequence"].as_i64() >= first["sequence"].as_i64() && second["errors"] == json!([]));
    let mut project = awn_core::project::Project::open(&path).unwrap();
    assert_eq!(project.records().rounds.len(), 1);
    project.undo().unwrap();
    project.undo().unwrap();
    assert!(project.records().rounds.is_empty());
}

#[test]
fn a_calendar_holds_any_name() {
    let gate = Coord { x: -0.2, y: 52.3 };
    let mut records = Records::default();
    let names = [
        "Comma, semicolon; back\\slash and \"quotes\": a colon",
        "Two\nlines and a\ttab",
        "Ålder Wiese hinter dem Grünen Graben, östlicher Teil — sehr lang, damit die Zeile überall gefaltet wird: äöüßéèñ ČŽŠ 草地",
        "BEGIN:VEVENT",
        "\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}\u{1f33e}",
    ];
    let farm = Farm { id: FarmId::new(), business: String::new(), name: "Nook, Farm; East".into() };
    let mut visits = Vec::new();
    for (number, name) in (1..).zip(names) {
        let field = Field::new(farm.id, name, geo::MultiPolygon(vec![]));
        let arrive_min = 60.0 * number as f64;
        visits.push(Visit {
            field: field.id,
            date: date(2027, 7, 12),
            car: 1,
            number,
            gate,
            km: 2.0,
            arrive_min,
            minutes: 41.3,
        });
        records.put(Record::Field(field));
    }
    records.put(Record::Farm(farm));
    let settings = RoundSettings { base: gate, ..RoundSettings::default() };
    let rounds = Rounds { id: RoundsId::new(), year: 2027, settings, visits, left_out: vec![] };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("rounds.ics");
    std::fs::write(&path, awn_core::exchange::rounds_calendar(&records, &rounds).unwrap()).unwrap();
    let seen = reference::run("calendar_file", &json!({ "path": path }));
    assert_eq!(seen["errors"], json!([]));
    let events = seen["events"].as_array().unwrap();
    assert_eq!(events.len(), names.len());
    for (event, name) in events.iter().zip(names) {
        assert_eq!(event["summary"].as_str().unwrap(), format!("Seed: {name}"));
        assert_eq!(event["location"].as_str().unwrap(), format!("{name}, Nook, Farm; East"));
    }
    assert_eq!((&events[0]["start"], &events[0]["end"]), (&json!("2027-07-12T09:00:00"), &json!("2027-07-12T09:41:00")));
}

#[test]
fn rounds_that_no_longer_hold_are_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = planned(folder.path());
    let asked = ["--from", "2027-07-05", "--to", "2027-07-30", "--base", BASE, "--people", "2"];
    let fresh = rounds(&path, &asked).json();
    assert_eq!(fresh["doubts"], json!([]));
    let visits: Vec<&Value> =
        fresh["rounds"].as_array().unwrap().iter().flat_map(|day| day["visits"].as_array().unwrap()).collect();
    let text = path.to_str().unwrap();
    let full = |at: usize| format!("{}/{}", visits[at]["farm"].as_str().unwrap(), visits[at]["field"].as_str().unwrap());
    let last = visits.len() - 1;
    awn(["due", text, "--year", "2027", "--veto", &full(0)]);
    awn(["stops", text, "--year", "2027", "--field", &full(last), "--stops", "24"]);
    let told = rounds(&path, &[]);
    let doubts = told.json()["doubts"].as_array().unwrap().clone();
    let about = |at: usize| -> String {
        let own = doubts.iter().find(|doubt| doubt["field"] == visits[at]["field"]);
        own.unwrap_or_else(|| panic!("{doubts:?}"))["what"].as_str().unwrap().to_owned()
    };
    assert!(about(0).contains("vetoed since") && about(last).contains("minutes; the round counts on"), "{doubts:?}");
    // Half of the seed gone in the first days of July: the visits come too late.
    for day in ["2027-07-02", "2027-07-04"] {
        awn(["ripe", text, "--year", "2027", "--field", &full(1), "--date", day, "--shed", "50"]);
    }
    let doubts = rounds(&path, &[]).json()["doubts"].to_string();
    assert!(doubts.contains("its seed is now expected ripe about"), "{doubts}");
    // Worked out again, they hold.
    assert_eq!(rounds(&path, &asked).json()["doubts"], json!([]));
}

#[test]
fn what_does_not_fit_is_said_with_the_reason() {
    let folder = tempfile::tempdir().unwrap();
    let path = planned(folder.path());
    let text = path.to_str().unwrap();
    let due = awn(["due", text, "--year", "2027", "--json"]).json();
    let fields = due["fields"].as_array().unwrap();
    let planned = fields.iter().filter(|field| field["due"] == true).count();
    let full = |field: &Value| format!("{}/{}", field["farm"].as_str().unwrap(), field["field"].as_str().unwrap());
    let unplanned = full(fields.iter().find(|field| field["due"] == false && field["score"].as_f64() > Some(0.0)).unwrap());
    let vetoed = full(&fields[0]);
    awn(["due", text, "--year", "2027", "--pin", &unplanned, "--veto", &vetoed]);
    let done = rounds(&path, &["--from", "2027-07-12", "--to", "2027-07-12", "--base", BASE, "--hours", "3"]).json();
    let left = done["left_out"].as_array().unwrap();
    let reasons: Vec<&str> = left.iter().map(|left| left["reason"].as_str().unwrap()).collect();
    assert!(reasons.iter().any(|reason| reason.contains("propose stops first")), "{reasons:?}");
    assert!(
        reasons.iter().any(|reason| reason.starts_with("No room") && reason.contains("minutes too many")),
        "{reasons:?}"
    );
    let visits: usize = done["rounds"].as_array().unwrap().iter().map(|day| day["visits"].as_array().unwrap().len()).sum();
    // Every planned field but the vetoed one is either visited or named; the pinned one without a walk is named too.
    assert_eq!(visits + left.len(), planned - 1 + 1);
    // Days on which nothing is ripe.
    let early = rounds(&path, &["--from", "2027-06-07", "--to", "2027-06-11", "--base", BASE]).json();
    assert_eq!(early["rounds"], json!([]));
    assert!(early["left_out"].to_string().contains("No day of the rounds lies in its ripe dates"), "{early}");
    // A walk longer than the day.
    let short =
        rounds(&path, &["--from", "2027-07-12", "--to", "2027-07-16", "--base", "-0.9,52.34", "--hours", "1"]).json();
    assert!(short["left_out"].to_string().contains("more than the 1 hours of a day"), "{short}");
}

#[test]
fn bad_input_is_said_with_the_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let path = farm(folder.path());
    let none = rounds(&path, &["--from", "2027-07-12", "--to", "2027-07-16", "--base", BASE]);
    assert_eq!(none.code, 1);
    assert!(none.problems()[0]["hint"].as_str().unwrap().contains("Propose stops"), "{}", none.err);
    let done = awn(["stops", path.to_str().unwrap(), "--year", "2027", "--due", "--stops", "3", "--json"]);
    assert_eq!(done.code, 0);
    for (more, what) in [
        (["--from", "2027-07-12", "--to", "2027-07-16", "--base", BASE, "--hours", "0"], "0.5 to 24 hours"),
        (["--from", "2027-07-16", "--to", "2027-07-12", "--base", BASE, "--hours", "8"], "earlier day first"),
        (["--from", "2026-07-12", "--to", "2026-07-16", "--base", BASE, "--hours", "8"], "in that year"),
        (["--from", "2027-07-17", "--to", "2027-07-18", "--base", BASE, "--hours", "8"], "Saturdays"),
        (["--from", "2027-07-12", "--to", "2027-07-16", "--base", "52.34,-0.215", "--hours", "8"], "wrong way round"),
        (["--from", "2027-07-12", "--to", "2027-07-16", "--base", "13.4,48.8", "--hours", "8"], "days begin and end"),
    ] {
        let refused = rounds(&path, &more);
        assert_eq!(refused.code, 1, "{more:?}: {}", refused.out);
        assert!(
            refused.problems().iter().any(|problem| problem["hint"].as_str().unwrap().contains(what)),
            "{}",
            refused.err
        );
    }
    assert!(awn_core::project::Project::open(&path).unwrap().records().rounds.is_empty(), "nothing half made is kept");
    assert_eq!(rounds(&path, &[]).code, 2, "no rounds to show");
}
