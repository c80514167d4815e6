//! `awn act …`: what is left of programmes, what it costs, how often modes of action were used, in which order to harvest.

use std::collections::BTreeSet;

use anyhow::{anyhow, bail};
use awn_core::act::{self, Checks, FieldCheck, Range, money, percent, with_band};
use awn_core::model::{FieldId, Programme, Records};
use awn_core::project::Project;
use awn_core::report;
use awn_core::units::{M2_PER_HA, count, ha};
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args_act::{ActWhat, CheckWanted, PutWanted};
use super::{fields, tables};
use crate::commands;

/// Answers what was asked for.
pub fn run(what: &ActWhat) -> anyhow::Result<Answer> {
    match what {
        ActWhat::Check(wanted) => check(wanted),
        ActWhat::Put(wanted) => put(wanted),
        ActWhat::Programmes { project } => Ok(programmes(super::open(project)?.records())),
        ActWhat::Uses { project, field, year, harvests } => {
            uses(&super::open(project)?, field.as_deref(), *year, (*harvests).max(1))
        }
        ActWhat::Measures => Ok(measures()),
        ActWhat::Order { project, year, farm, output } => {
            order(&super::open(project)?, *year, farm.as_deref(), output.as_deref())
        }
    }
}

fn cautions() -> String {
    act::CAUTIONS.iter().map(|caution| format!("{caution}\n")).collect()
}

fn programme<'a>(records: &'a Records, name: &str) -> anyhow::Result<&'a Programme> {
    records.programme_named(name).map(|found| &**found).ok_or_else(|| {
        let names: Vec<&str> = records.programmes.values().map(|programme| programme.name.as_str()).collect();
        let known = if names.is_empty() { "none yet: awn add programmes reads them".to_owned() } else { names.join(", ") };
        anyhow!("there is no programme “{name}”; there are: {known}")
    })
}

fn fields_of_farm(records: &Records, name: &str, year: i32) -> anyhow::Result<BTreeSet<FieldId>> {
    let farm = records.farm_named(name).ok_or_else(|| anyhow!("there is no farm “{name}”; awn fields lists them"))?;
    Ok(records.fields_in(year).iter().filter(|field| field.farm == farm.id).map(|field| field.id).collect())
}

fn check(wanted: &CheckWanted) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let records = project.records();
    let instead = wanted.programme.as_deref().map(|name| programme(records, name)).transpose()?;
    let only = match (&wanted.field, &wanted.farm) {
        (Some(name), _) => Some(BTreeSet::from([fields::named(records, name, Some(wanted.year))?.id])),
        (None, Some(name)) => Some(fields_of_farm(records, name, wanted.year)?),
        (None, None) => None,
    };
    let checks = act::check(records, wanted.year, instead, only.as_ref());
    if wanted.field.is_some() {
        return Ok(one(records, &checks, wanted.year));
    }
    Ok(all(records, &checks, wanted.year))
}

fn name(records: &Records, field: FieldId) -> (String, String) {
    records
        .fields
        .get(&field)
        .map_or_else(Default::default, |field| (records.farm_name(field).to_owned(), field.name.clone()))
}

