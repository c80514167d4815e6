//! A field's tests over the years: every one, how the control by an active changes, and since when a class is worse.
//!
//! The trend is that of the reduction as a share of the standard's, by least squares over harvest years, with the 95 %
//! interval of the slope by Student's t. It describes the tests there are: each is one sample, taken from survivors.

use std::collections::BTreeMap;

use crate::model::{AssayKind, FieldId, Measure, Rating, Records, ResultId, SampleId};
use crate::rating::assess::{Counted, RatedBy, counted, reduction_of, standard_of};
use crate::rating::distributions::t_quantile;
use crate::rating::fields::{speaks, with_origins};

/// One test of a field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldTest {
    /// Harvest year of the sample.
    pub year: i32,
    /// The sample.
    pub sample: SampleId,
    /// The result.
    pub result: ResultId,
    /// The field the seed was taken from: another one when it was split or merged since.
    pub sampled_field: FieldId,
    /// Kind of assay, if it is known.
    pub assay: Option<AssayKind>,
    /// What was rated.
    pub measure: Option<Measure>,
    /// Reduction as a share of the standard's, %; none: only the laboratory's rating is known.
    pub of_standard: Option<f64>,
    /// The rating.
    pub rating: Rating,
    /// Whose it is.
    pub by: RatedBy,
}

/// A straight line through tests.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Change of the reduction a year, points of per cent of the standard.
    pub a_year: f64,
    /// 95 % interval of it.
    pub interval: [f64; 2],
    /// Tests.
    pub tests: usize,
}

/// The tests of one active in one field.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// HRAC group of the active.
    pub group: String,
    /// Tests, oldest first.
    pub tests: Vec<FieldTest>,
    /// The line through them: of three or more tests in two or more years.
    pub slope: Option<Slope>,
}

impl Trend {
    /// The worst rating of each year, oldest first.
    pub fn years(&self) -> BTreeMap<i32, Counted> {
        let mut years = BTreeMap::new();
        for test in &self.tests {
            let counted = Counted { rating: test.rating, by: test.by };
            years.entry(test.year).and_modify(|worst: &mut Counted| *worst = (*worst).max(counted)).or_insert(counted);
        }
        years
    }

    /// How the class changed, in words: "R? in 2022, RR in 2026: up one class".
    pub fn change(&self) -> Option<String> {
        let years = self.years();
        let mut latest = years.iter().rev();
        let (year, now) = latest.next()?;
        let Some((before_year, before)) = latest.next() else {
            return Some(format!("{} in {year}, the only year tested", now.words()));
        };
        let classes = (now.rating as i32 - before.rating as i32).abs();
        let many = if classes == 1 { "one class".to_owned() } else { format!("{classes} classes") };
        let word = match now.rating.cmp(&before.rating) {
            std::cmp::Ordering::Greater => format!("gone up {many} since {before_year}"),
            std::cmp::Ordering::Less => format!("come down {many} since {before_year}"),
            std::cmp::Ordering::Equal => {
                // Since when it has been so.
                let since = years
                    .iter()
                    .rev()
                    .take_while(|(_, counted)| counted.rating == now.rating)
                    .last()
                    .map_or(*year, |(year, _)| *year);
                format!("the same since {since}")
            }
        };
        Some(format!("{} in {before_year}, {} in {year}: {word}", before.words(), now.words()))
    }

    /// Whether kinds of assay or measures differ between the tests, which makes them hard to compare.
    pub fn mixed(&self) -> bool {
        self.tests.windows(2).any(|pair| pair[0].assay != pair[1].assay || pair[0].measure != pair[1].measure)
    }

    /// What the slope says in words.
    pub fn slope_words(&self) -> Option<String> {
        let Slope { a_year, interval: [low, high], tests } = self.slope?;
        let sure = if high < 0.0 {
            "control is falling"
        } else if low > 0.0 {
            "control is rising"
        } else {
            "the direction is not certain"
        };
        Some(format!("{a_year:+.1} points a year ({low:+.1} to {high:+.1}, {tests} tests): {sure}"))
    }
}

