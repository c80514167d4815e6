//! `awn due`: which fields are due, why, how urgent, and what a budget leaves out.

use anyhow::bail;
use awn_core::model::{DueRules, DueSign, FieldId, Mark, Record, Records, mode_of_group, modes_of_action};
use awn_core::project::{Command, Edit};
use awn_core::season::{self, Budget, Due};
use awn_core::units::count;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args::DueWanted;
use super::fields;
use crate::commands;

/// Changes marks and rules as asked, then says what is due.
pub fn run(wanted: &DueWanted) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    for (names, mark) in [(&wanted.pin, Some(Mark::Pinned)), (&wanted.veto, Some(Mark::Vetoed)), (&wanted.release, None)] {
        let records = project.records().clone();
        let fields: Result<Vec<FieldId>, _> =
            names.iter().map(|name| fields::named(&records, name, Some(wanted.year)).map(|field| field.id)).collect();
        let fields = fields?;
        if !fields.is_empty() {
            project.apply(commands::mark(&records, &fields, wanted.year, mark, &wanted.reason))?;
        }
    }
    let command = changed_rules(project.records(), wanted)?;
    project.apply(command)?;
    let rules = &project.records().settings.due;
    let price = wanted.price.unwrap_or(rules.price);
    if wanted.money.is_some() && price <= 0.0 {
        bail!("--money needs the price of a sample's tests: add --price");
    }
    let budget = if wanted.budget.is_some() || wanted.money.is_some() {
        Budget { samples: wanted.budget, money: wanted.money, price }
    } else {
        Budget { price, ..Budget::of(rules) }
    };
    due(project.records(), wanted.year, budget)
}

/// The command that changes interval, rules and budget as asked.
fn changed_rules(records: &Records, wanted: &DueWanted) -> anyhow::Result<Command> {
    let mut settings = records.settings.clone();
    if wanted.usual_rules {
        settings.due = settings.due.reset();
    }
    for (sign, change) in &wanted.rule {
        let rule = change.of(&settings.due, *sign);
        settings.due.set(*sign, rule);
    }
    if let Some(interval) = wanted.interval {
        if !(1..=30).contains(&interval) {
            bail!("an interval is from 1 to 30 harvests");
        }
        settings.retest_interval_years = interval;
    }
    limits(&mut settings.due, wanted)?;
    if wanted.keep_budget {
        settings.due.samples = wanted.budget;
        settings.due.money = wanted.money;
        settings.due.price = wanted.price.unwrap_or(settings.due.price);
    }
    let mut edit = Edit::new(records, "Change how fields come to be due");
    edit.put(Record::Settings(settings));
    Ok(edit.done())
}

/// Changes the limits behind the rules as asked.
fn limits(rules: &mut DueRules, wanted: &DueWanted) -> anyhow::Result<()> {
    if let Some(years) = wanted.repeat_years {
        if !(2..=10).contains(&years) {
            bail!("the same mode of action is repeated from 2 to 10 harvests running");
        }
        rules.repeat_years = years;
    }
    if !wanted.repeat_groups.is_empty() {
        let groups: Vec<String> = wanted.repeat_groups.iter().map(|group| group.trim().to_owned()).collect();
        if let Some(unknown) = groups.iter().find(|group| mode_of_group(group).is_none()) {
            let known: Vec<&str> = modes_of_action().iter().map(|mode| mode.group).collect();
            bail!("“{unknown}” is no HRAC group that is known here; use {}", known.join(", "));
        }
        rules.repeat_groups = groups;
    }
    if let Some(times) = wanted.rise {
        if !(1.0..=100.0).contains(&times) {
            bail!("density has risen when it is from 1 to 100 times that of the survey before");
        }
        rules.rise_factor = times;
    }
    if let Some(metres) = wanted.neighbours {
        if !(0.0..=2000.0).contains(&metres) {
            bail!("neighbours are from 0 to 2000 m away");
        }
        rules.neighbour_m = metres;
    }
    Ok(())
}

/// Which fields are due, most urgent first, and which of them the budget pays for.
pub fn due(records: &Records, year: i32, budget: Budget) -> anyhow::Result<Answer> {
    let list = season::due(records, year);
    let spent = season::spend(records, &list, budget).map_err(|error| anyhow::anyhow!(error))?;
    let limited = spent.most.is_some();
    let mut rows = Vec::new();
    let mut all = Vec::new();
    for (at, due) in list.iter().enumerate() {
        let Some(field) = records.fields.get(&due.field) else { continue };
        let chosen = spent.fields.contains(&due.field);
        if chosen {
            rows.push(vec![
                records.farm_name(field).to_owned(),
                field.name.clone(),
                format!("{:.0}", due.score),
                due.reasons.join(" "),
            ]);
        }
        all.push(json!({
            "field": field.name, "field_id": field.id, "farm": records.farm_name(field),
            "due": due.due, "reasons": due.reasons, "score": due.score, "within_budget": chosen,
            "rank": at + 1, "parts": parts(due), "mark": due.mark.as_ref().map(|mark| mark.mark.label()),
            "samples": due.samples, "years_since_test": due.age, "interval": due.interval,
        }));
    }
    let total = list.iter().filter(|due| due.due).count();
    let mut text = format!("{} of {} due a test in {year}.\n", total, count(list.len(), "field"));
    if limited {
        let cost = spent.cost.map_or_else(String::new, |cost| format!(", {cost:.2} in all"));
        text.push_str(&format!("{} for {}{cost}.\n", count(spent.samples, "sample"), count(spent.fields.len(), "field")));
        text.push_str(&format!("{}\n", spent.left.words));
    }
    if let Some(note) = &spent.note {
        text.push_str(&format!("{note}\n"));
    }
    text.push_str(&table(&["Farm", "Field", "Score", "Why"], &[false, false, true, false], &rows));
    let left = &spent.left;
    let name = |id: &FieldId| records.fields.get(id).map(|field| field.name.clone());
    let rules: Vec<Value> = DueSign::ALL
        .iter()
        .map(|sign| {
            let rule = records.settings.due.rule(*sign);
            json!({ "rule": sign.label(), "on": rule.on, "points": rule.points, "sooner": rule.sooner })
        })
        .collect();
    let json = json!({
        "year": year,
        "fields": all,
        "interval": records.settings.retest_interval_years,
        "rules": rules,
        "limits": {
            "repeat_years": records.settings.due.repeat_years, "repeat_groups": records.settings.due.repeat_groups,
            "rise": records.settings.due.rise_factor, "neighbours_m": records.settings.due.neighbour_m,
        },
        "budget": {
            "most_samples": spent.most, "samples": spent.samples, "fields": spent.fields.len(), "cost": spent.cost,
            "note": spent.note,
        },
        "left_out": {
            "fields": left.fields.iter().filter_map(name).collect::<Vec<_>>(), "hectares": left.area_m2 / 1e4,
            "never_tested": left.never_tested, "years": left.years,
            "population": left.population.iter().map(|(unit, share)| json!({ "unit": unit.label(), "share": share })).collect::<Vec<_>>(),
            "words": left.words,
        },
    });
    Ok(Answer::new(json, text))
}

fn parts(due: &Due) -> Vec<Value> {
    let part = |part: &season::Part| json!({ "rule": part.sign.label(), "points": part.points, "most": part.most, "reason": part.reason });
    due.parts.iter().map(part).collect()
}
