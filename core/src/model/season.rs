//! Records of the season: fields pinned or vetoed, how ripe seed is, and rounds over the farms.

use geo::Coord;
use jiff::civil::{Date, Time};
use serde::{Deserialize, Serialize};

use crate::model::settings::words;
use crate::model::{DueMarkId, FieldId, RipeCheckId, RoundsId};

/// What the user has decided about testing a field, whatever the rules say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// It is tested.
    Pinned,
    /// It is not tested.
    Vetoed,
}

words!(Mark, "mark", Self::Pinned => "pinned", Self::Vetoed => "vetoed");

/// A field pinned or vetoed for one harvest year; a field has one at most for a year.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DueMark {
    /// Identifier.
    pub id: DueMarkId,
    /// The field.
    pub field: FieldId,
    /// Harvest year.
    pub year: i32,
    /// Pinned or vetoed.
    pub mark: Mark,
    /// Why, in the user's words; may be empty.
    pub reason: String,
}

/// A look at how much seed has shed in a field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RipeCheck {
    /// Identifier.
    pub id: RipeCheckId,
    /// The field.
    pub field: FieldId,
    /// The day.
    pub date: Date,
    /// EPPO code of the weed: "ALOMY".
    pub species: String,
    /// Seed that has shed, % of all on the heads, by eye: 0 to 100.
    pub shed_percent: f64,
    /// Who looked; may be empty.
    pub who: String,
}

/// What rounds are worked out from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RoundSettings {
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
    /// Whether Saturdays and Sundays are days of work.
    pub weekends: bool,
    /// When a day begins.
    pub start: Time,
    /// Hours from leaving the base to being back.
    pub hours: f64,
    /// People.
    pub people: usize,
    /// All in one car, sharing the walks; otherwise each goes alone in a car of his own.
    pub together: bool,
    /// Where each day begins and ends, degrees.
    pub base: Coord<f64>,
    /// Way by road for each metre in a straight line.
    pub detour: f64,
    /// Speed between fields, km/h.
    pub km_per_h: f64,
    /// Minutes at a field beside the walk: parking, cleaning boots, sealing the envelope.
    pub minutes_a_field: f64,
    /// Days before and after its ripe dates on which a field may still be visited.
    pub spare_days: i32,
    /// On each round the cleanest field first and the worst rated last, so that boots and car carry no resistant seed on.
    pub cleanest_first: bool,
}

impl Default for RoundSettings {
    fn default() -> Self {
        Self {
            from: Date::constant(2027, 7, 8),
            to: Date::constant(2027, 7, 21),
            weekends: false,
            start: Time::constant(8, 0, 0, 0),
            hours: 8.0,
            people: 1,
            together: false,
            base: Coord { x: 0.0, y: 0.0 },
            detour: 1.4,
            km_per_h: 40.0,
            minutes_a_field: 10.0,
            spare_days: 0,
            cleanest_first: false,
        }
    }
}

/// A field visited on a round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Visit {
    /// The field.
    pub field: FieldId,
    /// The day.
    pub date: Date,
    /// Which car, counted from 1.
    pub car: usize,
    /// Its place in the day's round, counted from 1.
    pub number: usize,
    /// The gate to go to, degrees.
    pub gate: Coord<f64>,
    /// Way from the place before, km by road.
    pub km: f64,
    /// Minutes after the start of the day at which the car is there.
    pub arrive_min: f64,
    /// Minutes in the field.
    pub minutes: f64,
}

/// A field that the rounds leave out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// The field.
    pub field: FieldId,
    /// Why, and what would help: one or two sentences.
    pub reason: String,
}

/// The rounds of a harvest year; a project has one set a year.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rounds {
    /// Identifier.
    pub id: RoundsId,
    /// Harvest year.
    pub year: i32,
    /// What they were worked out from.
    pub settings: RoundSettings,
    /// Visits by day, car and number.
    pub visits: Vec<Visit>,
    /// Fields that do not fit.
    pub left_out: Vec<LeftOut>,
}

impl Rounds {
    /// The rounds one by one: day and car, with their visits in order.
    pub fn days(&self) -> impl Iterator<Item = (Date, usize, &[Visit])> {
        self.visits
            .chunk_by(|a, b| (a.date, a.car) == (b.date, b.car))
            .filter_map(|visits| visits.first().map(|first| (first.date, first.car, visits)))
    }
}
