//! `awn due` and `awn stops`: which fields, and where in them.

use std::sync::Arc;

use anyhow::bail;
use awn_core::model::{Field, Figures, Plan, PlanSettings, Records};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::units::{count, length};
use awn_core::{season, stops};
use rayon::prelude::*;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args::StopsWanted;
use crate::commands;

/// Which fields are due, most urgent first.
pub fn due(project: &Project, year: i32, budget: Option<usize>) -> anyhow::Result<Answer> {
    let records = project.records();
    let list = season::due(records, year);
    let mut rows = Vec::new();
    let mut fields = Vec::new();
    let mut left = budget.unwrap_or(usize::MAX);
    for due in &list {
        let Some(field) = records.fields.get(&due.field) else { continue };
        let chosen = due.due && left > 0;
        if chosen {
            left -= 1;
            rows.push(vec![
                records.farm_name(field).to_owned(),
                field.name.clone(),
                format!("{:.0}", due.score),
                due.reasons.join(" "),
            ]);
        }
        fields.push(json!({
            "field": field.name, "field_id": field.id, "farm": records.farm_name(field),
            "due": due.due, "reasons": due.reasons, "score": due.score, "within_budget": chosen,
        }));
    }
    let total = list.iter().filter(|due| due.due).count();
    let head = format!("{} of {} due a test in {year}.\n", total, count(list.len(), "field"));
    let text = head + &table(&["Farm", "Field", "Score", "Why"], &[false, false, true, false], &rows);
    Ok(Answer::new(json!({ "year": year, "fields": fields }), text))
}

/// Proposes stops and keeps the plans in the project; a plan replaces an earlier one of the same field and year.
pub fn stops(wanted: &StopsWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let records = project.records().clone();
    let fields = chosen_fields(&records, wanted)?;
    let mut settings = records.settings.plan.clone();
    settings.stops = wanted.stops.unwrap_or(settings.stops);
    settings.seed = wanted.seed.unwrap_or(settings.seed);

    let proposed: Vec<_> = fields.par_iter().map(|field| propose(&records, field, wanted, &settings)).collect();
    let mut plans = Vec::new();
    for (field, plan) in fields.iter().zip(proposed) {
        match plan {
            Ok(plan) => plans.push(plan),
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

fn propose(
    records: &Records,
    field: &Field,
    wanted: &StopsWanted,
    settings: &PlanSettings,
) -> Result<Plan, stops::PlanError> {
    match wanted.minutes {
        Some(minutes) => stops::propose_within(records, field.id, wanted.year, settings, minutes, &Quiet),
        None => stops::propose(records, field.id, wanted.year, settings, &Quiet),
    }
}

fn chosen_fields(records: &Records, wanted: &StopsWanted) -> anyhow::Result<Vec<Arc<Field>>> {
    let all = records.fields_in(wanted.year);
    if let Some(name) = &wanted.field {
        let found = records.fields_named(name, Some(wanted.year));
        match found.as_slice() {
            [] => bail!("there is no field “{name}” in harvest {}; awn fields lists them", wanted.year),
            [_] => return Ok(found),
            several => {
                let names: Vec<_> =
                    several.iter().map(|field| format!("{}/{}", records.farm_name(field), field.name)).collect();
                bail!("“{name}” is the name of {}; write {}", count(several.len(), "field"), names.join(" or "))
            }
        }
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
                length(plan.walk.length_m),
                format!("{:.0}", plan.walk.minutes),
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
        for note in &plan.notes {
            text.push_str(&format!("{}: {note}\n", name(plan)));
        }
    }
    let list: Vec<_> = plans.iter().map(|plan| plan_json(records, plan)).collect();
    Answer::new(json!({ "plans": list }), text)
}

fn plan_json(records: &Records, plan: &Plan) -> Value {
    let field = records.fields.get(&plan.field);
    let stops: Vec<_> = plan
        .stops
        .iter()
        .map(
            |stop| json!({ "lon": stop.position.x, "lat": stop.position.y, "share": stop.share, "tramline": stop.tramline }),
        )
        .collect();
    let line: Vec<_> = plan.walk.line.coords().map(|c| json!([c.x, c.y])).collect();
    json!({
        "field": field.map(|field| field.name.as_str()),
        "field_id": plan.field,
        "farm": field.map(|field| records.farm_name(field)),
        "year": plan.year,
        "method": plan.method.label(),
        "seed": plan.settings.seed,
        "stops": stops,
        "gate": plan.gate.map(|gate| json!({ "lon": gate.x, "lat": gate.y })),
        "walk": {
            "length_m": plan.walk.length_m, "minutes": plan.walk.minutes, "shortest_proved": plan.walk.exact, "line": line,
        },
        "figures": plan.figures,
        "gate_figures": plan.gate_figures,
        "notes": plan.notes,
    })
}
