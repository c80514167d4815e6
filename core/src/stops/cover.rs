//! Even cover: from k-means centres to stops on the network, and the swaps that bring them to balance.

use std::collections::BTreeSet;

use geo::Coord;
use rand::{Rng, RngExt as _};

use crate::model::PlanSettings;
use crate::stops::candidates::extent;
use crate::stops::kmeans::{distance2, kmeans, nearest_of};
use crate::stops::{Cell, balance, inertia, shares};
use crate::walk::Position;

/// A stop is swapped with candidates up to this far away, m: from one tramline to the next at the usual spacings.
const SWAP_REACH_M: f64 = 80.0;
/// Rounds of swaps; balance has long stopped falling by then.
const MOST_ROUNDS: usize = 12;
/// Weight of the mean squared distance beside balance, so that swaps do not buy the last bit of balance with poor spread.
const SPREAD: f64 = 0.005;

/// What the plan should span, as far as the ground allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    /// Different tramlines.
    pub tramlines: usize,
    /// Distance between the outermost stops, m.
    pub extent_m: f64,
}

impl Span {
    /// The wanted span, or what the candidates in the patches allow.
    pub fn allowed(settings: &PlanSettings, stops: usize, in_patches: &[Position]) -> Self {
        let lines: BTreeSet<i32> = in_patches.iter().filter_map(|place| place.tramline).collect();
        Self {
            tramlines: settings.min_tramlines.min(stops).min(lines.len()),
            extent_m: if stops < 2 { 0.0 } else { settings.min_extent_m.min(0.95 * extent(in_patches)) },
        }
    }

    /// How much is missing: whole tramlines, and the part of the extent.
    fn missing(self, stops: &[Position]) -> f64 {
        let lines: BTreeSet<i32> = stops.iter().filter_map(|stop| stop.tramline).collect();
        let farthest2 = stops
            .iter()
            .enumerate()
            .flat_map(|(i, a)| stops.iter().skip(i + 1).map(move |b| distance2(a.at, b.at)))
            .fold(0.0, f64::max);
        let lines = self.tramlines.saturating_sub(lines.len()) as f64;
        let short = if self.extent_m > 0.0 { (1.0 - farthest2.sqrt() / self.extent_m).max(0.0) } else { 0.0 };
        lines + short
    }
}

/// One start of even cover: at most `settings.stops` stops among the candidates, none nearer than the minimum to another.
pub(super) fn start(cells: &[Cell], places: &[Position], settings: &PlanSettings, random: &mut impl Rng) -> Vec<Position> {
    let mut centres = kmeans(cells, settings.stops, random).centres;
    let mass = shares(cells, &centres);
    let mut order: Vec<usize> = (0..centres.len()).collect();
    order.sort_by(|a, b| mass[*b].total_cmp(&mass[*a]));
    centres = order.into_iter().map(|index| centres[index]).collect();
    let mut stops: Vec<Position> = Vec::with_capacity(settings.stops);
    for centre in centres {
        stops.extend(nearest_free(places, centre, &stops, settings.min_spacing_m));
    }
    // A centre for which no candidate was left near, or fewer cells with weight than stops: the most distant ones still free.
    while stops.len() < settings.stops {
        let taken: Vec<Coord<f64>> = stops.iter().map(|stop| stop.at).collect();
        let away = |place: &Position| nearest_of(&taken, place.at).1;
        let farthest = places
            .iter()
            .filter(|place| is_free(place, &stops, settings.min_spacing_m))
            .max_by(|a, b| away(a).total_cmp(&away(b)));
        let Some(farthest) = farthest else { break };
        stops.push(*farthest);
    }
    stops
}

fn is_free(place: &Position, stops: &[Position], spacing_m: f64) -> bool {
    stops.iter().all(|stop| distance2(stop.at, place.at) >= spacing_m * spacing_m)
}

fn nearest_free(places: &[Position], to: Coord<f64>, stops: &[Position], spacing_m: f64) -> Option<Position> {
    let free = places.iter().filter(|place| is_free(place, stops, spacing_m));
    free.min_by(|a, b| distance2(a.at, to).total_cmp(&distance2(b.at, to))).copied()
}

