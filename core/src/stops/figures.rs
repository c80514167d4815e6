//! How good a plan is, in figures.
//!
//! | figure | what it says |
//! |---|---|
//! | balance | B of Stevens and Olsen 2004 ([`crate::stops::balance`]): 0 when every stop stands for as much population |
//! | weighted distance | mean distance to the nearest stop, over the population, m |
//! | distance 95 | 95 % of the population lie within this distance of a stop, m: a round patch of this radius anywhere in the population is hit with 95 % |
//! | tramlines | different tramlines with a stop |
//! | extent | largest distance between two stops, m |
//! | gate distance | from the nearest gate to the nearest stop, m |
//! | population within 25 m | share of the population that near to a stop |
//! | detection, n_eff | [`crate::stops::chance_of_clusters`], [`crate::stops::effective_number`] |

use std::collections::BTreeSet;

use geo::{Coord, Distance as _, Euclidean};

use crate::model::{Figures, PlanSettings};
use crate::stops::kmeans::nearest_of;
use crate::stops::{Cell, balance, chance_of_clusters, effective_number, shares};
use crate::walk::Position;

/// "Near" in population within 25 m.
const NEAR_M: f64 = 25.0;

/// The figures of stops over the cells of a field. Without any population, the ground itself counts.
pub fn figures(cells: &[Cell], stops: &[Position], gates: &[Coord<f64>], settings: &PlanSettings) -> Figures {
    let places: Vec<Coord<f64>> = stops.iter().map(|stop| stop.at).collect();
    let populated = cells.iter().any(|cell| cell.population > 0.0);
    let mut by_distance: Vec<(f64, f64)> = cells
        .iter()
        .map(|cell| (nearest_of(&places, cell.at).1.sqrt(), if populated { cell.population } else { 1.0 }))
        .collect();
    by_distance.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = by_distance.iter().map(|(_, population)| population).sum();
    let pairs =
        || places.iter().enumerate().flat_map(|(i, a)| places.iter().skip(i + 1).map(move |b| Euclidean.distance(*a, *b)));
    let seeds = settings.seeds_tested as f64;
    Figures {
        balance: balance(&shares(cells, &places)),
        weighted_distance_m: by_distance.iter().map(|(away, population)| away * population).sum::<f64>() / total,
        distance_95_m: percentile(&by_distance, 0.95 * total),
        tramlines: stops.iter().filter_map(|stop| stop.tramline).collect::<BTreeSet<_>>().len(),
        extent_m: pairs().fold(0.0, f64::max),
        gate_distance_m: gates
            .iter()
            .flat_map(|gate| places.iter().map(|place| Euclidean.distance(*gate, *place)))
            .reduce(f64::min),
        population_within_25_m: by_distance
            .iter()
            .filter(|(away, _)| *away <= NEAR_M)
            .map(|(_, population)| population)
            .sum::<f64>()
            / total,
        detection: chance_of_clusters(settings.frequency, settings.rho, places.len(), seeds),
        n_eff: effective_number(settings.rho, places.len(), seeds),
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