/// The check of every field, by money at risk.
pub fn all(records: &Records, checks: &Checks, year: i32) -> Answer {
    let currency = &records.settings.act.currency;
    let sum = |value: f64| money(currency, value);
    let rows: Vec<Vec<String>> = checks
        .fields
        .iter()
        .map(|check| {
            let (farm, field) = name(records, check.field);
            // Of what was not tested nothing is known: no figure that looks good.
            let known = |text: String| if check.tested == act::Tested::None { "n.t.".to_owned() } else { text };
            vec![
                farm,
                field,
                ha(check.area_m2),
                check.name.clone(),
                percent(check.if_susceptible.likely),
                known(with_band(check.control, percent)),
                sum(check.cost_per_ha),
                known(with_band(check.at_risk_per_ha, sum)),
                known(sum(check.at_risk().likely)),
                check.tested.label().to_owned(),
            ]
        })
        .collect();
    let headings =
        ["Farm", "Field", "ha", "Programme", "If S, %", "Left, %", "Cost/ha", "At risk/ha", "In the field", "Steps"];
    let right = [false, false, true, false, true, true, true, true, true, false];
    let mut text = table(&headings, &right, &rows);
    if checks.fields.is_empty() {
        text = String::from(
            "No programme is planned for this harvest. Put one on fields: awn act put PROJECT --year YEAR --programme NAME --all\n",
        );
    }
    for (farm, part) in checks.farms_ranked() {
        text.push_str(&format!(
            "{farm}: {} of {} for programmes is at risk in {} ({} ha); {} buys steps that were not tested.\n",
            with_band(part.at_risk, sum),
            sum(part.cost),
            count(part.fields, "field"),
            ha(part.area_m2),
            sum(part.untested)
        ));
    }
    if !checks.without.is_empty() && !checks.fields.is_empty() {
        text.push_str(&format!("Without a programme: {}.\n", count(checks.without.len(), "field")));
    }
    for line in act::ASSUMPTIONS {
        text.push_str(&format!("- {line}\n"));
    }
    text.push_str(&cautions());
    if checks.farms.len() > 1 {
        text.push_str(&format!(
            "All farms: {} of {} is at risk.\n",
            with_band(checks.all.at_risk, sum),
            sum(checks.all.cost)
        ));
    }
    let farms: Vec<Value> = checks
        .farms_ranked()
        .into_iter()
        .map(|(farm, part)| {
            json!({
                "farm": farm, "fields": part.fields, "area_ha": part.area_m2 / M2_PER_HA, "cost": part.cost,
                "at_risk": part.at_risk, "untested": part.untested,
            })
        })
        .collect();
    let without: Vec<String> = checks.without.iter().map(|field| name(records, *field).1).collect();
    let fields: Vec<Value> = checks.fields.iter().map(|check| field_json(records, check, year)).collect();
    Answer::never_advice(
        json!({
            "year": year, "currency": currency, "fields": fields, "farms": farms, "without_programme": without,
            "assumptions": act::ASSUMPTIONS, "cautions": act::CAUTIONS, "draws": act::DRAWS,
        }),
        text,
    )
}

fn band(range: Range) -> Value {
    json!({ "low": range.low, "likely": range.likely, "high": range.high })
}

fn field_json(records: &Records, check: &FieldCheck, year: i32) -> Value {
    let (farm, field) = name(records, check.field);
    let steps: Vec<Value> = check
        .steps
        .iter()
        .map(|step| {
            let known: Vec<Value> = step
                .known
                .iter()
                .map(|known| {
                    let read_from = match &known.basis {
                        act::Basis::Active => Some(known.active.clone()),
                        act::Basis::Group { tested } => Some(tested.clone()),
                        act::Basis::None => None,
                    };
                    json!({
                        "active": known.active, "group": known.group, "read_from": read_from, "rating": known.rating,
                        "year": known.year, "age": known.age, "old": known.old, "reductions": known.reductions,
                        "share_left": known.share.as_ref().map(|share| band(share.range())),
                    })
                })
                .collect();
            json!({
                "timing": step.step.timing, "active": step.step.active, "dose_g_per_ha": step.step.dose_g_per_ha,
                "cost_per_ha": step.step.cost_per_ha, "expected": step.step.control, "control": band(step.control),
                "tested": step.tested, "known": known,
            })
        })
        .collect();
    let uses = act::uses(records, check.field, year - 8, year - 1);
    let sentences = act::sentences(check, Some(&uses), &records.settings.act.currency);
    json!({
        "field": field, "farm": farm, "area_ha": check.area_m2 / M2_PER_HA, "programme": check.name, "tested": check.tested,
        "control_left": band(check.control), "without_untested": band(check.without_untested),
        "if_susceptible": band(check.if_susceptible), "cost_per_ha": check.cost_per_ha,
        "at_risk_per_ha": band(check.at_risk_per_ha), "at_risk": band(check.at_risk()),
        "untested_per_ha": check.untested_per_ha, "resisted_per_ha": check.resisted_per_ha,
        "measures": check.measure_keys, "heads_left_of_100": check.heads_left(), "steps": steps, "sentences": sentences,
    })
}

