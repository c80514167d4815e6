//! Signs that speak for testing a field, read from tests, sprays, surveys and neighbours. Lengths in m, densities in the unit of
//! their survey.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Distance as _, Euclidean, Intersects as _, Rect};

use crate::crs::LocalPlane;
use crate::geometry::bounds;
use crate::model::{DueSign, Field, FieldId, Rating, Records, Settings, Spray, mode_of_group};
use crate::rating::{FieldRatings, History, RatingOf};
use crate::season::due::{Part, day};
use crate::season::seen::{Seen, surveys_by_field};
use crate::units::count;

/// A sign's part of the score, `amount` (0 to 1) of its points; none if the rule is off or gives nothing.
fn part(settings: &Settings, sign: DueSign, amount: f64, reason: String) -> Option<Part> {
    let rule = settings.due.rule(sign);
    let points = rule.points * amount.clamp(0.0, 1.0);
    (rule.on && amount > 0.0).then_some(Part { sign, points, most: rule.points, reason })
}

/// The parts that follow from tests and the last scouting alone.
pub(super) fn of_tests(settings: &Settings, ratings: &FieldRatings, seen: Option<&Seen>) -> Vec<Part> {
    let mut parts = Vec::new();
    if let (Some(last), Some(age)) = (ratings.last_test_year, ratings.years_since_test) {
        let interval = f64::from(settings.retest_interval_years.max(1));
        let reason = format!("The last test, of {last}, is {} old.", count(age.max(0) as usize, "harvest"));
        parts.extend(part(settings, DueSign::Age, f64::from(age) / (2.0 * interval), reason));
    } else {
        let (amount, reason) = match seen {
            Some(seen) if seen.greatest > 0.0 => (1.0, "Never tested, and the weed was seen."),
            Some(_) => (0.0, ""),
            None => (0.6, "Never tested, and nobody has looked whether the weed is there."),
        };
        parts.extend(part(settings, DueSign::Never, amount, reason.to_owned()));
    }
    if ratings.worst == Some(Rating::RQuestion) && ratings.years_since_test.is_some_and(|age| age > 0) {
        let reason = "Worst rating then R?, an early sign: it may have gone either way since.".to_owned();
        parts.extend(part(settings, DueSign::Doubtful, 1.0, reason));
    }
    parts
}

/// What is needed to read the signs of many fields.
pub(super) struct Signs<'a> {
    records: &'a Records,
    year: i32,
    seen: BTreeMap<FieldId, Vec<Seen>>,
    sprays: BTreeMap<FieldId, Vec<&'a Spray>>,
    /// By field, its neighbours that got worse: harvest year, sentence.
    worse: BTreeMap<FieldId, Vec<(i32, String)>>,
}

impl<'a> Signs<'a> {
    /// Reads what the records say up to a harvest year.
    pub fn of(records: &'a Records, known: &BTreeMap<FieldId, FieldRatings>, year: i32) -> Self {
        let mut sprays: BTreeMap<FieldId, Vec<&Spray>> = BTreeMap::new();
        for spray in records.sprays.values().filter(|spray| spray.year <= year) {
            sprays.entry(spray.field).or_default().push(spray);
        }
        Self { records, year, seen: surveys_by_field(records, year), sprays, worse: worse_neighbours(records, known, year) }
    }

    /// What the latest scouting of a field saw.
    pub fn last_seen(&self, field: FieldId) -> Option<Seen> {
        self.seen.get(&field).and_then(|seen| seen.last()).cloned()
    }

    /// Every part of a field's score.
    pub fn parts(&mut self, field: &Field, ratings: &FieldRatings) -> Vec<Part> {
        let settings = &self.records.settings;
        let mut parts = of_tests(settings, ratings, self.last_seen(field.id).as_ref());
        let since = ratings.last_test_year.unwrap_or(i32::MIN);
        if ratings.years_since_test.is_some_and(|age| age <= 0) {
            return parts; // the test of this harvest has seen all that happened
        }
        parts.extend(self.failed(field, since));
        parts.extend(self.repeated(field));
        parts.extend(self.rising(field.id, since));
        let worse = self.worse.get(&field.id).into_iter().flatten().filter(|(year, _)| *year > since);
        if let Some((_, reason)) = worse.max_by_key(|(year, _)| *year) {
            parts.extend(part(settings, DueSign::Neighbour, 1.0, reason.clone()));
        }
        parts
    }

