//! Settings of the season: what makes a field due a test and how that is scored, which weeds, early or late.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::model::settings::words;

/// A sign that speaks for testing a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DueSign {
    /// Never tested.
    Never,
    /// The age of the last test.
    Age,
    /// R? was the worst rating last time.
    Doubtful,
    /// A spray is recorded as having failed since the last test.
    Failed,
    /// The same mode of action year after year.
    Repeated,
    /// Density rose between surveys.
    Rising,
    /// A neighbouring field's rating got worse.
    Neighbour,
}

words!(DueSign, "rule of the due list",
    Self::Never => "never", Self::Age => "age", Self::Doubtful => "doubtful", Self::Failed => "failed",
    Self::Repeated => "repeated", Self::Rising => "rising", Self::Neighbour => "neighbour");

impl DueSign {
    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Never => "Never tested",
            Self::Age => "Age of the last test",
            Self::Doubtful => "R? last time",
            Self::Failed => "Control failed",
            Self::Repeated => "Same mode of action running",
            Self::Rising => "Density rising",
            Self::Neighbour => "Neighbour got worse",
        }
    }

    /// How its points come about, one sentence.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Never => {
                "All points where scouting found the weed, six tenths where nobody looked, none where it found none."
            }
            Self::Age => {
                "Half the points when the last test is as old as the interval, all when it is twice as old, in proportion between."
            }
            Self::Doubtful => "All points where R? was the worst rating: it may have gone either way since.",
            Self::Failed => "All points where a spray since the last test is recorded as failed: survivors, poor control.",
            Self::Repeated => "All points where the same mode of action was used in each of the last harvests.",
            Self::Rising => {
                "All points where density grew fourfold from one survey to the next, in proportion to the doublings below that."
            }
            Self::Neighbour => "All points where a field next to it got a worse rating since its own last test.",
        }
    }
}

/// What a sign is worth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DueRule {
    /// Whether it counts.
    pub on: bool,
    /// Most points that it gives.
    pub points: f64,
    /// Harvests by which it brings the next test forward.
    pub sooner: i32,
}

/// What makes a field due, and how it is scored. Points, harvests and limits are our choice, no source, unless said otherwise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct DueRules {
    /// Rules that were changed; every other is as [`DueRules::usual`].
    pub changed: BTreeMap<DueSign, DueRule>,
    /// Harvests in which the same mode of action counts as repeated (three years running: common practice, no source).
    pub repeat_years: i32,
    /// HRAC groups looked at for that: those to which resistance has come fastest, 1 and 2 (from memory).
    pub repeat_groups: Vec<String>,
    /// Density has risen when it is so many times that of the survey before.
    pub rise_factor: f64,
    /// Fields this near are neighbours, m.
    pub neighbour_m: f64,
    /// Most samples to pay for; none: no limit.
    pub samples: Option<usize>,
    /// Most money to spend; none: no limit.
    pub money: Option<f64>,
    /// Price of the tests of one sample.
    pub price: f64,
}

impl Default for DueRules {
    fn default() -> Self {
        Self {
            changed: BTreeMap::new(),
            repeat_years: 3,
            repeat_groups: vec!["1".to_owned(), "2".to_owned()],
            rise_factor: 1.5,
            neighbour_m: 30.0,
            samples: None,
            money: None,
            price: 0.0,
        }
    }
}

impl DueRules {
    /// A rule as it is before anybody changes it.
    pub fn usual(sign: DueSign) -> DueRule {
        let (points, sooner) = match sign {
            DueSign::Never => (50.0, 0),
            DueSign::Age => (40.0, 0),
            DueSign::Doubtful => (10.0, 2),
            // Sooner where control failed: common practice, no source.
            DueSign::Failed => (25.0, 5),
            DueSign::Rising => (15.0, 1),
            DueSign::Repeated | DueSign::Neighbour => (10.0, 1),
        };
        DueRule { on: true, points, sooner }
    }

    /// A rule as it is now.
    pub fn rule(&self, sign: DueSign) -> DueRule {
        self.changed.get(&sign).copied().unwrap_or_else(|| Self::usual(sign))
    }

    /// Changes a rule.
    pub fn set(&mut self, sign: DueSign, rule: DueRule) {
        if rule == Self::usual(sign) {
            self.changed.remove(&sign);
        } else {
            self.changed.insert(sign, rule);
        }
    }

    /// Whether rules and limits are as they are before anybody changes them; budget and price aside.
    pub fn are_usual(&self) -> bool {
        *self == Self { samples: self.samples, money: self.money, price: self.price, ..Self::default() }
    }

    /// Rules and limits as they are before anybody changes them, with the same budget and price.
    #[must_use]
    pub fn reset(&self) -> Self {
        Self { samples: self.samples, money: self.money, price: self.price, ..Self::default() }
    }
}

/// Which weeds, and whether their seed is early or late.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct SeasonSettings {
    /// EPPO codes of the weeds that are sampled, the main one first.
    pub species: Vec<String>,
    /// Days by which seed is later than usual in a harvest year; below 0: earlier.
    pub shift_days: BTreeMap<i32, i32>,
}

impl Default for SeasonSettings {
    fn default() -> Self {
        Self { species: vec!["ALOMY".to_owned()], shift_days: BTreeMap::new() }
    }
}

impl SeasonSettings {
    /// Days by which seed is later than usual in a harvest year.
    pub fn shift(&self, year: i32) -> i32 {
        self.shift_days.get(&year).copied().unwrap_or(0)
    }

    /// The weed that fields are sampled for unless a check says otherwise.
    pub fn main_species(&self) -> &str {
        self.species.first().map_or("ALOMY", String::as_str)
    }
}
