//! `awn map` and `awn export`: files for people and for other programs.

use std::collections::BTreeSet;
use std::path::Path;

use anyhow::{Context as _, anyhow, bail};
use awn_core::exchange::{self, Format, What};
use awn_core::model::Records;
use awn_core::rating::{self, Basis};
use awn_core::report::{self, Colouring, MapRequest};
use serde_json::json;

use super::answer::Answer;
use super::args::{Colour, ExportFormat, ExportWanted, ExportWhat, MapWanted};
use super::tables::year_or_latest;

/// An A4 page on its side, mm.
const PAGE_MM: (f64, f64) = (297.0, 210.0);

/// Draws a map.
pub fn map(wanted: &MapWanted) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let colouring = match wanted.colour {
        Colour::Rating => Colouring::Rating,
        Colour::Age => Colouring::Age,
        Colour::Density => Colouring::Density,
        Colour::Due => Colouring::Due,
        Colour::Uncertainty => Colouring::Uncertainty,
    };
    let year = year_or_latest(&project, wanted.year);
    let records = project.records();
    let fields = wanted.farm.as_deref().map(|name| fields_of_farm(records, name)).transpose()?;
    let basis = wanted.of.as_deref().map(|of| basis(records, of)).transpose()?.unwrap_or_default();
    let request = MapRequest { colouring, basis, year, fields, title: String::new(), size_mm: PAGE_MM };
    let bytes = drawing(records, &request, &wanted.output, wanted.dpi)?;
    write(&wanted.output, &bytes)?;
    Ok(written(&wanted.output, year))
}

/// An active that was tested, or an HRAC group by its number.
fn basis(records: &Records, of: &str) -> anyhow::Result<Basis> {
    let of = of.trim().to_lowercase().replace(' ', "");
    let tested = rating::tested_actives(records);
    if tested.contains_key(&of) {
        return Ok(Basis::Active(of));
    }
    if tested.values().any(|group| *group == of) {
        return Ok(Basis::Group(of));
    }
    let groups: BTreeSet<&str> = tested.values().map(String::as_str).collect();
    let (actives, groups): (Vec<&str>, Vec<&str>) =
        (tested.keys().map(String::as_str).collect(), groups.into_iter().collect());
    bail!("nothing was tested with “{of}”; tested were {} and the groups {}", actives.join(", "), groups.join(", "))
}

fn fields_of_farm(records: &Records, name: &str) -> anyhow::Result<BTreeSet<awn_core::model::FieldId>> {
    let farm = records.farm_named(name).ok_or_else(|| anyhow!("there is no farm “{name}”; awn fields lists them"))?;
    Ok(records.fields.values().filter(|field| field.farm == farm.id).map(|field| field.id).collect())
}

/// A map in the format that the file's name asks for.
pub fn drawing(records: &Records, request: &MapRequest, file: &Path, dpi: f64) -> anyhow::Result<Vec<u8>> {
    match file.extension().map(|extension| extension.to_string_lossy().to_lowercase()).as_deref() {
        Some("svg") => Ok(report::map_svg(records, request).into_bytes()),
        Some("png") if (30.0..=1200.0).contains(&dpi) => {
            report::map_png(records, request, dpi).map_err(|error| anyhow!(error))
        }
        Some("png") => bail!("{dpi} dots per inch cannot be drawn; give --dpi from 30 to 1200"),
        _ => bail!("the name must end in .png or .svg, so that the format is clear: {}", file.display()),
    }
}

/// Writes stops, walks, fields or results.
pub fn export(wanted: &ExportWanted) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let what = match wanted.what {
        ExportWhat::Stops => What::Stops,
        ExportWhat::Walks => What::Walks,
        ExportWhat::Fields => What::Fields,
        ExportWhat::Results => What::Results,
    };
    let format = match wanted.format {
        ExportFormat::Gpx => Format::Gpx,
        ExportFormat::Geojson => Format::GeoJson,
        ExportFormat::Csv => Format::Csv,
        ExportFormat::Xlsx => Format::Xlsx,
    };
    let year = year_or_latest(&project, wanted.year);
    let bytes = exchange::export(project.records(), year, what, format).map_err(|error| anyhow!(error))?;
    write(&wanted.output, &bytes)?;
    Ok(written(&wanted.output, year))
}

fn written(file: &Path, year: i32) -> Answer {
    Answer::new(json!({ "file": file, "year": year }), format!("Wrote {} (harvest {year}).\n", file.display()))
}

/// Writes a file under another name first, so that no half-written one is ever seen.
pub fn write(file: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let name = file.file_name().ok_or_else(|| anyhow!("{} names no file", file.display()))?;
    let unfinished = file.with_file_name(format!(".{}.unfinished", name.to_string_lossy()));
    std::fs::write(&unfinished, bytes)
        .and_then(|()| std::fs::rename(&unfinished, file))
        .with_context(|| format!("{} could not be written", file.display()))
}
