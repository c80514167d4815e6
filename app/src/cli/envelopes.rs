//! `awn card`, `awn labels`, `awn form`: pages for the field, the envelope and the laboratory; `awn walked`: tracks of the day.

use std::path::Path;
use std::sync::Arc;

use anyhow::bail;
use awn_core::exchange::{self, WalkedOptions};
use awn_core::model::{FieldId, Records, Sample, Walked, WalkedFigures};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::report::{CardSize, label_sheet};
use awn_core::units::{count, ha, length};
use jiff::civil::Date;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args_samples::{CardWanted, FormWanted, LabelsWanted, Paper, WalkedWanted};
use super::fields;
use super::tables::year_or_latest;
use crate::commands::{
    card_pdf, fields_planned, form_bytes, labels_pdf, samples_alive, samples_coded, submissions, today, write,
};

fn is_pdf(file: &Path) -> anyhow::Result<()> {
    match file.extension().map(|ending| ending.to_string_lossy().to_lowercase()).as_deref() {
        Some("pdf") => Ok(()),
        _ => bail!("the name must end in .pdf: {}", file.display()),
    }
}

fn clock() -> anyhow::Result<Date> {
    match today() {
        Some(today) => Ok(today),
        None => bail!("the clock of this machine gives no day; set it"),
    }
}

/// Field cards.
pub fn card(wanted: &CardWanted) -> anyhow::Result<Answer> {
    is_pdf(&wanted.output)?;
    let project = super::open(&wanted.project)?;
    let (records, year) = (project.records(), year_or_latest(&project, wanted.year));
    let named = wanted.field.iter().map(|name| fields::named(records, name, Some(year)).map(|field| field.id));
    let named: Vec<FieldId> = named.collect::<anyhow::Result<_>>()?;
    let fields = if named.is_empty() { fields_planned(records, year) } else { named };
    let size = if wanted.size == Paper::A5 { CardSize::A5 } else { CardSize::A4 };
    write(&wanted.output, &card_pdf(records, &fields, year, size, clock()?)?)?;
    let text = format!("Wrote {} for {} (harvest {year}).\n", wanted.output.display(), count(fields.len(), "field"));
    Ok(Answer::new(json!({ "file": wanted.output, "year": year, "fields": fields.len() }), text))
}

fn chosen(records: &Records, codes: &[String], year: i32) -> anyhow::Result<Vec<Arc<Sample>>> {
    let list = if codes.is_empty() { samples_alive(records, year) } else { samples_coded(records, codes)? };
    if list.is_empty() {
        bail!("there are no samples of harvest {year}; plan them with awn samples --plan");
    }
    Ok(list)
}

/// Labels for envelopes.
pub fn labels(wanted: &LabelsWanted) -> anyhow::Result<Answer> {
    is_pdf(&wanted.output)?;
    let sheet = label_sheet(&wanted.sheet).map_err(|error| anyhow::anyhow!(error))?;
    let project = super::open(&wanted.project)?;
    let (records, year) = (project.records(), year_or_latest(&project, wanted.year));
    let samples = chosen(records, &wanted.codes, year)?;
    write(&wanted.output, &labels_pdf(records, &samples, &sheet, wanted.from, clock()?)?)?;
    let text = format!("Wrote {} with {}.\n", wanted.output.display(), count(samples.len(), "label"));
    Ok(Answer::new(json!({ "file": wanted.output, "year": year, "labels": samples.len(), "sheet": sheet.name }), text))
}

/// Forms for the laboratory; first what is not known.
pub fn form(wanted: &FormWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    if wanted.years.is_some_and(|years| !(1..=30).contains(&years)) {
        bail!("the history goes back 1 to 30 harvests");
    }
    let project = super::open(&wanted.project)?;
    let (records, year) = (project.records(), year_or_latest(&project, wanted.year));
    let told = submissions(records, &chosen(records, &wanted.codes, year)?, wanted.years);
    for told in &told {
        for gap in &told.gaps {
            problems.note(format!("sample {}, {}", told.sample.code, told.field), format!("not known: {gap}"), "");
        }
    }
    let gaps: Vec<Value> = told.iter().map(|told| json!({ "sample": told.sample.code, "not_known": told.gaps })).collect();
    let Some(file) = &wanted.output else {
        let all: usize = told.iter().map(|told| told.gaps.len()).sum();
        let text = format!(
            "{} with {} not known. Give -o FILE.pdf or FILE.csv to write the forms.\n",
            count(told.len(), "sample"),
            count(all, "thing")
        );
        return Ok(Answer::new(json!({ "year": year, "samples": gaps }), text));
    };
    write(file, &form_bytes(&told, file, clock()?)?)?;
    let text = format!("Wrote {} for {}.\n", file.display(), count(told.len(), "sample"));
    Ok(Answer::new(json!({ "file": file, "year": year, "samples": gaps }), text))
}

