//! `awn samples`: envelopes planned, moved on, listed.

use std::sync::Arc;

use anyhow::bail;
use awn_core::model::{Record, Records, Sample, SampleId, Stage};
use awn_core::problem::Problems;
use awn_core::project::{Command, Edit, Project};
use awn_core::samples::{self, Details, Line, Move, book, plan_samples, reminders};
use awn_core::units::count;
use jiff::civil::Date;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args_samples::SamplesWanted;
use super::fields;
use super::tables::year_or_latest;
use crate::commands::{fields_planned, samples_coded, today, who_plans};

/// Does what was asked and lists the samples.
pub fn run(wanted: &SamplesWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let year = year_or_latest(&project, wanted.year);
    let named = samples_coded(project.records(), &wanted.codes)?;
    let ids: Vec<SampleId> = named.iter().map(|sample| sample.id).collect();
    let mut said = String::new();
    let mut changed: Vec<SampleId> = ids.clone();
    if let Some(command) = settings(project.records(), wanted)? {
        project.apply(command)?;
        said.push_str("Settings kept.\n");
    }
    if wanted.plan {
        let planned = plan(&mut project, wanted, year, problems)?;
        said.push_str(&format!("Planned {}.\n", count(planned.len(), "sample")));
        changed = planned;
    } else if let Some(stage) = wanted.move_to {
        if ids.is_empty() {
            bail!("name the samples to move on by their codes; awn samples lists them");
        }
        let to = moved(wanted, stage)?;
        let command = samples::move_on(project.records(), &ids, &to, today(), problems);
        apply(&mut project, command, problems)?;
        said.push_str(&format!("{}: {}.\n", count(ids.len(), "sample"), stage.meaning()));
    } else if wanted.back {
        let command = samples::step_back(project.records(), &ids, problems);
        apply(&mut project, command, problems)?;
        said.push_str(&format!("Took back the last stage of {}.\n", count(ids.len(), "sample")));
    } else if let Some(sample) = edited(wanted, &named)? {
        for sample in sample {
            let command = samples::change(project.records(), &sample, problems);
            apply(&mut project, command, problems)?;
        }
        said.push_str(&format!("Changed {}.\n", count(ids.len(), "sample")));
    }
    let mut answer = list(project.records(), wanted, year, &changed);
    answer.text = said + &answer.text;
    Ok(answer)
}

fn apply(project: &mut Project, command: Option<Command>, problems: &Problems) -> anyhow::Result<()> {
    match command {
        Some(command) => Ok(project.apply(command)?),
        None if problems.has_errors() => bail!("nothing was changed"),
        None => Ok(()),
    }
}

/// What is set for new samples; none: nothing was asked for.
fn settings(records: &Records, wanted: &SamplesWanted) -> anyhow::Result<Option<Command>> {
    let mut settings = records.settings.clone();
    let held = &mut settings.samples;
    if let Some(prefix) = &wanted.prefix {
        let letters = prefix.trim().to_ascii_uppercase();
        let own = (2..=4).contains(&letters.len()) && letters.bytes().all(|c| c.is_ascii_alphabetic());
        match letters.as_str() {
            "FARM" => held.prefix.clear(),
            _ if own => held.prefix = letters,
            _ => bail!("codes begin with 2 to 4 letters from A to Z, or with those of the farm: --prefix farm"),
        }
    }
    if let Some(code) = &wanted.species {
        let codes = samples::species_codes();
        let Some(known) = codes.iter().find(|known| known.eq_ignore_ascii_case(code.trim())) else {
            bail!("{code} is no weed that is known here; use {}", codes.join(", "));
        };
        let season = &mut settings.season.species;
        season.retain(|held| held != known);
        season.insert(0, (*known).to_owned());
    }
    let held = &mut settings.samples;
    if wanted.codes.is_empty() && !wanted.tests.is_empty() {
        held.tests.clone_from(&wanted.tests);
    }
    if let Some(actives) = wanted.actives.as_ref().filter(|_| wanted.codes.is_empty()) {
        held.actives.clone_from(actives);
    }
    let mut edit = Edit::new(records, "Set how samples are made");
    edit.put(Record::Settings(settings));
    Ok(Some(edit.done()).filter(|command| !command.changes.is_empty()))
}

fn plan(project: &mut Project, wanted: &SamplesWanted, year: i32, problems: &mut Problems) -> anyhow::Result<Vec<SampleId>> {
    let records = project.records().clone();
    let fields = if wanted.field.is_empty() {
        fields_planned(&records, year)
    } else {
        // Also fields of other years: that they do not exist in this one is said with what to do.
        let found = wanted.field.iter().map(|name| {
            fields::named(&records, name, Some(year)).or_else(|_| fields::named(&records, name, None)).map(|field| field.id)
        });
        found.collect::<anyhow::Result<Vec<_>>>()?
    };
    if fields.is_empty() {
        bail!("no field has planned stops in harvest {year}; propose them with awn stops, or name fields with --field");
    }
    let day = wanted.date.or_else(today);
    let planned = plan_samples(&records, &fields, year, day, &who_plans(&wanted.person), problems);
    if problems.has_errors() {
        bail!("no sample was planned");
    }
    project.apply(planned.command)?;
    Ok(planned.samples.iter().map(|sample| sample.id).collect())
}

