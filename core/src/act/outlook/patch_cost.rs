//! A patch: what spraying it off or pulling it before seed sheds costs, against what it would return to the soil.
//!
//! Counted in seeds set, seeds alive in late September, and plants they send up in the next crop, for the whole patch; and in
//! the control that the next crop would need so that the patch carries no more heads than now. Bands from the same draws as the
//! outlook. That everything in the patch is taken out, and in time, is the best case.

use crate::act::outlook::crops::crop;
use crate::act::outlook::draw::Draw;
use crate::act::outlook::parameters::{Key, Parameters};
use crate::act::outlook::quantiles::drawn;
use crate::act::outlook::scenario::ReadyYear;
use crate::act::outlook::seedbank::{Bank, bank_after, plants_of, year};
use crate::act::outlook::years::Band;
use crate::act::outlook::yield_loss::hyperbola;
use crate::model::{Cultivation, DensityUnit, LowLikelyHigh, OutlookSettings, Patch, ScenarioYear};
use crate::units::M2_PER_HA;

/// What is asked of the patches of a field.
#[derive(Debug, Clone)]
pub struct PatchQuestion<'a> {
    /// Farm and name of the field, from which the draws follow.
    pub name: &'a str,
    /// Unit of the patches' density.
    pub unit: DensityUnit,
    /// Draws, seed, prices and costs.
    pub settings: &'a OutlookSettings,
    /// Ranges of the parameters.
    pub parameters: &'a Parameters,
    /// How the soil is moved before the next crop.
    pub cultivation: Cultivation,
    /// Control expected in the next crop, %, if known.
    pub control: Option<LowLikelyHigh>,
    /// Value of the crop that stands there now, money a hectare, if known.
    pub value_per_ha: Option<f64>,
}

/// A patch and what follows.
#[derive(Debug, Clone, PartialEq)]
pub struct PatchCost {
    /// Area, m2.
    pub area_m2: f64,
    /// Heads in the patch.
    pub heads: Band,
    /// Plants in the patch.
    pub plants: Band,
    /// Seeds that it sets.
    pub seeds_set: Band,
    /// Of those, seeds alive in late September.
    pub seeds_alive: Band,
    /// Plants that these send up in the next autumn-sown crop.
    pub plants_next: Band,
    /// Control that the next crop needs if the patch sheds, %.
    pub control_if_left: Band,
    /// Control that it needs if nothing sheds, %: older seed comes up all the same.
    pub control_if_removed: Band,
    /// Yield lost on the patch in the next crop if it sheds, %; none without a control.
    pub loss_if_left: Option<Band>,
    /// The same if nothing sheds.
    pub loss_if_removed: Option<Band>,
    /// Cost of spraying it off, without the crop.
    pub spray_off: Option<f64>,
    /// Value of the crop that is sprayed off with it, less what the weed takes of it anyway.
    pub crop_lost: Option<Band>,
    /// Hours to pull it.
    pub hours: Option<Band>,
    /// Cost of pulling it.
    pub pulling: Option<Band>,
    /// What was not given.
    pub missing: Vec<&'static str>,
}

/// The patches of a field, in their order.
pub fn patch_costs(patches: &[Patch], question: &PatchQuestion<'_>) -> Vec<PatchCost> {
    let draws = Draw::many(question.parameters, 1, question.settings, question.name);
    patches.iter().map(|patch| of_patch(patch, question, &draws)).collect()
}

/// One draw of a patch, a m2.
#[derive(Default, Clone, Copy)]
struct Drawn {
    heads: f64,
    plants: f64,
    set: f64,
    alive: f64,
    plants_next: f64,
    control_if_left: f64,
    control_if_removed: f64,
    loss_if_left: f64,
    loss_if_removed: f64,
    loss_now: f64,
}

