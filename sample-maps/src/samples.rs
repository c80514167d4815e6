//! Envelopes of the sample farm: those of last harvest on their way, some late, one lost; and the first of the next harvest.

use awn_core::model::{AssayKind, Field, Record, Records, Sample, Stage, StageEvent};
use awn_core::project::Edit;
use awn_core::samples::next_code;
use jiff::ToSpan as _;
use jiff::civil::{Date, date};

use crate::SEASON;
use crate::dice::Dice;
use crate::fields::Estate;

/// People of the sample farm.
const PEOPLE: [&str; 2] = [PLANNER, "M. Tansy"];
/// Who plans the samples of the sample farm.
pub const PLANNER: &str = "H. Sedge";

/// How far envelopes of the harvest before got: stage, the day it was taken, what was noted last.
const WAITING: [(Stage, i8, &str); 8] = [
    (Stage::Planned, 0, ""),
    (Stage::Collected, 15, ""),
    (Stage::Collected, 16, ""),
    (Stage::Dried, 14, ""),
    (Stage::Sealed, 14, "second envelope torn, seal again"),
    (Stage::Posted, 13, "parcel 2"),
    (Stage::Lost, 16, "left on the headland, driven over"),
    (Stage::Withdrawn, 13, "taken along an unsprayed strip"),
];

/// Adds the envelopes: of the tests of last harvest as far as the laboratory, of other fields as far as [`WAITING`] says, and of the
/// next harvest as planned.
pub fn add(records: &Records, estate: &Estate, tested: &[(String, &'static str)], edit: &mut Edit<'_>) {
    let year = SEASON - 1;
    let find = |name: &str| records.fields.values().find(|field| field.name == name).map(|field| &**field);
    let mut dice = Dice::new(4_400);
    for (code, name) in tested {
        let Some(field) = find(name) else { continue };
        let taken = date(year as i16, 7, 10 + (dice.unit() * 8.0) as i8);
        let sample = sample(code.clone(), field, year, Stage::Received, taken, "", &mut dice);
        edit.put(Record::Sample(sample));
    }
    let free =
        |at: usize| estate.lands.iter().map(|land| land.name).filter(|name| !tested.iter().any(|t| t.1 == *name)).nth(at);
    let mut codes = Vec::new();
    for (number, (stage, day, note)) in WAITING.into_iter().enumerate() {
        let Some(field) = free(2 * number + 1).and_then(find) else { continue };
        let code = next_code(records, field, year, &codes);
        codes.push(code.clone());
        let taken = date(year as i16, 7, day.max(1));
        edit.put(Record::Sample(sample(code, field, year, stage, taken, note, &mut dice)));
    }
    for number in 0..4 {
        let Some(field) = free(3 * number).and_then(find) else { continue };
        let code = next_code(records, field, SEASON, &codes);
        codes.push(code.clone());
        edit.put(Record::Sample(sample(code, field, SEASON, Stage::Planned, date(SEASON as i16, 7, 1), "", &mut dice)));
    }
}

/// A sample that came to a stage step by step.
fn sample(code: String, field: &Field, year: i32, stage: Stage, taken: Date, note: &str, dice: &mut Dice) -> Sample {
    let person = PEOPLE[(dice.unit() * 1.999) as usize];
    let after = |days: i32| taken.checked_add(days.days()).unwrap_or(taken);
    // Envelopes are made out in the November before.
    let planned = date(year as i16 - 1, 11, 9);
    let way = [
        (Stage::Planned, planned),
        (Stage::Collected, taken),
        (Stage::Dried, after(7)),
        (Stage::Sealed, after(8)),
        (Stage::Posted, after(9)),
        (Stage::Received, after(11)),
    ];
    let given_up = matches!(stage, Stage::Lost | Stage::Withdrawn);
    let last = if given_up { Stage::Collected } else { stage };
    let event = |stage, date| StageEvent { stage, date: Some(date), person: person.to_owned(), note: String::new() };
    let mut events: Vec<StageEvent> =
        way.into_iter().filter(|(passed, _)| *passed <= last).map(|(stage, date)| event(stage, date)).collect();
    if given_up {
        events.push(event(stage, after(1)));
    }
    if let Some(event) = events.last_mut() {
        note.clone_into(&mut event.note);
    }
    let collected = last >= Stage::Collected;
    let round = |value: f64, step: f64| (value / step).round() * step;
    let (mugs, shed, stands) = (dice.between(0.75, 1.5), dice.between(8.0, 22.0), dice.between(10.0, 60.0));
    Sample {
        taken: collected.then_some(taken),
        mugs: collected.then(|| round(mugs, 0.25)),
        shed_percent: collected.then(|| round(shed, 1.0)),
        stands_for_percent: collected.then(|| round(stands, 5.0)),
        weather: if collected { "dry, light wind".to_owned() } else { String::new() },
        tests: vec![AssayKind::Petri, AssayKind::Pot],
        events,
        ..Sample::new(code, field.id, year)
    }
}
