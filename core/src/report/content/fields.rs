//! The page of a field: its latest tests with their intervals, its history, what the ratings suggest, its next test.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use crate::model::{FieldId, Rating, Records, mode_of_group};
use crate::progress::{Cancelled, Progress};
use crate::rating::{ClassShares, FieldRatings, Mode, Suggestion, Trend, assess, modes, suggest_for, trends};
use crate::report::content::land::FieldLine;
use crate::season::{Seen, weed_seen};

/// The latest result of one active.
#[derive(Debug, Clone, PartialEq)]
pub struct TestLine {
    /// Active ingredient.
    pub active: String,
    /// HRAC group number.
    pub group: String,
    /// Harvest of the sample.
    pub year: i32,
    /// Code of the sample.
    pub sample: String,
    /// "petri" or "pot"; empty if unknown.
    pub assay: &'static str,
    /// Reduction against untreated plants of the sample, %; none: the laboratory gave its rating alone.
    pub reduction: Option<f64>,
    /// 95 % interval of it, %.
    pub interval: Option<[f64; 2]>,
    /// Reduction of the susceptible standard in the same test, %.
    pub standard: Option<f64>,
    /// Lower limits of S, R? and RR, %.
    pub limits: Option<[f64; 3]>,
    /// Our rating.
    pub rating: Option<Rating>,
    /// Chance of each class, S first.
    pub shares: Option<ClassShares>,
    /// The laboratory's rating.
    pub lab: Option<Rating>,
    /// What speaks against it, and what follows.
    pub doubts: Vec<(String, String)>,
}

/// One mode of action over the years.
#[derive(Debug, Clone, PartialEq)]
pub struct HistoryRow {
    /// HRAC group number.
    pub group: String,
    /// What is hit; empty if unknown.
    pub name: &'static str,
    /// The worst rating of each harvest in [`FieldPage::tested_in`]; none: not tested.
    pub ratings: Vec<Option<Rating>>,
}

/// When a field is tested next.
#[derive(Debug, Clone, PartialEq)]
pub struct NextTest {
    /// Whether it is due in the coming season.
    pub due: bool,
    /// The harvest in which it is due by its age, if it was ever tested.
    pub by_age: Option<i32>,
    /// Why, or why not.
    pub reasons: Vec<String>,
}

/// The page of a field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldPage {
    /// Its number in the lines.
    pub line: usize,
    /// The latest result of each active, by group, then name.
    pub tests: Vec<TestLine>,
    /// Harvests with tests, oldest first.
    pub tested_in: Vec<i32>,
    /// Ratings over these harvests.
    pub history: Vec<HistoryRow>,
    /// How each active changed, in words; with the slope where its interval leaves out nought.
    pub trends: Vec<(String, String, Option<String>)>,
    /// Which modes of action still work, the worst first.
    pub modes: Vec<Mode>,
    /// What the pattern suggests.
    pub suggestion: Suggestion,
    /// Its next test.
    pub next: NextTest,
    /// Crops, newest first, up to six harvests.
    pub crops: Vec<(i32, String)>,
    /// Herbicides of the last three harvests, newest first: harvest, active, group, what was seen.
    pub sprays: Vec<(i32, String, String, String)>,
    /// What the latest scouting saw.
    pub seen: Option<Seen>,
    /// Notes.
    pub note: String,
}

/// Harvests of herbicides on a page.
const SPRAY_YEARS: i32 = 3;
/// Crops on a page.
const CROPS: usize = 6;

pub(super) fn pages(
    records: &Records,
    year: i32,
    lines: &[FieldLine],
    wanted: impl Fn(&&FieldLine) -> bool + Sync,
    known: &BTreeMap<FieldId, FieldRatings>,
    progress: &dyn Progress,
) -> Result<Vec<FieldPage>, Cancelled> {
    let seen = weed_seen(records, year);
    let chosen: Vec<(usize, &FieldLine)> = lines.iter().enumerate().filter(|(_, line)| wanted(line)).collect();
    let none = FieldRatings::default();
    chosen
        .into_par_iter()
        .map(|(at, line)| {
            if progress.cancelled() {
                return Err(Cancelled);
            }
            let known = known.get(&line.id).unwrap_or(&none);
            Ok(FieldPage { seen: seen.get(&line.id).cloned(), ..page(records, year, at, line, known) })
        })
        .collect()
}

