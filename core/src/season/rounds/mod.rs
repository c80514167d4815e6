//! Rounds over the farms: which field on which day, and the order of each day.
//!
//! Every field with a walk planned for the harvest is given a day inside its ripe dates ([`super::ripeness`]); on each day each
//! car goes from the base past its fields and back within the hours of the day, with as little driving as the search finds
//! (`search.rs`). Travel is the straight line times the detour factor over the speed; time in a field is its walk and a fixed time
//! beside it. A field that does not fit is named, with the reason. Minutes and kilometres.

mod doubts;
mod search;
mod task;

use geo::{Coord, Distance as _, Geodesic, Point};
use jiff::civil::{Date, Weekday};

use crate::geometry::label_point;
use crate::model::{Field, LeftOut, Plan, Records, RoundSettings, Rounds, RoundsId, Visit};
use crate::progress::{Cancelled, Progress};
use crate::rating::{FieldRatings, field_ratings};
use crate::season::due::due;
use crate::season::ripe::{RipeDays, ripeness};
use crate::units::count;

pub use doubts::{Doubt, doubts, doubts_in_words};
pub use search::schedule;
pub use task::{Call, Schedule, Task};

/// Further than this from every field, the base is taken for a slip, km.
const FAR_KM: f64 = 200.0;
/// Most days of rounds.
const MOST_DAYS: i32 = 92;
/// What a pinned field is worth beside others.
const PINNED_WORTH: f64 = 50.0;
/// Minutes of driving that a day nearer to the middle of the ripe dates is worth: it only decides between equals.
const DAY_NEARER: f64 = 0.01;

/// Why no rounds can be worked out.
#[derive(Debug, thiserror::Error)]
pub enum RoundsError {
    /// Something asked for cannot be: what, and what to do.
    #[error("{what} {hint}")]
    Wrong {
        /// One sentence.
        what: String,
        /// One sentence.
        hint: String,
    },
    /// Stopped.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

fn wrong<T>(what: impl Into<String>, hint: impl Into<String>) -> Result<T, RoundsError> {
    Err(RoundsError::Wrong { what: what.into(), hint: hint.into() })
}

/// Way by road, km.
pub fn drive_km(settings: &RoundSettings, a: Coord<f64>, b: Coord<f64>) -> f64 {
    settings.detour * Geodesic.distance(Point(a), Point(b)) / 1000.0
}

/// Minutes for so many km.
pub fn drive_minutes(settings: &RoundSettings, km: f64) -> f64 {
    60.0 * km / settings.km_per_h
}

/// Minutes that a field's walk takes those who make it: both walks one after the other for somebody alone.
fn walk_minutes(settings: &RoundSettings, plan: &Plan) -> f64 {
    let walks = if settings.together { plan.minutes() } else { plan.walks().map(|walk| walk.minutes).sum() };
    walks + settings.minutes_a_field
}

/// Where to drive to for a field: the gate its walk starts from, else a gate, else its middle.
fn gate_of(records: &Records, field: &Field, plan: &Plan) -> Coord<f64> {
    let gate = plan.gate.or_else(|| records.gates_of(field.id).next().map(|gate| gate.position));
    gate.or_else(|| label_point(&field.boundary)).unwrap_or(Coord { x: 0.0, y: 0.0 })
}

/// The days of work.
fn days(settings: &RoundSettings) -> Vec<Date> {
    let all = settings.from.series(jiff::Span::new().days(1)).take_while(|day| *day <= settings.to);
    all.take(MOST_DAYS as usize)
        .filter(|day| settings.weekends || !matches!(day.weekday(), Weekday::Saturday | Weekday::Sunday))
        .collect()
}

/// Refuses settings that mean nothing, each with what to do.
fn check_settings(settings: &RoundSettings, year: i32) -> Result<Vec<Date>, RoundsError> {
    let RoundSettings { from, to, hours, people, base, .. } = settings;
    if i32::from(from.year()) != year || i32::from(to.year()) != year {
        return wrong(
            format!("The days {from} to {to} are not of harvest {year}."),
            "Give the first and last day of the rounds in that year.",
        );
    }
    if from > to {
        return wrong(format!("The rounds would end on {to}, before they begin on {from}."), "Give the earlier day first.");
    }
    if (*to - *from).get_days() >= MOST_DAYS {
        return wrong("Rounds of more than three months cannot be worked out.", "Give the days in which seed is ripe.");
    }
    if !(0.5..=24.0).contains(hours) {
        return wrong(format!("A day of {hours} hours leaves no time to work."), "Give from 0.5 to 24 hours a day.");
    }
    if !(1..=20).contains(people) {
        return wrong(format!("{people} people cannot go."), "Give from 1 to 20 people.");
    }
    if !(base.x.abs() <= 180.0 && base.y.abs() <= 90.0) || (base.x == 0.0 && base.y == 0.0) {
        return wrong("The base is no place on the ground.", "Give its longitude and latitude in degrees.");
    }
    let sound = [
        ("detour factor", settings.detour, 1.0..=5.0),
        ("speed", settings.km_per_h, 5.0..=120.0),
        ("time at a field", settings.minutes_a_field, 0.0..=240.0),
    ];
    if let Some((name, value, range)) = sound.into_iter().find(|(_, value, range)| !range.contains(value)) {
        return wrong(format!("A {name} of {value} cannot be."), format!("Give from {} to {}.", range.start(), range.end()));
    }
    let days = days(settings);
    if days.is_empty() {
        return wrong("There is no day of work in these dates.", "Allow Saturdays and Sundays, or give more days.");
    }
    Ok(days)
}

/// A field that rounds could call at.
struct Stop<'a> {
    field: &'a Field,
    gate: Coord<f64>,
    minutes: f64,
    ripe: Option<&'a RipeDays>,
    class: usize,
    worth: f64,
}

