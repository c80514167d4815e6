//! `awn map` and `awn export`: files for people and for other programs.

use std::collections::BTreeSet;
use std::path::Path;

use anyhow::{anyhow, bail};
use awn_core::exchange::{self, DataFormat, Extent, Format, What};
use awn_core::model::{FieldId, Records};
use awn_core::problem::Problems;
use awn_core::rating::{History, RatingOf};
use awn_core::report::{Colouring, Dress, MapRequest};
use serde_json::json;

use super::answer::Answer;
use super::args::{Colour, ExportFormat, ExportWanted, ExportWhat, MapWanted};
use super::tables::year_or_latest;
use crate::backdrop::{self, Background};
use crate::commands::{drawing, today, write, write_data};

/// Draws a map.
pub fn map(wanted: &MapWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
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
    let below = wanted.background.clone().map(Background::of_file).unwrap_or_default();
    let backdrop = backdrop::ground(&below).map_err(|error| anyhow!(error))?;
    let dress = Dress { date: wanted.date.or_else(today), backdrop, ..Dress::default() };
    let (bytes, faults) = drawing(records, &request, &dress, &wanted.output, wanted.dpi)?;
    for fault in faults {
        problems.warning(wanted.output.display().to_string(), fault, "");
    }
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

fn written(file: &Path, year: i32) -> Answer {
    Answer::new(json!({ "file": file, "year": year }), format!("Wrote {} (harvest {year}).\n", file.display()))
}
