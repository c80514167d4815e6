//! Which fields are due a test, why, and how urgent each is.
//!
//! A field is due when it was never tested, or when its last test is as old as the interval. Testing every field at least every
//! five years, sooner where control failed, is common practice, no source; the interval is a setting, and so is by how many
//! harvests each sign of trouble brings the next test forward. The score is a sum of points, one part for each sign
//! ([`DueSign`]), and each part comes with its sentence. A field in which the last scouting found none has no seed to collect and
//! is not due. What the user has pinned or vetoed for a harvest year goes before all rules.

mod budget;
mod signs;

use std::sync::Arc;

use rayon::prelude::*;

use crate::model::{DueMark, DueSign, FieldId, Mark, Rating, Records};
use crate::rating::{FieldRatings, field_ratings};
use crate::season::seen::Seen;
use crate::units::count;

pub use budget::{Budget, Left, Spent, spend};
use signs::Signs;

/// One part of a score.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The sign it is for.
    pub sign: DueSign,
    /// Points it gives.
    pub points: f64,
    /// The most it could give.
    pub most: f64,
    /// Why, one sentence.
    pub reason: String,
}

/// Whether a field is due a test.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// The field.
    pub field: FieldId,
    /// Whether it is due.
    pub due: bool,
    /// Why, or why not, one sentence each.
    pub reasons: Vec<String>,
    /// Higher is more urgent: the sum of the parts' points, 0 for a field without seed.
    pub score: f64,
    /// What the score is made of; parts without points are left out.
    pub parts: Vec<Part>,
    /// Pinned or vetoed for this harvest year.
    pub mark: Option<Arc<DueMark>>,
    /// Harvests since the last test; none: never tested.
    pub age: Option<i32>,
    /// Harvests after which this field is due, given its signs.
    pub interval: i32,
    /// Samples that its plan asks for; 1 without a plan.
    pub samples: usize,
    /// What the latest scouting saw.
    pub seen: Option<Seen>,
}

impl Due {
    /// Whether the user has pinned it.
    pub fn is_pinned(&self) -> bool {
        self.mark.as_ref().is_some_and(|mark| mark.mark == Mark::Pinned)
    }

    /// Whether the user has vetoed it.
    pub fn is_vetoed(&self) -> bool {
        self.mark.as_ref().is_some_and(|mark| mark.mark == Mark::Vetoed)
    }
}

/// Every field of the harvest year: pinned ones first, then those that are due, the most urgent first; of equals the one with
/// more of the weed, then by farm and name.
pub fn due(records: &Records, year: i32) -> Vec<Due> {
    let known = field_ratings(records, year);
    let mut signs = Signs::of(records, &known, year);
    let unknown = FieldRatings::default();
    let fields = records.fields_in(year);
    let mut list: Vec<Due> = fields
        .iter()
        .map(|field| {
            let ratings = known.get(&field.id).unwrap_or(&unknown);
            let seen = signs.last_seen(field.id);
            let parts = signs.parts(field, ratings);
            let mark = records.due_mark(field.id, year).cloned();
            let samples = records.plan_of(field.id, year).map_or(1, |plan| plan.samples());
            Due { samples, ..judge(records, field.id, ratings, seen, parts, mark) }
        })
        .collect();
    // Measured beside each other: the order below asks for them one after the other.
    fields.par_iter().for_each(|field| {
        field.area_m2();
    });
    let plants = |due: &Due| {
        let area = records.fields.get(&due.field).map_or(0.0, |field| field.area_m2());
        due.seen.as_ref().and_then(|seen| seen.mean).unwrap_or(0.0) * area
    };
    list.sort_by(|a, b| {
        (b.is_pinned(), b.due)
            .cmp(&(a.is_pinned(), a.due))
            .then(b.score.total_cmp(&a.score))
            .then_with(|| plants(b).total_cmp(&plants(a)))
    });
    list
}

fn judge(
    records: &Records,
    field: FieldId,
    ratings: &FieldRatings,
    seen: Option<Seen>,
    parts: Vec<Part>,
    mark: Option<Arc<DueMark>>,
) -> Due {
    let rules = &records.settings.due;
    let usual = records.settings.retest_interval_years;
    let sooner: i32 = parts.iter().map(|part| rules.rule(part.sign).sooner).sum();
    let interval = (usual - sooner).clamp(1, usual.max(1));
    let age = ratings.years_since_test;
    let mut reasons = vec![tested(ratings, interval, usual)];
    let hurried = parts.iter().any(|part| rules.rule(part.sign).sooner > 0);
    let by_age = match age {
        None => rules.rule(DueSign::Never).on,
        Some(age) => age >= interval && age > 0 && (rules.rule(DueSign::Age).on || hurried),
    };
    if let Some(worst) = ratings.worst.filter(|worst| *worst != Rating::S) {
        let whose = if ratings.worst_by().is_laboratory() { " (the laboratory's)" } else { "" };
        reasons.push(format!("Worst rating then: {}{whose}.", worst.label()));
    }
    let others = parts.iter().filter(|part| !matches!(part.sign, DueSign::Never | DueSign::Age | DueSign::Doubtful));
    reasons.extend(others.map(|part| part.reason.clone()));
    let clean = seen.as_ref().is_some_and(|seen| seen.greatest <= 0.0);
    match &seen {
        Some(seen) if clean => {
            reasons.push(format!("Scouting of {} found none, so there is no seed to take.", day(seen.date)));
        }
        Some(seen) => reasons.push(format!("Weed seen when scouted on {}.", day(seen.date))),
        None => reasons.push("Not scouted.".to_owned()),
    }
    let score = if clean { 0.0 } else { parts.iter().map(|part| part.points).sum() };
    let mut due = by_age && !clean;
    if let Some(mark) = &mark {
        due = mark.mark == Mark::Pinned;
        let why = if mark.reason.is_empty() { String::new() } else { format!(": {}", mark.reason.trim_end_matches('.')) };
        let what = if due { "Pinned" } else { "Vetoed" };
        reasons.insert(0, format!("{what} for harvest {}{why}.", mark.year));
    }
    let parts = if clean { Vec::new() } else { parts };
    Due { field, due, reasons, score, parts, mark, age, interval, samples: 1, seen }
}

