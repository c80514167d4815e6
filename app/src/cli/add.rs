//! `awn add …`: files into a project, each import one command.

use std::path::Path;

use anyhow::Context as _;
use awn_core::exchange::{
    self, BoundaryColumns, BoundaryOptions, FileOptions, Import, ScoutingOptions, TramlineOptions, Treatment,
    TreatmentSource,
};
use awn_core::geometry::geodesic_area_m2;
use awn_core::model::Records;
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::units::{M2_PER_HA, count};
use serde_json::json;

use super::answer::Answer;
use super::args::{AddWhat, OfFile};
use super::args_act::TableWanted;

/// Reads the file and applies what it holds; with `dry_run` only says what that would be.
pub fn run(what: &AddWhat, dry_run: bool, problems: &mut Problems) -> anyhow::Result<Answer> {
    match what {
        AddWhat::Boundaries {
            project,
            file,
            farm,
            of_file,
            columns,
            tramline_bearing,
            tramline_spacing,
            year,
            close_missing,
        } => {
            let options = BoundaryOptions {
                farm: farm.clone(),
                crs: of_file.crs.clone(),
                columns: BoundaryColumns {
                    name: columns.name_column.clone(),
                    farm: columns.farm_column.clone(),
                    crop: columns.crop_column.clone(),
                    area: columns.area_column.clone(),
                    date: columns.date_column.clone(),
                    density: columns.density_column.clone(),
                },
                area_unit: columns.area_unit,
                density_unit: columns.density_unit,
                date: columns.date,
                letters: of_file.encoding,
                layer: of_file.layer.clone(),
                tramline_bearing_deg: *tramline_bearing,
                tramline_spacing_m: *tramline_spacing,
                year: *year,
                close_missing: *close_missing,
            };
            apply(project, dry_run, |records| exchange::boundaries(records, file, &options, problems, &Quiet))
        }
        AddWhat::Gates { project, file, of_file, place } => {
            let options = FileOptions { place: place.columns(), ..said(of_file) };
            apply(project, dry_run, |records| exchange::gates(records, file, &options, problems, &Quiet))
        }
        AddWhat::NoGo { project, file, of_file } => {
            apply(project, dry_run, |records| exchange::no_go(records, file, &said(of_file), problems, &Quiet))
        }
        AddWhat::Tramlines { project, file, spacing, headland, of_file } => {
            let options = TramlineOptions { spacing_m: *spacing, headland_m: *headland, file: said(of_file) };
            apply(project, dry_run, |records| exchange::tramlines(records, file, &options, problems, &Quiet))
        }
        AddWhat::Scouting { project, file, date, date_column, kind, value_column, unit, frame_m2, of_file, place } => {
            let options = ScoutingOptions {
                value_column: value_column.clone(),
                frame_m2: *frame_m2,
                date_column: date_column.clone(),
                file: FileOptions { place: place.columns(), ..said(of_file) },
                // Without a day of its own the file has a column of days, which goes before this.
                ..ScoutingOptions::new(date.unwrap_or_default(), (*kind).into(), *unit)
            };
            apply(project, dry_run, |records| exchange::scouting(records, file, &options, problems, &Quiet))
        }
        AddWhat::Scenarios { project, file } => {
            apply(project, dry_run, |records| exchange::scenarios(records, file, problems))
        }
        AddWhat::Results { project, file, set, preview, map, same } => {
            let constants = set.iter().map(|(heading, value)| (format!("={value}"), heading.clone()));
            let same = same.iter().map(|(code, known)| (code.clone(), format!("={known}")));
            let map: Vec<_> = map.iter().cloned().chain(constants).chain(same).collect();
            if *preview {
                return Ok(previewed(super::open(project)?.records(), file, &map, problems));
            }
            apply(project, dry_run, |records| exchange::results(records, file, &map, problems, &Quiet))
        }
        AddWhat::Sprays(wanted) => table(Treatment::Sprays, wanted, dry_run, problems),
        AddWhat::Crops(wanted) => table(Treatment::Crops, wanted, dry_run, problems),
        AddWhat::Programmes(wanted) => table(Treatment::Programmes, wanted, dry_run, problems),
    }
}

