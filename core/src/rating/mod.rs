//! What results mean: rating from % reduction, latest per field and mode of action, years since the last test.

use std::collections::BTreeMap;

use crate::model::{FieldId, Rating, Records, ResultId};

/// The rating of a reduction beside the susceptible standard of the same test, both %.
pub fn rate(reduction: f64, standard: f64) -> Option<Rating> {
    let _ = (reduction, standard);
    todo!()
}

/// The latest rating of one mode of action in one field.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupRating {
    /// The worst rating of that year.
    pub rating: Rating,
    /// Harvest year of the sample.
    pub year: i32,
    /// The active it was found with.
    pub active: String,
    /// The result it comes from.
    pub result: ResultId,
}

/// What is known of a field up to a harvest year.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FieldRatings {
    /// By HRAC group number.
    pub groups: BTreeMap<String, GroupRating>,
    /// The worst of them; none: never tested.
    pub worst: Option<Rating>,
    /// Harvest year of the last test.
    pub last_test_year: Option<i32>,
    /// Harvest years from the last test to the year asked for.
    pub years_since_test: Option<i32>,
}

/// What is known of every field up to harvest `year`; fields that were never tested have an empty entry.
pub fn field_ratings(records: &Records, year: i32) -> BTreeMap<FieldId, FieldRatings> {
    let _ = (records, year);
    todo!()
}