fn tested(ratings: &FieldRatings, interval: i32, usual: i32) -> String {
    let (Some(last), Some(age)) = (ratings.last_test_year, ratings.years_since_test) else {
        return "Never tested.".to_owned();
    };
    let ago = count(age.max(0) as usize, "harvest");
    let rule = if interval < usual {
        format!("the interval is {usual}, here {interval} for the reasons below")
    } else {
        format!("the interval is {usual}")
    };
    if age <= 0 {
        "Tested this harvest.".to_owned()
    } else if age >= interval {
        format!("Last tested in {last}, {ago} ago; {rule}.")
    } else {
        format!("Last tested in {last}, {ago} ago; due again in {}.", last + interval)
    }
}

/// "12 June 2026".
fn day(date: jiff::civil::Date) -> String {
    date.strftime("%-d %B %Y").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{DensityUnit, DueMarkId, DueRule};

    fn judged_with(records: &Records, last: Option<i32>, greatest: Option<f64>, mark: Option<Mark>) -> Due {
        let ratings = FieldRatings {
            last_test_year: last,
            years_since_test: last.map(|last| 2027 - last),
            worst: last.map(|_| Rating::RR),
            ..FieldRatings::default()
        };
        let date = jiff::civil::date(2026, 6, 12);
        let seen = greatest.map(|greatest| Seen {
            date,
            harvest: 2026,
            greatest,
            mean: Some(greatest / 4.0),
            unit: DensityUnit::HeadsPerM2,
        });
        let parts = signs::of_tests(&records.settings, &ratings, seen.as_ref());
        let field = FieldId::new();
        let mark =
            mark.map(|mark| Arc::new(DueMark { id: DueMarkId::new(), field, year: 2027, mark, reason: "drain".into() }));
        judge(records, field, &ratings, seen, parts, mark)
    }

    fn judged(last: Option<i32>, greatest: Option<f64>) -> Due {
        judged_with(&Records::default(), last, greatest, None)
    }

    #[test]
    fn due_when_never_tested_or_past_the_interval() {
        assert!(judged(None, Some(4.0)).due);
        assert!(judged(None, None).due);
        assert!(judged(Some(2022), None).due);
        assert!(!judged(Some(2023), Some(80.0)).due);
    }

    #[test]
    fn a_clean_field_has_nothing_to_test() {
        let clean = judged(None, Some(0.0));
        assert!(!clean.due && clean.score == 0.0);
        assert!(clean.reasons.iter().any(|reason| reason.contains("12 June 2026")), "{:?}", clean.reasons);
    }

    #[test]
    fn older_is_more_urgent_and_never_tested_most() {
        let scores = [judged(Some(2023), None), judged(Some(2021), None), judged(Some(2012), None), judged(None, Some(3.0))]
            .map(|due| due.score);
        assert!(scores.is_sorted() && scores[3] == 50.0, "{scores:?}");
        // Half the points at the interval, all at twice the interval.
        assert_eq!([judged(Some(2022), None).score, judged(Some(2017), None).score], [20.0, 40.0]);
    }

    #[test]
    fn pins_and_vetoes_go_before_the_rules() {
        let records = Records::default();
        let pinned = judged_with(&records, Some(2027), Some(1.0), Some(Mark::Pinned));
        assert!(pinned.due && pinned.reasons[0] == "Pinned for harvest 2027: drain.", "{:?}", pinned.reasons);
        assert!(!judged_with(&records, None, Some(1.0), Some(Mark::Vetoed)).due);
    }

    #[test]
    fn a_rule_that_is_off_neither_scores_nor_makes_due() {
        let mut records = Records::default();
        records.settings.due.set(DueSign::Never, DueRule { on: false, points: 50.0, sooner: 0 });
        let due = judged_with(&records, None, Some(4.0), None);
        assert!(!due.due && due.score == 0.0 && due.parts.is_empty());
        records.settings.due = records.settings.due.reset();
        assert!(records.settings.due.are_usual() && judged_with(&records, None, Some(4.0), None).due);
    }
}
