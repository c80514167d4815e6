//! Fields pinned and vetoed, ripeness checks, rounds, and the settings behind them.

use awn_core::model::{
    DueMark, DueMarkId, DueRules, FieldId, Mark, Record, Records, RipeCheck, Rounds, SeasonSettings, Settings,
};
use awn_core::project::{Command, Edit};
use awn_core::units::count;

fn name_of(records: &Records, field: FieldId) -> &str {
    records.fields.get(&field).map_or("a field", |field| field.name.as_str())
}

/// Pins or vetoes fields for a harvest year, or takes that back.
pub fn mark(records: &Records, fields: &[FieldId], year: i32, mark: Option<Mark>, reason: &str) -> Command {
    let what = match mark {
        Some(Mark::Pinned) => "Pin",
        Some(Mark::Vetoed) => "Veto",
        None => "Release",
    };
    let whom = match fields {
        [one] => name_of(records, *one).to_owned(),
        many => count(many.len(), "field"),
    };
    let mut edit = Edit::new(records, format!("{what} {whom} for harvest {year}"));
    for field in fields {
        let held = records.due_mark(*field, year);
        for old in records.due_marks.values().filter(|old| old.field == *field && old.year == year) {
            if mark.is_none() || held.is_some_and(|held| held.id != old.id) {
                edit.remove(&Record::DueMark((**old).clone()));
            }
        }
        if let Some(mark) = mark {
            let id = held.map_or_else(DueMarkId::new, |held| held.id);
            edit.put(Record::DueMark(DueMark { id, field: *field, year, mark, reason: reason.to_owned() }));
        }
    }
    edit.done()
}

/// Keeps a ripeness check; one of the same field, day and weed is replaced.
pub fn keep_check(records: &Records, check: &RipeCheck) -> Command {
    let name = format!("Add a ripeness check of {}", name_of(records, check.field));
    let mut edit = Edit::new(records, name);
    let same = |other: &RipeCheck| {
        other.field == check.field && other.date == check.date && other.species.eq_ignore_ascii_case(&check.species)
    };
    let held = records.ripe_checks.values().find(|other| same(other)).map(|held| held.id);
    edit.put(Record::RipeCheck(RipeCheck { id: held.unwrap_or(check.id), ..check.clone() }));
    edit.done()
}

/// A ripeness check less.
pub fn remove_check(records: &Records, check: &RipeCheck) -> Command {
    let (field, day, shed) = (name_of(records, check.field), check.date.strftime("%-d %B %Y"), check.shed_percent);
    let mut edit = Edit::new(records, format!("Remove the ripeness check of {field}, {day}, {shed:.0} % shed"));
    edit.remove(&Record::RipeCheck(check.clone()));
    edit.done()
}

/// Keeps rounds in the place of those of the same year.
pub fn keep_rounds(records: &Records, rounds: &Rounds) -> Command {
    let mut edit = Edit::new(records, format!("Work out the rounds of harvest {}", rounds.year));
    for old in records.rounds.values().filter(|old| old.year == rounds.year) {
        edit.remove(&Record::Rounds((**old).clone()));
    }
    edit.put(Record::Rounds(rounds.clone()));
    edit.done()
}

fn settings(records: &Records, name: &str, settings: Settings) -> Command {
    let mut edit = Edit::new(records, name);
    edit.put(Record::Settings(settings));
    edit.done()
}

/// Changes what makes fields due and what may be spent.
pub fn set_due_rules(records: &Records, due: DueRules) -> Command {
    settings(records, "Change how fields come to be due", Settings { due, ..records.settings.clone() })
}

/// Changes which weeds are sampled, or how early or late seed is.
pub fn set_season(records: &Records, season: SeasonSettings) -> Command {
    settings(records, "Change the season", Settings { season, ..records.settings.clone() })
}
