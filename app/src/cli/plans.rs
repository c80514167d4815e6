//! `awn stops`: where in the fields.

use std::sync::Arc;

use anyhow::bail;
use awn_core::model::{Field, FieldId, Figures, Patch, Plan, PlanSettings, Records, Walk};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::units::length;
use awn_core::{season, stops};
use rayon::prelude::*;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args::StopsWanted;
use super::fields;
use crate::commands;

/// Proposes stops and keeps the plans in the project; a plan replaces the one in use of the same field and year.
pub fn stops(wanted: &StopsWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let records = project.records().clone();
    let chosen = chosen_fields(&records, wanted)?;
    let proposed: Vec<_> = chosen.par_iter().map(|field| propose(&records, field, wanted)).collect();
    let mut plans = Vec::new();
    for (field, plan) in chosen.iter().zip(proposed) {
        match plan? {
            Ok(plan) => plans.push(Plan { set_aside: wanted.set_aside, ..plan }),
            Err(error) => {
                let hint = "Change the settings or the tramlines of this field.";
                problems.error(format!("{}, {}", records.farm_name(field), field.name), error.to_string(), hint);
            }
        }
    }
    let edit = commands::keep_plans(&records, &plans);
    let answer = answer(&records, &plans);
    project.apply(edit)?;
    Ok(answer)
}

/// The settings that the arguments make of the project's.
fn settings(records: &Records, field: FieldId, wanted: &StopsWanted) -> anyhow::Result<PlanSettings> {
    let held = records.settings.plan.clone();
    let gate = |name: &Option<String>| name.as_ref().map(|name| fields::gate(records, field, name)).transpose();
    Ok(PlanSettings {
        method: wanted.method,
        stops: wanted.stops.unwrap_or(held.stops),
        seed: wanted.seed.unwrap_or(held.seed),
        exponent: wanted.exponent.unwrap_or(held.exponent),
        gate_exclusion_m: wanted.gate_exclusion.unwrap_or(held.gate_exclusion_m),
        min_spacing_m: wanted.min_spacing.unwrap_or(held.min_spacing_m),
        per_patch: wanted.per_patch.unwrap_or(held.per_patch),
        patch_limit: wanted.patch_limit.or(if wanted.patch_share.is_some() { None } else { held.patch_limit }),
        patch_share: wanted.patch_share.or(if wanted.patch_limit.is_some() { None } else { held.patch_share }),
        units: wanted.sample.unwrap_or(held.units),
        people: wanted.people.unwrap_or(held.people),
        start_gate: gate(&wanted.start_gate)?,
        end_gate: gate(&wanted.end_gate)?,
        ..held
    })
}

fn propose(records: &Records, field: &Field, wanted: &StopsWanted) -> anyhow::Result<Result<Plan, stops::PlanError>> {
    let settings = settings(records, field.id, wanted)?;
    let year = wanted.year;
    let pins = &wanted.pin;
    Ok(match (wanted.minutes, wanted.target) {
        (Some(minutes), _) => stops::propose_within(records, field.id, year, &settings, minutes, pins, &Quiet),
        (_, Some(target)) => stops::propose_for_target(records, field.id, year, &settings, target, pins, &Quiet),
        _ => stops::propose_around(records, field.id, year, &settings, pins, &Quiet),
    })
}

fn chosen_fields(records: &Records, wanted: &StopsWanted) -> anyhow::Result<Vec<Arc<Field>>> {
    let all = records.fields_in(wanted.year);
    if let Some(name) = &wanted.field {
        return Ok(vec![fields::named(records, name, Some(wanted.year))?]);
    }
    if !wanted.pin.is_empty() || wanted.start_gate.is_some() || wanted.end_gate.is_some() {
        bail!("pinned stops and gates are of one field; name it with --field");
    }
    if wanted.due {
        let due: Vec<_> = season::due(records, wanted.year).into_iter().filter(|due| due.due).map(|due| due.field).collect();
        return Ok(all.into_iter().filter(|field| due.contains(&field.id)).collect());
    }
    Ok(all)
}

/// The answer about plans.
pub fn answer(records: &Records, plans: &[Plan]) -> Answer {
    let name = |plan: &Plan| records.fields.get(&plan.field).map(|field| field.name.clone()).unwrap_or_default();
    let rows: Vec<_> = plans
        .iter()
        .map(|plan| {
            let at_gate =
                |figure: fn(&Figures) -> f64| plan.gate_figures.as_ref().map_or("-".into(), |f| format!("{:.2}", figure(f)));
            vec![
                name(plan),
                plan.stops.len().to_string(),
                length(plan.length_m()),
                format!("{:.0}", plan.minutes()),
                format!("{:.3}", plan.figures.balance),
                at_gate(|figures| figures.balance),
                format!("{:.0}", plan.figures.weighted_distance_m),
                format!("{:.2}", plan.figures.detection),
            ]
        })
        .collect();
    let headings = ["Field", "Stops", "Walk", "min", "Balance", "at gate", "Mean m", "Detection"];
    let right = [false, true, true, true, true, true, true, true];
    let mut text = table(&headings, &right, &rows);
    for plan in plans {
        if plan.samples() > 1 || plan.advice.starts_with("A sample for each") {
            text.push_str(&format!("{}: {}\n", name(plan), plan.advice));
        }
        for note in &plan.notes {
            text.push_str(&format!("{}: {note}\n", name(plan)));
        }
    }
    let list: Vec<_> = plans.iter().map(|plan| plan_json(records, plan)).collect();
    Answer::new(json!({ "plans": list }), text)
}

/// A plan as JSON.
pub fn plan_json(records: &Records, plan: &Plan) -> Value {
    let field = records.fields.get(&plan.field);
    let stops: Vec<_> = plan
        .stops
        .iter()
        .map(|stop| {
            json!({
                "lon": stop.position.x, "lat": stop.position.y, "share": stop.share, "tramline": stop.tramline,
                "pinned": stop.pinned, "person": stop.person, "sample": stop.unit, "inclusion": stop.inclusion,
            })
        })
        .collect();
    let walk = |walk: &Walk| {
        let line: Vec<_> = walk.line.coords().map(|c| json!([c.x, c.y])).collect();
        json!({ "length_m": walk.length_m, "minutes": walk.minutes, "shortest_proved": walk.exact, "line": line })
    };
    json!({
        "field": field.map(|field| field.name.as_str()),
        "field_id": plan.field,
        "farm": field.map(|field| records.farm_name(field)),
        "year": plan.year,
        "method": plan.method.label(),
        "seed": plan.settings.seed,
        "stops": stops,
        "gate": plan.gate.map(|gate| json!({ "lon": gate.x, "lat": gate.y })),
        "walk": walk(&plan.walk),
        "second_walk": plan.second_walk.as_ref().map(walk),
        "figures": plan.figures,
        "gate_figures": plan.gate_figures,
        "patches": plan.patches.iter().map(patch_json).collect::<Vec<_>>(),
        "patches_hold": plan.patches_hold,
        "samples": plan.samples(),
        "advice": plan.advice,
        "estimate": plan.estimate,
        "set_aside": plan.set_aside,
        "notes": plan.notes,
    })
}

/// A patch as JSON, without its outline.
pub fn patch_json(patch: &Patch) -> Value {
    json!({
        "area_m2": patch.area_m2, "mean_density": patch.mean_density, "greatest_density": patch.greatest_density,
        "population_share": patch.population_share, "group": patch.group,
    })
}