fn moved(wanted: &SamplesWanted, stage: Stage) -> anyhow::Result<Move> {
    let Some(date) = wanted.date.or_else(today) else { bail!("give the day: --date 2027-07-14") };
    Ok(Move {
        stage,
        date,
        person: wanted.person.clone(),
        note: wanted.note.clone(),
        details: Details {
            mugs: wanted.mugs,
            shed_percent: wanted.shed,
            stands_for_percent: wanted.stands_for,
            weather: wanted.weather.clone(),
            patches: wanted.patches.clone(),
        },
    })
}

/// The samples named with what was said of them; none: nothing was.
fn edited(wanted: &SamplesWanted, named: &[Arc<Sample>]) -> anyhow::Result<Option<Vec<Sample>>> {
    let says = wanted.code.is_some()
        || !wanted.tests.is_empty()
        || wanted.actives.is_some()
        || wanted.mugs.or(wanted.shed).or(wanted.stands_for).is_some()
        || [&wanted.weather, &wanted.patches, &wanted.note].iter().any(|text| !text.is_empty());
    if named.is_empty() || !says {
        return Ok(None);
    }
    if wanted.code.is_some() && named.len() > 1 {
        bail!("a code is of one sample; name one");
    }
    let text = |new: &str, held: &str| if new.is_empty() { held.to_owned() } else { new.to_owned() };
    let edited = named.iter().map(|held| Sample {
        code: wanted.code.clone().unwrap_or_else(|| held.code.clone()),
        tests: if wanted.tests.is_empty() { held.tests.clone() } else { wanted.tests.clone() },
        actives: wanted.actives.clone().unwrap_or_else(|| held.actives.clone()),
        mugs: wanted.mugs.or(held.mugs),
        shed_percent: wanted.shed.or(held.shed_percent),
        stands_for_percent: wanted.stands_for.or(held.stands_for_percent),
        weather: text(&wanted.weather, &held.weather),
        patches: text(&wanted.patches, &held.patches),
        note: text(&wanted.note, &held.note),
        ..(**held).clone()
    });
    Ok(Some(edited.collect()))
}

fn list(records: &Records, wanted: &SamplesWanted, year: i32, only: &[SampleId]) -> Answer {
    let on = wanted.on.or_else(today);
    let year = only.first().and_then(|id| records.samples.get(id)).map_or(year, |sample| sample.year);
    let lines: Vec<Line> = book(records, year, on)
        .into_iter()
        .filter(|line| only.is_empty() || only.contains(&line.sample.id))
        .filter(|line| {
            wanted.stage.is_none_or(|stage| stage == line.status.stage) && (!wanted.late || line.status.is_late())
        })
        .collect();
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|line| {
            let field = records.fields.get(&line.sample.field);
            let status = &line.status;
            vec![
                line.sample.code.clone(),
                field.map_or("", |field| records.farm_name(field)).to_owned(),
                field.map_or("?", |field| field.name.as_str()).to_owned(),
                status.stage.label().to_owned(),
                text(status.since),
                status.next.map_or("", Stage::label).to_owned(),
                text(status.by),
                if status.is_late() { status.late_days.to_string() } else { String::new() },
            ]
        })
        .collect();
    let headings = ["Sample", "Farm", "Field", "Stage", "Since", "Next", "By", "Days late"];
    let mut said = if rows.is_empty() {
        format!("No samples of harvest {year}. Plan them: awn samples PROJECT --year {year} --plan\n")
    } else {
        table(&headings, &[false, false, false, false, false, false, false, true], &rows)
    };
    let reminders = reminders(records, year, on);
    for reminder in &reminders {
        said.push_str(&format!("{}. {}\n", reminder.text, reminder.hint));
    }
    let json = json!({
        "year": year,
        "samples": lines.iter().map(|line| sample_json(records, line)).collect::<Vec<_>>(),
        "reminders": reminders.iter().map(|r| json!({ "text": r.text, "hint": r.hint, "year": r.year })).collect::<Vec<_>>(),
    });
    Answer::new(json, said)
}

fn text(day: Option<Date>) -> String {
    day.map(|day| day.to_string()).unwrap_or_default()
}

fn sample_json(records: &Records, line: &Line) -> Value {
    let (sample, status) = (&line.sample, &line.status);
    let field = records.fields.get(&sample.field);
    json!({
        "id": sample.id, "code": sample.code, "field": field.map(|field| field.name.as_str()),
        "farm": field.map(|field| records.farm_name(field)), "year": sample.year, "stage": status.stage.label(),
        "since": status.since, "next": status.next.map(Stage::label), "by": status.by, "late_days": status.late_days,
        "unit": sample.unit, "species": sample.species, "taken": sample.taken, "mugs": sample.mugs,
        "shed_percent": sample.shed_percent, "stands_for_percent": sample.stands_for_percent, "weather": sample.weather,
        "patches": sample.patches, "tests": sample.tests, "actives": sample.actives, "note": sample.note,
        "expected": status.expected.iter().map(|e| json!({ "assay": e.assay, "about": e.about, "there": e.there }))
            .collect::<Vec<_>>(),
        "events": sample.events,
    })
}
