//! `awn outlook`, `awn scenarios`, `awn costs`: the coming years.

use std::path::Path;
use std::sync::Arc;

use anyhow::bail;
use awn_core::act::outlook::{
    self, Ask, Band, FieldOutlook, MOST_SCENARIOS, Overall, ScenarioOutlook, YearOutlook, parameters,
};
use awn_core::model::{CropMoney, LowLikelyHigh, Record, Records, Scenario, same_name};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Edit;
use awn_core::units::count;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args::{CostsWanted, OutlookWanted};
use super::fields;

/// A figure with two or three digits that say something.
fn figure(value: f64) -> String {
    match value.abs() {
        v if v >= 10_000.0 => format!("{:.0}", (value / 1000.0).round() * 1000.0),
        v if v >= 10.0 => format!("{value:.0}"),
        v if v >= 1.0 => format!("{value:.1}"),
        v if v >= 0.005 => format!("{value:.2}"),
        _ => "0".to_owned(),
    }
}

fn band(band: Band) -> String {
    format!("{} ({} to {})", figure(band.median), figure(band.low), figure(band.high))
}

fn range(range: LowLikelyHigh) -> String {
    format!("{} ({} to {})", figure(range.likely), figure(range.low), figure(range.high))
}

/// The coming years of a field, or of all.
pub fn outlook(wanted: &OutlookWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let records = project.records();
    if wanted.parameters {
        return Ok(parameter_table(records, problems));
    }
    let fields = match &wanted.field {
        Some(name) => vec![fields::named(records, name, Some(wanted.year))?],
        None => records.fields_in(wanted.year),
    };
    let ask = Ask {
        fields,
        scenarios: scenarios_named(records, &wanted.scenario)?,
        first_harvest: wanted.year,
        years: wanted.years,
        start: wanted.start,
    };
    let Some(found) = outlook::for_records(records, &ask, problems, &Quiet)? else {
        bail!("there is no outlook; mend the problems listed")
    };
    let currency = &records.settings.act.currency;
    let mut text = String::new();
    let mut list = Vec::new();
    for field in &found {
        list.push(field_json(records, field, currency));
        text.push_str(&field_text(records, field, currency, wanted.field.is_some()));
    }
    let overall = outlook::overall(&found, |one| records.fields.get(&one.field).map_or(0.0, |field| field.area_m2()));
    if found.len() > 1 {
        text.push_str(&overall_text(&overall, found.len(), currency));
    }
    text.push_str(&format!("Median (80 % band) of {} draws. {}\n", records.settings.outlook.draws, outlook::CAUTION));
    let settings = &records.settings.outlook;
    Ok(Answer::never_advice(
        json!({
            "year": wanted.year, "years": wanted.years, "draws": settings.draws, "seed": settings.seed, "fields": list,
            "all_fields": overall.iter().map(overall_json).collect::<Vec<_>>(),
        }),
        text,
    ))
}

/// The scenarios of these names; without names all, if they are no more than can be compared.
fn scenarios_named(records: &Records, names: &[String]) -> anyhow::Result<Vec<Arc<Scenario>>> {
    if records.scenarios.is_empty() {
        bail!("the project holds no scenario; read some in with awn add scenarios PROJECT FILE")
    }
    if names.is_empty() {
        let all: Vec<_> = records.scenarios.values().cloned().collect();
        if all.len() > MOST_SCENARIOS {
            bail!("the project holds {} scenarios; choose up to {MOST_SCENARIOS} with --scenario", all.len())
        }
        return Ok(all);
    }
    names
        .iter()
        .map(|name| {
            let held = records.scenarios.values().find(|scenario| same_name(&scenario.name, name));
            held.cloned().ok_or_else(|| anyhow::anyhow!("there is no scenario “{name}”; awn scenarios lists them"))
        })
        .collect()
}

