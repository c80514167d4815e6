//! What tests say of the actives of a programme in one field, and how old that is.

use crate::act::share::Share;
use crate::model::{Rating, Records, mode_of_group};
use crate::rating::{FieldRatings, GroupRating, evidence_of, reduction_of, standard_of, standards_of};

/// Which test speaks for an active.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// One of the active itself.
    Active,
    /// One of another active of the same mode of action.
    Group {
        /// The active that was tested.
        tested: String,
    },
    /// None: not tested.
    None,
}

/// What is known of one active (or several of one mode of action in one step) in a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Active as in the programme, lower case; several joined by "+".
    pub active: String,
    /// HRAC group number; empty: not known.
    pub group: String,
    /// Which test speaks for it.
    pub basis: Basis,
    /// Rating by that test.
    pub rating: Option<Rating>,
    /// Harvest year of the sample.
    pub year: Option<i32>,
    /// Harvests since, to the year asked for.
    pub age: Option<i32>,
    /// Whether that is as long as the retest interval, or longer.
    pub old: bool,
    /// Reduction of the sample and of the susceptible standard, %.
    pub reductions: Option<[f64; 2]>,
    /// What is left of it; none: not tested.
    pub share: Option<Share>,
}

impl Known {
    /// "ALS" for group 2; the number where there is no name.
    pub fn mode(&self) -> &str {
        mode_of_group(&self.group).map_or(self.group.as_str(), |mode| mode.name)
    }

    /// Where the figure comes from, one sentence.
    pub fn said(&self) -> String {
        if let (Some(rating), Some(year), None) = (self.rating, self.year, self.reductions) {
            return format!(
                "{}: {} in {year} by the laboratory, not worked out by us: what control is left cannot be said.",
                self.active,
                rating.label()
            );
        }
        let (Some(rating), Some(year), Some([sample, standard])) = (self.rating, self.year, self.reductions) else {
            return format!("{}: not tested, so nothing is known of it here.", self.active);
        };
        let age = match self.age.unwrap_or_default() {
            ..=0 => "this harvest".to_owned(),
            1 => "1 harvest ago".to_owned(),
            age => format!("{age} harvests ago"),
        };
        let from = match &self.basis {
            Basis::Group { tested } => format!(" (read from {tested}, of the same mode of action)"),
            _ => String::new(),
        };
        let old = if self.old { ", which is old" } else { "" };
        let error = match &self.share {
            Some(share) if !share.has_error() => " The error of the test is not known.",
            _ => "",
        };
        format!(
            "{}: {} in {year}{from}, {age}{old}; {sample:.0} % beside {standard:.0} % of the susceptible standard.{error}",
            self.active,
            rating.label()
        )
    }
}

/// What is known of an active up to harvest `year`: its own latest test, else that of its mode of action.
pub fn known(records: &Records, ratings: &FieldRatings, active: &str, group: &str, year: i32) -> Known {
    let own =
        ratings.actives.iter().find(|(tested, _)| same_actives(tested, active)).map(|(_, found)| (found, Basis::Active));
    let found = own.or_else(|| {
        let found = ratings.groups.get(group)?;
        Some((found, Basis::Group { tested: found.active.clone() }))
    });
    let nothing = Known {
        active: active.to_owned(),
        group: group.to_owned(),
        basis: Basis::None,
        rating: None,
        year: None,
        age: None,
        old: false,
        reductions: None,
        share: None,
    };
    let Some((found, basis)) = found else { return nothing };
    let share = share_of(records, found);
    // A rating that is the laboratory's has no figures, but it is known.
    if share.is_none() && !found.by.is_laboratory() {
        return nothing;
    }
    let age = year - found.year;
    Known {
        basis,
        rating: Some(found.rating),
        year: Some(found.year),
        age: Some(age),
        old: age >= records.settings.retest_interval_years,
        reductions: share.as_ref().map(|(reductions, _)| *reductions),
        share: share.map(|(_, share)| share),
        ..nothing
    }
}

fn share_of(records: &Records, found: &GroupRating) -> Option<([f64; 2], Share)> {
    let result = records.results.get(&found.result)?;
    let (sample, evidence) = reduction_of(result);
    let sample = sample?;
    let standard = standard_of(records, result)?;
    let susceptible = crate::model::StandardRole::Susceptible;
    let record = standards_of(records, result).find(|standard| standard.role == susceptible);
    let of_standard = record.and_then(|record| evidence_of(record));
    Some(([sample, standard], Share::of(sample, standard, evidence, of_standard)?))
}

/// Whether two names stand for the same actives, in whatever order they are joined.
fn same_actives(a: &str, b: &str) -> bool {
    let parts = |text: &str| {
        let mut parts: Vec<String> = text.split('+').map(|part| part.trim().to_lowercase()).collect();
        parts.sort();
        parts
    };
    parts(a) == parts(b)
}
