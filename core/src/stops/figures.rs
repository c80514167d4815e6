//! How good a plan is, in figures; [`DEFINITIONS`] says what each means.

use std::collections::BTreeSet;

use geo::{Coord, Distance as _, Euclidean};

use crate::model::{Figures, PlanSettings};
use crate::stops::ground::Ground;
use crate::stops::kmeans::nearest_of;
use crate::stops::{Cell, Spot, balance, chance_of_clusters, effective_number, places_of, shares};

/// "Near" in population within 25 m.
const NEAR_M: f64 = 25.0;

/// What a figure means.
#[derive(Debug, Clone, Copy)]
pub struct Definition {
    /// Its key in files and on the command line.
    pub key: &'static str,
    /// What it is called.
    pub name: &'static str,
    /// How it is worked out and how to read it.
    pub text: &'static str,
    /// Whether a smaller one is better; none: it depends.
    pub smaller_is_better: Option<bool>,
}

/// Every figure.
pub const DEFINITIONS: &[Definition] = &[
    Definition {
        key: "balance",
        name: "Balance B",
        text: "Each stop stands for the population nearest to it. B is the mean of (v - 1)^2, where v is that share times the \
               number of stops (Stevens and Olsen 2004); counted over the ground where stops may lie. 0: every stop stands for \
               as much as every other. Random places in proportion to density come to about 0.35.",
        smaller_is_better: Some(true),
    },
    Definition {
        key: "weighted_distance_m",
        name: "Mean distance to a stop, m",
        text: "Mean distance to the nearest stop over the whole population of the field.",
        smaller_is_better: Some(true),
    },
    Definition {
        key: "distance_95_m",
        name: "Patch hit with 95 %, radius m",
        text: "95 % of the field's population lies within this distance of a stop. A round resistant patch of this radius, \
               anywhere in the population, holds a stop with a chance of 95 %.",
        smaller_is_better: Some(true),
    },
    Definition {
        key: "population_within_25_m",
        name: "Population within 25 m",
        text: "Share of the field's population within 25 m of a stop.",
        smaller_is_better: Some(false),
    },
    Definition {
        key: "population_in_sampled_patches",
        name: "Population in patches with a stop",
        text: "Share of the field's population that stands in patches in which seed is taken.",
        smaller_is_better: Some(false),
    },
    Definition {
        key: "population_reached",
        name: "Population the plan speaks for",
        text: "Share of the field's population on ground where stops may lie: off the headland and no-go areas.",
        smaller_is_better: Some(false),
    },
    Definition {
        key: "tramlines",
        name: "Tramlines",
        text: "Different tramlines with a stop.",
        smaller_is_better: Some(false),
    },
    Definition {
        key: "extent_m",
        name: "Extent, m",
        text: "Largest distance between two stops.",
        smaller_is_better: Some(false),
    },
    Definition {
        key: "gate_distance_m",
        name: "Gate to nearest stop, m",
        text: "From the nearest gate to the nearest stop, straight.",
        smaller_is_better: Some(false),
    },
    Definition {
        key: "random_stops",
        name: "Worth in random stops",
        text: "The mean over the stops comes as near to the field's as that of so many stops at random in proportion to density, \
               where plants are alike nearby and have little in common beyond the set distance (extension variance, exponential \
               covariance; Cressie 1993). Spread stops are worth more than their number, stops close together little more than one.",
        smaller_is_better: Some(false),
    },
    Definition {
        key: "detection",
        name: "Chance to find it",
        text: "Chance that the seeds tested hold at least one of a biotype of the set frequency. Seeds of one stop are alike \
               (beta-binomial with the set correlation; Madden, Hughes and Munkvold 1996); stops count as independent, so it \
               depends on their number, not on where they lie.",
        smaller_is_better: Some(false),
    },
    Definition {
        key: "n_eff",
        name: "Seeds, as if independent",
        text: "The seeds tested, divided by 1 + (m - 1) rho with m seeds a stop (Kish 1965).",
        smaller_is_better: Some(false),
    },
];

/// The figures of stops in a field. Without any population, the ground itself counts.
pub fn figures(all: &[Cell], target: &[Cell], stops: &[Coord<f64>], settings: &PlanSettings) -> Figures {
    let populated = all.iter().any(|cell| cell.population > 0.0);
    let mut by_distance: Vec<(f64, f64)> = all
        .iter()
        .map(|cell| (nearest_of(stops, cell.at).1.sqrt(), if populated { cell.population } else { 1.0 }))
        .collect();
    by_distance.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = by_distance.iter().map(|(_, population)| population).sum();
    let pairs =
        stops.iter().enumerate().flat_map(|(i, a)| stops.iter().skip(i + 1).map(move |b| Euclidean.distance(*a, *b)));
    let seeds = settings.seeds_tested as f64;
    let near = by_distance.iter().filter(|(away, _)| *away <= NEAR_M).map(|(_, population)| population);
    Figures {
        balance: balance(&shares(target, stops)),
        weighted_distance_m: by_distance.iter().map(|(away, population)| away * population).sum::<f64>() / total,
        distance_95_m: percentile(&by_distance, 0.95 * total),
        tramlines: 0,
        extent_m: pairs.fold(0.0, f64::max),
        gate_distance_m: None,
        population_within_25_m: near.sum::<f64>() / total,
        population_in_sampled_patches: None,
        population_reached: 1.0,
        detection: chance_of_clusters(settings.frequency, settings.rho, stops.len(), seeds),
        n_eff: effective_number(settings.rho, stops.len(), seeds),
        random_stops: None,
    }
}

/// The figures of stops in a field, with those that take its gates, patches and tramlines.
pub(super) fn of_spots(ground: &Ground<'_>, stops: &[Spot], settings: &PlanSettings) -> Figures {
    let places = places_of(stops);
    let gates = ground.site.gates.iter();
    let sampled: BTreeSet<usize> = stops.iter().filter_map(|stop| stop.patch).collect();
    let patches = &ground.patches.list;
    let weighted: Vec<_> = places.iter().copied().zip(shares(&ground.cells, &places)).collect();
    Figures {
        tramlines: stops.iter().filter_map(|stop| stop.tramline).collect::<BTreeSet<_>>().len(),
        gate_distance_m: gates
            .flat_map(|gate| places.iter().map(|place| Euclidean.distance(*gate, *place)))
            .reduce(f64::min),
        population_in_sampled_patches: (!patches.is_empty()).then(|| {
            sampled
                .iter()
                .filter_map(|patch| patches.get(*patch))
                .map(|patch| patch.population_share)
                .fold(0.0, |sum, share| sum + share)
        }),
        population_reached: ground.reached,
        random_stops: ground.likeness().random_stops(&weighted),
        ..figures(&ground.all, &ground.cells, &places, settings)
    }
}

/// The least distance within which at least `wanted` of the population lies.
fn percentile(by_distance: &[(f64, f64)], wanted: f64) -> f64 {
    let mut so_far = 0.0;
    for (away, population) in by_distance {
        so_far += population;
        if so_far >= wanted * (1.0 - 1e-12) {
            return *away;
        }
    }
    by_distance.last().map_or(0.0, |(away, _)| *away)
}