fn field_text(records: &Records, found: &FieldOutlook, currency: &str, in_full: bool) -> String {
    let name = records
        .fields
        .get(&found.field)
        .map_or(String::new(), |field| format!("{}, {}", records.farm_name(field), field.name));
    let start = &found.start;
    let mut text = format!("{name}: from {}; {} heads/m2 on average\n", start.source, band(found.heads_at_start));
    for note in &start.notes {
        text.push_str(&format!("  {note}\n"));
    }
    for scenario in &found.scenarios {
        text.push_str(&format!(
            "{}: control of {} % in every crop would hold the seed in the soil\n",
            scenario.name,
            outlook::percent_with_band(scenario.hold)
        ));
        let shown =
            if in_full { scenario.years.as_slice() } else { scenario.years.last().map_or(&[][..], std::slice::from_ref) };
        let rows: Vec<_> = shown.iter().map(year_row).collect();
        let headings =
            ["Harvest", "Crop", "Heads/m2", "Plants/m2", "Control to hold %", "Yield lost %", "by heads %", "by state %"];
        let money = [format!("Cost {currency}/ha"), format!("Lost {currency}/ha")];
        let headings: Vec<&str> = headings.into_iter().chain(money.iter().map(String::as_str)).collect();
        text.push_str(&table(&headings, &[true, false, true, true, true, true, true, true, true, true], &rows));
        let mut missing: Vec<&String> = scenario.years.iter().flat_map(|year| &year.money.missing).collect();
        missing.sort();
        missing.dedup();
        if !missing.is_empty() {
            let list: Vec<_> = missing.into_iter().map(String::as_str).collect();
            text.push_str(&format!("  Not given, so not counted: {}.\n", list.join(", ")));
        }
    }
    text.push_str(&compared(found, currency));
    text.push('\n');
    text
}

/// The scenarios beside each other over all harvests.
fn compared(found: &FieldOutlook, currency: &str) -> String {
    let sums = |band: Option<Band>| band.map_or("-".into(), self::band);
    let row = |scenario: &ScenarioOutlook| {
        let money = scenario.mean.money;
        vec![
            scenario.name.clone(),
            scenario.years.last().map_or("-".into(), |year| band(year.heads)),
            outlook::percent_with_band(scenario.hold),
            band(scenario.mean.loss),
            money.map_or("-".into(), |money| figure(money.cost)),
            sums(money.map(|money| money.lost)),
            sums(money.map(|money| money.left)),
        ]
    };
    let money = ["Spent", "Lost", "Left"].map(|word| format!("{word} {currency}/ha"));
    let headings = ["A year, over all harvests", "Heads/m2 at the end", "Control to stand still %", "Yield lost %"];
    let headings: Vec<&str> = headings.into_iter().chain(money.iter().map(String::as_str)).collect();
    let right = [false, true, true, true, true, true, true];
    table(&headings, &right, &found.scenarios.iter().map(row).collect::<Vec<_>>())
}

fn overall_text(list: &[Overall], fields: usize, currency: &str) -> String {
    let row = |one: &Overall| {
        vec![
            one.name.clone(),
            band(one.heads),
            outlook::percent_with_band(one.hold),
            band(one.loss),
            one.cost.map_or("-".into(), figure),
            one.weed.map_or("-".into(), band),
            one.left.map_or("-".into(), band),
        ]
    };
    let harvest = list.first().map_or(String::new(), |one| format!("Heads/m2 in {}", one.harvest));
    let money = ["Spent", "Weed takes", "Left"].map(|word| format!("{word} {currency} a year"));
    let first = format!("{} together", count(fields, "field"));
    let headings: Vec<&str> = [first.as_str(), &harvest, "Control to stand still %", "Yield lost %"]
        .into_iter()
        .chain(money.iter().map(String::as_str))
        .collect();
    let text = table(&headings, &[false, true, true, true, true, true, true], &list.iter().map(row).collect::<Vec<_>>());
    text + "Bands are the fields' bands put together: fields of a farm often share a fate.\n"
}

fn overall_json(one: &Overall) -> Value {
    json!({
        "name": one.name, "harvest": one.harvest, "heads_per_m2": one.heads, "control_to_hold_percent": one.hold,
        "yield_loss_percent": one.loss, "money_a_year": { "cost": one.cost, "lost_to_weed": one.weed, "left": one.left },
    })
}

fn year_row(year: &YearOutlook) -> Vec<String> {
    vec![
        year.harvest.to_string(),
        year.crop.to_owned(),
        band(year.heads),
        band(year.plants),
        band(year.hold),
        band(year.loss),
        band(year.loss_by_heads),
        range(year.loss_by_state),
        year.money.cost.map_or("-".into(), figure),
        year.money.lost_to_weed.map_or("-".into(), range),
    ]
}

