//! Field cards: one for each field, to take along. Map with the stops in walking order, the part of a mug to take at each, how to judge
//! ripe seed, what to mind, room for notes, and the codes of the envelopes.
//!
//! Sources: when and how seed is taken, an advice leaflet of the British working group on weed resistance (June 2020, page 1) and a
//! trade notice of July 1999; cautions, common practice, no source. The label of what was sprayed says how long people stay out.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;
use serde_json::{Value, json};

use crate::crs::PlaceNames;
use crate::model::{Field, FieldId, Plan, Records, Sample, Stage};
use crate::report::field_map::field_map_svg;
use crate::report::qr::qr_svg;
use crate::samples::{Species, day, species, stage_of};
use crate::season::{Ripeness, ripeness};
use crate::typeset::Manuscript;
use crate::units;

/// Size of the paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CardSize {
    /// 210 by 297 mm.
    #[default]
    A4,
    /// 148 by 210 mm.
    A5,
}

impl CardSize {
    /// Width and height of the map on it, mm.
    fn map_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (182.0, 112.0),
            Self::A5 => (128.0, 104.0),
        }
    }

    fn paper(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::A5 => "a5",
        }
    }
}

/// Why there is no card.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CardError {
    /// No stops are planned in the field.
    #[error("{0}: no stops are planned in it for this harvest; propose stops first")]
    NoPlan(String),
    /// No field was asked for.
    #[error("no field has planned stops in this harvest; propose stops first")]
    Nothing,
}

/// The cards of fields, in the order given.
pub fn field_cards(
    records: &Records,
    fields: &[FieldId],
    year: i32,
    size: CardSize,
    today: Date,
) -> Result<Manuscript, CardError> {
    let mut files = BTreeMap::new();
    let mut cards = Vec::new();
    let mut names = PlaceNames::default();
    let ripe = ripeness(records, year);
    for field in fields.iter().filter_map(|id| records.fields.get(id)) {
        let plan = records.plan_of(field.id, year).ok_or_else(|| CardError::NoPlan(field.name.clone()))?;
        let number = cards.len() + 1;
        let map = format!("map-{number}.svg");
        files.insert(map.clone(), field_map_svg(records, field, Some(plan), size.map_mm()).into_bytes());
        let samples = samples_of(records, field.id, year);
        let envelopes: Vec<Value> = samples
            .iter()
            .enumerate()
            .filter_map(|(at, sample)| {
                let file = format!("qr-{number}-{at}.svg");
                files.insert(file.clone(), qr_svg(&sample.code)?.into_bytes());
                Some(json!({ "code": sample.code, "unit": sample.unit, "qr": file }))
            })
            .collect();
        let (weed, when) = ripe_seed(records, &ripe, field.id, year, &samples);
        let mut card = card(records, field, plan, &weed, &envelopes, &mut names);
        card["map"] = json!(map);
        card["ripe"] = json!(when);
        cards.push(card);
    }
    if cards.is_empty() {
        return Err(CardError::Nothing);
    }
    let title = format!("Field cards, harvest {year}");
    let data = json!({
        "title": title, "paper": size.paper(), "year": year, "made": day(today), "cards": cards,
        "map_width": size.map_mm().0, "map_height": size.map_mm().1,
    });
    files.insert("data.json".to_owned(), data.to_string().into_bytes());
    Ok(Manuscript { template: include_str!("../../../assets/pages/field_card.typ"), files, date: today })
}

/// Samples of a field that are still to be collected, or else all that are not given up.
fn samples_of(records: &Records, field: FieldId, year: i32) -> Vec<Arc<Sample>> {
    let mut list: Vec<Arc<Sample>> = records
        .samples
        .values()
        .filter(|sample| sample.field == field && sample.year == year)
        .filter(|sample| !matches!(stage_of(records, sample), Stage::Lost | Stage::Withdrawn))
        .cloned()
        .collect();
    let waiting = |sample: &Arc<Sample>| stage_of(records, sample) == Stage::Planned;
    if list.iter().any(waiting) {
        list.retain(waiting);
    }
    list.sort_by(|a, b| (a.unit, &a.code).cmp(&(b.unit, &b.code)));
    list
}

/// The weed to take seed of, and when its seed is ripe in the field, with what that rests on.
fn ripe_seed(
    records: &Records,
    ripe: &Ripeness,
    field: FieldId,
    year: i32,
    samples: &[Arc<Sample>],
) -> (Species, Option<String>) {
    let looked = ripe.fields.get(&field).map_or(records.settings.season.main_species(), |days| days.species.as_str());
    let code = samples.first().map_or(looked, |sample| sample.species.as_str());
    let when = ripe.of_weed(records, field, year, code).map(|days| format!("{} {}", days.words(), days.rests_on()));
    (species(code), when)
}

