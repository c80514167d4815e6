//! What is told of samples as CSV: one row a spray, with the sample and its field in front; a harvest without a spray has one row.

use super::csv::{guarded, written};
use crate::model::Stage;
use crate::samples::Submission;

const HEADINGS: [&str; 30] = [
    "sample",
    "farm",
    "field",
    "harvest",
    "species",
    "grid_reference",
    "lon",
    "lat",
    "area_ha",
    "crop",
    "taken",
    "collected_by",
    "mugs",
    "shed_percent",
    "stands_for_percent",
    "patches",
    "weather",
    "tests",
    "note",
    "not_known",
    "history_harvest",
    "history_crop",
    "history_drilled",
    "spray_date",
    "active",
    "hrac_group",
    "mode_of_action",
    "dose_g_per_ha",
    "growth_stage",
    "effect",
];

/// The table.
pub fn submission_csv(told: &[Submission]) -> Result<Vec<u8>, String> {
    let mut rows = vec![HEADINGS.iter().map(ToString::to_string).collect()];
    for told in told {
        let own = own(told);
        for year in &told.history {
            let drilled = year.drilled.map(|day| day.to_string()).unwrap_or_default();
            let crop = [year.year.to_string(), guarded(year.crop.as_deref().unwrap_or_default()), drilled];
            let mut sprays: Vec<[String; 7]> = year
                .passes
                .iter()
                .map(|pass| {
                    [
                        pass.date.map(|day| day.to_string()).unwrap_or_default(),
                        guarded(&pass.active),
                        guarded(&pass.group),
                        pass.mode.to_owned(),
                        pass.dose_g_per_ha.map(|dose| dose.to_string()).unwrap_or_default(),
                        guarded(&pass.growth_stage),
                        guarded(&pass.effect),
                    ]
                })
                .collect();
            if sprays.is_empty() {
                sprays.push(Default::default());
            }
            rows.extend(sprays.into_iter().map(|spray| own.iter().chain(&crop).cloned().chain(spray).collect()));
        }
    }
    written(rows)
}

fn own(told: &Submission) -> Vec<String> {
    let sample = &told.sample;
    let collected = sample.events.iter().rev().find(|event| event.stage == Stage::Collected);
    let number = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    vec![
        guarded(&sample.code),
        guarded(&told.farm),
        guarded(&told.field),
        sample.year.to_string(),
        told.species.code.clone(),
        told.grid_reference.clone().unwrap_or_default(),
        told.place.map(|at| format!("{:.6}", at.x)).unwrap_or_default(),
        told.place.map(|at| format!("{:.6}", at.y)).unwrap_or_default(),
        format!("{:.4}", told.area_ha),
        guarded(told.crop().unwrap_or_default()),
        sample.taken.map(|day| day.to_string()).unwrap_or_default(),
        guarded(collected.map(|event| event.person.as_str()).unwrap_or_default()),
        number(sample.mugs),
        number(sample.shed_percent),
        number(sample.stands_for_percent),
        guarded(&sample.patches),
        guarded(&sample.weather),
        guarded(&told.tests()),
        guarded(&sample.note),
        guarded(&told.gaps.join(" ")),
    ]
}
