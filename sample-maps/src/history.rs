//! What the user of the sample farm entered by hand: the split field's past, tramlines, no-go areas, crops and sprays.

use awn_core::model::{
    Crop, CropId, Farm, Field, FieldId, FieldProgramme, FieldProgrammeId, NoGo, NoGoId, Record, Records, Settings, Spray,
    SprayId, Tramlines, TramlinesId, mode_of_action,
};
use awn_core::project::{Command, Edit};
use jiff::civil::{Date, date};

use crate::dice::Dice;
use crate::fields::{Estate, Land, estate};
use crate::names::{BUSINESS, FARMS, SPLIT, SPLIT_YEAR, WHOLE};
use crate::shape::{self, at, left_of, norm, towards};
use crate::weeds::{self, Weed};
use crate::{SEASON, scenarios, season};

/// Sprayer's width on each farm, m.
const SPACING_M: [f64; 3] = [24.0, 36.0, 24.0];
/// Fields with trial plots.
const TRIALS: [&str; 3] = ["Ravel Hill", "Upper Fleet", "Gorse Butts"];
const YEARS: std::ops::RangeInclusive<i32> = 2019..=2026;
const ROTATION: [&str; 8] = [
    "winter wheat",
    "winter wheat",
    "winter oilseed rape",
    "winter wheat",
    "spring barley",
    "winter wheat",
    "winter beans",
    "winter wheat",
];

/// See [`crate::extras`].
pub fn extras(records: &Records) -> Command {
    let estate = estate();
    let weeds = weeds::grow(&estate);
    let mut edit = Edit::new(records, "Add the sample farm's history");
    edit.put(Record::Settings(Settings {
        name: BUSINESS.to_owned(),
        outlook: scenarios::outlook_settings(),
        ..records.settings.clone()
    }));
    scenarios::put(&mut edit, records);
    for farm in records.farms.values().filter(|farm| FARMS.contains(&farm.name.as_str())) {
        edit.put(Record::Farm(Farm { business: BUSINESS.to_owned(), ..(**farm).clone() }));
    }
    let whole = split(records, &estate, &mut edit);
    for (number, (land, weed)) in estate.lands.iter().zip(&weeds).enumerate() {
        let Some(field) = find(records, land) else { continue };
        edit.put(Record::Tramlines(tramlines(records, &estate, land, field.id)));
        if TRIALS.contains(&land.name) && records.no_go_of(field.id).next().is_none() {
            edit.put(Record::NoGo(trial_plots(&estate, land, field.id)));
        }
        let is_half = SPLIT.contains(&land.name);
        for year in YEARS.filter(|year| !is_half || *year >= SPLIT_YEAR) {
            cropping(&mut edit, field.id, year, number, weed);
        }
        if let Some(whole) = whole.filter(|_| land.name == SPLIT[0]) {
            YEARS.filter(|year| *year < SPLIT_YEAR).for_each(|year| cropping(&mut edit, whole, year, number, weed));
        }
    }
    let placed = estate.lands.iter().zip(&weeds).filter_map(|(land, weed)| Some((find(records, land)?.id, land.name, weed)));
    season::notes(&mut edit, records, placed);
    crate::samples::add(records, &estate, &crate::results::envelopes(&estate, &weeds, SEASON - 1), &mut edit);
    edit.done()
}

fn find<'a>(records: &'a Records, land: &Land) -> Option<&'a Field> {
    records
        .fields
        .values()
        .find(|field| field.name == land.name && records.farm_name(field) == FARMS[land.farm])
        .map(|f| &**f)
}

/// Adds the field that was split and lets the halves start in their year. Returns it.
fn split(records: &Records, estate: &Estate, edit: &mut Edit<'_>) -> Option<FieldId> {
    let halves: Vec<&Field> = SPLIT.iter().filter_map(|name| find(records, estate.land(name)?)).collect();
    let farm = halves.first()?.farm;
    let known = records.fields.values().find(|field| field.name == WHOLE && field.farm == farm);
    let mut whole = known.map_or_else(|| Field::new(farm, WHOLE, geo::MultiPolygon(vec![])), |field| (**field).clone());
    whole.boundary = estate.whole()?;
    whole.until_year = Some(SPLIT_YEAR - 1);
    whole.note = format!("Split in {SPLIT_YEAR} by a new hedge.");
    let id = whole.id;
    edit.put(Record::Field(whole));
    for half in halves {
        edit.put(Record::Field(Field { from_year: Some(SPLIT_YEAR), came_from: vec![id], ..half.clone() }));
    }
    Some(id)
}