/// Rounds for a harvest year. The same records and settings give the same visits.
pub fn rounds(
    records: &Records,
    year: i32,
    settings: &RoundSettings,
    progress: &dyn Progress,
) -> Result<Rounds, RoundsError> {
    let days = check_settings(settings, year)?;
    let ripe = ripeness(records, year);
    let known = field_ratings(records, year);
    let list = due(records, year);
    let fields = records.fields_in(year);
    let mut left_out = Vec::new();
    let mut stops = Vec::new();
    for field in &fields {
        let Some(due) = list.iter().find(|due| due.field == field.id).filter(|due| !due.is_vetoed()) else { continue };
        let sampled = |taken: &crate::model::Sample| taken.field == field.id && taken.year == year && taken.taken.is_some();
        if records.samples.values().any(|sample| sampled(sample)) {
            continue;
        }
        let Some(plan) = records.plan_of(field.id, year) else {
            if due.due {
                let reason = "It is due, but no walk is planned in it: propose stops first.".to_owned();
                left_out.push(LeftOut { field: field.id, reason });
            }
            continue;
        };
        stops.push(Stop {
            field,
            gate: gate_of(records, field, plan),
            minutes: walk_minutes(settings, plan),
            ripe: ripe.fields.get(&field.id),
            class: class_of(known.get(&field.id)),
            worth: if due.is_pinned() { PINNED_WORTH } else { 1.0 + due.score / 500.0 },
        });
    }
    if stops.is_empty() {
        let hint = if left_out.is_empty() {
            "Propose stops for the fields to visit; fields sampled this harvest are not visited again."
        } else {
            "Propose stops for the fields that are due first."
        };
        return wrong(format!("No field has a walk planned for harvest {year}."), hint);
    }
    check_base(settings.base, &stops)?;
    let (task, which) = task_of(settings, &days, &stops, &mut left_out);
    let found = schedule(&task, progress)?;
    let visits = visits(settings, &days, &task, &found, &which, &stops);
    for call in &found.left {
        let stop = &stops[which[*call]];
        left_out.push(LeftOut { field: stop.field.id, reason: no_room(settings, &days, &task, &found, *call, stop) });
    }
    Ok(Rounds { id: RoundsId::new(), year, settings: settings.clone(), visits, left_out })
}

/// Order of biosecurity: S first, then untested, of which nothing is known, then R?, RR, RRR.
fn class_of(known: Option<&FieldRatings>) -> usize {
    use crate::model::Rating;
    match known.and_then(|known| known.worst) {
        Some(Rating::S) => 0,
        None => 1,
        Some(Rating::RQuestion) => 2,
        Some(Rating::RR) => 3,
        Some(Rating::RRR) => 4,
    }
}

