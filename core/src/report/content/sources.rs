//! Where results and densities come from.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;

use crate::model::{AssayId, Field, FieldId, Records, SurveyKind};

/// A test that results come from.
#[derive(Debug, Clone, PartialEq)]
pub struct AssaySource {
    /// Harvest of its samples.
    pub year: i32,
    /// "petri" or "pot".
    pub kind: &'static str,
    /// Who did it; may be empty.
    pub laboratory: String,
    /// The day it was counted or weighed.
    pub date: Option<Date>,
    /// The file it came from; may be empty.
    pub source: String,
    /// Its results on the fields of the report.
    pub results: usize,
    /// The standard's reductions in it, %, lowest and highest.
    pub standards: Option<[f64; 2]>,
}

/// A survey that densities come from.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveySource {
    /// The day.
    pub date: Date,
    /// "points", "zones", "places" or "raster".
    pub kind: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// The file it came from, or how it was made.
    pub source: String,
    /// Points, zones or pieces in it.
    pub parts: usize,
}

/// The tests and surveys of fields up to a harvest, newest first, and how many results there are.
pub(super) fn of(records: &Records, year: i32, fields: &[Arc<Field>]) -> (Vec<AssaySource>, Vec<SurveySource>, usize) {
    let land = lands(records, fields);
    let mut by_assay: BTreeMap<AssayId, Vec<f64>> = BTreeMap::new();
    let mut counts: BTreeMap<AssayId, usize> = BTreeMap::new();
    for result in records.results.values() {
        let sample = records.samples.get(&result.sample);
        if sample.is_some_and(|sample| sample.year <= year && land.contains(&sample.field)) {
            *counts.entry(result.assay).or_default() += 1;
            by_assay.entry(result.assay).or_default().extend(crate::rating::standard_of(records, result));
        }
    }
    let assay = |(id, results): (&AssayId, &usize)| {
        let assay = records.assays.get(id)?;
        let standards = by_assay.get(id).filter(|list| !list.is_empty());
        Some(AssaySource {
            year: assay.year,
            kind: assay.kind.label(),
            laboratory: assay.laboratory.trim().to_owned(),
            date: assay.date,
            source: assay.source.trim().to_owned(),
            results: *results,
            standards: standards.map(|list| {
                let low = list.iter().copied().fold(f64::INFINITY, f64::min);
                [low, list.iter().copied().fold(f64::NEG_INFINITY, f64::max)]
            }),
        })
    };
    let mut assays: Vec<AssaySource> = counts.iter().filter_map(assay).collect();
    assays.sort_by(|a, b| b.year.cmp(&a.year).then(a.kind.cmp(b.kind)).then(a.source.cmp(&b.source)));
    let mut surveys: Vec<SurveySource> = records
        .surveys
        .values()
        .filter(|survey| survey.harvest_year() <= year)
        .map(|survey| SurveySource {
            date: survey.date,
            kind: match survey.kind {
                SurveyKind::Points => "points",
                SurveyKind::Zones => "zones",
                SurveyKind::Places => "places",
                SurveyKind::Raster => "raster",
            },
            unit: survey.unit.label(),
            source: survey.source.trim().to_owned(),
            parts: survey.points.len() + survey.zones.len() + survey.rasters.len(),
        })
        .collect();
    surveys.sort_by(|a, b| b.date.cmp(&a.date).then(a.source.cmp(&b.source)));
    (assays, surveys, counts.values().sum())
}

/// The fields and all that they came from.
fn lands(records: &Records, fields: &[Arc<Field>]) -> BTreeSet<FieldId> {
    let mut lands: BTreeSet<FieldId> = BTreeSet::new();
    let mut open: Vec<FieldId> = fields.iter().map(|field| field.id).collect();
    while let Some(land) = open.pop() {
        if lands.insert(land) {
            open.extend(records.fields.get(&land).into_iter().flat_map(|field| field.came_from.iter().copied()));
        }
    }
    lands
}
