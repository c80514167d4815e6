//! Which modes of action still work in a field, as far as tests say.

use crate::model::{Rating, mode_of_group};
use crate::rating::fields::FieldRatings;
use crate::rating::mechanism::{Reading, Suggestion};

/// What tests say of a mode of action.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// RR or RRR: resistance confirmed.
    Compromised,
    /// R?: early signs.
    Weakened,
    /// S in the latest test.
    Unaffected,
}

impl Standing {
    /// The standing of a rating.
    pub fn of(rating: Rating) -> Self {
        match rating {
            Rating::RR | Rating::RRR => Self::Compromised,
            Rating::RQuestion => Self::Weakened,
            Rating::S => Self::Unaffected,
        }
    }

    /// The word for it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Compromised => "compromised",
            Self::Weakened => "weakened",
            Self::Unaffected => "unaffected",
        }
    }
}

/// One mode of action in one field.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// HRAC group number.
    pub group: String,
    /// What is hit, such as ACCase.
    pub name: &'static str,
    /// Standing by the latest test.
    pub standing: Standing,
    /// Why, and how old that is.
    pub reason: String,
}

/// The tested modes of action of a field, the worst first, for harvest `year`. A mode that was never tested is not listed: nothing
/// is known of it.
pub fn modes(known: &FieldRatings, suggestion: &Suggestion, year: i32) -> Vec<Mode> {
    let mut modes: Vec<Mode> = known
        .groups
        .iter()
        .map(|(group, found)| {
            let standing = Standing::of(found.rating);
            let age = match year - found.year {
                0 => "this harvest".to_owned(),
                1 => "1 harvest ago".to_owned(),
                age => format!("{age} harvests ago"),
            };
            let mut reason = format!("{} with {}, {age}", found.rating.label(), found.active);
            if found.by.is_laboratory() {
                reason.push_str(" (the laboratory's rating, not worked out by us)");
            }
            let better: Vec<&str> = known
                .actives
                .iter()
                .filter(|(active, other)| {
                    **active != found.active
                        && other.year == found.year
                        && other.rating < found.rating
                        && other.result != found.result
                })
                .filter(|(active, _)| crate::model::mode_of_action(active).is_some_and(|mode| mode.group == group.as_str()))
                .map(|(active, _)| active.as_str())
                .collect();
            if !better.is_empty() {
                reason.push_str(&format!("; better with {}", better.join(", ")));
            }
            if standing == Standing::Unaffected && suggestion.metabolism() {
                reason.push_str("; enhanced metabolism weakens many modes of action a little, so watch it");
            }
            Mode { group: group.clone(), name: mode_of_group(group).map_or("", |mode| mode.name), standing, reason }
        })
        .collect();
    modes.sort_by_key(|mode| (mode.standing, group_order(&mode.group)));
    modes
}

fn group_order(group: &str) -> (u32, String) {
    (group.parse().unwrap_or(u32::MAX), group.to_owned())
}

impl Suggestion {
    /// Whether enhanced metabolism is suggested.
    pub fn metabolism(&self) -> bool {
        self.readings.iter().any(|reading| matches!(reading, Reading::Metabolism))
    }
}