/// How far stops are from what is wanted: balance, a little of the spread, and whatever span is missing.
pub(super) fn score(cells: &[Cell], stops: &[Position], span: Span, spread: f64) -> f64 {
    let places: Vec<Coord<f64>> = stops.iter().map(|stop| stop.at).collect();
    balance(&shares(cells, &places)) + SPREAD * inertia(cells, &places) / spread + span.missing(stops)
}

/// The inertia that spread is measured against.
pub(super) fn spread_of(cells: &[Cell], stops: &[Position]) -> f64 {
    let places: Vec<Coord<f64>> = stops.iter().map(|stop| stop.at).collect();
    inertia(cells, &places).max(f64::MIN_POSITIVE)
}

/// Swaps stops with candidates near them, one at a time, each time the one that helps most, until none helps.
pub(super) fn swap(
    cells: &[Cell],
    places: &[Position],
    settings: &PlanSettings,
    span: Span,
    spread: f64,
    stops: &mut [Position],
) {
    for _ in 0..MOST_ROUNDS {
        let mut helped = false;
        for index in 0..stops.len() {
            helped |= swap_one(cells, places, settings, span, spread, stops, index);
        }
        if !helped {
            break;
        }
    }
}

/// Moves one stop, drawn at random, to a free candidate, drawn at random; nowhere if the one drawn is not free.
pub(super) fn move_one(places: &[Position], settings: &PlanSettings, stops: &mut [Position], random: &mut impl Rng) {
    let index = random.random_range(0..stops.len());
    let Some(place) = places.get(random.random_range(0..places.len().max(1))).copied() else { return };
    let others = without(stops, index);
    if is_free(&place, &others, settings.min_spacing_m) {
        stops[index] = place;
    }
}

/// The stops but one.
fn without(stops: &[Position], index: usize) -> Vec<Position> {
    stops.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, stop)| *stop).collect()
}

fn swap_one(
    cells: &[Cell],
    places: &[Position],
    settings: &PlanSettings,
    span: Span,
    spread: f64,
    stops: &mut [Position],
    index: usize,
) -> bool {
    let own = stops[index];
    let others = without(stops, index);
    let scene = Scene::of(cells, &others);
    // A missing tramline may lie further off than the next one.
    let reach = if span.missing(stops) > 0.0 { f64::INFINITY } else { SWAP_REACH_M };
    let mut best = (scene.score(own, &others, span, spread) - 1e-9, None);
    for place in places {
        if distance2(place.at, own.at) > reach * reach || !is_free(place, &others, settings.min_spacing_m) {
            continue;
        }
        let score = scene.score(*place, &others, span, spread);
        if score < best.0 {
            best = (score, Some(*place));
        }
    }
    if let Some(place) = best.1 {
        stops[index] = place;
    }
    best.1.is_some()
}

/// Every cell's nearest among the stops that stay, so that a place for the one that moves is weighed in one pass.
struct Scene<'a> {
    cells: &'a [Cell],
    nearest: Vec<(usize, f64)>,
    total: f64,
}

impl<'a> Scene<'a> {
    fn of(cells: &'a [Cell], others: &[Position]) -> Self {
        let places: Vec<Coord<f64>> = others.iter().map(|stop| stop.at).collect();
        let nearest = cells.iter().map(|cell| nearest_of(&places, cell.at)).collect();
        Self { cells, nearest, total: cells.iter().map(|cell| cell.population).sum() }
    }

    /// As [`score`] of the others and the place; cells as near to two are not split, which moves the result by a cell at most.
    fn score(&self, place: Position, others: &[Position], span: Span, spread: f64) -> f64 {
        let mut held = vec![0.0; others.len() + 1];
        let mut inertia = 0.0;
        for (cell, (nearest, away2)) in self.cells.iter().zip(&self.nearest) {
            let own2 = distance2(place.at, cell.at);
            let (to, away2) = if own2 < *away2 { (others.len(), own2) } else { (*nearest, *away2) };
            held[to] += cell.population;
            inertia += cell.weight * away2;
        }
        if self.total > 0.0 {
            for share in &mut held {
                *share /= self.total;
            }
        }
        let missing = if span.tramlines > 1 || span.extent_m > 0.0 {
            let mut all = others.to_vec();
            all.push(place);
            span.missing(&all)
        } else {
            0.0
        };
        balance(&held) + SPREAD * inertia / spread + missing
    }
}
