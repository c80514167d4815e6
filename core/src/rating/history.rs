//! How ratings came one after the other: every test of a field by mode of action, active and harvest year.
//!
//! Like is compared with like: the change since the test before is looked for within one mode of action (or one active), never
//! between two of them, because a field tested against an easier herbicide has not got better.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::{FieldId, Rating, Records};
use crate::rating::assess::{Counted, RatedBy, counted};
use crate::rating::fields::{speaking, with_origins};

/// Which results a rating is taken from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum RatingOf {
    /// The worst over all modes of action.
    #[default]
    Worst,
    /// One mode of action by its HRAC group number.
    Group(String),
    /// One active, or a mixture as it was tested.
    Active(String),
}

/// A rating and the harvest year of the seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tested {
    /// The worst rating of that year.
    pub rating: Rating,
    /// Harvest year.
    pub year: i32,
    /// Whose rating it is.
    pub by: RatedBy,
}

impl Tested {
    fn of(counted: Counted, year: i32) -> Self {
        Self { rating: counted.rating, year, by: counted.by }
    }

    /// The rating with its mark: "RR", "RR lab".
    pub fn words(self) -> String {
        Counted { rating: self.rating, by: self.by }.words()
    }
}

/// Two tests of the same mode of action, one after the other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The test before.
    pub before: Tested,
    /// The last test.
    pub after: Tested,
    /// HRAC group, or the active, that both were of.
    pub of: String,
}

impl Change {
    /// Steps of the scale that it got worse by; negative: better.
    pub fn steps(&self) -> i32 {
        self.after.rating as i32 - self.before.rating as i32
    }
}

/// The worst rating of each harvest year, by what was tested.
type Tests = BTreeMap<String, BTreeMap<i32, Counted>>;

/// All tests of all fields up to a harvest year.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct History {
    groups: BTreeMap<FieldId, Tests>,
    actives: BTreeMap<FieldId, Tests>,
}

impl History {
    /// The tests up to harvest `year`; a field that came from others takes over theirs, as in [`super::field_ratings`].
    pub fn of(records: &Records, year: i32) -> Self {
        let speaking = speaking(records);
        let mut sampled: BTreeMap<FieldId, Vec<(i32, &str, &str, Counted)>> = BTreeMap::new();
        for result in records.results.values() {
            let sample = records.samples.get(&result.sample).filter(|sample| sample.year <= year);
            let sample = sample.filter(|_| speaking.contains(&result.id));
            if let (Some(sample), Some(rating)) = (sample, sample.and_then(|_| counted(records, result))) {
                sampled.entry(sample.field).or_default().push((sample.year, &result.group, &result.active, rating));
            }
        }
        let mut history = Self::default();
        for field in records.fields.keys() {
            let lands = with_origins(records, *field);
            for (year, group, active, rating) in lands.iter().filter_map(|land| sampled.get(land)).flatten() {
                put(&mut history.groups, *field, group, *year, *rating);
                put(&mut history.actives, *field, active, *year, *rating);
            }
        }
        history
    }

    /// The last rating of a field; none: not tested for this. Of the worst, the newest year in which it was found.
    pub fn latest(&self, field: FieldId, of: &RatingOf) -> Option<Tested> {
        let newest =
            |tests: &BTreeMap<i32, Counted>| tests.last_key_value().map(|(year, counted)| Tested::of(*counted, *year));
        match of {
            RatingOf::Worst => {
                let all = self.groups.get(&field)?.values().filter_map(newest);
                all.max_by_key(|tested| (tested.rating, tested.year))
            }
            RatingOf::Group(group) => newest(self.groups.get(&field)?.get(group)?),
            RatingOf::Active(active) => newest(self.actives.get(&field)?.get(active)?),
        }
    }

    /// The change since the test before. Over all modes of action: the one that got worse the most. None: no two tests of a kind.
    pub fn change(&self, field: FieldId, of: &RatingOf) -> Option<Change> {
        let of_one = |(of, tests): (&String, &BTreeMap<i32, Counted>)| {
            let mut newest = tests.iter().rev().map(|(year, counted)| Tested::of(*counted, *year));
            let (after, before) = (newest.next()?, newest.next()?);
            Some(Change { before, after, of: of.clone() })
        };
        match of {
            RatingOf::Worst => {
                let all = self.groups.get(&field)?.iter().filter_map(of_one);
                all.max_by_key(|change| (change.steps(), change.after.rating, change.after.year))
            }
            RatingOf::Group(group) => of_one(self.groups.get(&field)?.get_key_value(group)?),
            RatingOf::Active(active) => of_one(self.actives.get(&field)?.get_key_value(active)?),
        }
    }

    /// HRAC groups that were tested anywhere.
    pub fn all_groups(&self) -> BTreeSet<&str> {
        self.groups.values().flat_map(|tests| tests.keys()).map(String::as_str).collect()
    }

    /// Actives that were tested anywhere.
    pub fn all_actives(&self) -> BTreeSet<&str> {
        self.actives.values().flat_map(|tests| tests.keys()).map(String::as_str).collect()
    }
}

fn put(tests: &mut BTreeMap<FieldId, Tests>, field: FieldId, of: &str, year: i32, counted: Counted) {
    let by_year = tests.entry(field).or_default().entry(of.to_owned()).or_default();
    let worst = by_year.get(&year).copied().max(Some(counted)).unwrap_or(counted);
    by_year.insert(year, worst);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A history of one field: group, active, harvest year, rating.
    fn history(tests: &[(&str, &str, i32, Rating)]) -> (History, FieldId) {
        let (mut history, field) = (History::default(), FieldId::new());
        for (group, active, year, rating) in tests {
            let counted = Counted { rating: *rating, by: RatedBy::Us };
            put(&mut history.groups, field, group, *year, counted);
            put(&mut history.actives, field, active, *year, counted);
        }
        (history, field)
    }

    #[test]
    fn change_compares_like_with_like() {
        let (history, field) = history(&[
            ("1", "clethodim", 2020, Rating::RRR),
            ("1", "clethodim", 2024, Rating::RR),
            ("2", "pyroxsulam", 2023, Rating::S),
            ("2", "mesosulfuron", 2026, Rating::RQuestion),
        ]);
        let change = history.change(field, &RatingOf::Worst).unwrap();
        assert_eq!((change.of.as_str(), change.steps()), ("2", 1), "the one that got worse");
        assert_eq!(history.change(field, &RatingOf::Group("1".into())).unwrap().steps(), -1);
        assert_eq!(history.change(field, &RatingOf::Active("mesosulfuron".into())), None, "tested once only");
    }

    #[test]
    fn latest_takes_the_newest_year_and_the_worst_in_it() {
        let (history, field) = history(&[
            ("1", "clethodim", 2020, Rating::RRR),
            ("1", "clethodim", 2024, Rating::S),
            ("1", "cycloxydim", 2024, Rating::RR),
        ]);
        assert_eq!(
            history.latest(field, &RatingOf::Worst),
            Some(Tested { rating: Rating::RR, year: 2024, by: RatedBy::Us })
        );
        let clethodim = RatingOf::Active("clethodim".into());
        assert_eq!(history.latest(field, &clethodim), Some(Tested { rating: Rating::S, year: 2024, by: RatedBy::Us }));
        assert_eq!(history.latest(field, &RatingOf::Group("2".into())), None);
    }
}
