//! Scenarios over many fields together: means by area, and sums of money.
//!
//! Ends of bands are the fields' ends put together: fields of a farm share weather and ways of working, so that good and bad luck
//! need not even out between them.

use crate::act::outlook::years::{Band, FieldOutlook};
use crate::units::M2_PER_HA;

/// A scenario over all fields.
#[derive(Debug, Clone, PartialEq)]
pub struct Overall {
    /// Its name.
    pub name: String,
    /// Area of the fields, m2.
    pub area_m2: f64,
    /// The last harvest.
    pub harvest: i32,
    /// Heads/m2 in it, mean by area.
    pub heads: Band,
    /// Control in every crop at which the seed in the soil stands still, %, mean by area of the fields with weed; elsewhere there is
    /// nothing to hold.
    pub hold: Band,
    /// Yield lost to the weed, %, mean by area and harvest.
    pub loss: Band,
    /// What the weed takes of all fields a year; none if money is not known in any of them.
    pub weed: Option<Band>,
    /// What is spent on all fields a year.
    pub cost: Option<f64>,
    /// What the crops of all fields bring a year, less cost and losses.
    pub left: Option<Band>,
}

/// The scenarios of an outlook over its fields; `area_m2` of each field.
pub fn overall(found: &[FieldOutlook], area_m2: impl Fn(&FieldOutlook) -> f64) -> Vec<Overall> {
    let count = found.first().map_or(0, |field| field.scenarios.len());
    let all: f64 = found.iter().map(&area_m2).sum();
    let weedy = |field: &&FieldOutlook| field.heads_at_start.high > 0.0;
    let of_weed: f64 = found.iter().filter(weedy).map(&area_m2).sum();
    let of_scenario = |at: usize| {
        let first = found.first()?.scenarios.get(at)?;
        let parts: Vec<_> =
            found.iter().filter_map(|field| Some((field, area_m2(field), field.scenarios.get(at)?))).collect();
        let mut one = Overall {
            name: first.name.clone(),
            area_m2: all,
            harvest: first.years.last()?.harvest,
            heads: Band::default(),
            hold: Band::default(),
            loss: Band::default(),
            weed: Some(Band::default()),
            cost: Some(0.0),
            left: Some(Band::default()),
        };
        for (field, area, scenario) in parts {
            let share = if all > 0.0 { area / all } else { 0.0 };
            one.heads = plus(one.heads, scenario.years.last()?.heads, share);
            if weedy(&field) {
                one.hold = plus(one.hold, scenario.hold, area / of_weed.max(f64::MIN_POSITIVE));
            }
            one.loss = plus(one.loss, scenario.mean.loss, share);
            let (money, ha) = (scenario.mean.money, area / M2_PER_HA);
            one.weed = one.weed.zip(money).map(|(sum, money)| plus(sum, money.weed, ha));
            one.cost = one.cost.zip(money).map(|(sum, money)| sum + money.cost * ha);
            one.left = one.left.zip(money).map(|(sum, money)| plus(sum, money.left, ha));
        }
        Some(one)
    };
    (0..count).filter_map(of_scenario).collect()
}

fn plus(sum: Band, band: Band, by: f64) -> Band {
    Band { low: sum.low + by * band.low, median: sum.median + by * band.median, high: sum.high + by * band.high }
}
