//! In which order to harvest and cultivate the fields of a farm, so that machines carry seed from bad fields into clean ones as
//! seldom as they can: cleanest first, worst last.
//!
//! Takes the latest scouting (mean of the density surface) and the latest ratings; gives every field a place with its reason.
//! "Cleanest first, worst last" is common advice on biosecurity; how fields are ranked is our choice, no source:
//!
//! 1. fields known to be clean or susceptible (no weed seen, or weed and nothing worse than R? in any test), thinnest first;
//! 2. fields of which too little is known (never tested, or never scouted and not rated RR or RRR);
//! 3. fields with RR or RRR, by the density of heads or plants that the worst test left alive; those not scouted last.
//!
//! Densities in heads and in plants are compared by their classes.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::density::{self, SurfaceMethod};
use crate::model::{DensityClass, DensityUnit, Field, FieldId, Rating, Records};
use crate::rating::{FieldRatings, RatingOf, field_ratings, reduction_of, standard_of};

/// Cell of the surfaces that means are taken over, m.
const CELL_M: f64 = 10.0;

/// Part of the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Block {
    /// Known to be clean, or susceptible.
    Clean,
    /// Too little is known.
    Unknown,
    /// Resistance confirmed.
    Resistant,
}

impl Block {
    /// Heading of the part.
    pub fn label(self) -> &'static str {
        match self {
            Self::Clean => "First: clean, or weed that tests found susceptible",
            Self::Unknown => "Then: too little is known",
            Self::Resistant => "Last: resistance confirmed",
        }
    }
}

/// A field in the order.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The field.
    pub field: FieldId,
    /// Its farm's name.
    pub farm: String,
    /// Part of the order.
    pub block: Block,
    /// The worst of the latest ratings; none: never tested.
    pub worst: Option<Rating>,
    /// Mean density with its unit; none: never scouted.
    pub density: Option<(f64, DensityUnit)>,
    /// Why it stands here, one sentence.
    pub reason: String,
}

/// What is known of a field's weed.
struct Seen {
    density: Option<(f64, DensityUnit)>,
    worst: Option<Rating>,
    /// Share of plants that the worst test left alive beside the standard, 0 to 1.
    alive: f64,
}

/// The order of the fields of each farm in a harvest year, farms by name.
pub fn order(records: &Records, year: i32) -> BTreeMap<String, Vec<Place>> {
    let ratings = field_ratings(records, year);
    let fields = records.fields_in(year);
    let seen: Vec<Seen> = fields.par_iter().map(|field| seen(records, field, ratings.get(&field.id), year)).collect();
    let mut farms: BTreeMap<String, Vec<(f64, Place)>> = BTreeMap::new();
    for (field, seen) in fields.iter().zip(seen) {
        let (block, reason) = judge(&seen);
        let thick = seen.density.map(|(value, unit)| position(value, unit));
        let key = match block {
            Block::Resistant => thick.map_or(f64::INFINITY, |thick| thick * seen.alive),
            Block::Unknown => thick.unwrap_or(f64::INFINITY),
            Block::Clean => thick.unwrap_or(0.0),
        };
        let farm = records.farm_name(field).to_owned();
        let Seen { density, worst, .. } = seen;
        let place = Place { field: field.id, farm: farm.clone(), block, worst, density, reason };
        farms.entry(farm).or_default().push((key, place));
    }
    let sorted = |mut list: Vec<(f64, Place)>| {
        // Fields come by name, which settles ties.
        list.sort_by(|(a, one), (b, other)| {
            one.block.cmp(&other.block).then(a.total_cmp(b)).then(one.worst.cmp(&other.worst))
        });
        list.into_iter().map(|(_, place)| place).collect()
    };
    farms.into_iter().map(|(farm, list)| (farm, sorted(list))).collect()
}

fn seen(records: &Records, field: &Field, ratings: Option<&FieldRatings>, year: i32) -> Seen {
    let surface = density::surface(records, field, year, CELL_M).filter(|surface| surface.method != SurfaceMethod::Even);
    let density = surface.and_then(|surface| {
        let values: Vec<f64> = surface.grid.values.iter().copied().filter(|value| value.is_finite()).collect();
        (!values.is_empty()).then(|| (values.iter().sum::<f64>() / values.len() as f64, surface.unit))
    });
    let worst = ratings.and_then(|ratings| ratings.by(&RatingOf::Worst));
    let alive = worst.and_then(|worst| {
        let result = records.results.get(&worst.result)?;
        let standard = standard_of(records, result)?;
        Some((1.0 - reduction_of(result).0? / standard).clamp(0.0, 1.0))
    });
    Seen { density, worst: worst.map(|worst| worst.rating), alive: alive.unwrap_or(1.0) }
}

