//! Fields on a line each, and the land by class, mode of action and age.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::model::{Field, FieldId, Rating, Records, mode_of_group};
use crate::rating::{Change, FieldRatings, History, RatedBy, RatingOf};
use crate::report::content::season::PlanLine;
use crate::season::Due;

/// A field on a line.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldLine {
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
    /// The newest harvest in which it was found.
    pub worst_year: Option<i32>,
    /// HRAC groups whose latest rating is the laboratory's, not worked out by us.
    pub by_laboratory: BTreeSet<String>,
    /// Latest rating of each mode of action with its harvest, by group number.
    pub groups: BTreeMap<String, (Rating, i32)>,
    /// Harvest of the last test.
    pub last_test: Option<i32>,
    /// Harvests since.
    pub years: Option<i32>,
    /// Whether a test is due in the coming season.
    pub due: bool,
    /// Place among the fields that are due, 1 the most urgent; 0: not due.
    pub rank: usize,
    /// Why, or why not.
    pub reasons: Vec<String>,
    /// The plan of the coming season, if there is one.
    pub plan: Option<PlanLine>,
}

/// Land of one class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClassLand {
    /// The rating; none: never tested.
    pub rating: Option<Rating>,
    /// Fields.
    pub fields: usize,
    /// Land, m2.
    pub area_m2: f64,
}

/// Land by the latest ratings of one mode of action.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupLand {
    /// HRAC group number.
    pub group: String,
    /// What is hit, such as ACCase; empty if unknown.
    pub name: &'static str,
    /// By class, worst first, then untested.
    pub classes: Vec<ClassLand>,
}

/// Land by the age of its last test.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ages {
    /// Fields and m2 tested within the interval.
    pub within: (usize, f64),
    /// Fields and m2 tested before that.
    pub past: (usize, f64),
    /// Fields and m2 never tested.
    pub never: (usize, f64),
}

/// A field whose rating can be set beside an earlier one.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangeLine {
    /// Its number in the lines.
    pub line: usize,
    /// What changed: of all modes of action tested twice, the one that got worse the most.
    pub change: Change,
}

pub(super) fn lines(
    records: &Records,
    coming: i32,
    fields: &[Arc<Field>],
    known: &BTreeMap<FieldId, FieldRatings>,
    due: &BTreeMap<FieldId, (usize, Due)>,
) -> Vec<FieldLine> {
    let none = FieldRatings::default();
    let mut ranked: Vec<(usize, FieldId)> = fields
        .iter()
        .filter_map(|field| due.get(&field.id).filter(|(_, due)| due.due).map(|(at, _)| (*at, field.id)))
        .collect();
    ranked.sort_unstable();
    let rank = |id: FieldId| ranked.iter().position(|(_, of)| *of == id).map_or(0, |at| at + 1);
    let line = |field: &Arc<Field>| {
        let known = known.get(&field.id).unwrap_or(&none);
        let due = due.get(&field.id).map(|(_, due)| due);
        FieldLine {
            id: field.id,
            name: field.name.clone(),
            farm: records.farm_name(field).to_owned(),
            area_m2: field.area_m2(),
            worst: known.worst,
            worst_by: known.worst_by(),
            worst_year: known.by(&RatingOf::Worst).map(|found| found.year),
            by_laboratory: known
                .groups
                .iter()
                .filter(|(_, found)| found.by.is_laboratory())
                .map(|(group, _)| group.clone())
                .collect(),
            groups: known.groups.iter().map(|(group, found)| (group.clone(), (found.rating, found.year))).collect(),
            last_test: known.last_test_year,
            years: known.years_since_test,
            due: due.is_some_and(|due| due.due),
            rank: rank(field.id),
            reasons: due.map(|due| due.reasons.clone()).unwrap_or_default(),
            plan: records.plan_of(field.id, coming).map(|plan| PlanLine::of(plan)),
        }
    };
    fields.iter().map(line).collect()
}

/// Land by class, worst first, then untested; every class is there.
pub(super) fn classes(land: impl Iterator<Item = (Option<Rating>, f64)>) -> Vec<ClassLand> {
    let order = Rating::ALL.into_iter().rev().map(Some).chain([None]);
    let mut classes: Vec<ClassLand> = order.map(|rating| ClassLand { rating, fields: 0, area_m2: 0.0 }).collect();
    for (rating, area_m2) in land {
        if let Some(class) = classes.iter_mut().find(|class| class.rating == rating) {
            class.fields += 1;
            class.area_m2 += area_m2;
        }
    }
    classes
}

pub(super) fn groups(lines: &[FieldLine]) -> Vec<GroupLand> {
    let mut tested: Vec<String> = lines.iter().flat_map(|line| line.groups.keys().cloned()).collect();
    tested.sort_by_key(|group| (group.parse::<u32>().unwrap_or(u32::MAX), group.clone()));
    tested.dedup();
    let land = |group: String| {
        let rated = lines.iter().map(|line| (line.groups.get(&group).map(|(rating, _)| *rating), line.area_m2));
        let (classes, name) = (classes(rated), mode_of_group(&group).map_or("", |mode| mode.name));
        GroupLand { group, name, classes }
    };
    tested.into_iter().map(land).collect()
}

pub(super) fn ages(lines: &[FieldLine], interval: i32) -> Ages {
    let mut ages = Ages::default();
    for line in lines {
        let band = match line.years {
            None => &mut ages.never,
            Some(years) if years >= interval => &mut ages.past,
            Some(_) => &mut ages.within,
        };
        band.0 += 1;
        band.1 += line.area_m2;
    }
    ages
}

pub(super) fn worst_first(lines: &[FieldLine]) -> Vec<usize> {
    let lost = |line: &FieldLine| line.groups.values().filter(|(rating, _)| *rating >= Rating::RR).count();
    let mut order: Vec<usize> = (0..lines.len()).filter(|at| lines[*at].worst.is_some()).collect();
    order.sort_by(|a, b| {
        let (a, b) = (&lines[*a], &lines[*b]);
        (b.worst, lost(b)).cmp(&(a.worst, lost(a))).then(b.area_m2.total_cmp(&a.area_m2))
    });
    order
}

pub(super) fn changes(lines: &[FieldLine], history: &History) -> Vec<ChangeLine> {
    let change =
        |(line, of): (usize, &FieldLine)| history.change(of.id, &RatingOf::Worst).map(|change| ChangeLine { line, change });
    let mut changes: Vec<ChangeLine> = lines.iter().enumerate().filter_map(change).collect();
    changes.sort_by_key(|change| {
        (std::cmp::Reverse(change.change.steps()), std::cmp::Reverse(change.change.after.rating), change.line)
    });
    changes
}

pub(super) fn tested_once(lines: &[FieldLine], history: &History) -> usize {
    lines.iter().filter(|line| line.worst.is_some() && history.change(line.id, &RatingOf::Worst).is_none()).count()
}