/// One field in sentences, with its steps.
fn one(records: &Records, checks: &Checks, year: i32) -> Answer {
    let Some(check) = checks.fields.first() else {
        let text = "No programme is planned in this field. Name one with --programme, or put one on it: awn act put\n";
        return Answer::never_advice(
            json!({ "year": year, "fields": [], "without_programme": checks.without.len() }),
            text.to_owned(),
        );
    };
    let currency = &records.settings.act.currency;
    let (farm, field) = name(records, check.field);
    let uses = act::uses(records, check.field, year - 8, year - 1);
    let mut text = format!("{farm}, {field}, harvest {year}\n\n");
    for sentence in act::sentences(check, Some(&uses), currency) {
        text.push_str(&format!("{}\n", sentence.text));
        for line in sentence.how {
            text.push_str(&format!("    {line}\n"));
        }
    }
    let rows: Vec<Vec<String>> = check
        .steps
        .iter()
        .map(|step| {
            vec![
                step.step.timing.clone(),
                step.step.active.clone(),
                step.worst().map_or("not tested", awn_core::model::Rating::label).to_owned(),
                step.known.iter().filter_map(|known| known.year).min().map_or("-".to_owned(), |year| year.to_string()),
                step.step.control.label(),
                with_band(step.control, percent),
                money(currency, step.step.cost_per_ha),
            ]
        })
        .collect();
    let headings = ["When", "Active", "Rating", "Test of", "Expected", "Here, %", "Cost/ha"];
    text.push('\n');
    text.push_str(&table(&headings, &[false, false, false, true, true, true, true], &rows));
    for line in act::ASSUMPTIONS {
        text.push_str(&format!("- {line}\n"));
    }
    text.push_str(&cautions());
    let json = json!({
        "year": year, "currency": currency, "fields": [field_json(records, check, year)],
        "assumptions": act::ASSUMPTIONS, "cautions": act::CAUTIONS,
    });
    Answer::never_advice(json, text)
}

fn put(wanted: &PutWanted) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let records = project.records().clone();
    let name = wanted.programme.as_deref().filter(|name| !name.eq_ignore_ascii_case("none"));
    let programme = name.map(|name| programme(&records, name)).transpose()?;
    for key in &wanted.measure {
        if act::measure(key).is_none() {
            let keys: Vec<&str> = act::measures().iter().map(|measure| measure.key.as_str()).collect();
            bail!("there is no measure “{key}”; there are: {}", keys.join(", "));
        }
    }
    let mut chosen: BTreeSet<FieldId> = BTreeSet::new();
    for field in &wanted.field {
        chosen.insert(fields::named(&records, field, Some(wanted.year))?.id);
    }
    if let Some(farm) = &wanted.farm {
        chosen.extend(fields_of_farm(&records, farm, wanted.year)?);
    }
    if let Some(crop) = &wanted.crop {
        let of_crop =
            records.crops.values().filter(|held| held.year == wanted.year && awn_core::model::same_name(&held.crop, crop));
        chosen.extend(of_crop.map(|held| held.field));
    }
    if wanted.all {
        chosen.extend(records.fields_in(wanted.year).iter().map(|field| field.id));
    }
    if chosen.is_empty() {
        bail!("no field is meant; give --field NAME, --farm NAME, --crop NAME or --all");
    }
    let measures = (!wanted.measure.is_empty()).then_some(wanted.measure.as_slice());
    let command = commands::put_programme(&records, &chosen, wanted.year, programme.map(|programme| programme.id), measures);
    let changed = command.changes.len();
    project.apply(command)?;
    let what = programme.map_or("no programme", |programme| programme.name.as_str());
    let text = format!("Planned for harvest {}: {what} in {}.\n", wanted.year, count(chosen.len(), "field"));
    Ok(Answer::never_advice(
        json!({ "year": wanted.year, "programme": programme.map(|programme| &programme.name), "fields": chosen.len(), "changed": changed }),
        text,
    ))
}

fn programmes(records: &Records) -> Answer {
    let currency = &records.settings.act.currency;
    let mut text = String::new();
    let mut list = Vec::new();
    for programme in records.programmes.values() {
        let cost = money(currency, programme.cost_per_ha());
        let crop = if programme.crop.is_empty() { String::new() } else { format!(" ({})", programme.crop) };
        text.push_str(&format!("{}{crop}, {cost} a hectare\n", programme.name));
        let rows: Vec<Vec<String>> = programme
            .steps
            .iter()
            .map(|step| {
                vec![
                    step.timing.clone(),
                    step.active.clone(),
                    step.dose_g_per_ha.map_or("-".to_owned(), |dose| format!("{dose} g/ha")),
                    step.control.label(),
                    money(currency, step.cost_per_ha),
                ]
            })
            .collect();
        text.push_str(&table(&["When", "Active", "Dose", "Expected", "Cost/ha"], &[false, false, true, true, true], &rows));
        text.push('\n');
        list.push(json!({
            "name": programme.name, "crop": programme.crop, "cost_per_ha": programme.cost_per_ha(), "steps": programme.steps,
            "note": programme.note,
        }));
    }
    if list.is_empty() {
        text = String::from("There is no programme yet. Read them from a table: awn add programmes PROJECT FILE\n");
    }
    Answer::never_advice(json!({ "currency": currency, "programmes": list }), text + &cautions())
}

