//! What the window shows of the season: the form for rounds, the round that the map draws, the week that the list is filtered by.

use std::collections::BTreeSet;

use awn_core::exchange;
use awn_core::model::{FieldId, Records, RoundSettings};
use awn_core::season::{self, Ripeness, calendar};
use geo::Coord;
use jiff::civil::{Date, Time};

/// A week of the strip, and the fields in which something happens in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Week {
    /// Monday.
    pub from: Date,
    /// The Monday after.
    pub to: Date,
    /// The fields.
    pub fields: BTreeSet<FieldId>,
}

/// The form for rounds: what is typed as text until it can be read, the rest as it is.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundsForm {
    /// First day.
    pub from: String,
    /// Last day.
    pub to: String,
    /// When a day begins.
    pub start: String,
    /// Latitude and longitude of the base.
    pub base: String,
    /// Everything else.
    pub settings: RoundSettings,
}

impl RoundsForm {
    /// The form for a harvest year: as the rounds that are kept, or the days on which seed is ripe where walks are planned.
    pub fn of(records: &Records, year: i32) -> Self {
        Self::with(records, year, &season::ripeness(records, year))
    }

    /// The same, when the ripe days are known already.
    pub fn with(records: &Records, year: i32, ripe: &Ripeness) -> Self {
        let kept = records.rounds_of(year).or_else(|| records.rounds.values().next_back());
        let mut settings = kept.map(|rounds| rounds.settings.clone()).unwrap_or_default();
        if let (None, Some(known)) = (records.rounds_of(year), calendar(year)) {
            let days = || {
                let planned = ripe.fields.iter().filter(|(field, _)| records.plan_of(**field, year).is_some());
                planned.map(|(_, ripe)| ripe.days)
            };
            settings.from = days().map(|days| days.from).min().unwrap_or(known.ripe.from);
            settings.to = days().map(|days| days.to).max().unwrap_or(known.ripe.to);
        }
        let base = if kept.is_some() { written(settings.base) } else { String::new() };
        Self {
            from: settings.from.to_string(),
            to: settings.to.to_string(),
            start: settings.start.strftime("%H:%M").to_string(),
            base,
            settings,
        }
    }

    /// The settings that it stands for, or what cannot be read in it.
    pub fn checked(&self) -> Result<RoundSettings, String> {
        let date = |name: &str, text: &str| -> Result<Date, String> {
            text.trim().parse().map_err(|_unread| format!("{name}: “{text}” is no date; write it as 2027-07-12."))
        };
        let start: Time = format!("{}:00", self.start.trim())
            .parse()
            .map_err(|_unread| format!("“{}” is no time of day; write it as 08:00.", self.start))?;
        let base = exchange::place_of_text(&self.base)
            .map_err(|error| format!("Say where the days begin, or set the base on the map. {error}"))?;
        let (from, to) = (date("First day", &self.from)?, date("Last day", &self.to)?);
        Ok(RoundSettings { from, to, start, base, ..self.settings.clone() })
    }
}

/// A place as people write it, latitude first.
pub fn written(at: Coord<f64>) -> String {
    format!("{:.5}, {:.5}", at.y, at.x)
}

/// What the window shows of the season.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SeasonView {
    /// The form for rounds, once it has been touched.
    pub form: Option<RoundsForm>,
    /// Day and car of the round that is on show.
    pub round: Option<(Date, usize)>,
    /// The week that the list is filtered by.
    pub week: Option<Week>,
}
