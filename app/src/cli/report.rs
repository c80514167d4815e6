//! `awn report`: a report as PDF.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use anyhow::{Context as _, anyhow, bail};
use awn_core::model::{FieldId, Rating, Records};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::rating::field_ratings;
use awn_core::report::{Part, Report, ReportRequest, Version, Words};
use awn_core::season;
use awn_core::typeset::Archival;
use awn_core::units;
use serde_json::json;

use super::answer::Answer;
use super::args_report::ReportWanted;
use crate::commands::{picture, today, write};

/// Writes a report.
pub fn run(wanted: &ReportWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    if wanted.output.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("pdf")) {
        bail!("a report is written as PDF: the name must end in .pdf: {}", wanted.output.display());
    }
    let project = super::open(&wanted.project)?;
    let request = request(project.records(), wanted)?;
    let report = Report::make(project.records(), &request, &Quiet)?;
    let (pdf, archival) = report.pdf()?;
    write(&wanted.output, &pdf)?;
    if let Some(said) = &report.unprintable {
        problems.warning(wanted.output.display().to_string(), said.clone(), "");
    }
    let content = &report.content;
    let pages = units::count(report.pages.count(), "page");
    let kept = if archival == Archival::A2a { "PDF/A-2a" } else { "tagged PDF 1.7" };
    let text = format!(
        "Wrote {}: {pages}, {}, harvest {} ({kept}).\n",
        wanted.output.display(),
        units::count(content.lines.len(), "field"),
        content.year
    );
    let class = |class: &awn_core::report::content::ClassLand| {
        let rating = class.rating.map_or("n.t.", Rating::label);
        json!({ "rating": rating, "fields": class.fields, "area_ha": class.area_m2 / units::M2_PER_HA })
    };
    let json = json!({
        "file": wanted.output, "year": content.year, "season": content.season.year, "pages": report.pages.count(),
        "fields": content.lines.len(), "area_ha": content.area_m2 / units::M2_PER_HA,
        "classes": content.classes.iter().map(class).collect::<Vec<_>>(),
        "due": content.season.due.len(), "standard": kept,
    });
    Ok(Answer::new(json, text))
}

fn request(records: &Records, wanted: &ReportWanted) -> anyhow::Result<ReportRequest> {
    let version = Version::from(wanted.version);
    let mut parts: BTreeSet<Part> =
        if wanted.part.is_empty() { version.parts() } else { wanted.part.iter().copied().collect() };
    if wanted.beside.is_some() && wanted.part.is_empty() {
        parts.insert(Part::Years);
    }
    if parts.contains(&Part::Years) && wanted.beside.is_none() {
        bail!("two harvests side by side need the second one: --beside YEAR");
    }
    parts.retain(|part| !wanted.without.contains(part));
    if parts.is_empty() {
        bail!("no part is left to write");
    }
    let words = match &wanted.words {
        None => Words::english(),
        Some(file) => Words::from_json(&text(file)?).map_err(|error| anyhow!("{}: {error}", file.display()))?,
    };
    Ok(ReportRequest {
        fields: chosen(records, wanted)?,
        pages: pages(records, wanted)?,
        parts,
        version,
        title: wanted.title.clone(),
        author: wanted.author.clone(),
        cover: wanted.picture.as_deref().map(picture).transpose()?.map(Arc::new),
        paper: wanted.paper.into(),
        beside: wanted.beside,
        words,
        ..ReportRequest::new(wanted.year, wanted.date.or_else(today).unwrap_or_default())
    })
}

fn text(file: &Path) -> anyhow::Result<String> {
    std::fs::read_to_string(file).with_context(|| format!("{} cannot be read", file.display()))
}

/// Fields of the farms and names asked for; none: all.
fn chosen(records: &Records, wanted: &ReportWanted) -> anyhow::Result<Option<BTreeSet<FieldId>>> {
    if wanted.farm.is_empty() && wanted.field.is_empty() {
        return Ok(None);
    }
    let mut fields = BTreeSet::new();
    for name in &wanted.farm {
        let farm = records.farm_named(name).ok_or_else(|| anyhow!("there is no farm “{name}”; awn fields lists them"))?;
        fields.extend(records.fields.values().filter(|field| field.farm == farm.id).map(|field| field.id));
    }
    for name in &wanted.field {
        fields.extend(named(records, name, wanted.year)?);
    }
    Ok(Some(fields))
}

fn pages(records: &Records, wanted: &ReportWanted) -> anyhow::Result<Option<BTreeSet<FieldId>>> {
    if wanted.page_for.is_empty() {
        return Ok(None);
    }
    let mut fields = BTreeSet::new();
    for name in &wanted.page_for {
        match name.as_str() {
            "due" => {
                let due = season::due(records, wanted.year).into_iter().filter(|due| due.due);
                fields.extend(due.map(|due| due.field));
            }
            "resistant" => {
                let known = field_ratings(records, wanted.year).into_iter();
                fields.extend(known.filter(|(_, known)| known.worst >= Some(Rating::RR)).map(|(field, _)| field));
            }
            name => fields.extend(named(records, name, wanted.year)?),
        }
    }
    Ok(Some(fields))
}

fn named(records: &Records, name: &str, year: i32) -> anyhow::Result<Vec<FieldId>> {
    let found = records.fields_named(name, Some(year));
    if found.is_empty() {
        bail!("there is no field “{name}” in harvest {year}; awn fields lists them");
    }
    Ok(found.into_iter().map(|field| field.id).collect())
}
