//! The interval rule: a field is due when it was never tested, or when its last test is as old as the interval.
//!
//! Testing every field at least every five years is common practice, no source; the interval is a setting. A field in which
//! the last scouting found none has no seed to collect and is not due.

use crate::model::{FieldId, Rating, Records};
use crate::rating::{FieldRatings, field_ratings};
use crate::season::seen::{Seen, weed_seen};
use crate::units::count;

/// Whether a field is due a test.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// The field.
    pub field: FieldId,
    /// Whether it is due.
    pub due: bool,
    /// Why, or why not, one sentence each.
    pub reasons: Vec<String>,
    /// Higher is more urgent, 0 to 100: 100 for a field never tested; otherwise 50 when the interval has just passed, and
    /// in proportion to the age of the last test up to 99.
    pub score: f64,
}

/// Every field of the harvest year, most urgent first, then by farm and name.
pub fn due(records: &Records, year: i32) -> Vec<Due> {
    let known = field_ratings(records, year);
    let seen = weed_seen(records, year);
    let unknown = FieldRatings::default();
    let mut list: Vec<Due> = records
        .fields_in(year)
        .iter()
        .map(|field| {
            let ratings = known.get(&field.id).unwrap_or(&unknown);
            judge(field.id, ratings, seen.get(&field.id), records.settings.retest_interval_years)
        })
        .collect();
    list.sort_by(|a, b| b.due.cmp(&a.due).then(b.score.total_cmp(&a.score)));
    list
}

fn judge(field: FieldId, ratings: &FieldRatings, seen: Option<&Seen>, interval: i32) -> Due {
    let clean = seen.filter(|seen| seen.greatest <= 0.0);
    let mut reasons = Vec::new();
    let mut score = 100.0;
    if let (Some(last), Some(age)) = (ratings.last_test_year, ratings.years_since_test) {
        let ago = count(age.max(0) as usize, "harvest");
        reasons.push(if age >= interval {
            format!("Last tested in {last}, {ago} ago; the interval is {interval}.")
        } else if age <= 0 {
            "Tested this harvest.".to_owned()
        } else {
            format!("Last tested in {last}, {ago} ago; due again in {}.", last + interval)
        });
        score = (50.0 * f64::from(age.max(0)) / f64::from(interval.max(1))).min(99.0);
    } else {
        reasons.push("Never tested.".to_owned());
    }
    let by_age = ratings.years_since_test.is_none_or(|age| age >= interval);
    if let Some(worst) = ratings.worst.filter(|worst| *worst != Rating::S) {
        let whose = if ratings.worst_by().is_laboratory() { " (the laboratory's)" } else { "" };
        reasons.push(format!("Worst rating then: {}{whose}.", worst.label()));
    }
    match (clean, seen) {
        (Some(clean), _) => {
            reasons.push(format!("Scouting of {} found none, so there is no seed to take.", day(clean.date)));
            score = 0.0;
        }
        (None, Some(seen)) => reasons.push(format!("Weed seen when scouted on {}.", day(seen.date))),
        (None, None) => reasons.push("Not scouted.".to_owned()),
    }
    Due { field, due: by_age && clean.is_none(), reasons, score }
}

/// "12 June 2026".
fn day(date: jiff::civil::Date) -> String {
    date.strftime("%-d %B %Y").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn judged(last: Option<i32>, greatest: Option<f64>) -> Due {
        let ratings = FieldRatings {
            last_test_year: last,
            years_since_test: last.map(|last| 2027 - last),
            worst: last.map(|_| Rating::RR),
            ..FieldRatings::default()
        };
        let seen = greatest.map(|greatest| Seen { date: jiff::civil::date(2026, 6, 12), greatest });
        judge(FieldId::new(), &ratings, seen.as_ref(), 5)
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
        let scores = [judged(Some(2023), None), judged(Some(2021), None), judged(Some(2012), None), judged(None, None)]
            .map(|due| due.score);
        assert!(scores.is_sorted() && scores[3] == 100.0, "{scores:?}");
    }
}
