//! `awn how-many`, `awn compare`, `awn density`, `awn tramlines`, `awn set`: what lies behind stops.

use anyhow::bail;
use awn_core::density::{self, PatchRule};
use awn_core::model::{Figures, Plan, PlanSettings, Record, Tramlines};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Edit;
use awn_core::stops;
use awn_core::units::{count, ha, length};
use awn_core::walk::{FirstLine, suggest_tramlines};
use serde_json::json;

use super::answer::{Answer, table};
use super::args::{HowManyWanted, OneField, SetWanted, TramlinesWanted};
use super::args_planning::First;
use super::{fields, plans};

fn figure(value: f64) -> String {
    if value >= 10.0 { format!("{value:.0}") } else { format!("{value:.3}") }
}

/// Figures against the number of stops.
pub fn how_many(wanted: &HowManyWanted) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.one.project)?;
    let records = project.records();
    let field = fields::named(records, &wanted.one.field, Some(wanted.one.year))?;
    let settings = PlanSettings { method: wanted.method, ..records.settings.plan.clone() };
    let points = stops::curve(records, field.id, wanted.one.year, &settings, wanted.most, &[], &Quiet)?;
    let rows: Vec<_> = points
        .iter()
        .map(|point| {
            vec![
                point.stops.to_string(),
                format!("{:.0}", point.minutes),
                figure(point.figures.balance),
                figure(point.figures.weighted_distance_m),
                figure(point.figures.distance_95_m),
                format!("{:.0}", 100.0 * point.figures.population_within_25_m),
                point.figures.random_stops.map_or("–".to_owned(), |worth| format!("{worth:.1}")),
                format!("{:.2}", point.figures.detection),
                format!("{:.0}", point.figures.n_eff),
            ]
        })
        .collect();
    let headings = ["Stops", "min", "Balance", "Mean m", "95 % m", "Within 25 m %", "Worth", "Detection", "n_eff"];
    let text = table(&headings, &[true; 9], &rows);
    let list: Vec<_> = points
        .iter()
        .map(|point| json!({ "stops": point.stops, "minutes": point.minutes, "figures": point.figures }))
        .collect();
    Ok(Answer::new(json!({ "field": field.name, "year": wanted.one.year, "points": list }), text))
}

/// The plan in use beside the plans set aside and every other way of choosing as many stops.
pub fn compare(wanted: &OneField) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let records = project.records();
    let field = fields::named(records, &wanted.field, Some(wanted.year))?;
    let Some(plan) = records.plan_of(field.id, wanted.year) else {
        bail!("no stops are planned in {} for harvest {}; propose them with awn stops", field.name, wanted.year)
    };
    let aside = records.plans_aside(field.id, wanted.year).map(|plan| (**plan).clone());
    let all: Vec<Plan> =
        std::iter::once((**plan).clone()).chain(aside).chain(stops::compare(records, plan, &Quiet)?).collect();
    let rows: Vec<_> = all
        .iter()
        .map(|plan| {
            let f: &Figures = &plan.figures;
            let percent = |share: f64| format!("{:.0}", 100.0 * share);
            vec![
                plan.method.name().to_owned() + if plan.set_aside { ", set aside" } else { "" },
                plan.stops.len().to_string(),
                length(plan.length_m()),
                format!("{:.0}", plan.minutes()),
                figure(f.balance),
                figure(f.weighted_distance_m),
                figure(f.distance_95_m),
                percent(f.population_within_25_m),
                f.tramlines.to_string(),
                figure(f.extent_m),
                f.gate_distance_m.map_or("-".into(), figure),
            ]
        })
        .collect();
    let headings =
        ["Way", "Stops", "Walk", "min", "Balance", "Mean m", "95 % m", "Within 25 m %", "Tramlines", "Extent m", "Gate m"];
    let text = table(&headings, &[false, true, true, true, true, true, true, true, true, true, true], &rows);
    let list: Vec<_> = all.iter().map(|plan| plans::plan_json(records, plan)).collect();
    Ok(Answer::new(json!({ "plans": list }), text))
}

