//! `awn map` and `awn export`: files for people and for other programs.

use std::collections::BTreeSet;
use std::path::Path;

use anyhow::{Context as _, anyhow, bail};
use awn_core::exchange::{self, DataFormat, Extent, Format, What};
use awn_core::model::{FieldId, Records};
use awn_core::rating::{History, RatingOf};
use awn_core::report::{self, Colouring, Dress, MapRequest};
use serde_json::json;

use super::answer::Answer;
use super::args::{Colour, ExportFormat, ExportWanted, ExportWhat, MapWanted};
use super::report::today;
use super::tables::year_or_latest;

/// Draws a map.
pub fn map(wanted: &MapWanted) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let colouring = match wanted.colour {
        Colour::Rating => Colouring::Rating,
        Colour::RatingAndAge => Colouring::RatingAndAge,
        Colour::Change => Colouring::Change,
        Colour::Age => Colouring::Age,
        Colour::Density => Colouring::Density,
        Colour::Due => Colouring::Due,
        Colour::Plain => Colouring::Plain,
        Colour::Stage => Colouring::Stage,
        Colour::ControlLeft => Colouring::ControlLeft,
        Colour::MoneyAtRisk => Colouring::AtRisk,
        Colour::Uncertainty => Colouring::Uncertainty,
    };
    let year = year_or_latest(&project, wanted.year);
    let records = project.records();
    let of = rating_of(records, wanted)?;
    let fields = chosen(records, year, wanted)?;
    let request = MapRequest { colouring, of, year, fields, title: wanted.title.clone(), size_mm: wanted.size };
    let dress = Dress { date: Some(wanted.date.unwrap_or_else(today)), ..Dress::default() };
    let bytes = drawing(records, &request, &dress, &wanted.output, wanted.dpi)?;
    write(&wanted.output, &bytes)?;
    Ok(written(&wanted.output, year))
}

/// What ratings are taken from; only what was tested in the project can be asked for.
fn rating_of(records: &Records, wanted: &MapWanted) -> anyhow::Result<RatingOf> {
    let history = History::of(records, i32::MAX);
    let tested = |list: BTreeSet<&str>| if list.is_empty() { "none".to_owned() } else { Vec::from_iter(list).join(", ") };
    let rated = matches!(wanted.colour, Colour::Rating | Colour::RatingAndAge | Colour::Change);
    match (&wanted.mode, &wanted.active) {
        (None, None) => Ok(RatingOf::Worst),
        _ if !rated => bail!("--mode and --active go with --colour rating, rating-and-age or change"),
        (Some(mode), _) => {
            let group = history.all_groups().into_iter().find(|group| group.eq_ignore_ascii_case(mode.trim()));
            let group = group.ok_or_else(|| {
                anyhow!("group {mode} was not tested in this project; tested groups: {}", tested(history.all_groups()))
            })?;
            Ok(RatingOf::Group(group.to_owned()))
        }
        (None, Some(name)) => {
            let active = history.all_actives().into_iter().find(|active| active.eq_ignore_ascii_case(name.trim()));
            let active = active.ok_or_else(|| {
                anyhow!("{name} was not tested in this project; tested actives: {}", tested(history.all_actives()))
            })?;
            Ok(RatingOf::Active(active.to_owned()))
        }
    }
}

/// Fields of the harvest that were asked for; none: all.
fn chosen(records: &Records, year: i32, wanted: &MapWanted) -> anyhow::Result<Option<BTreeSet<FieldId>>> {
    if wanted.farm.is_none() && wanted.field.is_empty() {
        return Ok(None);
    }
    let mut fields = BTreeSet::new();
    if let Some(name) = &wanted.farm {
        let farm = records.farm_named(name).ok_or_else(|| anyhow!("there is no farm “{name}”; awn fields lists them"))?;
        fields.extend(records.fields_in(year).iter().filter(|field| field.farm == farm.id).map(|field| field.id));
    }
    for name in &wanted.field {
        fields.insert(super::fields::named(records, name, Some(year))?.id);
    }
    Ok(Some(fields))
}

