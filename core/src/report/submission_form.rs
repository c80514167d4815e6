//! The form that goes to the laboratory with a sample: one page or more for each.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde_json::{Value, json};

use crate::model::Stage;
use crate::report::qr::qr_svg;
use crate::samples::{HistoryYear, Submission, day};
use crate::typeset::Manuscript;

/// The forms of samples, in the order given. None if there is none.
pub fn submission_forms(told: &[Submission], today: Date) -> Option<Manuscript> {
    let mut files = BTreeMap::new();
    let forms: Vec<Value> = told
        .iter()
        .enumerate()
        .filter_map(|(number, told)| {
            let file = format!("qr-{number}.svg");
            files.insert(file.clone(), qr_svg(&told.sample.code)?.into_bytes());
            Some(form(told, &file))
        })
        .collect();
    if forms.is_empty() {
        return None;
    }
    let data = json!({ "title": "Samples for resistance testing", "made": day(today), "forms": forms });
    files.insert("data.json".to_owned(), data.to_string().into_bytes());
    Some(Manuscript { template: include_str!("../../../assets/pages/submission.typ"), files, date: today })
}

fn form(told: &Submission, qr: &str) -> Value {
    let sample = &told.sample;
    let collected = sample.events.iter().rev().find(|event| event.stage == Stage::Collected);
    let percent = |value: Option<f64>| value.map(|value| format!("{value:.0} %"));
    json!({
        "qr": qr, "code": sample.code, "farm": told.farm, "business": told.business, "field": told.field, "year": sample.year,
        "grid": told.grid_reference, "lonlat": told.place.map(|at| format!("{:.5}, {:.5}", at.y, at.x)),
        "area": format!("{:.2}", told.area_ha), "weed": told.species.name, "botanical": told.species.botanical,
        "eppo": told.species.code, "crop": told.crop(), "taken": sample.taken.map(day),
        "collector": collected.map(|event| event.person.as_str()).filter(|person| !person.trim().is_empty()),
        "mugs": sample.mugs.map(|mugs| format!("{mugs} mug{}", if mugs > 1.0 { "s" } else { "" })),
        "shed": percent(sample.shed_percent), "stands_for": percent(sample.stands_for_percent),
        "weather": sample.weather, "patches": sample.patches, "tests": told.tests(), "note": sample.note,
        "history": told.history.iter().map(year).collect::<Vec<_>>(), "gaps": told.gaps,
    })
}

fn year(year: &HistoryYear) -> Value {
    let passes: Vec<Value> = year
        .passes
        .iter()
        .map(|pass| {
            json!({
                "date": pass.date.map(|date| date.strftime("%-d %b %Y").to_string()), "active": pass.active,
                "group": pass.group, "mode": pass.mode, "dose": pass.dose_g_per_ha.map(dose), "stage": pass.growth_stage,
                "effect": pass.effect,
            })
        })
        .collect();
    let drilled = year.drilled.map(|date| date.strftime("%-d %b %Y").to_string());
    json!({ "year": year.year, "crop": year.crop, "drilled": drilled, "passes": passes })
}

fn dose(g: f64) -> String {
    if g.fract().abs() < 0.05 { format!("{g:.0}") } else { format!("{g:.1}") }
}