/// Tramlines along the longest side, the first one and a half spacings from it: the headland pass is half a spacing in.
fn tramlines(records: &Records, estate: &Estate, land: &Land, field: FieldId) -> Tramlines {
    let spacing = SPACING_M[land.farm];
    let along = towards(90.0 - land.bearing);
    let beside = |(a, b): &(geo::Coord<f64>, geo::Coord<f64>)| shape::dot(*b - *a, along).abs();
    let side = shape::edges(&land.piece.ring).max_by(|a, b| beside(a).total_cmp(&beside(b)));
    let anchor = side.map_or(land.piece.ring[0], |(a, b)| {
        let inward = left_of((b - a) * (1.0 / norm(b - a).max(1e-9)));
        (a + b) * 0.5 + inward * (1.5 * spacing)
    });
    Tramlines {
        id: records.tramlines_of(field).next().map_or_else(TramlinesId::new, |lines| lines.id),
        field,
        anchor: estate.lonlat(anchor),
        bearing_deg: land.bearing,
        spacing_m: spacing,
        headland_m: spacing,
        area: None,
        lines: Vec::new(),
    }
}

fn trial_plots(estate: &Estate, land: &Land, field: FieldId) -> NoGo {
    let field_shape = geo::MultiPolygon(vec![shape::polygon(&land.piece.ring, &land.piece.holes)]);
    let middle = awn_core::geometry::label_point(&field_shape).unwrap_or(at(0.0, 0.0));
    let (along, across) = (towards(90.0 - land.bearing), left_of(towards(90.0 - land.bearing)));
    let corner = |u: f64, v: f64| middle + along * (u * 36.0 + 90.0) + across * (v * 15.0 + 20.0);
    let ring = vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
    NoGo { id: NoGoId::new(), field, reason: "trial plots".to_owned(), area: estate.in_degrees(&ring, &[]) }
}

/// One crop with its sprays.
fn cropping(edit: &mut Edit<'_>, field: FieldId, year: i32, number: usize, weed: &Weed) {
    let mut dice = Dice::new(1_300 + 50 * number as u64 + year as u64 % 50);
    let turn = (year - 2019) as usize + 3 * number;
    let weedy_cereal = weed.level > 0.75 && year >= 2023 && turn % 8 == 1;
    let crop = if weedy_cereal { "spring barley" } else { ROTATION[turn % 8] };
    let late = if weed.level > 0.5 && year >= 2022 { 14 } else { 0 };
    let (drilled, passes) = programme(crop, year);
    let days = |from: Date, days: i64| from.saturating_add(jiff::Span::new().days(days));
    let drilled = days(drilled, late + (dice.unit() * 9.0) as i64);
    let cultivation = cultivation(crop, turn, weed).to_owned();
    edit.put(Record::Crop(Crop {
        id: CropId::new(),
        field,
        year,
        crop: crop.to_owned(),
        drilled: Some(drilled),
        cultivation,
    }));
    for (active, dose, day) in passes {
        let Some(mode) = mode_of_action(active) else { continue };
        let failed = mode.group == "2" && year >= 2023 && weed.control_left(active, year) < 0.6;
        edit.put(Record::Spray(Spray {
            id: SprayId::new(),
            field,
            year,
            date: Some(days(day, late + (dice.unit() * 9.0) as i64)),
            active: active.to_owned(),
            group: mode.group.to_owned(),
            dose_g_per_ha: Some(dose),
            effect: if failed { "survivors in patches".to_owned() } else { String::new() },
            growth_stage: stage(active, crop).to_owned(),
            cost_per_ha: Some(cost(active)),
        }));
    }
}

/// When a crop is drilled at the earliest, and its grass-weed sprays: active, g/ha, earliest day. Made up after common practice.
fn programme(crop: &str, year: i32) -> (Date, Vec<(&'static str, f64, Date)>) {
    let (this, last) = (year as i16, year as i16 - 1);
    match crop {
        "winter wheat" => {
            let mut passes = vec![
                ("glyphosate", 720.0, date(last, 9, 16)),
                ("flufenacet", 240.0, date(last, 10, 2)),
                ("diflufenican", 60.0, date(last, 10, 2)),
                ("pendimethalin", 1200.0, date(last, 10, 2)),
                ("mesosulfuron+iodosulfuron", 14.5, date(this, 3, 8)),
            ];
            if year <= 2021 {
                passes.push(("clodinafop", 30.0, date(this, 3, 20)));
            }
            (date(last, 9, 26), passes)
        }
        "winter oilseed rape" => (
            date(last, 8, 18),
            vec![
                ("metazachlor", 750.0, date(last, 8, 22)),
                ("cycloxydim", 200.0, date(last, 9, 22)),
                ("propyzamide", 840.0, date(last, 11, 24)),
            ],
        ),
        "winter beans" => (
            date(last, 10, 20),
            vec![
                ("pendimethalin", 1320.0, date(last, 10, 26)),
                ("propyzamide", 840.0, date(last, 12, 2)),
                ("cycloxydim", 200.0, date(this, 3, 24)),
            ],
        ),
        _ => (date(this, 3, 10), vec![("glyphosate", 1080.0, date(this, 2, 24)), ("pinoxaden", 45.0, date(this, 5, 2))]),
    }
}

/// What was done to the ground before drilling: the plough every sixth harvest where the weed is bad, else shallow.
fn cultivation(crop: &str, turn: usize, weed: &Weed) -> &'static str {
    match crop {
        "winter oilseed rape" => "low-disturbance subsoiler",
        "winter beans" => "ploughed",
        "spring barley" => "tine cultivator in autumn, stale seedbed",
        _ if weed.level > 0.6 && turn.is_multiple_of(6) => "ploughed",
        _ if turn.is_multiple_of(2) => "disc cultivator, 10 cm",
        _ => "tine cultivator, 15 cm",
    }
}

