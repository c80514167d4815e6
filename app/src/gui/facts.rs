//! What the panels show of each field in a harvest year, worked out from the records in the background.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use awn_core::act::{self, Checks, Place, Uses};
use awn_core::model::{AssayKind, Field, FieldId, Mark, Rating, Records, ResultId, Stage, StandardRole, by_name};
use awn_core::rating::{
    Assessment, FieldRatings, History, LandByClass, RatedBy, assess, evidence_of, field_ratings, land_by_class, standards_of,
};
use awn_core::{geometry, samples, season};
use geo::{Coord, Rect};
use rayon::prelude::*;

use crate::commands::today;
use crate::gui::strip::Strip;
use crate::gui::view::{Column, Sort, ViewState};

/// A field as the list and the map show it.
#[derive(Debug, Clone)]
pub struct Row {
    /// The field.
    pub id: FieldId,
    /// Its name.
    pub name: String,
    /// Its farm's name.
    pub farm: String,
    /// Area on the ellipsoid, m2.
    pub area_m2: f64,
    /// The worst of the latest ratings; none: never tested.
    pub worst: Option<Rating>,
    /// Whose rating that is.
    pub worst_by: RatedBy,
    /// The newest harvest year in which that rating was found.
    pub worst_year: Option<i32>,
    /// Harvest year of the last test.
    pub last_test: Option<i32>,
    /// Harvest years since the last test.
    pub years: Option<i32>,
    /// Whether a test is due.
    pub due: bool,
    /// Why, or why not.
    pub reasons: Vec<String>,
    /// How urgent, 0 to 100.
    pub score: f64,
    /// Harvests after its last test at which it is due, given its signs.
    pub due_after: i32,
    /// Pinned or vetoed for this harvest.
    pub mark: Option<Mark>,
    /// Place among the fields that are due, the most urgent first; 0: not due.
    pub rank: usize,
    /// Whether there is a plan for the year.
    pub planned: bool,
    /// Where its name goes, degrees.
    pub label: Coord<f64>,
    /// Bounds, degrees.
    pub bounds: Rect<f64>,
}

/// One result as the table shows it.
#[derive(Debug, Clone)]
pub struct ResultRow {
    /// The result.
    pub id: ResultId,
    /// The field.
    pub field: FieldId,
    /// Its name.
    pub field_name: String,
    /// Its farm.
    pub farm: String,
    /// Code of the sample.
    pub sample: String,
    /// Harvest year of the sample.
    pub year: i32,
    /// Kind of assay.
    pub assay: Option<AssayKind>,
    /// Active ingredient.
    pub active: String,
    /// HRAC group.
    pub group: String,
    /// The result rated.
    pub found: Assessment,
    /// Other standards of its test: role, name, reduction in %.
    pub standards: Vec<(StandardRole, String, f64)>,
}

/// The fields of each farm from cleanest to worst.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Harvest year.
    pub year: i32,
    /// Places by farm.
    pub farms: BTreeMap<String, Vec<Place>>,
}

/// What the Act lens shows.
#[derive(Debug, Clone, Default)]
pub struct ActFacts {
    /// Every field with a programme.
    pub checks: Checks,
    /// Limits of the classes of money at risk, a hectare.
    pub money_limits: [f64; 4],
    /// Uses of modes of action in every field up to the year.
    pub uses: BTreeMap<FieldId, Uses>,
    /// First harvest of the uses.
    pub uses_from: i32,
    /// Sign or code of money.
    pub currency: String,
}

/// Harvests that uses of modes of action look back, the one on show included.
const USES: i32 = 9;

impl ActFacts {
    fn of(records: &Records, year: i32) -> Self {
        let checks = act::check(records, year, None, None);
        let at_risk = checks.fields.iter().map(|check| check.at_risk_per_ha.likely);
        let uses_from = year - USES + 1;
        Self {
            money_limits: act::money_limits(at_risk),
            uses: act::uses_of_all(records, uses_from, year),
            uses_from,
            currency: records.settings.act.currency.clone(),
            checks,
        }
    }
}

