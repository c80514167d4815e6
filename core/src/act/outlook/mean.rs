//! What a scenario comes to a year, over all its harvests, so that scenarios of different rotations can be set beside each other.
//!
//! Takes the draws of every harvest and gives means over the harvests: each draw is averaged first, then the band is taken over the
//! draws, so that good and bad years of one draw offset each other as they would in the field. Losses by the hyperbola on plants.

use crate::act::outlook::draw::Means;
use crate::act::outlook::years::{Band, YearOutlook};

/// A scenario's mean year.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanYear {
    /// Yield lost to the weed, %, mean of the harvests with a crop to sell; 0 if there is none.
    pub loss: Band,
    /// Money a hectare a year; none if something was not given in any harvest.
    pub money: Option<MeanMoney>,
}

/// Money a hectare a year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanMoney {
    /// Programmes, measures and cultivation.
    pub cost: f64,
    /// What the weed takes.
    pub weed: Band,
    /// What the weed takes and late drilling gives up.
    pub lost: Band,
    /// What the crops bring less cost and losses.
    pub left: Band,
}

/// The mean year of harvests `years` from their draws `seen`, harvest by harvest; `sold`: whether there is a crop to sell.
pub(super) fn mean_year(seen: &[Vec<Means>], sold: &[bool], years: &[YearOutlook]) -> MeanYear {
    let draws = seen.first().map_or(0, Vec::len);
    let crops = sold.iter().filter(|sold| **sold).count().max(1) as f64;
    // The mean over harvests, in each draw, of a figure of one harvest.
    let band = |over: f64, figure: &dyn Fn(usize, &Means) -> f64| {
        let of = |draw: usize| {
            let harvests = seen.iter().enumerate().filter_map(|(index, list)| Some(figure(index, list.get(draw)?)));
            harvests.sum::<f64>() / over
        };
        Band::of(&mut (0..draws).map(of).collect::<Vec<f64>>())
    };
    let known: Option<Vec<(f64, f64)>> = years.iter().map(|year| year.money.value.zip(year.money.cost)).collect();
    let count = years.len().max(1) as f64;
    let money = known.filter(|known| !known.is_empty()).map(|known| {
        let value = |index: usize| known.get(index).map_or(0.0, |(value, _)| *value);
        let cost = known.iter().map(|(_, cost)| cost).sum::<f64>() / count;
        let all = known.iter().map(|(value, _)| value).sum::<f64>() / count;
        let weed = band(count, &|index, means| value(index) * means.loss / 100.0);
        let lost = band(count, &|index, means| value(index) * (means.loss + means.late) / 100.0);
        let left = Band { low: all - cost - lost.high, median: all - cost - lost.median, high: all - cost - lost.low };
        MeanMoney { cost, weed, lost, left }
    });
    MeanYear { loss: band(crops, &|_, means| means.loss), money }
}
