//! Problems in a project's data that no single record can show: what points nowhere, what lies where it cannot be.

use std::collections::BTreeMap;

use geo::{Contains as _, Point, Validation as _};

use crate::act::outlook::scenario::ready;
use crate::geometry::bounds;
use crate::model::{Field, Records, overlaps};
use crate::problem::Problems;
use crate::rating;
use crate::season;
use crate::units::{M2_PER_HA, count, ha};

/// Fields outside these areas are worth a look, ha.
const LIKELY_HA: std::ops::RangeInclusive<f64> = 0.05..=400.0;

/// So many pairs of fields that share land are named one by one.
const MOST_PAIRS: usize = 20;

/// Looks through all records and lists what is wrong.
pub fn check(records: &Records, problems: &mut Problems) {
    fields(records, problems);
    shared_land(records, problems);
    gates(records, problems);
    references(records, problems);
    ratings(records, problems);
    scenarios(records, problems);
}

fn place(records: &Records, field: &Field) -> String {
    format!("{}, {}", records.farm_name(field), field.name)
}

fn fields(records: &Records, problems: &mut Problems) {
    let mut unlikely: Vec<&Field> = Vec::new();
    let mut names: BTreeMap<(String, String), Vec<&Field>> = BTreeMap::new();
    for field in records.fields.values() {
        let key = (records.farm_name(field).to_lowercase(), field.name.trim().to_lowercase());
        names.entry(key).or_default().push(field);
        if !records.farms.contains_key(&field.farm) {
            problems.error(&field.name, "Its farm is missing.", "Give the field to a farm.");
        }
        if bounds(&field.boundary).is_none() {
            problems.error(place(records, field), "It has no boundary.", "Draw or import one.");
            continue;
        }
        if let Err(fault) = field.boundary.check_validation() {
            problems.warning(place(records, field), format!("Its boundary is faulty: {fault}."), "Import or draw it again.");
        }
        if !LIKELY_HA.contains(&(field.area_m2() / M2_PER_HA)) {
            unlikely.push(field);
        }
    }
    if let Some(first) = unlikely.first() {
        let what = format!(
            "{} smaller than {} or larger than {} ha, this one with {} ha.",
            count(unlikely.len(), "field"),
            LIKELY_HA.start(),
            LIKELY_HA.end(),
            ha(first.area_m2())
        );
        problems.warning(place(records, first), what, "Remove slivers; if all are wrong, check the coordinate system.");
    }
    for same in names.values() {
        let clash = same.iter().enumerate().any(|(i, a)| same.iter().skip(i + 1).any(|b| overlap_in_time(a, b)));
        if let (true, Some(field)) = (clash, same.first()) {
            let what = "Two fields of this farm have the same name in the same year.";
            problems.warning(place(records, field), what, "Rename one of them.");
        }
    }
}

/// Pairs of fields that share land in the same years; one pair says how many more there are.
fn shared_land(records: &Records, problems: &mut Problems) {
    let list: Vec<&Field> = records.fields.values().map(|field| &**field).collect();
    let shapes: Vec<_> = list.iter().map(|field| &field.boundary).collect();
    let pairs: Vec<_> = overlaps(&shapes)
        .into_iter()
        .filter_map(|(a, b, common)| Some((*list.get(a)?, *list.get(b)?, common)))
        .filter(|(a, b, _)| overlap_in_time(a, b))
        .collect();
    for (a, b, common) in pairs.iter().take(MOST_PAIRS) {
        let what = format!("It shares {} ha with {}.", ha(*common), place(records, b));
        problems.warning(place(records, a), what, "Draw one of the two boundaries again.");
    }
    if let Some((a, ..)) = pairs.get(MOST_PAIRS) {
        let what = format!("This and {} more share land with another field.", count(pairs.len() - MOST_PAIRS - 1, "field"));
        problems.warning(place(records, a), what, "Look at them on the map.");
    }
}

fn overlap_in_time(a: &Field, b: &Field) -> bool {
    let from = a.from_year.unwrap_or(i32::MIN).max(b.from_year.unwrap_or(i32::MIN));
    let until = a.until_year.unwrap_or(i32::MAX).min(b.until_year.unwrap_or(i32::MAX));
    from <= until
}