fn card(
    records: &Records,
    field: &Arc<Field>,
    plan: &Plan,
    weed: &Species,
    envelopes: &[Value],
    names: &mut PlaceNames,
) -> Value {
    let of_unit = |unit: usize| plan.stops.iter().filter(|stop| stop.unit == unit).map(|stop| stop.share).sum::<f64>();
    let stops: Vec<Value> = (1..)
        .zip(&plan.stops)
        .map(|(number, stop): (usize, _)| {
            let share = stop.share / of_unit(stop.unit).max(1e-9);
            json!({
                "number": number, "percent": format!("{:.0}", 100.0 * share), "part": mug_part(share * weed.mugs),
                "tramline": stop.tramline, "unit": stop.unit, "person": stop.person,
                "grid": names.name(stop.position).unwrap_or_default(),
                "lonlat": format!("{:.5}, {:.5}", stop.position.y, stop.position.x),
            })
        })
        .collect();
    let gate = plan.gate.map(
        |gate| json!({ "grid": names.name(gate).unwrap_or_default(), "lonlat": format!("{:.5}, {:.5}", gate.y, gate.x) }),
    );
    let no_go: Vec<&str> = records.no_go_of(field.id).map(|area| area.reason.as_str()).collect();
    json!({
        "field": field.name, "farm": records.farm_name(field), "area": units::ha(field.area_m2()),
        "envelopes": envelopes, "units": plan.samples(), "people": plan.walks().count(),
        "walk": units::length(plan.length_m()), "minutes": format!("{:.0}", plan.minutes()), "gate": gate, "stops": stops,
        "has_tramlines": records.tramlines_of(field.id).next().is_some(),
        "no_go": records.no_go_of(field.id).next().is_some(),
        "no_go_reasons": no_go.into_iter().filter(|reason| !reason.trim().is_empty()).collect::<Vec<_>>(),
        "sprays": sprays(records, field.id, plan.year), "mugs": mugs(weed.mugs), "weed": weed.words(),
        "note": field.note,
    })
}

/// What was sprayed on the crop of the harvest, latest first.
fn sprays(records: &Records, field: FieldId, year: i32) -> Vec<String> {
    let mut list: Vec<_> = records.sprays.values().filter(|spray| spray.field == field && spray.year == year).collect();
    list.sort_by_key(|spray| std::cmp::Reverse(spray.date));
    let words = |date: Option<Date>| date.map_or_else(|| "day not known".to_owned(), day);
    list.into_iter().map(|spray| format!("{}: {}", words(spray.date), spray.active)).collect()
}

fn mugs(mugs: f64) -> String {
    if (mugs - 1.0).abs() < 1e-9 { "a mugful".to_owned() } else { format!("{mugs:.0} mugfuls") }
}

/// Parts of a mug that people can judge by eye.
const PARTS: [(f64, &str); 18] = [
    (1.0 / 40.0, "1/40"),
    (1.0 / 30.0, "1/30"),
    (1.0 / 25.0, "1/25"),
    (1.0 / 20.0, "1/20"),
    (1.0 / 16.0, "1/16"),
    (1.0 / 12.0, "1/12"),
    (1.0 / 10.0, "1/10"),
    (1.0 / 8.0, "1/8"),
    (1.0 / 6.0, "1/6"),
    (1.0 / 5.0, "1/5"),
    (1.0 / 4.0, "1/4"),
    (1.0 / 3.0, "1/3"),
    (2.0 / 5.0, "2/5"),
    (1.0 / 2.0, "1/2"),
    (3.0 / 5.0, "3/5"),
    (2.0 / 3.0, "2/3"),
    (3.0 / 4.0, "3/4"),
    (1.0, "1"),
];

/// An amount of seed in words: "1/8 mug". Nearest by ratio, as people judge by eye; quarters above one mug.
pub fn mug_part(mugs: f64) -> String {
    if mugs < 0.02 {
        return "a pinch".to_owned();
    }
    if mugs > 1.1 {
        let quarters = (mugs * 4.0).round();
        let rest = ["", " 1/4", " 1/2", " 3/4"][quarters as usize % 4];
        let noun = if (quarters - 4.0).abs() < 0.5 { "mug" } else { "mugs" };
        return format!("{:.0}{rest} {noun}", (quarters / 4.0).floor());
    }
    let off = |part: f64| (part / mugs).ln().abs();
    let best = PARTS.iter().min_by(|a, b| off(a.0).total_cmp(&off(b.0)));
    best.map_or_else(String::new, |(_, words)| format!("{words} mug"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_become_parts_of_a_mug() {
        let parts = [0.125, 0.11, 0.27, 0.3, 0.01, 1.0, 1.5, 0.45, 2.9].map(mug_part);
        assert_eq!(
            parts,
            ["1/8 mug", "1/10 mug", "1/4 mug", "1/3 mug", "a pinch", "1 mug", "1 1/2 mugs", "1/2 mug", "3 mugs"]
        );
    }
}
