//! Money of a crop year: what the crop would bring, what is spent, what the weed and late drilling take. All prices, yields and
//! costs are the user's own; what was not given stays unknown, never nought.

use crate::model::{LowLikelyHigh, OutlookSettings, ScenarioYear, same_name};

/// Money a hectare in one crop year.
#[derive(Debug, Clone, PartialEq)]
pub struct YearMoney {
    /// The crop without grass weeds, drilled early: price times yield.
    pub value: Option<f64>,
    /// Programme, measures and cultivation, as far as given.
    pub cost: Option<f64>,
    /// What the weed takes.
    pub lost_to_weed: Option<LowLikelyHigh>,
    /// What drilling late takes.
    pub lost_to_date: Option<LowLikelyHigh>,
    /// Value less cost and losses, where all of them are known.
    pub left: Option<LowLikelyHigh>,
    /// What was not given.
    pub missing: Vec<String>,
}

/// The money of a year with `loss` to the weed and `late` to the date of drilling, % of yield.
pub fn year_money(
    settings: &OutlookSettings,
    year: &ScenarioYear,
    sold: bool,
    loss: LowLikelyHigh,
    late: LowLikelyHigh,
) -> YearMoney {
    let mut missing = Vec::new();
    let priced = settings.crops.iter().find(|priced| same_name(&priced.crop, &year.crop));
    let value = if sold { priced.map(|priced| priced.price_per_t * priced.yield_t_per_ha) } else { Some(0.0) };
    if value.is_none() {
        missing.push(format!("price and yield of {}", year.crop));
    }
    let cultivation = settings.cultivation_cost.get(&year.cultivation).copied();
    if cultivation.is_none() {
        missing.push(format!("cost of cultivation ({})", year.cultivation.label()));
    }
    if year.cost_per_ha.is_none() {
        missing.push(format!("cost of the programme in {}", year.crop));
    }
    let cost = year.cost_per_ha.zip(cultivation).map(|(programme, cultivation)| programme + cultivation);
    let lost_to_weed = value.map(|value| loss.map(|percent| value * percent / 100.0));
    let lost_to_date = value.map(|value| late.map(|percent| value * percent / 100.0));
    let left = (|| {
        let (value, cost, weed, date) = (value?, cost?, lost_to_weed?, lost_to_date?);
        let kept = |weed: f64, date: f64| value - cost - weed - date;
        Some(LowLikelyHigh::new(kept(weed.high, date.high), kept(weed.likely, date.likely), kept(weed.low, date.low)))
    })();
    YearMoney { value, cost, lost_to_weed, lost_to_date, left, missing }
}
