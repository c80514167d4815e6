//! Rounds for calendars and hand-held receivers: iCalendar (RFC 5545) and a GPX 1.1 file for each day and car.
//!
//! Times are those of the wall clock where the fields are ("floating" in RFC 5545), so that a telephone shows them as planned.
//! Same records, same bytes: the stamp of an event is when the rounds were worked out. A field's visit of a harvest keeps its identifier
//! (UID), with a higher SEQUENCE when rounds are worked out again, so that a calendar read in twice moves events and doubles none.

use gpx::{Gpx, Route, Waypoint};
use icalendar::{Calendar, Component as _, Event, EventLike as _};
use jiff::civil::{Date, DateTime};
use jiff::{SignedDuration, Timestamp, ToSpan as _};

use crate::exchange::export::gpx::{empty, text, track, write};
use crate::model::{Records, Rounds, Visit};
use crate::units::count;

/// Shown with every visit: what to mind before walking.
const CAUTIONS: &str = "Ask leave. Check what was sprayed and how long its label keeps people out. Tell someone where you are. \
    Clean boots between fields; gloves against ergot.";

/// A file of one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayFile {
    /// The day.
    pub date: Date,
    /// Which car, counted from 1.
    pub car: usize,
    /// A name for the file: "round-2027-07-12-car-1.gpx".
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

fn names<'a>(records: &'a Records, visit: &Visit) -> (&'a str, &'a str) {
    let field = records.fields.get(&visit.field);
    (field.map_or("a field", |field| field.name.as_str()), field.map_or("", |field| records.farm_name(field)))
}

fn clock(rounds: &Rounds, date: Date, minutes: f64) -> DateTime {
    let start = date.to_datetime(rounds.settings.start);
    start.checked_add(SignedDuration::from_mins(minutes.round() as i64)).unwrap_or(start)
}

/// The calendar: an event for each visit.
pub fn rounds_calendar(records: &Records, rounds: &Rounds) -> Result<Vec<u8>, String> {
    let (stamp, sequence) = made(rounds);
    // Not `Calendar::new`, which names a PRODID of its own: RFC 5545 (3.6) allows one.
    let mut calendar = Calendar::empty();
    for property in [("VERSION", "2.0"), ("PRODID", "-//Awn//Rounds//EN"), ("CALSCALE", "GREGORIAN")] {
        calendar.append_property(property);
    }
    calendar.name(&format!("Seed rounds {}", rounds.year));
    for visit in &rounds.visits {
        let (name, farm) = names(records, visit);
        let local = |minutes: f64| clock(rounds, visit.date, minutes).strftime("%Y%m%dT%H%M%S").to_string();
        let plan = records.plan_of(visit.field, rounds.year);
        let stops = plan.map_or_else(String::new, |plan| format!("{}, ", count(plan.stops.len(), "stop")));
        let mut event = Event::new();
        event
            .uid(&format!("seed-{}-{}@awn", rounds.year, visit.field))
            .summary(&format!("Seed: {name}"))
            .location(&if farm.is_empty() { name.to_owned() } else { format!("{name}, {farm}") })
            .description(&format!(
                "Visit {} of the day, car {}. {stops}{:.0} minutes in the field, {:.1} km from the place before.\n{CAUTIONS}",
                visit.number, visit.car, visit.minutes, visit.km
            ))
            .add_property("DTSTART", local(visit.arrive_min))
            .add_property("DTEND", local(visit.arrive_min + visit.minutes))
            .add_property("DTSTAMP", &stamp)
            .add_property("LAST-MODIFIED", &stamp)
            .add_property("SEQUENCE", sequence.to_string())
            .add_property("GEO", format!("{:.6};{:.6}", visit.gate.y, visit.gate.x));
        calendar.push(event.done());
    }
    Ok(calendar.to_string().into_bytes())
}

/// Minutes from 1970 to 2020, from which revisions are counted.
const COUNTED_FROM_MIN: i64 = 26_297_280;

/// When rounds were worked out, from their identifier: as UTC, and as a number that grows (minutes since 2020).
fn made(rounds: &Rounds) -> (String, i64) {
    let seconds = rounds.id.0.get_timestamp().map_or(0, |stamp| stamp.to_unix().0);
    let made = i64::try_from(seconds).ok().and_then(|seconds| Timestamp::from_second(seconds).ok()).unwrap_or_default();
    (made.strftime("%Y%m%dT%H%M%SZ").to_string(), (made.as_second() / 60 - COUNTED_FROM_MIN).max(0))
}

/// A GPX file for each day and car: gates as waypoints and as a route from the base and back, walks as tracks.
pub fn rounds_gpx(records: &Records, rounds: &Rounds) -> Result<Vec<DayFile>, String> {
    let mut files = Vec::new();
    for (date, car, visits) in rounds.days() {
        let point = |at: geo::Coord<f64>, name: String, description: String| {
            let mut waypoint = Waypoint::new(geo::Point(at));
            waypoint.name = Some(text(&name));
            waypoint.description = Some(text(&description));
            waypoint
        };
        let gates: Vec<Waypoint> = visits
            .iter()
            .map(|visit| {
                let (name, farm) = names(records, visit);
                let from = clock(rounds, date, visit.arrive_min);
                let to = from.checked_add((visit.minutes.round() as i64).minutes()).unwrap_or(from);
                let when = format!("{} to {}", from.strftime("%H:%M"), to.strftime("%H:%M"));
                point(visit.gate, format!("{} {name}", visit.number), format!("{farm}, {when}"))
            })
            .collect();
        let base = |name: &str| point(rounds.settings.base, name.to_owned(), String::new());
        let mut route = Route::new();
        route.name = Some(format!("Round of {}, car {car}", date.strftime("%-d %B %Y")));
        route.points = std::iter::once(base("Start")).chain(gates.iter().cloned()).chain([base("End")]).collect();
        let tracks = visits
            .iter()
            .filter_map(|visit| Some((records.fields.get(&visit.field)?, records.plan_of(visit.field, rounds.year)?)))
            .flat_map(|(field, plan)| plan.walks().enumerate().map(|(person, walk)| track(field, plan, person + 1, walk)));
        let file = Gpx { waypoints: gates, routes: vec![route], tracks: tracks.collect(), ..empty() };
        let name = format!("round-{date}-car-{car}.gpx");
        files.push(DayFile { date, car, name, bytes: write(&file)? });
    }
    Ok(files)
}
