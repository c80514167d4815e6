//! What has changed since rounds were worked out, so that nobody drives to a field by an old sheet.

use crate::model::{FieldId, Records, Rounds};
use crate::season::ripe::Ripeness;
use crate::season::rounds::{liking, walk_minutes};
use crate::units::count;

/// A walk that takes so many minutes more or less than was counted on is told.
const MINUTES: f64 = 5.0;

/// Something about rounds that holds no longer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// The field it is about.
    pub field: FieldId,
    /// One sentence.
    pub what: String,
}

/// What holds no longer in rounds, visit by visit; empty: they are as good as when they were worked out.
pub fn doubts(records: &Records, rounds: &Rounds, ripe: &Ripeness) -> Vec<Doubt> {
    let settings = &rounds.settings;
    let name = |id: FieldId| records.fields.get(&id).map_or("A field that is gone", |field| field.name.as_str());
    let taken = |id: FieldId| {
        records
            .samples
            .values()
            .filter(|sample| sample.field == id && sample.year == rounds.year)
            .find_map(|sample| sample.taken)
    };
    let vetoed = |id: FieldId| records.due_mark(id, rounds.year).is_some_and(|mark| mark.mark == crate::model::Mark::Vetoed);
    let mut list = Vec::new();
    for visit in &rounds.visits {
        let id = visit.field;
        let on = visit.date.strftime("%-d %B");
        let what = if let Some(day) = taken(id) {
            (day < visit.date).then(|| format!("Seed was taken on {} already.", day.strftime("%-d %B")))
        } else if vetoed(id) {
            Some("It has been vetoed since.".to_owned())
        } else if let Some(plan) = records.plan_of(id, rounds.year) {
            let minutes = walk_minutes(settings, plan);
            let days = ripe.fields.get(&id);
            match days.filter(|days| liking(Some(days), visit.date, settings.spare_days).is_none()) {
                Some(days) => Some(format!("It is visited on {on}; its seed is now expected ripe {}.", days.words())),
                None if (minutes - visit.minutes).abs() > MINUTES => {
                    Some(format!("It now takes {minutes:.0} minutes; the round counts on {:.0}.", visit.minutes))
                }
                None => None,
            }
        } else {
            Some("It has no walk planned any more.".to_owned())
        };
        list.extend(what.map(|what| Doubt { field: id, what: format!("{}: {what}", name(id)) }));
    }
    let known =
        |id: FieldId| rounds.visits.iter().any(|visit| visit.field == id) || rounds.left_out.iter().any(|l| l.field == id);
    let planned = records.fields_in(rounds.year).into_iter().map(|field| field.id);
    let new = planned
        .filter(|id| records.plan_of(*id, rounds.year).is_some() && !known(*id) && !vetoed(*id) && taken(*id).is_none());
    list.extend(
        new.map(|id| Doubt { field: id, what: format!("{}: a walk is planned in it, and no round goes there.", name(id)) }),
    );
    list
}

/// Doubts in one sentence; none: there are none.
pub fn doubts_in_words(doubts: &[Doubt]) -> Option<String> {
    let fields = count(doubts.len(), "field");
    (!doubts.is_empty())
        .then(|| format!("Since these rounds were worked out something has changed for {fields}: work them out again."))
}
