//! What is known of every field up to a harvest year.

use std::collections::BTreeMap;

use crate::model::{FieldId, Rating, Records, ResultId, TestResult};
use crate::rating::rate;

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
    /// The field the seed was taken from: another one when it was split or merged since.
    pub sampled_field: FieldId,
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
///
/// For each mode of action the newest year counts, and in it the worst result. A field that was split or merged from others
/// takes over what was found in them, because the seedbank stayed in the land.
pub fn field_ratings(records: &Records, year: i32) -> BTreeMap<FieldId, FieldRatings> {
    let mut results: BTreeMap<FieldId, Vec<(i32, &TestResult)>> = BTreeMap::new();
    for result in records.results.values() {
        if let Some(sample) = records.samples.get(&result.sample).filter(|sample| sample.year <= year) {
            results.entry(sample.field).or_default().push((sample.year, result));
        }
    }
    records.fields.keys().map(|field| (*field, of_field(records, *field, &results, year))).collect()
}

fn of_field(
    records: &Records,
    field: FieldId,
    results: &BTreeMap<FieldId, Vec<(i32, &TestResult)>>,
    year: i32,
) -> FieldRatings {
    let mut known = FieldRatings::default();
    for land in with_origins(records, field) {
        for (sampled, result) in results.get(&land).into_iter().flatten() {
            let Some(rating) = rate(result.reduction, result.standard) else { continue };
            known.last_test_year = known.last_test_year.max(Some(*sampled));
            let newer = GroupRating {
                rating,
                year: *sampled,
                active: result.active.clone(),
                result: result.id,
                sampled_field: land,
            };
            let replaces =
                known.groups.get(&result.group).is_none_or(|held| (newer.year, newer.rating) > (held.year, held.rating));
            if replaces {
                known.groups.insert(result.group.clone(), newer);
            }
        }
    }
    known.worst = known.groups.values().map(|group| group.rating).max();
    known.years_since_test = known.last_test_year.map(|last| year - last);
    known
}

/// The field and, one after the other, those it came from.
pub(super) fn with_origins(records: &Records, field: FieldId) -> Vec<FieldId> {
    let mut lands = vec![field];
    let mut at = 0;
    while let Some(land) = lands.get(at).copied() {
        for origin in records.fields.get(&land).map(|field| field.came_from.as_slice()).unwrap_or_default() {
            if !lands.contains(origin) {
                lands.push(*origin);
            }
        }
        at += 1;
    }
    lands
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Assay, AssayId, AssayKind, Farm, FarmId, Field, Record, Sample, SampleId};
    use geo::MultiPolygon;

    struct Land {
        records: Records,
        assay: AssayId,
    }

    impl Land {
        fn new() -> Self {
            let mut records = Records::default();
            let assay = Assay { id: AssayId::new(), kind: AssayKind::Pot, year: 2024, source: String::new() };
            let id = assay.id;
            records.put(Record::Assay(assay));
            Self { records, assay: id }
        }

        fn field(&mut self, came_from: &[FieldId]) -> FieldId {
            let farm = Farm { id: FarmId::new(), business: String::new(), name: "Home".into() };
            let mut field = Field::new(farm.id, "Long Acre", MultiPolygon(vec![]));
            field.came_from = came_from.to_vec();
            let id = field.id;
            self.records.put(Record::Farm(farm));
            self.records.put(Record::Field(field));
            id
        }

        fn tested(&mut self, field: FieldId, year: i32, group: &str, reduction: f64) {
            let sample = Sample {
                id: SampleId::new(),
                code: format!("{year}"),
                field,
                year,
                taken: None,
                plan: None,
                note: String::new(),
            };
            self.records.put(Record::Result(TestResult {
                id: ResultId::new(),
                sample: sample.id,
                assay: self.assay,
                active: "flufenacet".into(),
                group: group.into(),
                reduction,
                standard: 90.0,
                se: None,
                n: None,
                dose: None,
                lab_rating: None,
            }));
            self.records.put(Record::Sample(sample));
        }

        fn known(&self, field: FieldId, year: i32) -> FieldRatings {
            field_ratings(&self.records, year).remove(&field).unwrap()
        }
    }

    #[test]
    fn latest_year_for_each_group_and_worst_over_groups() {
        let mut land = Land::new();
        let field = land.field(&[]);
        land.tested(field, 2020, "1", 10.0); // RRR, superseded
        land.tested(field, 2024, "1", 75.0); // R?
        land.tested(field, 2022, "2", 50.0); // RR, still the latest of its group
        let known = land.known(field, 2026);
        assert_eq!(known.groups["1"].rating, Rating::RQuestion);
        assert_eq!(known.groups["2"].year, 2022);
        assert_eq!((known.worst, known.last_test_year, known.years_since_test), (Some(Rating::RR), Some(2024), Some(2)));
        let earlier = land.known(field, 2021);
        assert_eq!((earlier.worst, earlier.years_since_test), (Some(Rating::RRR), Some(1)));
    }

    #[test]
    fn two_results_of_one_year_count_by_the_worst() {
        let mut land = Land::new();
        let field = land.field(&[]);
        land.tested(field, 2024, "1", 88.0);
        land.tested(field, 2024, "1", 20.0);
        assert_eq!(land.known(field, 2024).worst, Some(Rating::RRR));
    }

    #[test]
    fn untested_is_unknown_and_never_good() {
        let mut land = Land::new();
        let field = land.field(&[]);
        assert_eq!(land.known(field, 2026), FieldRatings::default());
    }

    #[test]
    fn halves_of_a_split_field_keep_what_was_found_in_the_whole() {
        let mut land = Land::new();
        let whole = land.field(&[]);
        land.tested(whole, 2020, "1", 20.0);
        let half = land.field(&[whole]);
        land.tested(half, 2025, "2", 85.0);
        let known = land.known(half, 2026);
        assert_eq!(known.groups["1"].sampled_field, whole);
        assert_eq!((known.worst, known.last_test_year), (Some(Rating::RRR), Some(2025)));
    }
}