fn gates(records: &Records, problems: &mut Problems) {
    for gate in records.gates.values() {
        let Some(field) = records.fields.get(&gate.field) else {
            problems.error(format!("gate {}", gate.name), "Its field is missing.", "Remove the gate.");
            continue;
        };
        let Ok(plane) = crate::crs::LocalPlane::at(gate.position) else {
            problems.error(place(records, field), "A gate lies outside the world.", "Move it.");
            continue;
        };
        let boundary = plane.to_metres(&field.boundary);
        let away = geo::Distance::distance(&geo::Euclidean, &Point::new(0.0, 0.0), &boundary);
        if away > 100.0 && !boundary.contains(&Point::new(0.0, 0.0)) {
            let what = format!("Gate “{}” lies {away:.0} m from the field.", gate.name);
            problems.warning(place(records, field), what, "Move it to the boundary.");
        }
    }
}

fn references(records: &Records, problems: &mut Problems) {
    let lost = |kind: &str, of: String, problems: &mut Problems| {
        problems.error(of, format!("The {kind} belongs to a field that is missing."), "Remove it, or bring the field back.");
    };
    for plan in records.plans.values().filter(|plan| !records.fields.contains_key(&plan.field)) {
        lost("plan", format!("plan of {}", plan.year), problems);
    }
    for mark in records.due_marks.values().filter(|mark| !records.fields.contains_key(&mark.field)) {
        lost("mark", format!("{} for harvest {}", mark.mark.label(), mark.year), problems);
    }
    for check in records.ripe_checks.values() {
        season::look_over(records, check, i32::from(check.date.year()), problems);
    }
    for sample in records.samples.values() {
        match records.fields.get(&sample.field) {
            None => lost("sample", format!("sample {}", sample.code), problems),
            Some(field) if !field.exists_in(sample.year) => {
                let what = format!("Taken in {}, when {} did not have this shape.", sample.year, field.name);
                problems.warning(format!("sample {}", sample.code), what, "Give it to the field of that year.");
            }
            Some(_) => {}
        }
    }
    for result in records.results.values() {
        if !records.samples.contains_key(&result.sample) || !records.assays.contains_key(&result.assay) {
            let of = format!("result for {}", result.active);
            problems.error(of, "Its sample or assay is missing.", "Remove it, or import the results again.");
        }
    }
}

/// Scenarios that no outlook can be drawn of, and programmes they name that are not there.
fn scenarios(records: &Records, problems: &mut Problems) {
    for scenario in records.scenarios.values() {
        ready(scenario, problems);
        let lost = scenario.years.iter().filter_map(|year| year.programme.as_ref());
        for name in lost.filter(|name| records.programme_named(name).is_none()) {
            let what = format!("It names the programme “{name}”, which is not there.");
            problems.error(
                format!("scenario “{}”", scenario.name),
                what,
                "Import the programme, or give the control itself.",
            );
        }
    }
}

fn ratings(records: &Records, problems: &mut Problems) {
    for result in records.results.values() {
        let code = records.samples.get(&result.sample).map_or("?", |sample| sample.code.as_str());
        let of = format!("sample {code}, {}", result.active);
        let found = rating::assess(records, result);
        let Some((rating, reduction)) = found.rating.zip(found.reduction) else {
            if found.is_laboratory_only() {
                let what = "It has the laboratory's rating, but not the figures to work it out from.";
                problems.note(of, what, "It counts as the laboratory's. Ask for the percentages and the standard.");
                continue;
            }
            match found.standard {
                Some(_) => problems.error(of, "It cannot be rated beside its standard.", "Check the standard's reduction."),
                None => {
                    problems.warning(of, "It has no standard, and so no rating.", "Ask the laboratory for its standard.");
                }
            }
            continue;
        };
        if let (Some(lab), Some(standard), Some(false)) = (found.lab, found.standard, found.agrees()) {
            let what = format!(
                "The laboratory printed {}; {reduction:.1} % beside a standard of {standard:.1} % is {} by the published limits.",
                lab.label(),
                rating.label()
            );
            problems.warning(of, what, "Ask the laboratory; both are kept.");
        }
    }
}
