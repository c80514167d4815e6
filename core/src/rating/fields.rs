//! What is known of every field up to a harvest year.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::model::{AssayId, FieldId, Rating, Records, ResultId, SampleId, TestResult};
use crate::rating::RatingOf;
use crate::rating::assess::{Counted, RatedBy, counted, standard_of};

/// The latest rating of one mode of action in one field.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupRating {
    /// The worst rating of that year.
    pub rating: Rating,
    /// Whose rating that is: the laboratory's only where no figures of that year gave one as bad.
    pub by: RatedBy,
    /// Harvest year of the sample.
    pub year: i32,
    /// The active it was found with.
    pub active: String,
    /// The result it comes from.
    pub result: ResultId,
    /// The field the seed was taken from: another one when it was split or merged since.
    pub sampled_field: FieldId,
    /// Every sample of that year with its worst rating, worst first: patches of one field may differ.
    pub samples: Vec<(SampleId, Rating)>,
}

impl GroupRating {
    /// Whether samples of the year got different ratings.
    pub fn samples_differ(&self) -> bool {
        self.samples.iter().any(|(_, rating)| *rating != self.rating)
    }

    /// The rating and whose it is.
    pub fn counted(&self) -> Counted {
        Counted { rating: self.rating, by: self.by }
    }
}

/// What is known of a field up to a harvest year.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FieldRatings {
    /// By HRAC group number.
    pub groups: BTreeMap<String, GroupRating>,
    /// By active ingredient, as in the results.
    pub actives: BTreeMap<String, GroupRating>,
    /// The worst of them; none: never tested.
    pub worst: Option<Rating>,
    /// Harvest year of the last test.
    pub last_test_year: Option<i32>,
    /// Harvest years from the last test to the year asked for.
    pub years_since_test: Option<i32>,
}

impl FieldRatings {
    /// What decides a field's class on a map: the rating with the year, active and samples it comes from; none: not tested
    /// for that. For [`RatingOf::Worst`] the newest of the worst.
    pub fn by(&self, basis: &RatingOf) -> Option<&GroupRating> {
        match basis {
            RatingOf::Worst => self.groups.values().max_by_key(|group| (group.rating, group.year, group.counted())),
            RatingOf::Group(group) => self.groups.get(group),
            RatingOf::Active(active) => self.actives.get(active),
        }
    }

    /// Whose the worst rating is.
    pub fn worst_by(&self) -> RatedBy {
        self.by(&RatingOf::Worst).map_or(RatedBy::Us, |group| group.by)
    }
}

/// The actives that any result is of, with their HRAC groups, in order.
pub fn tested_actives(records: &Records) -> BTreeMap<String, String> {
    records.results.values().map(|result| (result.active.clone(), result.group.clone())).collect()
}

/// What is known of every field up to harvest `year`; fields that were never tested have an empty entry.
///
/// For each mode of action the newest year counts, and in it the worst result; of several doses of one active in one test, the
/// one that [`speaks`] for it. A field that was split or merged from others
/// takes over what was found in them, because the seedbank stayed in the land.
pub fn field_ratings(records: &Records, year: i32) -> BTreeMap<FieldId, FieldRatings> {
    let speaking = speaking(records);
    let mut results: BTreeMap<FieldId, Vec<(i32, &TestResult)>> = BTreeMap::new();
    for result in records.results.values() {
        let sample = records.samples.get(&result.sample).filter(|sample| sample.year <= year);
        if let Some(sample) = sample.filter(|_| speaking.contains(&result.id)) {
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
            let Some(Counted { rating, by }) = counted(records, result) else { continue };
            known.last_test_year = known.last_test_year.max(Some(*sampled));
            let found = GroupRating {
                rating,
                by,
                year: *sampled,
                active: result.active.clone(),
                result: result.id,
                sampled_field: land,
                samples: vec![(result.sample, rating)],
            };
            keep(&mut known.groups, &result.group, &found);
            keep(&mut known.actives, &result.active, &found);
        }
    }
    known.worst = known.groups.values().map(|group| group.rating).max();
    known.years_since_test = known.last_test_year.map(|last| year - last);
    known
}

/// Keeps the newest year, and of it the worst rating with every sample's.
fn keep(held: &mut BTreeMap<String, GroupRating>, key: &str, found: &GroupRating) {
    let Some(old) = held.get_mut(key) else {
        held.insert(key.to_owned(), found.clone());
        return;
    };
    if found.year < old.year {
        return;
    }
    let mut samples = if found.year == old.year { std::mem::take(&mut old.samples) } else { Vec::new() };
    for (sample, rating) in &found.samples {
        match samples.iter_mut().find(|(held, _)| held == sample) {
            Some((_, held)) => *held = (*held).max(*rating),
            None => samples.push((*sample, *rating)),
        }
    }
    samples.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    if (found.year, found.counted()) > (old.year, old.counted()) {
        *old = found.clone();
    }
    old.samples = samples;
}

