//! Envelopes for fields: as many samples as the field's plan has units, each with a code of its own.

use geo::{Contains as _, Point};
use jiff::civil::Date;

use crate::model::{Field, FieldId, Plan, Record, Records, Sample, Stage, StageEvent};
use crate::problem::Problems;
use crate::project::{Command, Edit};
use crate::samples::{code, stage_of};
use crate::season::ripeness;
use crate::units::count;

/// Samples that were planned.
#[derive(Debug, Clone)]
pub struct Planned {
    /// The command to apply.
    pub command: Command,
    /// The new samples.
    pub samples: Vec<Sample>,
    /// Envelopes that were there already.
    pub there: usize,
}

/// Plans samples for fields of a harvest year: one for each unit of a field's plan, or one. What has a sample that is neither lost
/// nor withdrawn gets no second. Fields that do not exist in the year stand in the problems.
pub fn plan_samples(
    records: &Records,
    fields: &[FieldId],
    year: i32,
    day: Option<Date>,
    person: &str,
    problems: &mut Problems,
) -> Planned {
    let (mut samples, mut there): (Vec<Sample>, usize) = (Vec::new(), 0);
    let mut codes: Vec<String> = Vec::new();
    let ripe = ripeness(records, year);
    for id in fields {
        let Some(field) = records.fields.get(id) else { continue };
        let place = format!("{}, {}", records.farm_name(field), field.name);
        if !field.exists_in(year) {
            let what = format!("the field does not exist in harvest {year}, so no sample can be taken from it.");
            problems.error(place, what, "Choose the field that lies there in that year, or another year.");
            continue;
        }
        let plan = records.plan_of(*id, year);
        if plan.is_none() {
            let hint = "Propose stops for it before you go; the sample stays as it is.";
            problems.note(place, "no stops are planned in it; one sample for the whole field is planned.", hint);
        }
        for unit in 1..=plan.map_or(1, |plan| plan.samples()) {
            let alive = |sample: &Sample| !matches!(stage_of(records, sample), Stage::Lost | Stage::Withdrawn);
            let mut held = records.samples.values().filter(|sample| sample.field == *id && sample.year == year);
            if held.any(|sample| sample.unit == unit && alive(sample)) {
                there += 1;
                continue;
            }
            let code = code::next_code(records, field, year, &codes);
            codes.push(code.clone());
            let weed = ripe.fields.get(id).map_or(records.settings.season.main_species(), |days| days.species.as_str());
            samples.push(sample(records, field, plan.map(|plan| &**plan), unit, (code, year, day, person), weed));
        }
    }
    let mut edit = Edit::new(records, format!("Plan {}", count(samples.len(), "sample")));
    for sample in &samples {
        edit.put(Record::Sample(sample.clone()));
    }
    Planned { command: edit.done(), samples, there }
}

fn sample(
    records: &Records,
    field: &Field,
    plan: Option<&Plan>,
    unit: usize,
    (code, year, day, person): (String, i32, Option<Date>, &str),
    species: &str,
) -> Sample {
    let settings = &records.settings.samples;
    let sampled = plan.map(|plan| patches_of(plan, unit)).unwrap_or_default();
    let area: f64 = plan.map_or(0.0, |plan| sampled.iter().filter_map(|at| plan.patches.get(*at)).map(|p| p.area_m2).sum());
    let names: Vec<String> = sampled.iter().map(|at| (at + 1).to_string()).collect();
    let patches = match names.len() {
        0 => String::new(),
        1 => format!("patch {}", names[0]),
        _ => format!("patches {}", names.join(", ")),
    };
    Sample {
        plan: plan.map(|plan| plan.id),
        unit,
        species: species.to_owned(),
        patches,
        stands_for_percent: (area > 0.0).then(|| (100.0 * area / field.area_m2()).clamp(1.0, 100.0).round()),
        tests: settings.tests.clone(),
        actives: settings.actives.clone(),
        events: vec![StageEvent { stage: Stage::Planned, date: day, person: person.to_owned(), note: String::new() }],
        ..Sample::new(code, field.id, year)
    }
}

/// Indices of the patches in which stops of an envelope lie.
fn patches_of(plan: &Plan, unit: usize) -> Vec<usize> {
    let stops = || plan.stops.iter().filter(|stop| stop.unit == unit);
    let holds = |at: &usize| {
        plan.patches.get(*at).is_some_and(|patch| stops().any(|stop| patch.outline.contains(&Point(stop.position))))
    };
    (0..plan.patches.len()).filter(holds).collect()
}