fn uses(project: &Project, field: Option<&str>, year: Option<i32>, harvests: i32) -> anyhow::Result<Answer> {
    let records = project.records();
    let year = tables::year_or_latest(project, year);
    let from = year - harvests + 1;
    let wanted = match field {
        Some(name) => vec![fields::named(records, name, Some(year))?],
        None => records.fields_in(year),
    };
    let (mut rows, mut list, mut runs) = (Vec::new(), Vec::new(), String::new());
    for field in wanted {
        let found = act::uses(records, field.id, from, year);
        let mut row = vec![records.farm_name(&field).to_owned(), field.name.clone()];
        for year in from..=year {
            let groups = found.years.get(&year);
            let cell = groups.map_or("·".to_owned(), |groups| {
                let words: Vec<String> = groups
                    .iter()
                    .map(|(group, times)| if *times > 1 { format!("{group}x{times}") } else { group.clone() })
                    .collect();
                if words.is_empty() { "-".to_owned() } else { words.join(" ") }
            });
            row.push(cell);
        }
        rows.push(row);
        let said: Vec<String> = found.runs.iter().map(act::Run::said).collect();
        if !said.is_empty() {
            runs.push_str(&format!("{}: {}\n", field.name, said.join("; ")));
        }
        if let Some(gaps) = found.gaps_said() {
            runs.push_str(&format!("{}: {gaps}\n", field.name));
        }
        list.push(json!({
            "field": field.name, "farm": records.farm_name(&field), "uses": found.years, "crops": found.crops, "runs": said,
            "gaps": found.gaps(),
        }));
    }
    let years: Vec<String> = (from..=year).map(|year| year.to_string()).collect();
    let headings: Vec<&str> = ["Farm", "Field"].into_iter().chain(years.iter().map(String::as_str)).collect();
    let mut text = table(&headings, &vec![false; headings.len()], &rows);
    text.push_str("HRAC groups used in each harvest, x2 where more than once; - a crop without a record of sprays, · nothing known.\n\n");
    text.push_str(&runs);
    Ok(Answer::never_advice(json!({ "from": from, "year": year, "fields": list }), text))
}

fn measures() -> Answer {
    let mut text = String::new();
    let mut list = Vec::new();
    for measure in act::measures() {
        text.push_str(&format!(
            "{} [{}], instead of {}: {}\n    {} ({})\n",
            measure.name,
            measure.key,
            measure.instead_of,
            measure.label(),
            measure.source,
            measure.confidence
        ));
        list.push(json!({
            "key": measure.key, "name": measure.name, "instead_of": measure.instead_of, "acts_on": measure.acts_on.label(),
            "mean": measure.mean, "range": measure.range, "source": measure.source, "confidence": measure.confidence,
        }));
    }
    text.push_str("Outcomes were highly variable and inconsistent: read the ranges, not the means alone.\n");
    Answer::never_advice(json!({ "measures": list }), text + &cautions())
}

fn order(
    project: &Project,
    year: Option<i32>,
    farm: Option<&str>,
    output: Option<&std::path::Path>,
) -> anyhow::Result<Answer> {
    let records = project.records();
    let year = tables::year_or_latest(project, year);
    let mut farms = act::order(records, year);
    if let Some(name) = farm {
        let farm = records.farm_named(name).ok_or_else(|| anyhow!("there is no farm “{name}”; awn fields lists them"))?;
        farms.retain(|found, _| *found == farm.name);
    }
    let list: Vec<Value> = farms
        .iter()
        .map(|(farm, places)| {
            let fields: Vec<Value> = places
                .iter()
                .map(|place| {
                    json!({
                        "field": name(records, place.field).1, "part": place.block, "worst": place.worst,
                        "density": place.density.map(|(value, unit)| json!({ "value": value, "unit": unit.label() })),
                        "reason": place.reason,
                    })
                })
                .collect();
            json!({ "farm": farm, "fields": fields })
        })
        .collect();
    let mut text = report::field_order_text(records, year, &farms);
    if let Some(file) = output {
        let bytes = match file.extension().map(|ending| ending.to_string_lossy().to_lowercase()).as_deref() {
            Some("txt") => text.into_bytes(),
            Some("pdf") => {
                let today = commands::today().ok_or_else(|| anyhow!("the machine's clock gives no day"))?;
                report::field_order_pdf(records, year, &farms, today)?
            }
            _ => bail!("the name must end in .pdf or .txt, so that the format is clear: {}", file.display()),
        };
        commands::write(file, &bytes)?;
        text = format!("Wrote {} (harvest {year}).\n", file.display());
    }
    Ok(Answer::never_advice(json!({ "year": year, "farms": list, "file": output }), text))
}