/// Whether a result speaks for its field: true unless other doses of the same active stood in the same test. Of those the
/// lowest counts at which the standard was controlled as expected, or else that with the best controlled standard: a dose
/// too low for the standard makes every sample look resistant.
pub fn speaks(records: &Records, result: &TestResult) -> bool {
    let same = |other: &&Arc<TestResult>| test_of(other) == test_of(result);
    let doses: Vec<&Arc<TestResult>> = records.results.values().filter(same).collect();
    spokesman(records, &doses).is_none_or(|best| best == result.id)
}

/// All results that [`speaks`] for their fields, found in one go.
pub(super) fn speaking(records: &Records) -> BTreeSet<ResultId> {
    let mut tests: BTreeMap<_, Vec<&Arc<TestResult>>> = BTreeMap::new();
    for result in records.results.values() {
        tests.entry(test_of(result)).or_default().push(result);
    }
    tests.values().filter_map(|doses| spokesman(records, doses)).collect()
}

/// What the doses of one active in one test of one sample have in common.
fn test_of(result: &TestResult) -> (SampleId, AssayId, &str, Option<&'static str>) {
    (result.sample, result.assay, &result.active, result.measure.map(crate::model::Measure::label))
}

fn spokesman(records: &Records, doses: &[&Arc<TestResult>]) -> Option<ResultId> {
    if let [one] = doses {
        return Some(one.id);
    }
    let [low, high] = records.settings.results.expected_standard;
    let dose = |result: &TestResult| result.dose.as_deref().and_then(super::dose::amount).unwrap_or(f64::INFINITY);
    let standard = |result: &TestResult| standard_of(records, result).unwrap_or(f64::NEG_INFINITY);
    let expected = doses.iter().filter(|other| (low..=high).contains(&standard(other)));
    let best = expected
        .min_by(|a, b| dose(a).total_cmp(&dose(b)).then(a.id.cmp(&b.id)))
        .or_else(|| doses.iter().max_by(|a, b| standard(a).total_cmp(&standard(b)).then(b.id.cmp(&a.id))));
    best.map(|best| best.id)
}

/// The field and, one after the other, those it came from.
pub fn with_origins(records: &Records, field: FieldId) -> Vec<FieldId> {
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
    use crate::model::{Assay, AssayId, AssayKind, Farm, FarmId, Field, Record, Sample};
    use geo::MultiPolygon;

    struct Land {
        records: Records,
        assay: AssayId,
    }

    impl Land {
        fn new() -> Self {
            let mut records = Records::default();
            let assay = Assay::of(AssayKind::Pot, 2024, "");
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
            let sample = Sample::new(format!("{year}"), field, year);
            let result = TestResult::printed(sample.id, self.assay, "flufenacet", group, reduction, Some(90.0));
            self.records.put(Record::Result(result));
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
        let known = land.known(field, 2024);
        assert_eq!(known.worst, Some(Rating::RRR));
        let group = known.by(&RatingOf::Group("1".into())).unwrap();
        assert!(group.samples_differ());
        assert_eq!(group.samples.iter().map(|(_, rating)| *rating).collect::<Vec<_>>(), [Rating::RRR, Rating::S]);
        assert_eq!(known.by(&RatingOf::Active("flufenacet".into())).unwrap().rating, Rating::RRR);
        assert!(known.by(&RatingOf::Group("2".into())).is_none() && known.by(&RatingOf::Worst) == Some(group));
    }

    #[test]
    fn of_several_doses_the_lowest_that_controls_the_standard_counts() {
        let mut land = Land::new();
        let field = land.field(&[]);
        land.tested(field, 2024, "1", 20.0);
        let first = land.records.results.values().next().unwrap().clone();
        for (dose, reduction, standard) in [("60 g/ha", 10.0, 35.0), ("240 g/ha", 85.0, 93.0), ("480 g/ha", 95.0, 99.0)] {
            let plain = TestResult::printed(first.sample, first.assay, "flufenacet", "1", reduction, Some(standard));
            land.records.put(Record::Result(TestResult { dose: Some(dose.into()), ..plain }));
        }
        land.records.remove(&Record::Result((*first).clone()));
        assert_eq!(land.known(field, 2024).worst, Some(Rating::S), "240 g/ha: 85 beside 93");
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