/// Where a density stands among the classes: the number of its class and how far into it.
fn position(value: f64, unit: DensityUnit) -> f64 {
    let upper = if unit == DensityUnit::HeadsPerM2 { DensityUnit::HEADS_UPPER } else { DensityClass::UPPER_PER_M2 };
    let class = unit.class_number(value);
    let low = class.checked_sub(1).and_then(|below| upper.get(below)).copied().unwrap_or(0.0);
    let within = match upper.get(class) {
        Some(high) if *high > low => ((value - low) / (high - low)).clamp(0.0, 1.0),
        Some(_) => 0.0,
        None => value / low - 1.0,
    };
    class as f64 + within
}

fn judge(seen: &Seen) -> (Block, String) {
    let amount = seen.density.map(|(value, unit)| {
        let class = DensityClass::ALL[unit.class_number(value).min(4)];
        if class == DensityClass::Absent {
            "no weed seen to speak of".to_owned()
        } else {
            format!("{value:.1} {} on average ({})", unit.label(), class.label())
        }
    });
    let clean = seen.density.is_some_and(|(value, unit)| unit.class_number(value) == 0);
    let resistant = seen.worst.is_some_and(|worst| worst >= Rating::RR);
    let rated = seen.worst.map(|worst| format!("worst rating {}", worst.label()));
    match (amount, rated) {
        (Some(amount), None) if clean => (Block::Clean, format!("{}; never tested.", first_upper(&amount))),
        (Some(amount), Some(rated)) if clean => (Block::Clean, format!("{}; {rated}.", first_upper(&amount))),
        (Some(amount), Some(rated)) if resistant => (Block::Resistant, format!("{}; {amount}.", first_upper(&rated))),
        (Some(amount), Some(rated)) => (Block::Clean, format!("{}; {rated}.", first_upper(&amount))),
        (Some(amount), None) => (Block::Unknown, format!("Never tested; {amount}.")),
        (None, Some(rated)) if resistant => {
            (Block::Resistant, format!("{}; never scouted, so taken as the worst.", first_upper(&rated)))
        }
        (None, Some(rated)) => (Block::Unknown, format!("Never scouted; {rated}.")),
        (None, None) => (Block::Unknown, "Neither scouted nor tested.".to_owned()),
    }
}

fn first_upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn judged(density: Option<f64>, worst: Option<Rating>) -> Block {
        let density = density.map(|value| (value, DensityUnit::HeadsPerM2));
        judge(&Seen { density, worst, alive: 0.5 }).0
    }

    #[test]
    fn what_is_not_known_is_never_called_clean() {
        assert_eq!(judged(Some(0.0), None), Block::Clean);
        assert_eq!(judged(Some(0.0), Some(Rating::RRR)), Block::Clean, "nothing there to carry");
        assert_eq!(judged(Some(3.0), Some(Rating::S)), Block::Clean);
        assert_eq!(judged(Some(3.0), None), Block::Unknown);
        assert_eq!(judged(None, Some(Rating::S)), Block::Unknown);
        assert_eq!(judged(None, None), Block::Unknown);
        assert_eq!(judged(None, Some(Rating::RR)), Block::Resistant);
        assert_eq!(judged(Some(0.4), Some(Rating::RR)), Block::Resistant);
    }

    #[test]
    fn places_among_the_classes_rise_with_density_in_either_unit() {
        for unit in [DensityUnit::HeadsPerM2, DensityUnit::PlantsPerM2] {
            let places: Vec<f64> = (0..2000).map(|step| position(f64::from(step) * 0.05, unit)).collect();
            assert!(places.is_sorted(), "{unit:?}");
        }
        let top = |unit, value| position(value, unit) as usize;
        assert_eq!((top(DensityUnit::PlantsPerM2, 3.0), top(DensityUnit::HeadsPerM2, 40.0)), (3, 3));
    }
}
