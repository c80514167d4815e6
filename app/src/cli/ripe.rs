//! `awn ripe`: looks at how much seed has shed, and when seed is ripe.

use anyhow::bail;
use awn_core::model::{Records, RipeCheck, RipeCheckId};
use awn_core::problem::Problems;
use awn_core::season::{self, Basis, Days, RipeDays, Sown};
use awn_core::units::count;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args::RipeWanted;
use super::fields;
use crate::commands;

/// Changes checks and the season as asked, then says when seed is ripe.
pub fn run(wanted: &RipeWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let year = wanted.year;
    change_season(&mut project, wanted)?;
    let records = project.records().clone();
    let field = wanted.field.as_ref().map(|name| fields::named(&records, name, Some(year))).transpose()?;
    if let (Some(field), Some(day)) = (&field, wanted.remove) {
        let held = records.ripe_checks.values().find(|check| check.field == field.id && check.date == day);
        let Some(held) = held else { bail!("{} has no check of {day}", field.name) };
        project.apply(commands::remove_check(&records, held))?;
    }
    if let (Some(field), Some(date), Some(shed_percent)) = (&field, wanted.date, wanted.shed) {
        let species = wanted.species.as_deref().unwrap_or(records.settings.season.main_species()).to_uppercase();
        let who = wanted.who.clone();
        let check = RipeCheck { id: RipeCheckId::new(), field: field.id, date, species, shed_percent, who };
        season::look_over(&records, &check, year, problems);
        if problems.has_errors() {
            bail!("the check was not kept");
        }
        project.apply(commands::keep_check(&records, &check))?;
    }
    Ok(answer(project.records(), year, field.map(|field| field.id)))
}

fn change_season(project: &mut awn_core::project::Project, wanted: &RipeWanted) -> anyhow::Result<()> {
    let records = project.records().clone();
    let mut settings = records.settings.season.clone();
    if let Some(shift) = wanted.shift {
        if !(-40..=40).contains(&shift) {
            bail!("seed is at most 40 days earlier or later than usual; {shift} days cannot be");
        }
        settings.shift_days.insert(wanted.year, shift);
        settings.shift_days.retain(|_, days| *days != 0);
    }
    if let Some(species) = &wanted.main_species {
        let code = species.trim().to_uppercase();
        if season::seed_window(&code, Sown::Autumn).is_none() {
            let known: Vec<&str> = season::seed_windows().iter().map(|row| row.species.as_str()).collect();
            bail!("“{species}” has no season window; use one of {}", known.join(", "));
        }
        settings.species.retain(|held| *held != code);
        settings.species.insert(0, code);
    }
    if settings != records.settings.season {
        project.apply(commands::set_season(&records, settings))?;
    }
    Ok(())
}

fn span(days: Option<Days>) -> Value {
    days.map_or(Value::Null, |days| json!([days.from, days.to]))
}

/// What a field's dates rest on, in words.
pub fn basis(days: &RipeDays) -> String {
    match days.basis {
        Basis::Window => "season window".to_owned(),
        Basis::OtherFields => "other fields".to_owned(),
        Basis::Checks => count(days.checks, "check"),
    }
}

/// When seed is ripe in the fields of a year, or in one of them.
fn answer(records: &Records, year: i32, only: Option<awn_core::model::FieldId>) -> Answer {
    let found = season::ripeness(records, year);
    let mut rows = Vec::new();
    let mut list = Vec::new();
    for field in records.fields_in(year).iter().filter(|field| only.is_none_or(|only| only == field.id)) {
        let Some(days) = found.fields.get(&field.id) else { continue };
        let farm = records.farm_name(field).to_owned();
        let either = |days: Option<Days>| days.map_or_else(String::new, |days| days.words());
        rows.push(vec![
            farm.clone(),
            field.name.clone(),
            days.species.clone(),
            days.words(),
            either(days.first),
            either(days.last),
            basis(days),
        ]);
        list.push(json!({
            "field": field.name, "field_id": field.id, "farm": farm, "species": days.species, "from": days.days.from,
            "to": days.days.to, "words": days.words(), "ten_percent": span(days.first), "twenty_percent": span(days.last),
            "window": span(Some(days.window)), "basis": basis(days), "checks": days.checks,
        }));
    }
    let shift = records.settings.season.shift(year);
    let mut text = match shift {
        0 => String::new(),
        days if days > 0 => format!("Seed is taken to be {} late.\n", count(days as usize, "day")),
        days => format!("Seed is taken to be {} early.\n", count(-days as usize, "day")),
    };
    for fit in &found.fits {
        text.push_str(&format!(
            "{}: {} in {}; from 10 to 20 % shed in {:.1} days.\n",
            fit.species,
            count(fit.checks, "check"),
            count(fit.fields, "field"),
            (fit.fit.day(0.2, None).0 - fit.fit.day(0.1, None).0)
        ));
    }
    let headings = ["Farm", "Field", "Weed", "10 to 20 % shed", "10 % between", "20 % between", "From"];
    text.push_str(&table(&headings, &[false; 7], &rows));
    let checks: Vec<Value> = records
        .ripe_checks_in(year)
        .iter()
        .map(|check| {
            let name = records.fields.get(&check.field).map(|field| field.name.as_str());
            json!({ "field": name, "date": check.date, "shed_percent": check.shed_percent, "species": check.species, "who": check.who })
        })
        .collect();
    let fits: Vec<Value> = found
        .fits
        .iter()
        .map(|fit| {
            json!({
                "species": fit.species, "slope_per_day": fit.fit.slope, "between_fields_days": fit.fit.between,
                "checks": fit.checks, "fields": fit.fields,
            })
        })
        .collect();
    Answer::new(json!({ "year": year, "shift_days": shift, "fields": list, "checks": checks, "fits": fits }), text)
}