/// Reads a track and says how good the walk was; without one, lists the walks that are kept.
pub fn walked(wanted: &WalkedWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let mut project = super::open(&wanted.project)?;
    let records = project.records().clone();
    let year = year_or_latest(&project, wanted.year);
    let field =
        wanted.field.as_ref().map(|name| fields::named(&records, name, Some(year)).map(|field| field.id)).transpose()?;
    let Some(track) = &wanted.track else {
        let kept: Vec<Arc<Walked>> =
            records.walked.values().filter(|w| w.year == year && field.is_none_or(|id| id == w.field)).cloned().collect();
        return Ok(answer(&records, year, &kept));
    };
    let options = WalkedOptions { year, field, date: wanted.date, person: wanted.person.clone() };
    let import = exchange::walked(&records, track, &options, problems, &Quiet)?;
    let walks: Vec<Arc<Walked>> = import
        .command
        .changes
        .iter()
        .filter_map(|change| match &change.after {
            Some(awn_core::model::Record::Walked(walk)) => Some(Arc::new(walk.clone())),
            _ => None,
        })
        .collect();
    let mut told = answer(&records, year, &walks);
    told.json["added"] = json!(import.added);
    told.json["updated"] = json!(import.updated);
    told.json["skipped"] = json!(import.skipped);
    if !wanted.dry_run {
        project.apply(import.command)?;
    }
    Ok(told)
}

fn answer(records: &Records, year: i32, walks: &[Arc<Walked>]) -> Answer {
    let name = |walk: &Walked| records.fields.get(&walk.field).map_or("?", |field| field.name.as_str()).to_owned();
    let figure = |value: Option<f64>| value.map_or("-".to_owned(), |value| format!("{value:.2}"));
    let rows: Vec<Vec<String>> = walks
        .iter()
        .map(|walk| {
            let found = &walk.figures;
            let stops =
                if found.away_m.is_empty() { "-".into() } else { format!("{}/{}", found.reached(), found.away_m.len()) };
            vec![
                name(walk),
                walk.date.map(|day| day.to_string()).unwrap_or_default(),
                stops,
                length(found.length_m),
                found.tramlines.to_string(),
                ha(found.area_m2),
                format!("{:.0}", 100.0 * found.population_within_25_m),
                figure(found.visited.map(|figures| figures.balance)),
                figure(found.planned.map(|figures| figures.balance)),
            ]
        })
        .collect();
    let headings = ["Field", "Day", "Stops", "Walked", "Tramlines", "ha", "Within 25 m %", "Balance", "Planned"];
    let text = if rows.is_empty() {
        format!("No walk of harvest {year} is kept. Give the track: awn walked PROJECT TRACK.gpx\n")
    } else {
        table(&headings, &[false, false, true, true, true, true, true, true, true], &rows)
    };
    let list: Vec<Value> = walks.iter().map(|walk| walk_json(walk, &name(walk))).collect();
    Answer::new(json!({ "year": year, "walks": list }), text)
}

fn walk_json(walk: &Walked, field: &str) -> Value {
    let found = &walk.figures;
    json!({
        "field": field, "year": walk.year, "date": walk.date, "person": walk.person, "source": walk.source,
        "reached": found.reached(), "stops": found.away_m.iter().map(|away| json!({
            "away_m": away, "reached": *away <= WalkedFigures::REACHED_M })).collect::<Vec<_>>(),
        "length_m": found.length_m, "tramlines": found.tramlines, "area_m2": found.area_m2,
        "population_within_25_m": found.population_within_25_m, "taken_at": found.taken_at, "figures": found.visited,
        "planned_figures": found.planned, "warnings": found.warnings,
    })
}