    /// Sprays of a field and of those it came from.
    fn sprays_of(&self, field: &Field) -> impl Iterator<Item = &&'a Spray> {
        let lands: Vec<FieldId> = std::iter::once(field.id).chain(field.came_from.iter().copied()).collect();
        lands.into_iter().filter_map(|land| self.sprays.get(&land)).flatten()
    }

    fn failed(&self, field: &Field, since: i32) -> Option<Part> {
        let failed = self.sprays_of(field).filter(|spray| spray.year > since && has_failed(&spray.effect));
        let last = failed.max_by_key(|spray| (spray.year, spray.date))?;
        let reason = format!("Control failed in {}: {}, recorded as “{}”.", last.year, last.active, last.effect.trim());
        part(&self.records.settings, DueSign::Failed, 1.0, reason)
    }

    /// The same group in each of the last harvests that are recorded, this one or the one before being the last.
    fn repeated(&self, field: &Field) -> Option<Part> {
        let rules = &self.records.settings.due;
        let mut by_group: BTreeMap<&str, BTreeSet<i32>> = BTreeMap::new();
        for spray in self.sprays_of(field).filter(|spray| rules.repeat_groups.contains(&spray.group)) {
            by_group.entry(spray.group.as_str()).or_default().insert(spray.year);
        }
        let (group, last) = by_group.iter().find_map(|(group, years)| {
            let last = years.last().copied().filter(|last| *last >= self.year - 1)?;
            let running = (0..rules.repeat_years.max(2)).all(|back| years.contains(&(last - back)));
            running.then_some((*group, last))
        })?;
        let hits = mode_of_group(group).map_or("", |mode| mode.name);
        let reason = format!(
            "HRAC {group} ({hits}) was used {} running, to {last}.",
            count(rules.repeat_years.max(2) as usize, "harvest")
        );
        part(&self.records.settings, DueSign::Repeated, 1.0, reason)
    }

    fn rising(&self, field: FieldId, since: i32) -> Option<Part> {
        let seen = self.seen.get(&field)?;
        let valued: Vec<(&Seen, f64)> = seen.iter().filter_map(|seen| Some((seen, seen.mean?))).collect();
        let (last, now) = valued.last().copied()?;
        let of_before = |(seen, _): &&(&Seen, f64)| seen.unit == last.unit && seen.harvest < last.harvest;
        let (before, then) = valued.iter().rev().find(of_before).copied()?;
        let limit = self.records.settings.due.rise_factor.max(1.0);
        if last.harvest <= since || now <= then * limit || now <= 0.0 {
            return None;
        }
        let amount = if then > 0.0 { (now / then).log2() / 2.0 } else { 1.0 };
        let unit = last.unit.label();
        let reason = format!(
            "Density rose from {} to {} {unit} between {} and {}.",
            figure(then),
            figure(now),
            day(before.date),
            day(last.date)
        );
        part(&self.records.settings, DueSign::Rising, amount, reason)
    }
}

/// Two significant digits, as far as people care about densities.
fn figure(value: f64) -> String {
    if value >= 9.95 { format!("{value:.0}") } else { format!("{value:.1}") }
}

/// Words of a recorded effect that say that a spray has failed (our choice, no source).
const FAILURE: [&str; 10] =
    ["poor", "fail", "surviv", "escape", "bad", "weak", "no control", "no effect", "disappoint", "resist"];
/// A recorded control below this is a failure, %: an approved herbicide on susceptible grass weeds does better (our choice, no
/// source).
const LEAST_CONTROL: f64 = 80.0;

/// Whether what was seen of a spray's effect says that it failed: "poor control", "survivors in patches", "60 %".
pub(super) fn has_failed(effect: &str) -> bool {
    let text = effect.to_lowercase();
    let denied = |at: usize| {
        let before: Vec<&str> = text[..at].split_whitespace().collect();
        before.last().is_some_and(|word| matches!(*word, "no" | "not" | "without" | "hardly"))
    };
    let words = FAILURE.iter().any(|word| text.match_indices(word).any(|(at, _)| !denied(at)));
    let percent = text.split('%').next().filter(|_| text.contains('%')).and_then(|head| {
        let number: String = head.trim_end().chars().rev().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
        number.chars().rev().collect::<String>().parse::<f64>().ok()
    });
    words || percent.is_some_and(|control| control < LEAST_CONTROL)
}

/// By field, the neighbours whose rating got worse in the last interval.
fn worse_neighbours(
    records: &Records,
    known: &BTreeMap<FieldId, FieldRatings>,
    year: i32,
) -> BTreeMap<FieldId, Vec<(i32, String)>> {
    let history = History::of(records, year);
    let near_m = records.settings.due.neighbour_m.max(0.0);
    let fields = records.fields_in(year);
    let boxes: Vec<Option<Rect<f64>>> = fields.iter().map(|field| bounds(&field.boundary)).collect();
    let mut worse: BTreeMap<FieldId, Vec<(i32, String)>> = BTreeMap::new();
    for (at, field) in fields.iter().enumerate() {
        let Some(change) = history.change(field.id, &RatingOf::Worst).filter(|change| change.steps() > 0) else { continue };
        if year - change.after.year > records.settings.retest_interval_years || !known.contains_key(&field.id) {
            continue;
        }
        let Some(own) = boxes[at] else { continue };
        let Ok(plane) = LocalPlane::at(own.center()) else { continue };
        let shape = plane.to_metres(&field.boundary);
        // A degree of longitude is shortest at the poles; one of latitude is about 111 km everywhere.
        let up = near_m / 111_000.0;
        let wide = up / own.center().y.to_radians().cos().abs().max(0.05);
        let reach = Rect::new((own.min().x - wide, own.min().y - up), (own.max().x + wide, own.max().y + up));
        let sentence = format!(
            "{}, next to it, went from {} to {} in {} (HRAC {}).",
            field.name,
            change.before.rating.label(),
            change.after.rating.label(),
            change.after.year,
            change.of
        );
        for (other, rect) in fields.iter().zip(&boxes) {
            if other.id == field.id || !rect.is_some_and(|rect| rect.intersects(&reach)) {
                continue;
            }
            let away = Euclidean.distance(&shape, &plane.to_metres(&other.boundary));
            if away <= near_m {
                worse.entry(other.id).or_default().push((change.after.year, sentence.clone()));
            }
        }
    }
    worse
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn recorded_effects_are_read() {
        for failed in
            ["survivors in patches", "Poor control", "60 %", "about 55% control", "FAILED", "resistant plants left"]
        {
            assert!(has_failed(failed), "{failed}");
        }
        for good in ["", "good", "no survivors", "95 %", "very clean", "without escapes"] {
            assert!(!has_failed(good), "{good}");
        }
    }
}