/// When an active is used, as growers write it.
fn stage(active: &str, crop: &str) -> &'static str {
    match (active, crop) {
        ("glyphosate", _) => "before drilling",
        ("flufenacet" | "diflufenican" | "pendimethalin" | "metazachlor", _) => "pre-emergence",
        ("propyzamide", "winter beans") => "post-emergence, winter",
        ("propyzamide", _) => "6 leaves",
        ("pinoxaden", _) => "GS 13-21",
        ("cycloxydim", _) => "GS 12-13",
        _ => "GS 23-29",
    }
}

/// Cost of an active's usual dose, pounds a hectare. Made up.
fn cost(active: &str) -> f64 {
    match active {
        "glyphosate" => 9.5,
        "flufenacet" => 24.0,
        "diflufenican" => 6.5,
        "pendimethalin" => 21.0,
        "metazachlor" => 34.0,
        "cycloxydim" => 29.0,
        "propyzamide" => 38.0,
        "clodinafop" => 26.0,
        "pinoxaden" => 31.0,
        _ => 36.0,
    }
}

/// Programmes as the agronomist keeps them: expected control on susceptible plants and costs are invented.
pub const PROGRAMMES: &str = "\
programme,crop,timing,active,dose,control_low,control_likely,control_high,cost_per_ha
Wheat with spring top-up,winter wheat,before drilling,glyphosate,720 g/ha,40,55,65,9.50
Wheat with spring top-up,winter wheat,pre-emergence,flufenacet+diflufenican,240+60 g/ha,60,72,82,30.50
Wheat with spring top-up,winter wheat,pre-emergence,pendimethalin,1200 g/ha,35,50,62,21.00
Wheat with spring top-up,winter wheat,GS 23-29,mesosulfuron+iodosulfuron,12+2.5 g/ha,75,88,95,36.00
\"Wheat, autumn stack\",winter wheat,before drilling,glyphosate,720 g/ha,40,55,65,9.50
\"Wheat, autumn stack\",winter wheat,pre-emergence,flufenacet+diflufenican,240+60 g/ha,60,72,82,30.50
\"Wheat, autumn stack\",winter wheat,pre-emergence,cinmethylin,500 g/ha,55,68,78,42.00
\"Wheat, autumn stack\",winter wheat,GS 11-12,prosulfocarb,2400 g/ha,30,42,55,24.00
Rape,winter oilseed rape,pre-emergence,metazachlor,750 g/ha,35,50,60,34.00
Rape,winter oilseed rape,GS 12-13,cycloxydim,200 g/ha,80,92,97,29.00
Rape,winter oilseed rape,6 leaves,propyzamide,840 g/ha,75,88,95,38.00
Beans,winter beans,pre-emergence,pendimethalin,1320 g/ha,35,50,62,22.00
Beans,winter beans,\"post-emergence, winter\",propyzamide,840 g/ha,65,80,90,38.00
Beans,winter beans,GS 12-13,cycloxydim,200 g/ha,80,92,97,29.00
Spring barley,spring barley,before drilling,glyphosate,1080 g/ha,80,90,96,13.00
Spring barley,spring barley,GS 13-21,pinoxaden,45 g/ha,75,88,95,31.00
";

/// See [`crate::planned`].
pub fn planned(records: &Records) -> Command {
    let estate = estate();
    let weeds = weeds::grow(&estate);
    let mut edit = Edit::new(records, "Plan the sample farm's programmes");
    for (number, (land, weed)) in estate.lands.iter().zip(&weeds).enumerate() {
        let Some(field) = find(records, land) else { continue };
        // The last two fields of the list have no programme yet.
        if number + 2 >= estate.lands.len() {
            continue;
        }
        let turn = (crate::SEASON - 2019) as usize + 3 * number;
        let worst = weed.level > 0.75;
        let (name, measures): (_, &[&str]) = match ROTATION[turn % 8] {
            "winter wheat" if worst => ("Wheat, autumn stack", &["late-drilling", "seed-rate"]),
            "winter wheat" if weed.level > 0.5 => ("Wheat with spring top-up", &["late-drilling"]),
            "winter wheat" => ("Wheat with spring top-up", &[]),
            "winter oilseed rape" => ("Rape", &[]),
            "winter beans" => ("Beans", &["plough"]),
            _ => ("Spring barley", &["spring-crop"]),
        };
        let Some(programme) = records.programme_named(name) else { continue };
        let held = records.field_programme(field.id, crate::SEASON);
        edit.put(Record::FieldProgramme(FieldProgramme {
            id: held.map_or_else(FieldProgrammeId::new, |held| held.id),
            field: field.id,
            year: crate::SEASON,
            programme: Some(programme.id),
            measures: measures.iter().map(|key| (*key).to_owned()).collect(),
        }));
    }
    edit.done()
}