fn check_base(base: Coord<f64>, stops: &[Stop<'_>]) -> Result<(), RoundsError> {
    let nearest = |base: Coord<f64>| {
        stops.iter().map(|stop| Geodesic.distance(Point(base), Point(stop.gate)) / 1000.0).fold(f64::INFINITY, f64::min)
    };
    let away = nearest(base);
    if away <= FAR_KM {
        return Ok(());
    }
    let turned = Coord { x: base.y, y: base.x };
    let hint = if turned.y.abs() <= 90.0 && nearest(turned) <= FAR_KM {
        "Longitude comes first, then latitude: they seem to be the wrong way round."
    } else {
        "Give the longitude and latitude of the place that the days begin and end at."
    };
    wrong(format!("The base lies {away:.0} km from the nearest field."), hint)
}

/// The bare task, and which stop each of its calls is; stops that no day can take are left out with the reason.
fn task_of(settings: &RoundSettings, days: &[Date], stops: &[Stop<'_>], left_out: &mut Vec<LeftOut>) -> (Task, Vec<usize>) {
    let limit = 60.0 * settings.hours;
    let minutes = |a: Coord<f64>, b: Coord<f64>| drive_minutes(settings, drive_km(settings, a, b));
    let (mut calls, mut which) = (Vec::new(), Vec::new());
    for (number, stop) in stops.iter().enumerate() {
        let way = minutes(settings.base, stop.gate);
        if 2.0 * way + stop.minutes > limit {
            let reason = format!(
                "Its walk takes {:.0} minutes and the way there and back {:.0}: more than the {} hours of a day.",
                stop.minutes,
                2.0 * way,
                settings.hours
            );
            left_out.push(LeftOut { field: stop.field.id, reason });
            continue;
        }
        let open: Vec<Option<f64>> = days.iter().map(|day| liking(stop.ripe, *day, settings.spare_days)).collect();
        if open.iter().all(Option::is_none) {
            let when = stop.ripe.map_or_else(String::new, |ripe| format!(" ({})", ripe.words()));
            let reason = format!("No day of the rounds lies in its ripe dates{when}: change the days, or allow spare ones.");
            left_out.push(LeftOut { field: stop.field.id, reason });
            continue;
        }
        calls.push(Call { minutes: stop.minutes, days: open, class: stop.class, worth: stop.worth });
        which.push(number);
    }
    let places: Vec<Coord<f64>> =
        std::iter::once(settings.base).chain(which.iter().map(|number| stops[*number].gate)).collect();
    let drive = places.iter().map(|a| places.iter().map(|b| minutes(*a, *b)).collect()).collect();
    let cars = if settings.together { 1 } else { settings.people };
    (Task { calls, drive, days: days.len(), cars, limit, by_class: settings.cleanest_first }, which)
}

/// Whether a field may be visited on a day, and how far the day lies from the middle of its ripe dates.
fn liking(ripe: Option<&RipeDays>, day: Date, spare: i32) -> Option<f64> {
    let Some(ripe) = ripe else { return Some(0.0) };
    let (from, to) = ((day - ripe.days.from).get_days(), (ripe.days.to - day).get_days());
    (from >= -spare && to >= -spare).then(|| DAY_NEARER * f64::from((from - to).abs()) / 2.0)
}

fn visits(
    settings: &RoundSettings,
    days: &[Date],
    task: &Task,
    found: &Schedule,
    which: &[usize],
    stops: &[Stop<'_>],
) -> Vec<Visit> {
    let mut visits = Vec::new();
    for (day, date) in days.iter().enumerate() {
        // A car without a round that day is not counted.
        let rounds = (0..task.cars).filter_map(|car| found.rounds.get(day * task.cars + car));
        for (car, round) in (1..).zip(rounds.filter(|round| !round.is_empty())) {
            let (mut here, mut clock) = (settings.base, 0.0);
            for (number, call) in (1..).zip(round) {
                let stop = &stops[which[*call]];
                let km = drive_km(settings, here, stop.gate);
                clock += drive_minutes(settings, km);
                visits.push(Visit {
                    field: stop.field.id,
                    date: *date,
                    car,
                    number,
                    gate: stop.gate,
                    km,
                    arrive_min: clock,
                    minutes: stop.minutes,
                });
                clock += stop.minutes;
                here = stop.gate;
            }
        }
    }
    visits
}

/// Why a field that a day could take has no place: how many minutes are missing on the day with the most room.
fn no_room(settings: &RoundSettings, days: &[Date], task: &Task, found: &Schedule, call: usize, stop: &Stop<'_>) -> String {
    let own = &task.calls[call];
    let missing =
        found.rounds.iter().enumerate().filter(|(number, _)| own.days[number / task.cars].is_some()).map(|(_, round)| {
            let cheapest = (0..=round.len()).map(|at| {
                let mut longer = round.clone();
                longer.insert(at, call);
                task.driving(&longer) + longer.iter().map(|call| task.calls[*call].minutes).sum::<f64>()
            });
            cheapest.fold(f64::INFINITY, f64::min) - task.limit
        });
    let least = missing.fold(f64::INFINITY, f64::min).max(1.0);
    let open = own.days.iter().filter(|day| day.is_some()).count();
    let when = stop.ripe.map_or_else(String::new, |ripe| format!(", {}", ripe.words()));
    let order = if settings.cleanest_first { ", or visits in any order" } else { "" };
    format!(
        "No room on its {} of {} ({:.0} minutes too many on the best of them{when}): more hours, another day or another person would help{order}.",
        count(open, "day"),
        days.len(),
        least.ceil()
    )
}