/// Everything worked out for one generation of the records and one harvest year.
#[derive(Debug)]
pub struct Facts {
    /// Fields of the year by farm and name.
    pub rows: Vec<Row>,
    index: BTreeMap<FieldId, usize>,
    /// Every test of every field.
    pub history: History,
    /// Ratings of every field.
    pub ratings: BTreeMap<FieldId, FieldRatings>,
    /// Results up to the year, newest first.
    pub results: Vec<ResultRow>,
    /// Land of every farm by class, for each HRAC group.
    pub land: Vec<(String, BTreeMap<String, LandByClass>)>,
    /// What the Act lens shows.
    pub act: ActFacts,
    /// Plans of the year.
    pub plans: usize,
    /// Retest interval, years.
    pub interval: i32,
    /// Every field as the due list has it, most urgent first.
    pub due: Vec<season::Due>,
    /// What the budget pays for, or why it is none.
    pub spent: Result<season::Spent, String>,
    /// When seed is ripe.
    pub ripe: season::Ripeness,
    /// What the season strip shows.
    pub strip: Strip,
    /// What holds no longer in the year's rounds.
    pub doubts: Vec<season::Doubt>,
    /// Samples of the year, the latest ones first.
    pub samples: Vec<samples::Line>,
    /// What should have been done with samples by now.
    pub reminders: Vec<samples::Reminder>,
}

impl Default for Facts {
    fn default() -> Self {
        Self {
            rows: Vec::new(),
            index: BTreeMap::new(),
            history: History::default(),
            ratings: BTreeMap::new(),
            results: Vec::new(),
            land: Vec::new(),
            act: ActFacts::default(),
            plans: 0,
            interval: 0,
            due: Vec::new(),
            spent: Ok(season::Spent::default()),
            ripe: season::Ripeness::default(),
            strip: Strip::default(),
            doubts: Vec::new(),
            samples: Vec::new(),
            reminders: Vec::new(),
        }
    }
}

impl Facts {
    /// Works out the facts of a harvest year.
    pub fn of(records: &Records, year: i32) -> Self {
        // None of these needs another, and on a large project each takes long enough to be noticed.
        let ((ratings, list), (history, (results, (land, act)))) = rayon::join(
            || rayon::join(|| field_ratings(records, year), || season::due(records, year)),
            || {
                let last = || rayon::join(|| land(records, year), || ActFacts::of(records, year));
                rayon::join(|| History::of(records, year), || rayon::join(|| results(records, year), last))
            },
        );
        let due: BTreeMap<FieldId, (usize, &season::Due)> =
            list.iter().enumerate().map(|(at, due)| (due.field, (at + 1, due))).collect();
        let planned: BTreeSet<FieldId> =
            records.plans.values().filter(|plan| plan.year == year && !plan.set_aside).map(|plan| plan.field).collect();
        let ripe = season::ripeness(records, year);
        let fields = records.fields_in(year);
        let row = |field: &Arc<Field>| {
            let (bounds, label) = (geometry::bounds(&field.boundary)?, geometry::label_point(&field.boundary)?);
            let known = ratings.get(&field.id);
            let (rank, due) = due.get(&field.id).map_or((0, None), |(rank, due)| (*rank, Some(*due)));
            let is_due = due.is_some_and(|due| due.due);
            Some(Row {
                id: field.id,
                name: field.name.clone(),
                farm: records.farm_name(field).to_owned(),
                area_m2: field.area_m2(),
                worst: known.and_then(|known| known.worst),
                worst_by: known.map(FieldRatings::worst_by).unwrap_or_default(),
                worst_year: known.and_then(worst_year),
                last_test: known.and_then(|known| known.last_test_year),
                years: known.and_then(|known| known.years_since_test),
                due: is_due,
                reasons: due.map(|due| due.reasons.clone()).unwrap_or_default(),
                score: due.map_or(0.0, |due| due.score),
                due_after: due.map_or(records.settings.retest_interval_years, |due| due.interval),
                mark: due.and_then(|due| due.mark.as_ref()).map(|mark| mark.mark),
                rank: if is_due { rank } else { 0 },
                planned: planned.contains(&field.id),
                label,
                bounds,
            })
        };
        let rows: Vec<Row> = fields.par_iter().filter_map(row).collect();
        let index = rows.iter().enumerate().map(|(at, row)| (row.id, at)).collect();
        Self {
            index,
            plans: rows.iter().filter(|row| row.planned).count(),
            rows,
            history,
            ratings,
            results,
            land,
            act,
            interval: records.settings.retest_interval_years,
            spent: season::spend(records, &list, season::Budget::of(&records.settings.due)),
            doubts: records.rounds_of(year).map(|rounds| season::doubts(records, rounds, &ripe)).unwrap_or_default(),
            strip: Strip::of(records, &ripe, year),
            ripe,
            due: list,
            samples: samples::book(records, year, today()),
            reminders: samples::reminders(records, year, today()),
        }
    }