fn page(records: &Records, year: i32, at: usize, line: &FieldLine, known: &FieldRatings) -> FieldPage {
    let trends = trends(records, line.id, year);
    let suggestion = suggest_for(known);
    let interval = records.settings.retest_interval_years;
    let tested_in: BTreeSet<i32> = trends.values().flat_map(|trend| trend.years().into_keys()).collect();
    let tested_in: Vec<i32> = tested_in.into_iter().collect();
    FieldPage {
        line: at,
        tests: tests(records, known),
        history: history(&trends, &tested_in),
        tested_in,
        modes: modes(known, &suggestion, year),
        suggestion,
        next: NextTest { due: line.due, by_age: line.last_test.map(|last| last + interval), reasons: line.reasons.clone() },
        trends: words_of(&trends),
        crops: crops(records, line.id, year),
        sprays: sprays(records, line.id, year),
        seen: None,
        note: records.fields.get(&line.id).map(|field| field.note.trim().to_owned()).unwrap_or_default(),
    }
}

fn tests(records: &Records, known: &FieldRatings) -> Vec<TestLine> {
    let mut tests: Vec<TestLine> = known
        .actives
        .values()
        .filter_map(|found| {
            let result = records.results.get(&found.result)?;
            let rated = assess(records, result);
            Some(TestLine {
                active: result.active.clone(),
                group: result.group.clone(),
                year: found.year,
                sample: records.samples.get(&result.sample).map(|sample| sample.code.clone()).unwrap_or_default(),
                assay: records.assays.get(&result.assay).map_or("", |assay| assay.kind.label()),
                reduction: rated.reduction,
                interval: rated.sureness.and_then(|sure| sure.interval),
                standard: rated.standard,
                limits: rated.limits,
                rating: rated.rating,
                shares: rated.sureness.and_then(|sure| sure.class_shares),
                lab: rated.lab,
                doubts: rated.doubts.iter().map(|doubt| (doubt.what.clone(), doubt.so.clone())).collect(),
            })
        })
        .collect();
    tests.sort_by_key(|test| (group_order(&test.group), test.active.clone()));
    tests
}

fn group_order(group: &str) -> (u32, String) {
    (group.parse().unwrap_or(u32::MAX), group.to_owned())
}

fn history(trends: &BTreeMap<String, Trend>, years: &[i32]) -> Vec<HistoryRow> {
    let mut groups: Vec<&str> = trends.values().map(|trend| trend.group.as_str()).collect();
    groups.sort_by_key(|group| group_order(group));
    groups.dedup();
    let row = |group: &str| {
        let of_group = || trends.values().filter(|trend| trend.group == group);
        let worst =
            |year: &i32| of_group().filter_map(|trend| trend.years().get(year).copied()).max().map(|counted| counted.rating);
        HistoryRow {
            group: group.to_owned(),
            name: mode_of_group(group).map_or("", |mode| mode.name),
            ratings: years.iter().map(worst).collect(),
        }
    };
    groups.into_iter().map(row).collect()
}

/// Actives tested in two harvests or more; of the rest there is nothing to say over time.
fn words_of(trends: &BTreeMap<String, Trend>) -> Vec<(String, String, Option<String>)> {
    let certain = |trend: &Trend| trend.slope.is_some_and(|slope| slope.interval[0] > 0.0 || slope.interval[1] < 0.0);
    let more_than_once = trends.iter().filter(|(_, trend)| trend.years().len() > 1);
    let said = |(active, trend): (&String, &Trend)| {
        Some((active.clone(), trend.change()?, trend.slope_words().filter(|_| certain(trend))))
    };
    more_than_once.filter_map(said).collect()
}

fn crops(records: &Records, field: FieldId, year: i32) -> Vec<(i32, String)> {
    let mut crops: Vec<(i32, String)> = records
        .crops
        .values()
        .filter(|crop| crop.field == field && crop.year <= year)
        .map(|crop| (crop.year, crop.crop.clone()))
        .collect();
    crops.sort_by_key(|(year, _)| std::cmp::Reverse(*year));
    crops.truncate(CROPS);
    crops
}

fn sprays(records: &Records, field: FieldId, year: i32) -> Vec<(i32, String, String, String)> {
    let mut sprays: Vec<_> = records
        .sprays
        .values()
        .filter(|spray| spray.field == field && (year - SPRAY_YEARS + 1..=year).contains(&spray.year))
        .map(|spray| (spray.year, spray.active.clone(), spray.group.clone(), spray.effect.trim().to_owned()))
        .collect();
    sprays.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    sprays.dedup();
    sprays
}

impl TestLine {
    /// Whether the laboratory's rating is another than ours.
    pub fn disputed(&self) -> bool {
        self.lab.is_some() && self.rating.is_some() && self.lab != self.rating
    }

    /// Chance that the class is the rated one; none if it is not known.
    pub fn sure(&self) -> Option<f64> {
        self.shares.zip(self.rating).map(|(shares, rating)| shares[rating as usize])
    }

    /// The reduction as a share of the standard's, %.
    pub fn of_standard(&self) -> Option<f64> {
        self.reduction.zip(self.standard.filter(|standard| *standard > 0.0)).map(|(own, standard)| 100.0 * own / standard)
    }
}