/// A map in the format that the file's name asks for.
pub fn drawing(records: &Records, request: &MapRequest, dress: &Dress, file: &Path, dpi: f64) -> anyhow::Result<Vec<u8>> {
    match file.extension().map(|extension| extension.to_string_lossy().to_lowercase()).as_deref() {
        Some("svg") => Ok(report::draw_map(records, request, dress).svg.into_bytes()),
        Some("pdf") => {
            report::map_pdf(records, request, dress, dress.date.unwrap_or_else(today)).map_err(|error| anyhow!(error))
        }
        Some("png") if (30.0..=1200.0).contains(&dpi) => {
            let drawing = report::draw_map(records, request, dress);
            report::drawing_png(&drawing, dpi).map_err(|error| anyhow!(error))
        }
        Some("png") => bail!("{dpi} dots per inch cannot be drawn; give --dpi from 30 to 1200"),
        _ => bail!("the name must end in .png, .svg or .pdf, so that the format is clear: {}", file.display()),
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
        ExportWhat::Everything => return data(project.records(), Extent::Everything, wanted),
        ExportWhat::Shared => return data(project.records(), Extent::Shared, wanted),
    };
    let format = match wanted.format {
        ExportFormat::Gpx => Format::Gpx,
        ExportFormat::Geojson => Format::GeoJson,
        ExportFormat::Csv => Format::Csv,
        ExportFormat::Shp => Format::Shapefile,
        ExportFormat::Gpkg => Format::GeoPackage,
        ExportFormat::Kml => Format::Kml,
        ExportFormat::Taskdata => Format::TaskData,
        ExportFormat::Xlsx => Format::Xlsx,
    };
    let year = year_or_latest(&project, wanted.year);
    let mut records = Records::clone(project.records());
    if !wanted.field.is_empty() {
        let named = wanted.field.iter().map(|name| super::fields::named(&records, name, Some(year)).map(|field| field.id));
        let named = named.collect::<anyhow::Result<BTreeSet<_>>>()?;
        records.fields.retain(|id, _| named.contains(id));
    }
    let files = exchange::export_files(&records, year, what, format).map_err(|error| anyhow!(error))?;
    for file in files {
        let output = file.ending.map_or_else(|| wanted.output.clone(), |ending| wanted.output.with_extension(ending));
        write(&output, &file.bytes)?;
    }
    Ok(written(&wanted.output, year))
}

/// Writes all data, or the copy to share.
fn data(records: &Records, extent: Extent, wanted: &ExportWanted) -> anyhow::Result<Answer> {
    let format = match wanted.format {
        ExportFormat::Gpkg => DataFormat::GeoPackage,
        ExportFormat::Csv => DataFormat::Csv,
        ExportFormat::Xlsx => DataFormat::Xlsx,
        _ => bail!("all data are written as gpkg, csv or xlsx"),
    };
    let count = write_data(records, extent, format, &wanted.output)?;
    let json = json!({ "file": wanted.output, "files": count });
    Ok(Answer::new(json, format!("Wrote {} ({}).\n", wanted.output.display(), awn_core::units::count(count, "file"))))
}

/// Writes all data to a file; a set of CSV files goes into a folder, or into one archive if the name ends in .zip. Gives the number
/// of files.
pub fn write_data(records: &Records, extent: Extent, format: DataFormat, output: &Path) -> anyhow::Result<usize> {
    let files = exchange::everything(records, extent, format).map_err(|error| anyhow!(error))?;
    let zipped = output.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("zip"));
    match files.as_slice() {
        [(name, bytes)] if name.is_empty() => write(output, bytes)?,
        files if zipped => write(output, &exchange::zipped(files).map_err(|error| anyhow!(error))?)?,
        files => {
            std::fs::create_dir_all(output).with_context(|| format!("{} cannot be made", output.display()))?;
            files.iter().try_for_each(|(name, bytes)| write(&output.join(name), bytes))?;
        }
    }
    Ok(files.len())
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
