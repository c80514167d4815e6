//! Moving samples on, one stage or several at once, and taking a step back. Dates out of order or out of season are said, with what
//! to do about them; with an error nothing is moved.

use jiff::civil::Date;

use crate::model::{Record, Records, Sample, SampleId, Stage, StageEvent, same_name};
use crate::problem::Problems;
use crate::project::{Command, Edit};
use crate::samples::{Verdict, code, day, stage_of};
use crate::season::{seed_window, sown};
use crate::units::count;

/// Seed taken so many days before or after its season window is taken for a wrong day (our choice, no source).
const EARLY_DAYS: i32 = 30;
const LATE_DAYS: i32 = 60;

/// What is said of the seed when samples are moved on; none and empty: left as it is.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Details {
    /// How much seed, mugs.
    pub mugs: Option<f64>,
    /// How much had shed from the heads, %.
    pub shed_percent: Option<f64>,
    /// Share of the field that the sampled plants stand for, %.
    pub stands_for_percent: Option<f64>,
    /// The weather when it was taken.
    pub weather: String,
    /// From which patches.
    pub patches: String,
}

/// What happened to samples.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// The stage they came to.
    pub stage: Stage,
    /// The day.
    pub date: Date,
    /// Who did it.
    pub person: String,
    /// What is worth knowing; the reason, for samples that are withdrawn.
    pub note: String,
    /// What is said of the seed.
    pub details: Details,
}

/// Moves samples on. None if there are errors.
pub fn move_on(
    records: &Records,
    samples: &[SampleId],
    to: &Move,
    today: Option<Date>,
    problems: &mut Problems,
) -> Option<Command> {
    let mut found = Problems::new();
    check_details(&to.details, &mut found);
    if to.person.trim().is_empty() {
        found.error("who did it", "no name is given.", "Give the name of who did it, so that everybody knows whom to ask.");
    }
    if to.stage == Stage::Withdrawn && to.note.trim().is_empty() {
        found.error("withdrawing samples", "it needs a reason.", "Say why in a note, so that it can be understood later.");
    }
    if let Some(today) = today.filter(|today| to.date > *today) {
        let what = format!("{} lies ahead of today, {}.", day(to.date), day(today));
        found.warning("the day", what, "Check the day; it is kept as it is.");
    }
    let mut edit = Edit::new(records, format!("Mark {} {}", whom(records, samples), to.stage.label()));
    for id in samples {
        let Some(sample) = records.samples.get(id) else { continue };
        check_one(records, sample, to, &mut found);
        edit.put(Record::Sample(moved(sample, to)));
    }
    let bad = found.has_errors();
    problems.extend(found);
    (!bad).then(|| edit.done()).filter(|command| !command.changes.is_empty())
}

fn moved(sample: &Sample, to: &Move) -> Sample {
    let mut moved = sample.clone();
    let (person, note) = (to.person.trim().to_owned(), to.note.trim().to_owned());
    moved.events.push(StageEvent { stage: to.stage, date: Some(to.date), person, note });
    if to.stage == Stage::Collected {
        moved.taken = Some(to.date);
    }
    let said = &to.details;
    moved.mugs = said.mugs.or(moved.mugs);
    moved.shed_percent = said.shed_percent.or(moved.shed_percent);
    moved.stands_for_percent = said.stands_for_percent.or(moved.stands_for_percent);
    for (new, held) in [(&said.weather, &mut moved.weather), (&said.patches, &mut moved.patches)] {
        if !new.trim().is_empty() {
            new.trim().clone_into(held);
        }
    }
    moved
}

