//! `awn patches`: what taking a patch out costs, against what it would return to the soil; and patches for a sprayer.

use anyhow::{Context as _, bail};
use awn_core::act::outlook::{self, Band, PatchCost};
use awn_core::exchange::{ZoneRate, Zones};
use awn_core::problem::Problems;
use awn_core::units::ha;
use serde_json::{Value, json};

use super::answer::{Answer, table};
use super::args::PatchesWanted;
use super::{fields, plans};
use crate::commands;

fn figure(value: f64) -> String {
    match value.abs() {
        v if v >= 1e6 => format!("{:.1} million", value / 1e6),
        v if v >= 10_000.0 => format!("{:.0} thousand", value / 1e3),
        v if v >= 10.0 => format!("{value:.0}"),
        v if v >= 0.05 => format!("{value:.1}"),
        _ => "0".to_owned(),
    }
}

fn band(band: Band) -> String {
    format!("{} ({} to {})", figure(band.median), figure(band.low), figure(band.high))
}

fn maybe(value: Option<Band>) -> String {
    value.map_or("-".to_owned(), band)
}

/// The patches of a field.
pub fn patches(wanted: &PatchesWanted, problems: &mut Problems) -> anyhow::Result<Answer> {
    let project = super::open(&wanted.project)?;
    let records = project.records();
    let field = fields::named(records, &wanted.field, Some(wanted.year))?;
    let asked = outlook::patches_of(records, &field, wanted.year, wanted.cultivation, wanted.control, problems);
    let Some((surface, patches, costs)) = asked else { bail!("nothing can be said of patches; mend the problems listed") };
    if let Some(lost) = wanted.patch.iter().find(|number| !(1..=patches.list.len()).contains(*number)) {
        bail!("there is no patch {lost}; {} has patches 1 to {}", field.name, patches.list.len())
    }
    let chosen: Vec<usize> =
        (1..=patches.list.len()).filter(|n| wanted.patch.is_empty() || wanted.patch.contains(n)).collect();
    let currency = &records.settings.act.currency;
    let mut rows = Vec::new();
    let mut list = Vec::new();
    for number in &chosen {
        let (patch, cost) = (&patches.list[number - 1], &costs[number - 1]);
        rows.push(row(*number, cost));
        list.push(json!({ "patch": number, "shape": plans::patch_json(patch), "figures": cost_json(cost) }));
    }
    let mut text = format!("{}: {} ({})\n", field.name, surface.source, surface.unit.label());
    let headings = ["Patch", "ha", "Plants", "Seeds set", "Plants next year", "Control needed if left %", "if removed %"];
    let more = [
        format!("Spray off {currency}"),
        format!("Crop on it {currency}"),
        "Pull, hours".into(),
        format!("Pull {currency}"),
    ];
    let headings: Vec<&str> = headings.into_iter().chain(more.iter().map(String::as_str)).collect();
    text.push_str(&table(&headings, &[true; 11], &rows));
    let before = wanted.cultivation.name().to_lowercase();
    text.push_str(&format!(
        "Next crop: winter wheat drilled in September, cultivation before it: {before} (--cultivation).\n"
    ));
    let missing: Vec<_> = costs.first().map(|cost| cost.missing.clone()).unwrap_or_default();
    if !missing.is_empty() {
        text.push_str(&format!("Not given, so not counted: {}.\n", missing.join(", ")));
    }
    text.push_str(
        "Taken out before seed sheds, and all of it: the best case. Heads that are pulled are bagged and burnt or buried.\n",
    );
    text.push_str(&format!("{}\n", outlook::CAUTION));
    let mut written = None;
    if let Some(output) = &wanted.output {
        let shapes = chosen.iter().map(|number| (*number, patches.list[number - 1].clone())).collect();
        let rate = wanted.rate.map(ZoneRate::litres_per_ha).transpose().map_err(|error| anyhow::anyhow!(error))?;
        let zones = Zones { field: &field, farm: records.farm_name(&field), year: wanted.year, patches: shapes, rate };
        let ending = output.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
        let files = zones.files(&ending).map_err(|error| anyhow::anyhow!(error))?;
        for file in &files {
            let path = file.ending.map_or_else(|| output.clone(), |ending| output.with_extension(ending));
            commands::write(&path, &file.bytes).with_context(|| format!("{} cannot be written", path.display()))?;
        }
        text.push_str(&format!("Wrote {}.\n", output.display()));
        written = Some(output);
    }
    Ok(Answer::never_advice(
        json!({
            "field": field.name, "farm": records.farm_name(&field), "year": wanted.year, "source": surface.source,
            "unit": surface.unit.label(), "currency": currency, "cultivation": wanted.cultivation.label(), "missing": missing, "patches": list, "written": written,
        }),
        text,
    ))
}

fn row(number: usize, cost: &PatchCost) -> Vec<String> {
    vec![
        number.to_string(),
        ha(cost.area_m2),
        band(cost.plants),
        band(cost.seeds_set),
        band(cost.plants_next),
        band(cost.control_if_left),
        band(cost.control_if_removed),
        cost.spray_off.map_or("-".into(), figure),
        maybe(cost.crop_lost),
        maybe(cost.hours),
        maybe(cost.pulling),
    ]
}

fn cost_json(cost: &PatchCost) -> Value {
    json!({
        "area_m2": cost.area_m2, "heads": cost.heads, "plants": cost.plants, "seeds_set": cost.seeds_set,
        "seeds_alive_in_autumn": cost.seeds_alive, "plants_next_year": cost.plants_next,
        "control_needed_if_left_percent": cost.control_if_left, "control_needed_if_removed_percent": cost.control_if_removed,
        "yield_loss_if_left_percent": cost.loss_if_left, "yield_loss_if_removed_percent": cost.loss_if_removed,
        "spray_off": cost.spray_off, "crop_lost": cost.crop_lost, "pulling_hours": cost.hours, "pulling": cost.pulling,
    })
}
