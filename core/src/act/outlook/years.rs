//! The coming years of fields under scenarios: median and 80 % band by seeded draws.
//!
//! Each draw takes one value of every parameter ([`crate::act::outlook::drawn`]): some once for the field, some anew each year, all independent
//! of each other. The draws of a field follow from the project's seed, the field's name and the number of the draw, not from the
//! scenario: scenarios meet the same weather, so that they differ by what was done; and not from the number of threads.
//!
//! It is no forecast: it says what would follow if the figures held.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use crate::act::outlook::draw::{Draw, Means, holding, run};
use crate::act::outlook::mean::{MeanYear, mean_year};
use crate::act::outlook::money::{YearMoney, year_money};
use crate::act::outlook::parameters::Parameters;
use crate::act::outlook::quantiles::drawn;
use crate::act::outlook::scenario::{MOST_SCENARIOS, Ready};
use crate::act::outlook::start::Start;
use crate::act::outlook::yield_loss::by_state;
use crate::model::{DensityClass, FieldId, LowLikelyHigh, OutlookSettings};
use crate::progress::{Cancelled, Progress};

/// Coming years at most.
pub const MOST_YEARS: usize = 10;
/// Draws at least and at most.
pub const DRAWS: std::ops::RangeInclusive<usize> = 100..=20_000;
/// Draws from which the control that holds the seedbank is worked out: each is a search of its own.
const HOLDING_DRAWS: usize = 100;

/// A field to look ahead for.
#[derive(Debug, Clone)]
pub struct OutlookField {
    /// Which.
    pub field: FieldId,
    /// Farm and name, from which the draws follow.
    pub name: String,
    /// Its density.
    pub start: Start,
    /// The scenarios with what is expected of programmes in this field; empty: those of the request.
    pub scenarios: Vec<Ready>,
}

/// What to look ahead for.
#[derive(Debug, Clone)]
pub struct OutlookRequest<'a> {
    /// The first harvest of the outlook.
    pub first_harvest: i32,
    /// How many harvests, 1 to [`MOST_YEARS`].
    pub years: usize,
    /// Draws, seed, prices and costs.
    pub settings: &'a OutlookSettings,
    /// Ranges of the parameters.
    pub parameters: &'a Parameters,
    /// Up to four scenarios.
    pub scenarios: &'a [Ready],
}

/// Why there is no outlook.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OutlookError {
    /// Nothing to compare, or too much.
    #[error("{0} scenarios were asked for; compare 1 to {MOST_SCENARIOS}")]
    Scenarios(usize),
    /// Too few years, or too many.
    #[error("{0} years were asked for; look 1 to {MOST_YEARS} ahead")]
    Years(usize),
    /// Too few draws, or too many.
    #[error("{0} draws are set; use {min} to {max}", min = DRAWS.start(), max = DRAWS.end())]
    Draws(usize),
    /// A price, yield or cost that cannot be.
    #[error("{0}; give 0 or more")]
    Money(String),
    /// Stopped.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// Median and 80 % band of the draws.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Band {
    /// A tenth of the draws lies below.
    pub low: f64,
    /// Half of them.
    pub median: f64,
    /// A tenth lies above.
    pub high: f64,
}

impl Band {
    /// The band of draws, which are put in order; quantiles as numpy's default has them (linear).
    pub fn of(draws: &mut [f64]) -> Self {
        draws.sort_unstable_by(f64::total_cmp);
        let at = |share: f64| {
            let place = share * (draws.len().max(1) - 1) as f64;
            let (below, part) = (place.floor() as usize, place.fract());
            let value = |index: usize| draws.get(index).copied().unwrap_or(f64::NAN);
            if part == 0.0 { value(below) } else { value(below) + part * (value(below + 1) - value(below)) }
        };
        Self { low: at(0.1), median: at(0.5), high: at(0.9) }
    }

    /// As a range.
    pub fn range(self) -> LowLikelyHigh {
        LowLikelyHigh::new(self.low, self.median, self.high)
    }
}

/// One harvest of a scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct YearOutlook {
    /// Harvest year.
    pub harvest: i32,
    /// The crop.
    pub crop: &'static str,
    /// Heads/m2 in June, mean of the field, those taken out by then left out.
    pub heads: Band,
    /// Plants/m2 left after control.
    pub plants: Band,
    /// Viable seeds/m2 in the soil after the harvest.
    pub seeds: Band,
    /// Control of the plants in the crop that would have kept each part of the field at the heads of the year before, %.
    pub hold: Band,
    /// Yield lost by the hyperbola on plants, %.
    pub loss: Band,
    /// Yield lost by the relation on heads, %.
    pub loss_by_heads: Band,
    /// Yield lost as published for the density states that the likely figures come to, %.
    pub loss_by_state: LowLikelyHigh,
    /// Yield given up by drilling late, %.
    pub late: LowLikelyHigh,
    /// Money a hectare.
    pub money: YearMoney,
}

/// A scenario in one field.
#[derive(Debug, Clone, PartialEq)]
pub struct ScenarioOutlook {
    /// Its name.
    pub name: String,
    /// Harvest by harvest.
    pub years: Vec<YearOutlook>,
    /// The control, the same in every crop, at which no more seed lies in the soil at the end than at the start, %.
    pub hold: Band,
    /// What it comes to a year, over all harvests.
    pub mean: MeanYear,
}

/// The coming years of a field.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldOutlook {
    /// Which.
    pub field: FieldId,
    /// What it started from.
    pub start: Start,
    /// Heads/m2 at the start, mean of the field.
    pub heads_at_start: Band,
    /// The scenarios in the order asked for.
    pub scenarios: Vec<ScenarioOutlook>,
}