fn field_json(records: &Records, found: &FieldOutlook, currency: &str) -> Value {
    let field = records.fields.get(&found.field);
    let scenarios: Vec<Value> = found
        .scenarios
        .iter()
        .map(|scenario| {
            json!({
                "name": scenario.name, "control_to_hold_percent": scenario.hold,
                "mean_year": {
                    "yield_loss_percent": scenario.mean.loss,
                    "money_per_ha": scenario.mean.money.map(|money| {
                        json!({ "cost": money.cost, "lost_to_weed": money.weed, "lost": money.lost, "left": money.left })
                    }),
                },
                "years": scenario.years.iter().map(year_json).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({
        "field": field.map(|field| &field.name), "farm": field.map(|field| records.farm_name(field)), "currency": currency,
        "start": {
            "source": found.start.source, "unit": found.start.unit.label(), "mean": found.start.mean(),
            "heads_per_m2": found.heads_at_start, "notes": found.start.notes,
        },
        "scenarios": scenarios,
        "sentences": outlook::sentences(found, currency),
    })
}

fn year_json(year: &YearOutlook) -> Value {
    let money = &year.money;
    json!({
        "harvest": year.harvest, "crop": year.crop, "heads_per_m2": year.heads, "plants_per_m2": year.plants,
        "seeds_per_m2": year.seeds, "control_to_hold_percent": year.hold, "yield_loss_percent": year.loss,
        "yield_loss_by_heads_percent": year.loss_by_heads, "yield_loss_by_state_percent": year.loss_by_state,
        "late_drilling_percent": year.late,
        "money_per_ha": {
            "value": money.value, "cost": money.cost, "lost_to_weed": money.lost_to_weed, "lost_to_date": money.lost_to_date,
            "left": money.left, "missing": money.missing,
        },
    })
}

fn parameter_table(records: &Records, problems: &mut Problems) -> Answer {
    let set = &records.settings.outlook.parameters;
    let used = outlook::Parameters::with(set, problems);
    let mut rows = Vec::new();
    let mut list = Vec::new();
    for parameter in parameters::table() {
        let range = used.range(parameter.key);
        let is_set = set.contains_key(parameter.key.word());
        let drawn = if parameter.every_year { "every year" } else { "once a field" };
        rows.push(vec![
            parameter.key.word().to_owned(),
            format!("{}, {}, {}", range.low, range.likely, range.high) + if is_set { " (set)" } else { "" },
            parameter.unit.clone(),
            drawn.to_owned(),
            parameter.meaning.clone(),
            format!("{} ({})", parameter.source, parameter.confidence),
        ]);
        list.push(json!({
            "key": parameter.key.word(), "range": range, "unit": parameter.unit, "drawn": drawn, "meaning": parameter.meaning,
            "source": parameter.source, "confidence": parameter.confidence, "set": is_set,
        }));
    }
    let headings = ["Parameter", "Low, likely, high", "Unit", "Drawn", "What it is", "Source (confidence)"];
    Answer::never_advice(json!({ "parameters": list }), table(&headings, &[false; 6], &rows))
}

/// The scenarios of a project; with a name, takes that one out.
pub fn scenarios(project: &Path, remove: Option<&str>) -> anyhow::Result<Answer> {
    let mut project = super::open(project)?;
    if let Some(name) = remove {
        let records = project.records().clone();
        let Some(held) = records.scenarios.values().find(|scenario| same_name(&scenario.name, name)) else {
            bail!("there is no scenario “{name}”; awn scenarios lists them")
        };
        let mut edit = Edit::new(&records, format!("Remove scenario {}", held.name));
        edit.remove(&Record::Scenario((**held).clone()));
        project.apply(edit.done())?;
    }
    let records = project.records();
    let mut text = String::new();
    for scenario in records.scenarios.values() {
        text.push_str(&format!("{}\n", scenario.name));
        let rows: Vec<_> = scenario
            .years
            .iter()
            .map(|year| {
                vec![
                    year.crop.clone(),
                    year.cultivation.label().to_owned(),
                    year.drilled.clone().unwrap_or_default(),
                    year.programme.clone().unwrap_or_else(|| range(year.control)),
                    year.crop_plants_m2.map_or(String::new(), figure),
                    if year.competitive { "yes" } else { "" }.to_owned(),
                    year.heads_removed.map_or(String::new(), range),
                    year.cost_per_ha.map_or(String::new(), figure),
                ]
            })
            .collect();
        let headings =
            ["Crop", "Cultivation", "Drilled", "Control %", "Plants/m2", "Competitive", "Heads removed %", "Cost/ha"];
        text.push_str(&table(&headings, &[false, false, false, true, true, false, true, true], &rows));
    }
    if records.scenarios.is_empty() {
        text.push_str("No scenarios. Read some in with awn add scenarios PROJECT FILE.\n");
    }
    let list: Vec<_> = records.scenarios.values().map(|scenario| json!(**scenario)).collect();
    Ok(Answer::never_advice(json!({ "scenarios": list }), text))
}

/// Sets prices, costs, draws and parameters, and says what is set.
pub fn costs(wanted: &CostsWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let records = project.records().clone();
    let mut settings = records.settings.clone();
    if let Some(currency) = &wanted.currency {
        settings.act.currency.clone_from(currency);
    }
    let held = &mut settings.outlook;
    for (crop, [price, tonnes]) in &wanted.crop {
        if outlook::crops::crop(crop).is_none_or(|known| known.days.is_none()) {
            let names: Vec<_> =
                outlook::crops::crops().iter().filter(|crop| crop.days.is_some()).map(|crop| crop.name).collect();
            bail!("“{crop}” is no crop that outlooks know; use one of: {}", names.join(", "));
        }
        held.crops.retain(|priced| !same_name(&priced.crop, crop));
        held.crops.push(CropMoney { crop: crop.to_lowercase(), price_per_t: *price, yield_t_per_ha: *tonnes });
    }
    held.cultivation_cost.extend(wanted.cultivation.iter().copied());
    held.spray_off_per_ha = wanted.spray_off.or(held.spray_off_per_ha);
    held.pulled_per_hour = wanted.pulled_per_hour.or(held.pulled_per_hour);
    held.hour_cost = wanted.hour_cost.or(held.hour_cost);
    held.draws = wanted.draws.unwrap_or(held.draws);
    held.seed = wanted.seed.unwrap_or(held.seed);
    for (key, range) in &wanted.parameter {
        match range {
            Some(range) => held.parameters.insert(key.clone(), *range),
            None => held.parameters.remove(key),
        };
    }
    outlook::money_is_sound(held)?;
    if !outlook::DRAWS.contains(&held.draws) {
        bail!(outlook::OutlookError::Draws(held.draws));
    }
    let mut found = Problems::new();
    outlook::Parameters::with(&held.parameters, &mut found);
    let is_sound = !found.has_errors();
    problems.extend(found);
    if !is_sound {
        bail!("nothing was changed; mend the problems listed");
    }
    if settings != records.settings {
        let mut edit = Edit::new(&records, "Change prices, costs or the model");
        edit.put(Record::Settings(settings.clone()));
        project.apply(edit.done())?;
    }
    let set = &settings.outlook;
    let currency = &settings.act.currency;
    let mut text = String::new();
    for crop in &set.crops {
        text.push_str(&format!("{}: {currency}{}/t, {} t/ha\n", crop.crop, crop.price_per_t, crop.yield_t_per_ha));
    }
    for (cultivation, cost) in &set.cultivation_cost {
        text.push_str(&format!("{}: {currency}{cost}/ha\n", cultivation.name()));
    }
    let amount = |value: Option<f64>, unit: &str| value.map_or("not given".to_owned(), |value| format!("{value} {unit}"));
    text.push_str(&format!("Spraying off: {}\n", amount(set.spray_off_per_ha, &format!("{currency}/ha"))));
    text.push_str(&format!("Pulling: {}, ", amount(set.pulled_per_hour, "plants an hour")));
    text.push_str(&format!("an hour {}\n", amount(set.hour_cost, currency)));
    let parameters = count(set.parameters.len(), "parameter");
    text.push_str(&format!("{} draws, seed {}; {parameters} of the model set otherwise\n", set.draws, set.seed));
    Ok(Answer::never_advice(json!({ "costs": set }), text))
}
