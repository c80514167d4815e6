//! What the season strip shows of a harvest year. It is worked out once, not for each frame: a large project has thousands of samples.

use std::collections::BTreeSet;

use awn_core::model::{FieldId, Records, Stage};
use awn_core::season::{Basis, Days, Ripeness, SeedWindow, Sown, seed_window};
use jiff::civil::Date;

/// Something that happens in a field on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Event {
    /// Its ripeness was looked at.
    Checked,
    /// It is on the rounds.
    Round,
    /// Seed was taken.
    Taken,
    /// A sample was posted.
    Posted,
}

/// The strip's bands and marks.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Strip {
    /// Each weed that is sampled or was looked for, the main one first.
    pub weeds: Vec<Weed>,
    /// What happens, by day.
    pub events: Vec<(Date, Event, FieldId)>,
}

impl Strip {
    /// The strip of a harvest year; `ripe`: when seed is ripe in it.
    pub fn of(records: &Records, ripe: &Ripeness, year: i32) -> Self {
        Self { weeds: weeds(records, ripe, year), events: events(records, year) }
    }
}

/// When seed of a weed is ripe.
#[derive(Debug, Clone, PartialEq)]
pub struct Weed {
    /// Its name.
    pub name: &'static str,
    /// Its season window, shifted as the user says.
    pub window: Days,
    /// From the first to the last day on which seed is ripe in a field, by checks; none: nobody has looked this year.
    pub checked: Option<Days>,
}

/// Each weed that is sampled or was looked for, the main one first.
fn weeds(records: &Records, ripe: &Ripeness, year: i32) -> Vec<Weed> {
    let season = &records.settings.season;
    let looked = ripe.fits.iter().map(|fit| fit.species.as_str());
    let mut codes: Vec<&str> = season.species.iter().map(String::as_str).collect();
    codes.extend(looked);
    let mut seen = BTreeSet::new();
    let rows = codes.into_iter().filter(|code| seen.insert(*code)).filter_map(|code| seed_window(code, Sown::Autumn));
    let weed = |row: &'static SeedWindow| {
        let fields = || ripe.fields.values().filter(|days| days.basis != Basis::Window && days.species == row.species);
        let from = fields().map(|days| days.days.from).min();
        let checked = from.zip(fields().map(|days| days.days.to).max()).map(|(from, to)| Days { from, to });
        Some(Weed { name: &row.name, window: row.days(year, season.shift(year))?, checked })
    };
    rows.filter_map(weed).collect()
}

/// What happens in this harvest, by day: checks, rounds, seed taken, samples posted.
fn events(records: &Records, year: i32) -> Vec<(Date, Event, FieldId)> {
    let mut list: Vec<(Date, Event, FieldId)> = Vec::new();
    list.extend(records.ripe_checks_in(year).iter().map(|check| (check.date, Event::Checked, check.field)));
    if let Some(rounds) = records.rounds_of(year) {
        list.extend(rounds.visits.iter().map(|visit| (visit.date, Event::Round, visit.field)));
    }
    let samples = records.samples.values().filter(|sample| sample.year == year);
    for sample in samples {
        list.extend(sample.taken.map(|day| (day, Event::Taken, sample.field)));
        list.extend(sample.day_of(Stage::Posted).map(|day| (day, Event::Posted, sample.field)));
    }
    list.sort();
    list
}