/// How the density of a field was worked out.
pub fn density(wanted: &OneField) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let records = project.records();
    let field = fields::named(records, &wanted.field, Some(wanted.year))?;
    let settings = &records.settings.plan;
    let Some(surface) = density::surface(records, &field, wanted.year, settings.cell_m) else {
        bail!("{} has no usable boundary; import it again", field.name)
    };
    let found = density::patches(&surface, &PatchRule::from(settings));
    let cells: Vec<f64> = surface.grid.cells().map(|(_, value)| value).collect();
    let mean = cells.iter().sum::<f64>() / cells.len() as f64;
    let greatest = cells.iter().copied().fold(0.0, f64::max);
    let errors: Vec<f64> = surface.uncertainty.iter().flatten().copied().filter(|value| !value.is_nan()).collect();
    let error = (!errors.is_empty()).then(|| errors.iter().sum::<f64>() / errors.len() as f64);
    let unit = surface.unit.label();
    let mut text = format!(
        "{}: {}\n{}\nMean {} {unit}, greatest {}",
        field.name,
        surface.source,
        surface.reason,
        figure(mean),
        figure(greatest)
    );
    text.push_str(&error.map_or("\n".into(), |error| format!(", mean standard error {}\n", figure(error))));
    if !found.list.is_empty() {
        let rows: Vec<_> = (1..)
            .zip(&found.list)
            .map(|(number, patch): (usize, _)| {
                vec![
                    number.to_string(),
                    patch.group.to_string(),
                    ha(patch.area_m2),
                    figure(patch.mean_density),
                    figure(patch.greatest_density),
                    format!("{:.0}", 100.0 * patch.population_share),
                ]
            })
            .collect();
        text.push_str(&format!(
            "{} above {} {unit}\n",
            count(found.list.len(), "patch").replace("patchs", "patches"),
            figure(found.limit)
        ));
        text.push_str(&table(&["Patch", "Group", "ha", "Mean", "Greatest", "Population %"], &[true; 6], &rows));
    }
    Ok(Answer::new(
        json!({
            "field": field.name, "year": wanted.year, "method": surface.method.label(), "source": surface.source,
            "reason": surface.reason, "unit": unit, "mean": mean, "greatest": greatest, "mean_standard_error": error,
            "patch_limit": found.limit, "patches": found.list.iter().map(plans::patch_json).collect::<Vec<_>>(),
        }),
        text,
    ))
}

/// Lays tramlines in fields.
pub fn tramlines(wanted: &TramlinesWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let in_range = |value: f64| (1.0..=200.0).contains(&value);
    if !in_range(wanted.spacing) || wanted.headland.is_some_and(|headland| !(0.0..=200.0).contains(&headland)) {
        bail!("spacing is from 1 to 200 m, the headland from 0 to 200 m");
    }
    if wanted.bearing.is_some_and(|bearing| !bearing.is_finite()) {
        bail!("the bearing is a number of degrees");
    }
    let mut project = super::open(&wanted.project)?;
    let records = project.records().clone();
    let list = match &wanted.field {
        Some(name) => vec![fields::named(&records, name, None)?],
        None => records.fields.values().cloned().collect(),
    };
    let first = match wanted.first {
        First::Half => FirstLine::Half,
        First::Whole => FirstLine::Whole,
    };
    let mut edit = Edit::new(&records, format!("Lay tramlines in {}", count(list.len(), "field")));
    let mut laid = Vec::new();
    for field in &list {
        let Some(lines) = suggest_tramlines(field.id, &field.boundary, wanted.bearing, wanted.spacing, first) else {
            let place = format!("{}, {}", records.farm_name(field), field.name);
            problems.error(place, "no tramlines fit in its boundary.", "Look at the boundary on the map.");
            continue;
        };
        if !wanted.another {
            for old in records.tramlines_of(field.id) {
                edit.remove(&Record::Tramlines((**old).clone()));
            }
        }
        let lines = Tramlines { headland_m: wanted.headland.unwrap_or(wanted.spacing), ..lines };
        laid.push(json!({
            "field": field.name, "bearing_deg": lines.bearing_deg, "spacing_m": lines.spacing_m, "headland_m": lines.headland_m,
        }));
        edit.put(Record::Tramlines(lines));
    }
    project.apply(edit.done())?;
    let text = format!("Laid tramlines in {}.\n", count(laid.len(), "field"));
    Ok(Answer::new(json!({ "tramlines": laid }), text))
}

/// Changes how densities are made.
pub fn set(wanted: &SetWanted) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let records = project.records().clone();
    let mut settings = records.settings.clone();
    let held = settings.density;
    settings.density.combine = wanted.surveys.unwrap_or(held.combine);
    settings.density.between = wanted.between.unwrap_or(held.between);
    if let Some(bandwidth) = wanted.bandwidth {
        if !(0.0..=500.0).contains(&bandwidth) {
            bail!("a bandwidth is from 0 to 500 m");
        }
        settings.density.bandwidth_m = (bandwidth > 0.0).then_some(bandwidth);
    }
    if let Some(currency) = &wanted.currency {
        let plain = currency.trim();
        if plain.is_empty() || plain.chars().count() > 4 || plain.contains(|c: char| c.is_ascii_digit()) {
            bail!("“{plain}” is no sign of a currency; give one such as £ or EUR");
        }
        plain.clone_into(&mut settings.act.currency);
    }
    let (density, currency) = (settings.density, settings.act.currency.clone());
    if settings != records.settings {
        let name = if density == held { "Change the currency" } else { "Change how densities are made" };
        let mut edit = Edit::new(&records, name);
        edit.put(Record::Settings(settings));
        project.apply(edit.done())?;
    }
    let bandwidth = density.bandwidth_m.map_or("from the places".to_owned(), |width| format!("{width} m"));
    let text = format!(
        "Surveys: {}. Between points: {}. Bandwidth: {bandwidth}. Currency: {currency}.\n",
        density.combine.label(),
        density.between.label()
    );
    Ok(Answer::new(
        json!({
            "surveys": density.combine.label(), "between": density.between.label(), "bandwidth_m": density.bandwidth_m,
            "currency": currency,
        }),
        text,
    ))
}