/// A table of sprays, crops or programmes.
fn table(kind: Treatment, wanted: &TableWanted, dry_run: bool, problems: &mut Problems) -> anyhow::Result<Answer> {
    let constants = wanted.set.iter().map(|(heading, value)| (format!("={value}"), heading.clone()));
    let map: Vec<_> = wanted.map.iter().cloned().chain(constants).collect();
    let source = if wanted.file.as_os_str() == "-" {
        TreatmentSource::Text(std::io::read_to_string(std::io::stdin()).context("standard input cannot be read")?)
    } else {
        TreatmentSource::File(wanted.file.clone())
    };
    if !wanted.preview {
        return apply(&wanted.project, dry_run, |records| {
            exchange::treatments(records, kind, &source, &map, problems, &Quiet)
        });
    }
    let preview = exchange::treatment_preview(super::open(&wanted.project)?.records(), kind, &source, &map);
    let first = |index: usize| preview.rows.first().and_then(|row| row.get(index)).cloned().unwrap_or_default();
    let (mut rows, mut list) = (Vec::new(), Vec::new());
    for (index, column) in preview.columns.iter().enumerate() {
        rows.push(vec![column.name.clone(), column.heading.unwrap_or("not read").to_owned(), first(index)]);
        list.push(json!({ "column": column.name, "read_as": column.heading, "first": first(index) }));
    }
    let mut text = super::answer::table(&["Column", "Read as", "First row"], &[false; 3], &rows);
    let outcome = preview.outcome.map(|(added, updated, skipped)| {
        text.push_str(&format!("Would add {added}, update {updated}, leave out {}.\n", count(skipped, "row")));
        json!({ "added": added, "updated": updated, "skipped": skipped })
    });
    problems.extend(preview.problems);
    let json = json!({
        "heading_row": preview.heading, "rows": preview.count, "columns": list, "outcome": outcome, "remembered": preview.remembered,
    });
    Ok(Answer::new(json, text))
}

fn said(of_file: &OfFile) -> FileOptions {
    FileOptions {
        crs: of_file.crs.clone(),
        layer: of_file.layer.clone(),
        letters: of_file.encoding,
        ..FileOptions::default()
    }
}

fn apply(
    project: &Path,
    dry_run: bool,
    import: impl FnOnce(&Records) -> Result<Import, exchange::ImportError>,
) -> anyhow::Result<Answer> {
    let mut project = super::open(project)?;
    let records = project.records().clone();
    let import = import(&records)?;
    let (head, would) = if dry_run { ("Nothing was changed. It would be: a", "would_be") } else { ("A", "done") };
    if !dry_run {
        project.apply(import.command)?;
    }
    let mut text =
        format!("{head}dded {}, updated {}, left out {}.\n", import.added, import.updated, count(import.skipped, "row"));
    for line in &import.summary {
        text.push_str(line);
        text.push('\n');
    }
    let json = json!({
        "added": import.added, "updated": import.updated, "skipped": import.skipped, "summary": import.summary,
        "state": would,
        "repaired": import.repaired.iter().map(|shape| json!({
            "where": shape.place, "field": shape.name,
            "area_before_ha": geodesic_area_m2(&shape.before) / M2_PER_HA, "area_after_ha": geodesic_area_m2(&shape.after) / M2_PER_HA,
        })).collect::<Vec<_>>(),
    });
    Ok(Answer::new(json, text))
}

/// What a table of results would be read as.
fn previewed(records: &Records, file: &Path, map: &[(String, String)], problems: &mut Problems) -> Answer {
    let preview = exchange::preview(records, file, map, &Quiet);
    let mut rows = Vec::new();
    let mut list = Vec::new();
    for (index, column) in preview.columns.iter().enumerate() {
        let meaning = column.meaning.map(exchange::Meaning::heading);
        let first = preview.rows.first().and_then(|row| row.get(index)).cloned().unwrap_or_default();
        rows.push(vec![
            column.name.clone(),
            meaning.unwrap_or("not read").to_owned(),
            [column.active.clone(), column.dose.clone()].into_iter().flatten().collect::<Vec<_>>().join(" "),
            first.clone(),
        ]);
        list.push(json!({ "column": column.name, "read_as": meaning, "active": column.active, "dose": column.dose, "first": first }));
    }
    let mut text = super::answer::table(&["Column", "Read as", "Active", "First row"], &[false; 4], &rows);
    if preview.sheets.len() > 1 {
        text.push_str(&format!("Sheet {} of: {}.\n", preview.sheet, preview.sheets.join(", ")));
    }
    for (code, known) in &preview.near {
        text.push_str(&format!("{code} nearly matches the known {known}: --same \"{code}={known}\" if they are one.\n"));
    }
    for code in &preview.unknown {
        text.push_str(&format!(
            "{code} is not known and has no field: --same \"{code}=S standard\" if it is the standard.\n"
        ));
    }
    let mut outcome = None;
    if let Some((added, updated, skipped)) = preview.outcome {
        text.push_str(&format!("Would add {added}, update {updated}, leave out {}.\n", count(skipped, "row")));
        outcome = Some(json!({ "added": added, "updated": updated, "skipped": skipped }));
    }
    problems.extend(preview.problems);
    let json = json!({
        "heading_row": preview.heading, "rows": preview.count, "columns": list, "outcome": outcome, "remembered": preview.remembered,
        "sheet": preview.sheet, "sheets": preview.sheets, "near": preview.near,
        "unknown": preview.unknown,
    });
    Answer::new(json, text)
}