/// The tests of a field and of those it came from, up to harvest `year`, by active.
pub fn trends(records: &Records, field: FieldId, year: i32) -> BTreeMap<String, Trend> {
    let lands = with_origins(records, field);
    let mut by_active: BTreeMap<String, Trend> = BTreeMap::new();
    for result in records.results.values() {
        let Some(sample) = records.samples.get(&result.sample) else { continue };
        if sample.year > year || !lands.contains(&sample.field) || !speaks(records, result) {
            continue;
        }
        let Some(Counted { rating, by }) = counted(records, result) else { continue };
        let trend = by_active.entry(result.active.clone()).or_insert_with(|| Trend {
            group: result.group.clone(),
            tests: Vec::new(),
            slope: None,
        });
        trend.tests.push(FieldTest {
            year: sample.year,
            sample: sample.id,
            result: result.id,
            sampled_field: sample.field,
            assay: records.assays.get(&result.assay).map(|assay| assay.kind),
            measure: result.measure,
            of_standard: reduction_of(result)
                .0
                .zip(standard_of(records, result))
                .map(|(own, standard)| 100.0 * own / standard),
            rating,
            by,
        });
    }
    for trend in by_active.values_mut() {
        trend.tests.sort_by_key(|test| (test.year, test.result));
        let points: Vec<(f64, f64)> =
            trend.tests.iter().filter_map(|test| Some((f64::from(test.year), test.of_standard?))).collect();
        trend.slope = slope(&points);
    }
    by_active
}

/// Least squares through points (year, value): slope with its 95 % interval.
pub fn slope(points: &[(f64, f64)]) -> Option<Slope> {
    let n = points.len();
    if n < 3 {
        return None;
    }
    let count = n as f64;
    let (mean_x, mean_y) =
        (points.iter().map(|point| point.0).sum::<f64>() / count, points.iter().map(|point| point.1).sum::<f64>() / count);
    let xx: f64 = points.iter().map(|(x, _)| (x - mean_x).powi(2)).sum();
    if xx <= 0.0 {
        return None;
    }
    let a_year = points.iter().map(|(x, y)| (x - mean_x) * (y - mean_y)).sum::<f64>() / xx;
    let rest: f64 = points.iter().map(|(x, y)| (y - mean_y - a_year * (x - mean_x)).powi(2)).sum();
    let half = t_quantile(0.975, count - 2.0) * (rest / (count - 2.0) / xx).sqrt();
    Some(Slope { a_year, interval: [a_year - half, a_year + half], tests: n })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trend(ratings: &[(i32, Rating)]) -> Trend {
        let test = |(year, rating): &(i32, Rating)| FieldTest {
            year: *year,
            sample: SampleId::new(),
            result: ResultId::new(),
            sampled_field: FieldId::new(),
            assay: None,
            measure: None,
            of_standard: None,
            rating: *rating,
            by: RatedBy::Us,
        };
        Trend { group: "1".into(), tests: ratings.iter().map(test).collect(), slope: None }
    }

    #[test]
    fn a_change_of_class_is_said_with_its_year() {
        use Rating::{RQuestion, RR, RRR, S};
        for (ratings, said) in [
            (vec![(2022, RQuestion), (2026, RR)], "gone up one class since 2022"),
            (vec![(2019, S), (2026, RRR)], "gone up 3 classes since 2019"),
            (vec![(2024, RR), (2026, RQuestion)], "come down one class since 2024"),
            (vec![(2019, S), (2022, RR), (2024, RR), (2026, RR)], "the same since 2022"),
            (vec![(2026, S)], "the only year tested"),
            // Two samples of a year: the worse counts.
            (vec![(2022, S), (2022, RR), (2026, RR)], "the same since 2022"),
        ] {
            assert!(trend(&ratings).change().unwrap().contains(said), "{ratings:?}: {:?}", trend(&ratings).change());
        }
    }

    #[test]
    fn two_tests_have_no_line() {
        assert_eq!(slope(&[(2020.0, 90.0), (2024.0, 50.0)]), None);
        assert_eq!(slope(&[(2020.0, 90.0), (2020.0, 50.0), (2020.0, 60.0)]), None);
    }
}