/// The coming years of fields, in their order. Deterministic whatever the number of threads.
pub fn outlook(
    fields: &[OutlookField],
    request: &OutlookRequest<'_>,
    progress: &dyn Progress,
) -> Result<Vec<FieldOutlook>, OutlookError> {
    check(request)?;
    let done = AtomicUsize::new(0);
    fields
        .par_iter()
        .map(|field| {
            let found = of_field(field, request);
            progress.check(done.fetch_add(1, Ordering::Relaxed) + 1, fields.len())?;
            Ok(found)
        })
        .collect()
}

fn check(request: &OutlookRequest<'_>) -> Result<(), OutlookError> {
    let settings = request.settings;
    if !(1..=MOST_SCENARIOS).contains(&request.scenarios.len()) {
        return Err(OutlookError::Scenarios(request.scenarios.len()));
    }
    if !(1..=MOST_YEARS).contains(&request.years) {
        return Err(OutlookError::Years(request.years));
    }
    if !DRAWS.contains(&settings.draws) {
        return Err(OutlookError::Draws(settings.draws));
    }
    money_is_sound(settings)
}

/// Whether all prices, yields and costs of the settings can be.
pub fn money_is_sound(settings: &OutlookSettings) -> Result<(), OutlookError> {
    let is_sound = |amount: f64| amount.is_finite() && amount >= 0.0;
    let wrong = |what: String, amount: f64| Err(OutlookError::Money(format!("{what} is set to {amount}")));
    for crop in &settings.crops {
        if !is_sound(crop.price_per_t) {
            return wrong(format!("the price of {}", crop.crop), crop.price_per_t);
        }
        if !is_sound(crop.yield_t_per_ha) {
            return wrong(format!("the yield of {}", crop.crop), crop.yield_t_per_ha);
        }
    }
    for (cultivation, cost) in &settings.cultivation_cost {
        if !is_sound(*cost) {
            return wrong(format!("the cost of cultivation ({})", cultivation.label()), *cost);
        }
    }
    let others = [
        ("the cost of spraying off", settings.spray_off_per_ha),
        ("the number of plants pulled in an hour", settings.pulled_per_hour),
        ("the cost of an hour", settings.hour_cost),
    ];
    for (what, amount) in others {
        if let Some(amount) = amount.filter(|amount| !is_sound(*amount)) {
            return wrong(what.to_owned(), amount);
        }
    }
    Ok(())
}

fn of_field(field: &OutlookField, request: &OutlookRequest<'_>) -> FieldOutlook {
    let (settings, start) = (request.settings, &field.start);
    let scenarios = if field.scenarios.is_empty() { request.scenarios } else { &field.scenarios };
    let draws = Draw::many(request.parameters, request.years, settings, &field.name);
    let mut heads: Vec<f64> = draws
        .iter()
        .map(|draw| start.parts.iter().map(|part| part.share * draw.heads(start.unit, part.density)).sum())
        .collect();
    FieldOutlook {
        field: field.field,
        start: start.clone(),
        heads_at_start: Band::of(&mut heads),
        scenarios: scenarios.iter().map(|ready| of_scenario(&draws, ready, start, request)).collect(),
    }
}

fn of_scenario(draws: &[Draw], ready: &Ready, start: &Start, request: &OutlookRequest<'_>) -> ScenarioOutlook {
    let years = request.years;
    let mut seen: Vec<Vec<Means>> = vec![Vec::with_capacity(draws.len()); years];
    let mut sums = vec![Means::default(); years];
    for draw in draws {
        sums.fill(Means::default());
        run(draw, ready, start, None, |index, share, part| sums[index].add(share, part));
        for (list, sum) in seen.iter_mut().zip(&sums) {
            list.push(*sum);
        }
    }
    let mut states = vec![LowLikelyHigh::fixed(0.0); years];
    run(&Draw::likely(request.parameters, years), ready, start, None, |index, share, part| {
        if ready.year(index).is_sold() {
            let loss = by_state(DensityClass::of_density(part.plants));
            let sum = &mut states[index];
            *sum = LowLikelyHigh::new(
                sum.low + share * loss.low,
                sum.likely + share * loss.likely,
                sum.high + share * loss.high,
            );
        }
    });
    let mut hold: Vec<f64> = draws.iter().take(HOLDING_DRAWS).map(|draw| 100.0 * holding(draw, ready, start)).collect();
    let years: Vec<YearOutlook> = seen
        .iter()
        .enumerate()
        .map(|(index, list)| {
            let band = |value: &dyn Fn(&Means) -> f64| Band::of(&mut list.iter().map(value).collect::<Vec<f64>>());
            let given = ready.year(index);
            let loss = band(&|means| means.loss);
            let range = given.late_yield.map_or(LowLikelyHigh::fixed(0.0), |key| request.parameters.range(key));
            let late = LowLikelyHigh::new(drawn(range, 0.1), range.likely, drawn(range, 0.9));
            YearOutlook {
                harvest: request.first_harvest + index as i32,
                crop: given.crop.name,
                heads: band(&|means| means.heads),
                plants: band(&|means| means.plants),
                seeds: band(&|means| means.seeds),
                hold: band(&|means| if means.in_crop > 0.0 { 100.0 * means.to_kill / means.in_crop } else { 0.0 }),
                loss,
                loss_by_heads: band(&|means| means.loss_by_heads),
                loss_by_state: states[index],
                late,
                money: year_money(request.settings, &given.given, given.is_sold(), loss.range(), late),
            }
        })
        .collect();
    let sold: Vec<bool> = (0..years.len()).map(|index| ready.year(index).is_sold()).collect();
    let mean = mean_year(&seen, &sold, &years);
    ScenarioOutlook { name: ready.name.clone(), years, hold: Band::of(&mut hold), mean }
}