fn check_details(said: &Details, problems: &mut Problems) {
    let mut within = |value: Option<f64>, range: std::ops::RangeInclusive<f64>, what: &str, hint: &str| {
        if value.is_some_and(|value| !range.contains(&value)) {
            problems.error(what, "it cannot be so much.", hint);
        }
    };
    within(said.mugs, 0.01..=20.0, "seed in mugs", "Give it in mugs, from 0.01 to 20; a mug is enough for black-grass.");
    within(said.shed_percent, 0.0..=100.0, "seed shed", "Give it in per cent, 0 to 100.");
    within(said.stands_for_percent, 0.0..=100.0, "share of the field", "Give it in per cent, 0 to 100.");
    if let Some(shed) = said.shed_percent.filter(|shed| (0.0..=100.0).contains(shed) && !(5.0..=40.0).contains(shed)) {
        let what = format!("{shed:.0} % had shed; seed is best taken when 10 to 20 % has.");
        let hint = if shed < 5.0 {
            "Much of the seed may not germinate: look at the field again in some days."
        } else {
            "What is left may not stand for what fell; say so in the note."
        };
        problems.warning("seed shed", what, hint);
    }
}

fn check_one(records: &Records, sample: &Sample, to: &Move, problems: &mut Problems) {
    let now = stage_of(records, sample);
    let place = format!("sample {}", sample.code);
    let since = sample.day_of(now);
    let words = since.map_or_else(String::new, |since| format!(" since {}", day(since)));
    let back = "If that is wrong, take its last step back first.";
    match (now, to.stage) {
        (Stage::Withdrawn, _) => {
            problems.error(&place, format!("it is withdrawn{words}."), "Take that step back, or plan a new sample.");
        }
        (Stage::Reported, _) => {
            problems.error(&place, format!("its results are in{words}."), back);
        }
        (Stage::Lost, Stage::Lost) => problems.error(&place, format!("it is lost{words} already."), back),
        (_, Stage::Lost | Stage::Withdrawn) => {}
        (Stage::Lost, _) => {
            problems.note(&place, format!("it was lost{words} and is found again."), "");
        }
        (now, to) if to <= now => {
            problems.error(&place, format!("it is {} already{words}.", now.label()), back);
        }
        (now, to) => {
            let between: Vec<&str> =
                Stage::ALL.iter().filter(|stage| **stage > now && **stage < to).map(|stage| stage.label()).collect();
            if !between.is_empty() {
                let what = format!("nobody noted when it was {}.", between.join(", "));
                problems.note(&place, what, "It goes straight on; note these steps first if you know their days.");
            }
        }
    }
    let last = sample.events.iter().filter_map(|event| Some((event.date?, event.stage))).next_back();
    if let Some((date, stage)) = last.filter(|(date, _)| to.date < *date) {
        let what = format!("{} is before {}, when it was {}.", day(to.date), day(date), stage.label());
        problems.error(&place, what, "Correct the day, or take the earlier step back and note it again.");
    }
    if to.stage == Stage::Collected {
        check_taken(records, sample, to.date, problems);
    } else if !(sample.year..=sample.year + 1).contains(&i32::from(to.date.year())) {
        let what = format!("{} does not go with harvest {}.", day(to.date), sample.year);
        problems.error(&place, what, "Correct the year of the day.");
    }
}

/// Whether seed can have been taken on a day; also for samples that came with one.
pub(super) fn check_taken(records: &Records, sample: &Sample, date: Date, problems: &mut Problems) {
    let place = format!("sample {}", sample.code);
    if i32::from(date.year()) != sample.year {
        let what = format!("it is of harvest {} and cannot be taken on {}.", sample.year, day(date));
        problems.error(&place, what, "Correct the day, or plan a sample for that harvest.");
    } else if let Some(window) = seed_window(&sample.species, sown(records, sample.field, sample.year))
        && let Some(days) = window.days(sample.year, records.settings.season.shift(sample.year))
        && ((days.from - date).get_days() > EARLY_DAYS || (date - days.to).get_days() > LATE_DAYS)
    {
        let what = format!("{} is out of season: seed of {} is ripe about {}.", day(date), window.name, days.words());
        problems.warning(&place, what, "Check the day; seed taken then hardly germinates or has long been shed.");
    }
    match records.fields.get(&sample.field) {
        Some(field) if !field.exists_in(sample.year) => {
            let from = field.from_year.filter(|from| *from > sample.year);
            let what = match from {
                Some(from) => format!("{} has this shape from harvest {from} on only.", field.name),
                None => format!("{} has no longer this shape in harvest {}.", field.name, sample.year),
            };
            problems.error(&place, what, "Give the sample to the field that lay there in that year.");
        }
        Some(_) => {}
        None => problems.error(&place, "its field is missing.", "Bring the field back by undo, or withdraw the sample."),
    }
}