    /// The row of a field.
    pub fn row(&self, field: FieldId) -> Option<&Row> {
        self.index.get(&field).and_then(|at| self.rows.get(*at))
    }

    /// The number of a field's row.
    pub fn number(&self, field: FieldId) -> Option<usize> {
        self.index.get(&field).copied()
    }

    /// Samples of a field that are neither lost nor withdrawn, or else all of it, the least advanced first.
    pub fn samples_of(&self, field: FieldId) -> Vec<&samples::Line> {
        let mut list: Vec<_> = self.samples.iter().filter(|line| line.sample.field == field).collect();
        let given_up = |line: &&samples::Line| matches!(line.status.stage, Stage::Lost | Stage::Withdrawn);
        if list.iter().any(|line| !given_up(line)) {
            list.retain(|line| !given_up(line));
        }
        list.sort_by_key(|line| line.status.stage);
        list
    }

    /// Area of all fields, m2.
    pub fn area_m2(&self) -> f64 {
        self.rows.iter().map(|row| row.area_m2).sum()
    }

    /// The rows that pass the filter, sorted: indices into [`Facts::rows`].
    pub fn order(&self, view: &ViewState) -> Vec<usize> {
        let words: Vec<String> = view.filter.to_lowercase().split_whitespace().map(ToOwned::to_owned).collect();
        let mut order: Vec<usize> = (0..self.rows.len())
            .filter(|at| {
                let row = &self.rows[*at];
                let text = format!("{} {}", row.name, row.farm).to_lowercase();
                let week = view.season.week.as_ref();
                (!view.only_due || row.due)
                    && week.is_none_or(|week| week.fields.contains(&row.id))
                    && words.iter().all(|word| text.contains(word))
            })
            .collect();
        order.sort_by(|a, b| self.compare(*a, *b, view.sort));
        order
    }

    fn compare(&self, a: usize, b: usize, sort: Sort) -> std::cmp::Ordering {
        let (left, right) = (&self.rows[a], &self.rows[b]);
        let by = match sort.column {
            Column::Name => by_name(&left.name, &right.name),
            Column::Farm => by_name(&left.farm, &right.farm),
            Column::Area => left.area_m2.total_cmp(&right.area_m2),
            Column::Rating => left.worst.cmp(&right.worst),
            // A field never tested has waited longest.
            Column::Years => left.years.unwrap_or(i32::MAX).cmp(&right.years.unwrap_or(i32::MAX)),
            Column::Due => left.due.cmp(&right.due).then(left.score.total_cmp(&right.score)),
        };
        let by = if sort.descending { by.reverse() } else { by };
        by.then(a.cmp(&b))
    }
}

/// The newest harvest year in which the worst rating was found.
fn worst_year(known: &FieldRatings) -> Option<i32> {
    let worst = known.worst?;
    known.groups.values().filter(|group| group.rating == worst).map(|group| group.year).max()
}

/// Farms by name with their land by class.
fn land(records: &Records, year: i32) -> Vec<(String, BTreeMap<String, LandByClass>)> {
    let name = |farm: awn_core::model::FarmId| records.farms.get(&farm).map_or_else(String::new, |farm| farm.name.clone());
    let mut land: Vec<_> = land_by_class(records, year).into_iter().map(|(farm, land)| (name(farm), land)).collect();
    land.sort_by(|(a, _), (b, _)| by_name(a, b));
    land
}

fn results(records: &Records, year: i32) -> Vec<ResultRow> {
    let mut list: Vec<ResultRow> = records
        .results
        .values()
        .filter_map(|result| {
            let sample = records.samples.get(&result.sample).filter(|sample| sample.year <= year)?;
            let field = records.fields.get(&sample.field)?;
            let standards = standards_of(records, result).map(|standard| {
                let reduction = evidence_of(standard).map_or(standard.reduction, |evidence| evidence.reduction());
                (standard.role, standard.name.clone(), reduction)
            });
            Some(ResultRow {
                id: result.id,
                field: field.id,
                field_name: field.name.clone(),
                farm: records.farm_name(field).to_owned(),
                sample: sample.code.clone(),
                year: sample.year,
                assay: records.assays.get(&result.assay).map(|assay| assay.kind),
                active: result.active.clone(),
                group: result.group.clone(),
                found: assess(records, result),
                standards: standards.collect(),
            })
        })
        .collect();
    list.sort_by(|a, b| {
        let years = b.year.cmp(&a.year);
        let names = years.then_with(|| by_name(&a.field_name, &b.field_name));
        names.then_with(|| (&a.group, &a.active).cmp(&(&b.group, &b.active)))
    });
    list
}