fn of_patch(patch: &Patch, question: &PatchQuestion<'_>, draws: &[Draw]) -> PatchCost {
    let area = patch.area_m2;
    let drawn: Vec<Drawn> = draws.iter().filter_map(|draw| one(patch.mean_density, question, draw)).collect();
    let band = |value: &dyn Fn(&Drawn) -> f64| Band::of(&mut drawn.iter().map(value).collect::<Vec<f64>>());
    let settings = question.settings;
    let mut missing = Vec::new();
    let mut note = |is_missing: bool, what: &'static str| {
        if is_missing {
            missing.push(what);
        }
    };
    note(settings.spray_off_per_ha.is_none(), "cost of spraying off a hectare");
    note(question.value_per_ha.is_none(), "price and yield of the crop in the field");
    note(settings.pulled_per_hour.is_none(), "plants pulled in an hour");
    note(settings.hour_cost.is_none(), "cost of an hour");
    note(question.control.is_none(), "control expected in the next crop");
    let hectares = area / M2_PER_HA;
    let pulled = settings.pulled_per_hour.filter(|pulled| *pulled > 0.0);
    let hours = pulled.map(|pulled| band(&|d| area * d.plants / pulled));
    let scaled = |band: Band, by: f64| Band { low: by * band.low, median: by * band.median, high: by * band.high };
    PatchCost {
        area_m2: area,
        heads: band(&|d| area * d.heads),
        plants: band(&|d| area * d.plants),
        seeds_set: band(&|d| area * d.set),
        seeds_alive: band(&|d| area * d.alive),
        plants_next: band(&|d| area * d.plants_next),
        control_if_left: band(&|d| 100.0 * d.control_if_left),
        control_if_removed: band(&|d| 100.0 * d.control_if_removed),
        loss_if_left: question.control.map(|_| band(&|d| d.loss_if_left)),
        loss_if_removed: question.control.map(|_| band(&|d| d.loss_if_removed)),
        spray_off: settings.spray_off_per_ha.map(|cost| cost * hectares),
        crop_lost: question.value_per_ha.map(|value| band(&|d| value * hectares * (1.0 - d.loss_now / 100.0))),
        hours,
        pulling: hours.zip(settings.hour_cost).map(|(hours, cost)| scaled(hours, cost)),
        missing,
    }
}

/// What follows from a density in one draw, in an autumn-sown wheat drilled early.
fn one(density: f64, question: &PatchQuestion<'_>, draw: &Draw) -> Option<Drawn> {
    let (now, next) = (&draw.start, draw.years.first()?);
    let (a_plant, greatest) = (now.of(Key::HeadsAPlant), now.of(Key::GreatestHeads));
    let heads = draw.heads(question.unit, density);
    let plants = match question.unit {
        DensityUnit::HeadsPerM2 => plants_of(heads, a_plant, greatest),
        _ => density,
    };
    let given = ScenarioYear { crop: "winter wheat".into(), cultivation: question.cultivation, ..ScenarioYear::default() };
    let wheat = crop("winter wheat")?;
    let ready = ReadyYear { given, crop: wheat, lateness: 0.0, late_yield: None, more_plants: 0.0 };
    let control = question.control.map_or(0.0, |range| drawn(range, next.control) / 100.0);
    let this = ready.rates(now, 0.0, 0.0);
    let coming = ready.rates(&next.values, control, 0.0);
    let share = now.of(Key::FreshShare);
    let left = bank_after(heads, &this, share, now.of(Key::BuriedAtStart));
    let fresh = left.top * share;
    let removed = Bank { top: left.top - fresh, ..left };
    let needed = |in_crop: f64| {
        let may_stand = plants_of(heads, coming.heads_a_plant, coming.greatest_heads);
        if in_crop > 0.0 { ((in_crop - may_stand) / in_crop).max(0.0) } else { 0.0 }
    };
    let lost = |plants: f64| hyperbola(plants, next.values.of(Key::LossAPlant), next.values.of(Key::GreatestLoss));
    let (if_left, if_removed) = (year(left, &coming), year(removed, &coming));
    let from_fresh = year(Bank { top: fresh, deep: 0.0 }, &coming);

    Some(Drawn {
        heads,
        plants,
        set: heads * now.of(Key::SeedsAHead),
        alive: fresh,
        plants_next: from_fresh.in_crop,
        control_if_left: needed(if_left.in_crop),
        control_if_removed: needed(if_removed.in_crop),
        loss_if_left: lost(if_left.plants),
        loss_if_removed: lost(if_removed.plants),
        loss_now: hyperbola(plants, now.of(Key::LossAPlant), now.of(Key::GreatestLoss)),
    })
}
