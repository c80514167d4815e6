//! Outlooks and patches asked of the records of a project.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use crate::act::check::check_field;
use crate::act::outlook::parameters::Parameters;
use crate::act::outlook::patch_cost::{PatchCost, PatchQuestion, patch_costs};
use crate::act::outlook::scenario::{MOST_SCENARIOS, Ready, ready};
use crate::act::outlook::start::{Part, Start, scouted, start_of};
use crate::act::outlook::years::{FieldOutlook, OutlookError, OutlookField, OutlookRequest, money_is_sound, outlook};
use crate::density::{self, PatchRule, Patches, Surface, SurfaceMethod};
use crate::model::{Cultivation, DensityClass, DensityUnit, Field, LowLikelyHigh, Records, Scenario, same_name};
use crate::problem::{Problems, Severity};
use crate::progress::{Cancelled, Progress};
use crate::rating::{FieldRatings, field_ratings};

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
    /// What to start from everywhere, instead of the scouting.
    pub start: Option<GivenStart>,
}

/// A density that is said by hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GivenStart {
    /// Heads/m2.
    Heads(f64),
    /// A density class; its middle stands for it ([`DensityClass::plants_per_m2`]).
    Class(DensityClass),
}

impl GivenStart {
    /// The start of a field.
    fn start(self) -> Start {
        match self {
            Self::Heads(heads) => Start::even(heads, format!("{heads} heads/m2 as given")),
            Self::Class(class) => {
                let plants = class.plants_per_m2();
                let source = format!("density class “{}” as given, taken as {plants:.2} plants/m2 all over", class.label());
                let parts = vec![Part { share: 1.0, density: plants }];
                Start { unit: DensityUnit::PlantsPerM2, parts, source, notes: Vec::new() }
            }
        }
    }
}

impl std::str::FromStr for GivenStart {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let plain = text.trim().to_lowercase().replace(['-', '_'], " ");
        if let Some(class) = DensityClass::ALL.into_iter().find(|class| class.label() == plain) {
            return Ok(Self::Class(class));
        }
        let heads = text.trim().parse::<f64>().ok().filter(|heads| heads.is_finite());
        heads.map(Self::Heads).ok_or_else(|| {
            let classes = DensityClass::ALL.map(DensityClass::label).join(", ");
            format!(
                "“{}” is neither a number of heads a m2 nor a density class; use a number, or one of {classes}",
                text.trim()
            )
        })
    }
}

/// The second half of a progress that has a first one of as many steps.
struct SecondHalf<'a>(&'a dyn Progress);

impl Progress for SecondHalf<'_> {
    fn step(&self, done: usize, total: usize) {
        self.0.step(total + done, 2 * total);
    }

    fn cancelled(&self) -> bool {
        self.0.cancelled()
    }
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
    for scenario in &scenarios {
        for (number, year) in (1..).zip(&scenario.years) {
            let lost = year.given.programme.as_ref().filter(|name| records.programme_named(name).is_none());
            if let Some(name) = lost {
                let place = format!("scenario “{}”, year {number} ({})", scenario.name, year.given.crop);
                let what = format!("there is no programme “{name}”.");
                found.error(place, what, "Import the programme, or give the control itself.");
            }
        }
    }
    if let Some(GivenStart::Heads(heads)) = ask.start
        && !(0.0..=1e5).contains(&heads)
    {
        found.error("the start", format!("{heads} is no number of heads a m2."), "Give 0 or more.");
    }
    if found.has_errors() {
        problems.extend(found);
        return Ok(None);
    }
    let ratings = field_ratings(records, ask.first_harvest);
    let untested = FieldRatings::default();
    let in_field = |field: &Field| -> Vec<Ready> {
        let ratings = ratings.get(&field.id).unwrap_or(&untested);
        let any = scenarios.iter().flat_map(|scenario| &scenario.years).any(|year| year.given.programme.is_some());
        if any {
            scenarios.iter().map(|scenario| with_programmes(records, field, ratings, scenario, ask.first_harvest)).collect()
        } else {
            Vec::new()
        }
    };
    let scouted = scouted(records, ask.first_harvest - 1);
    let (done, steps) = (AtomicUsize::new(0), 2 * ask.fields.len());
    let starts: Vec<_> = ask
        .fields
        .par_iter()
        .map(|field| {
            progress.check(done.fetch_add(1, Ordering::Relaxed), steps)?;
            let start = match ask.start {
                Some(given) => Ok(given.start()),
                None => start_of(records, field, ask.first_harvest - 1, scouted.get(&field.id).copied()),
            };
            let name = format!("{}/{}", records.farm_name(field), field.name);
            Ok(start.map(|start| OutlookField { field: field.id, name, start, scenarios: in_field(field) }))
        })
        .collect::<Result<_, Cancelled>>()?;
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
    outlook(&fields, &request, &SecondHalf(progress)).map(Some)
}

/// A scenario with the control that the check of its programmes finds in a field by the tests up to harvest `year`, and with their
/// cost. Steps before drilling are left out of control: what they kill does not stand in the crop, and the day of drilling
/// counts for it.
fn with_programmes(records: &Records, field: &Field, ratings: &FieldRatings, scenario: &Ready, year: i32) -> Ready {
    let mut found = scenario.clone();
    let mut known: BTreeMap<String, (LowLikelyHigh, f64)> = BTreeMap::new();
    for crop_year in &mut found.years {
        let named = crop_year.given.programme.as_ref().and_then(|name| records.programme_named(name));
        let Some(programme) = named else { continue };
        let (control, cost) = *known.entry(programme.name.clone()).or_insert_with(|| {
            let mut in_crop = (**programme).clone();
            in_crop.steps.retain(|step| !is_before_drilling(&step.timing));
            let check = check_field(records, field, &in_crop, &[], ratings, year);
            (LowLikelyHigh::new(check.control.low, check.control.likely, check.control.high), programme.cost_per_ha())
        });
        crop_year.given.control = control.map(|percent| percent.clamp(0.0, 100.0));
        crop_year.given.cost_per_ha = Some(cost + crop_year.given.cost_per_ha.unwrap_or(0.0));
    }
    found
}

/// Whether the words of a timing say that no crop stands yet.
fn is_before_drilling(timing: &str) -> bool {
    let timing = timing.to_lowercase();
    ["before drilling", "pre-drilling", "before sowing", "pre-sowing", "stale seedbed", "stubble"]
        .iter()
        .any(|words| timing.contains(words))
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
            found.error(
                &place,
                format!("no scouting up to harvest {year} covers it."),
                "Import a survey with awn add scouting.",
            );
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
