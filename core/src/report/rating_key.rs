//! Classes by rating: alone, with its age, and with what changed since the test before.

use std::sync::Arc;

use crate::model::{Field, Rating, Records, modes_of_action};
use crate::rating::{History, RatingOf};
use crate::report::classes::{Class, Key, Over};
use crate::report::palette;

/// From this many harvests on, a rating is getting old (our choice, no source).
pub const OLD_FROM: i32 = 2;

/// How old a rating is, as a band of the map.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Age {
    /// This harvest or the last.
    Fresh,
    /// From [`OLD_FROM`] harvests to the interval.
    Old,
    /// At or past the interval.
    Past,
}

impl Age {
    /// Every band, youngest first.
    pub const ALL: [Self; 3] = [Self::Fresh, Self::Old, Self::Past];

    /// The band of a rating found so many harvests ago.
    pub fn of(harvests: i32, interval: i32) -> Self {
        if harvests >= interval {
            Self::Past
        } else if harvests >= OLD_FROM {
            Self::Old
        } else {
            Self::Fresh
        }
    }

    /// The band in words: "0 to 1 harvest old". None: no age lies in it with this interval.
    pub fn words(self, interval: i32) -> Option<String> {
        let between = |from: i32, to: i32| match to - from {
            ..=-1 => None,
            0 => Some(format!("{from}")),
            _ => Some(format!("{from} to {to}")),
        };
        match self {
            Self::Fresh => between(0, OLD_FROM.min(interval) - 1),
            Self::Old => between(OLD_FROM, interval - 1),
            Self::Past => Some(format!("{interval} or more")),
        }
    }

    fn over(self) -> Over {
        match self {
            Self::Fresh => Over::Nothing,
            Self::Old => Over::Stipple,
            Self::Past => Over::Hatch,
        }
    }
}

/// What the ratings are taken from, as a heading: "Worst rating of any mode of action", "Rating for HRAC 2, ALS".
pub fn heading(of: &RatingOf) -> String {
    match of {
        RatingOf::Worst => "Worst rating of any mode of action".to_owned(),
        RatingOf::Group(group) => match modes_of_action().iter().find(|mode| mode.group == group) {
            Some(mode) => format!("Rating for HRAC group {group}, {}", mode.name),
            None => format!("Rating for HRAC group {group}"),
        },
        RatingOf::Active(active) => format!("Rating for {active}"),
    }
}

fn class(rating: Rating, words: &str, over: Over) -> Class {
    Class::new(rating.label(), words, palette::RATING[rating as usize], over)
}

fn untested(of: &RatingOf) -> Class {
    let words = if *of == RatingOf::Worst { "not tested: nothing known" } else { "not tested for this: nothing known" };
    Class::new("n.t.", words, palette::GROUND, Over::WideHatch)
}

/// By the rating alone.
pub fn ratings(history: &History, of: &RatingOf, fields: &[Arc<Field>]) -> Key {
    let worst_first = Rating::ALL.iter().rev();
    let mut classes: Vec<Class> = worst_first.map(|rating| class(*rating, rating.meaning(), Over::Nothing)).collect();
    classes.push(untested(of));
    let mut key = Key::new(&heading(of), classes);
    for field in fields {
        match history.latest(field.id, of) {
            None => key.put(field, 4, Over::WideHatch, "n.t.".to_owned()),
            Some(tested) => {
                let mark = format!("{} {}", tested.words(), tested.year);
                key.put(field, 3 - tested.rating as usize, Over::Nothing, mark);
            }
        }
    }
    key
}

/// By rating and age together: the colour is the rating, the pattern its age. Only classes that occur are listed.
pub fn ratings_and_ages(records: &Records, year: i32, history: &History, of: &RatingOf, fields: &[Arc<Field>]) -> Key {
    let interval = records.settings.retest_interval_years.max(1);
    let mut classes = Vec::new();
    for rating in Rating::ALL.iter().rev() {
        for age in Age::ALL.iter().rev() {
            let words = age.words(interval).unwrap_or_default();
            classes.push(class(*rating, &format!("{words} harvests old"), age.over()));
        }
    }
    classes.push(untested(of));
    let mut key = Key::new(&format!("{}, and how old", heading(of)), classes);
    for field in fields {
        match history.latest(field.id, of) {
            None => key.put(field, 12, Over::WideHatch, "n.t.".to_owned()),
            Some(tested) => {
                let age = Age::of(year - tested.year, interval);
                let class = 3 * (3 - tested.rating as usize) + 2 - age as usize;
                key.put(field, class, age.over(), format!("{} {}", tested.words(), tested.year));
            }
        }
    }
    key.drop_empty();
    key
}

/// By what changed since the test before: the colour is the later rating, the pattern says which way it went.
pub fn changes(history: &History, of: &RatingOf, fields: &[Arc<Field>]) -> Key {
    const WAYS: [(&str, Over); 4] = [
        ("worse than the test before", Over::Hatch),
        ("the same as the test before", Over::Nothing),
        ("better than the test before", Over::Stipple),
        ("tested once", Over::Nothing),
    ];
    let mut classes = Vec::new();
    for rating in Rating::ALL.iter().rev() {
        for (way, (words, over)) in WAYS.iter().enumerate() {
            let mut class = class(*rating, words, *over);
            class.dotted = way == 3;
            classes.push(class);
        }
    }
    classes.push(untested(of));
    let mut key = Key::new(&format!("{}, and the test before", heading(of)), classes);
    for field in fields {
        let (rating, way, mark) = match (history.change(field.id, of), history.latest(field.id, of)) {
            (Some(change), _) => {
                let way = (1 - change.steps().signum()) as usize;
                let (before, after) = (change.before.words(), change.after.words());
                (change.after.rating, way, if way == 1 { after } else { format!("{before} to {after}") })
            }
            (None, Some(tested)) => (tested.rating, 3, tested.words()),
            (None, None) => {
                key.put(field, 16, Over::WideHatch, "n.t.".to_owned());
                continue;
            }
        };
        key.put(field, 4 * (3 - rating as usize) + way, WAYS[way].1, mark);
    }
    key.drop_empty();
    key
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_of_age_follow_the_interval() {
        assert_eq!(
            Age::ALL.map(|age| age.words(5)),
            [Some("0 to 1"), Some("2 to 4"), Some("5 or more")].map(|w| w.map(str::to_owned))
        );
        assert_eq!(Age::ALL.map(|age| age.words(1)), [Some("0"), None, Some("1 or more")].map(|w| w.map(str::to_owned)));
        assert_eq!([1, 2, 4, 5].map(|age| Age::of(age, 5)), [Age::Fresh, Age::Old, Age::Old, Age::Past]);
    }
}
