//! Outlooks and patches asked of the records of a project.

use std::sync::Arc;

use rayon::prelude::*;

use crate::act::outlook::parameters::Parameters;
use crate::act::outlook::patch_cost::{PatchCost, PatchQuestion, patch_costs};
use crate::act::outlook::scenario::{MOST_SCENARIOS, ready};
use crate::act::outlook::start::{Start, start_of};
use crate::act::outlook::years::{FieldOutlook, OutlookError, OutlookField, OutlookRequest, money_is_sound, outlook};
use crate::density::{self, PatchRule, Patches, Surface, SurfaceMethod};
use crate::model::{Cultivation, Field, LowLikelyHigh, Records, Scenario, same_name};
use crate::problem::{Problems, Severity};
use crate::progress::Progress;

/// What is asked of the coming years.
#[derive(Debug, Clone)]
pub struct Ask {
    /// The fields.
    pub fields: Vec<Arc<Field>>,
    /// The scenarios, one to four.
    pub scenarios: Vec<Arc<Scenario>>,
    /// The first harvest; the density is that of the harvest before.
    pub first_harvest: i32,
    /// How many harvests.
    pub years: usize,
    /// Heads/m2 to start from everywhere, instead of the scouting.
    pub start_heads: Option<f64>,
}

/// The coming years of the fields asked for that have a density; those without one are named in `problems`, as an error if no
/// other is left. None if the scenarios, the parameters or all fields are at fault.
pub fn for_records(
    records: &Records,
    ask: &Ask,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Option<Vec<FieldOutlook>>, OutlookError> {
    if !(1..=MOST_SCENARIOS).contains(&ask.scenarios.len()) {
        return Err(OutlookError::Scenarios(ask.scenarios.len()));
    }
    let settings = &records.settings.outlook;
    let mut found = Problems::new();
    let parameters = Parameters::with(&settings.parameters, &mut found);
    let scenarios: Vec<_> = ask.scenarios.iter().filter_map(|scenario| ready(scenario, &mut found)).collect();
    if let Some(heads) = ask.start_heads.filter(|heads| !(0.0..=1e5).contains(heads)) {
        found.error("the start", format!("{heads} is no number of heads a m2."), "Give 0 or more.");
    }
    if found.has_errors() {
        problems.extend(found);
        return Ok(None);
    }
    let starts: Vec<_> = ask
        .fields
        .par_iter()
        .map(|field| {
            let start = match ask.start_heads {
                Some(heads) => Ok(Start::even(heads, format!("{heads} heads/m2 as given"))),
                None => start_of(records, field, ask.first_harvest - 1),
            };
            let name = format!("{}/{}", records.farm_name(field), field.name);
            start.map(|start| OutlookField { field: field.id, name, start })
        })
        .collect();
    let any = starts.iter().any(Result::is_ok);
    let mut fields = Vec::new();
    for start in starts {
        match start {
            Ok(field) => fields.push(field),
            Err(mut problem) => {
                if any {
                    problem.severity = Severity::Warning;
                }
                found.list.push(problem);
            }
        }
    }
    problems.extend(found);
    if fields.is_empty() {
        return Ok(None);
    }
    let request = OutlookRequest {
        first_harvest: ask.first_harvest,
        years: ask.years,
        settings,
        parameters: &parameters,
        scenarios: &scenarios,
    };
    outlook(&fields, &request, progress).map(Some)
}

/// The patches of a field in a harvest year and what follows from each. None, with the reason in `problems`, if there are none.
pub fn patches_of(
    records: &Records,
    field: &Field,
    year: i32,
    cultivation: Cultivation,
    control: Option<LowLikelyHigh>,
    problems: &mut Problems,
) -> Option<(Surface, Patches, Vec<PatchCost>)> {
    let place = format!("{}, {}", records.farm_name(field), field.name);
    let settings = &records.settings.outlook;
    let mut found = Problems::new();
    let parameters = Parameters::with(&settings.parameters, &mut found);
    if let Err(error) = money_is_sound(settings) {
        found.error("costs", format!("{error}."), "Set them with awn costs.");
    }
    if let Some(range) = control.filter(|range| !range.is_ordered() || range.low < 0.0 || range.high > 100.0) {
        let what = format!("control of {}, {}, {} % cannot be.", range.low, range.likely, range.high);
        found.error(&place, what, "Give rising values from 0 to 100 %.");
    }
    let surface = density::surface(records, field, year, records.settings.plan.cell_m);
    match surface.as_ref().map(|surface| surface.method) {
        None => found.error(&place, "it has no usable boundary.", "Draw or import it again."),
        Some(SurfaceMethod::Even) => {
            found.error(&place, format!("no scouting up to harvest {year} covers it."), "Import a survey with awn add scouting.");
        }
        Some(SurfaceMethod::Kernel) => {
            found.error(&place, "its scouting holds bare places, without numbers.", "Import counts or classes.");
        }
        Some(_) => {}
    }
    let is_sound = !found.has_errors();
    problems.extend(found);
    let surface = surface.filter(|_| is_sound)?;
    let patches = density::patches(&surface, &PatchRule::from(&records.settings.plan));
    let crop = records.crops.values().find(|crop| crop.field == field.id && crop.year == year);
    let money = crop.and_then(|crop| settings.crops.iter().find(|priced| same_name(&priced.crop, &crop.crop)));
    let name = format!("{}/{}", records.farm_name(field), field.name);
    let question = PatchQuestion {
        name: &name,
        unit: surface.unit,
        settings,
        parameters: &parameters,
        cultivation,
        control,
        value_per_ha: money.map(|money| money.price_per_t * money.yield_t_per_ha),
    };
    let costs = patch_costs(&patches.list, &question);
    Some((surface, patches, costs))
}