/// Samples for the history: by code as long as that is short.
fn whom(records: &Records, samples: &[SampleId]) -> String {
    let codes: Vec<&str> = samples.iter().filter_map(|id| Some(records.samples.get(id)?.code.as_str())).collect();
    if (1..=3).contains(&codes.len()) { codes.join(", ") } else { count(samples.len(), "sample") }
}

/// Takes the last stage of samples back; the history keeps that it was there. None if there are errors.
pub fn step_back(records: &Records, samples: &[SampleId], problems: &mut Problems) -> Option<Command> {
    let was: Vec<String> = samples
        .iter()
        .filter_map(|id| records.samples.get(id)?.last_event())
        .map(|event| event.date.map_or_else(String::new, |on| format!("{} {}", event.stage.label(), day(on))))
        .collect();
    let was = was.first().filter(|first| was.iter().all(|other| other == *first) && !first.is_empty());
    let was = was.map_or_else(|| "the last stage".to_owned(), |was| format!("“{was}”"));
    let mut edit = Edit::new(records, format!("Take back {was} of {}", whom(records, samples)));
    let mut bad = false;
    for sample in samples.iter().filter_map(|id| records.samples.get(id)) {
        let mut back = (**sample).clone();
        let Some(event) = back.events.pop().filter(|event| event.stage != Stage::Planned) else {
            let hint = "Withdraw it with a reason if it is not wanted; a sample is never erased.";
            problems.error(format!("sample {}", sample.code), "no stage was noted that could be taken back.", hint);
            bad = true;
            continue;
        };
        if event.stage == Stage::Collected {
            back.taken = None;
        }
        edit.put(Record::Sample(back));
    }
    (!bad).then(|| edit.done()).filter(|command| !command.changes.is_empty())
}

/// Keeps a sample whose code, seed or tests were changed. None if there are errors, or if nothing changed.
pub fn change(records: &Records, sample: &Sample, problems: &mut Problems) -> Option<Command> {
    let place = format!("sample {}", sample.code);
    let code = sample.code.trim();
    let mut bad = Problems::new();
    let other = records.samples.values().find(|other| other.id != sample.id && same_name(&other.code, code));
    if let Some(other) = other {
        let of = records.fields.get(&other.field).map_or("another field", |field| field.name.as_str());
        let what = format!("the code {code} stands for a sample of {of} in harvest {} already.", other.year);
        bad.error(&place, what, "Give every sample its own code.");
    } else if code.is_empty() {
        bad.error(&place, "it needs a code.", "Type the code that stands on its envelope.");
    } else if code::judge(code) == Verdict::Mistyped {
        let what = format!("the last letter of {code} does not fit the rest.");
        bad.warning(&place, what, "Compare it with the envelope; it is kept as typed.");
    }
    let details = Details {
        mugs: sample.mugs,
        shed_percent: sample.shed_percent,
        stands_for_percent: sample.stands_for_percent,
        ..Details::default()
    };
    check_details(&details, &mut bad);
    let errors = bad.has_errors();
    problems.extend(bad);
    let before = records.samples.get(&sample.id).map(|held| held.code.as_str()).filter(|held| *held != code);
    let name = before.map_or_else(|| format!("Change sample {code}"), |before| format!("Change sample {before} to {code}"));
    let mut edit = Edit::new(records, name);
    edit.put(Record::Sample(Sample { code: code.to_owned(), ..sample.clone() }));
    (!errors).then(|| edit.done()).filter(|command| !command.changes.is_empty())
}
