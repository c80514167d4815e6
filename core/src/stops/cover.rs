//! Even cover: from k-means centres to stops on the network, and the swaps that bring them to balance.

use std::collections::BTreeSet;

use geo::Coord;
use rand::{Rng, RngExt as _};

use crate::model::PlanSettings;
use crate::stops::blocks::{Blocks, Standing};
use crate::stops::candidates::extent;
use crate::stops::kmeans::{distance2, is_less, kmeans_around, least, nearest_of};
use crate::stops::search::SAME_SCORE;
use crate::stops::{Cell, Spot, balance, inertia, places_of, shares, sort};

/// A stop is swapped with candidates up to this far away, m: from one tramline to the next at the usual spacings.
const SWAP_REACH_M: f64 = 80.0;
/// The last swaps, on the finest cells, reach so far, m: to the next tramline. What is further off was tried before.
const LAST_REACH_M: f64 = 40.0;
/// Rounds of swaps; balance has long stopped falling by then.
const MOST_ROUNDS: usize = 12;
/// Weight of the mean squared distance beside balance, so that swaps do not buy the last bit of balance with poor spread.
const SPREAD: f64 = 0.005;
/// Candidates are first tried each so many, then all round the best of those.
const STRIDE: usize = 4;

/// What the plan should span, as far as the ground allows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Span {
    /// Different tramlines.
    pub tramlines: usize,
    /// Distance between the outermost stops, m.
    pub extent_m: f64,
    /// Stops in each patch.
    pub per_patch: usize,
    /// Patches that hold candidates.
    pub patches: Vec<usize>,
}

impl Span {
    /// The wanted span, or what the candidates in the patches allow.
    pub fn allowed(settings: &PlanSettings, stops: usize, places: &[Spot]) -> Self {
        let patches: BTreeSet<usize> = places.iter().filter_map(|place| place.patch).collect();
        let in_patches: Vec<Spot> = places.iter().filter(|place| place.patch.is_some()).copied().collect();
        let around = if in_patches.is_empty() { places } else { &in_patches };
        let lines: BTreeSet<i32> = around.iter().filter_map(|place| place.tramline).collect();
        Self {
            tramlines: settings.min_tramlines.min(stops).min(lines.len()),
            extent_m: if stops < 2 { 0.0 } else { settings.min_extent_m.min(0.95 * extent(around)) },
            per_patch: if patches.is_empty() { 0 } else { settings.per_patch.min(stops / patches.len()) },
            patches: patches.into_iter().collect(),
        }
    }

    /// How much is missing: whole tramlines, stops in patches, and the part of the extent.
    fn missing(&self, stops: &[Spot]) -> f64 {
        let lines: BTreeSet<i32> = stops.iter().filter_map(|stop| stop.tramline).collect();
        let farthest2 = stops
            .iter()
            .enumerate()
            .flat_map(|(i, a)| stops.iter().skip(i + 1).map(move |b| distance2(a.at, b.at)))
            .fold(0.0, f64::max);
        let lines = self.tramlines.saturating_sub(lines.len()) as f64;
        let short = if self.extent_m > 0.0 { (1.0 - farthest2.sqrt() / self.extent_m).max(0.0) } else { 0.0 };
        let in_patch = |patch: usize| stops.iter().filter(|stop| stop.patch == Some(patch)).count();
        let patches: usize = match self.per_patch {
            0 => 0,
            wanted => self.patches.iter().map(|patch| wanted.saturating_sub(in_patch(*patch))).sum(),
        };
        lines + short + patches as f64
    }
}

/// What stops are measured by.
pub(super) struct Aim<'a> {
    pub settings: &'a PlanSettings,
    pub span: Span,
    /// The inertia that spread is measured against.
    pub spread: f64,
}

impl Aim<'_> {
    /// How far stops are from what is wanted: balance, a little of the spread, and whatever span is missing.
    pub fn score(&self, cells: &[Cell], stops: &[Spot]) -> f64 {
        let places = places_of(stops);
        balance(&shares(cells, &places)) + SPREAD * inertia(cells, &places) / self.spread + self.span.missing(stops)
    }

    /// The inertia of stops, to measure spread against.
    pub fn spread_of(cells: &[Cell], stops: &[Spot]) -> f64 {
        inertia(cells, &places_of(stops)).max(f64::MIN_POSITIVE)
    }

    fn is_free(&self, place: Coord<f64>, stops: &[Spot]) -> bool {
        // Places on one line lie whole steps apart: rounding must not say whether they are far enough.
        let least2 = self.settings.min_spacing_m.powi(2) * (1.0 - 1e-9);
        stops.iter().all(|stop| distance2(stop.at, place) >= least2)
    }
}

/// One start of even cover: the pinned stops and others among the candidates, at most `settings.stops` in all, none nearer than
/// the minimum to another.
pub(super) fn start(cells: &[Cell], places: &[Spot], pinned: &[Spot], aim: &Aim<'_>, random: &mut impl Rng) -> Vec<Spot> {
    let wanted = aim.settings.stops;
    let own = wanted.saturating_sub(pinned.len());
    let mut centres = kmeans_around(cells, &places_of(pinned), own, random).centres;
    centres.drain(..pinned.len());
    let mass = shares(cells, &centres);
    let mut order: Vec<usize> = (0..centres.len()).collect();
    order.sort_by_key(|index| std::cmp::Reverse((mass[*index] / SAME_SCORE).round() as i64));
    let mut stops: Vec<Spot> = pinned.to_vec();
    for centre in order.into_iter().map(|index| centres[index]) {
        let free = places.iter().filter(|place| aim.is_free(place.at, &stops));
        stops.extend(least(free.map(|place| (distance2(place.at, centre), *place))).map(|(_, place)| place));
    }
    // A centre for which no candidate was left near, or fewer cells with weight than stops: the most distant ones still free.
    while stops.len() < wanted {
        let taken = places_of(&stops);
        let free = places.iter().filter(|place| aim.is_free(place.at, &stops));
        let away = free.map(|place| (nearest_of(&taken, place.at).1, *place));
        let Some((_, farthest)) = away.reduce(|held, next| if is_less(held.0, next.0) { next } else { held }) else { break };
        stops.push(farthest);
    }
    sort(&mut stops);
    stops
}

/// Swaps stops with candidates near them, one at a time, each time the one that helps most, until none helps.
pub(super) fn swap(cells: &Blocks, places: &[Spot], aim: &Aim<'_>, stops: &mut [Spot]) {
    swap_within(cells, places, aim, stops, SWAP_REACH_M);
}

/// The last bit: swaps with the candidates beside each stop.
pub(super) fn swap_last(cells: &Blocks, places: &[Spot], aim: &Aim<'_>, stops: &mut [Spot]) {
    swap_within(cells, places, aim, stops, LAST_REACH_M);
}

fn swap_within(cells: &Blocks, places: &[Spot], aim: &Aim<'_>, stops: &mut [Spot], reach_m: f64) {
    let mut standing = Standing::of(cells, places_of(stops));
    for _ in 0..MOST_ROUNDS {
        let mut helped = false;
        for index in (0..stops.len()).filter(|index| !stops[*index].pinned).collect::<Vec<_>>() {
            if let Some(place) = better_place(&standing, places, aim, stops, index, reach_m) {
                stops[index] = place;
                standing.put(index, place.at);
                helped = true;
            }
        }
        if !helped {
            break;
        }
    }
}

/// Moves one stop that is not pinned, drawn at random, to a free candidate, drawn at random; nowhere if the one drawn is not free.
pub(super) fn move_one(places: &[Spot], aim: &Aim<'_>, stops: &mut [Spot], random: &mut impl Rng) {
    let index = random.random_range(0..stops.len());
    let Some(place) = places.get(random.random_range(0..places.len().max(1))).copied() else { return };
    if !stops[index].pinned && aim.is_free(place.at, &without(stops, index)) {
        stops[index] = place;
    }
}

/// The stops but one.
fn without(stops: &[Spot], index: usize) -> Vec<Spot> {
    stops.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, stop)| *stop).collect()
}

/// The candidate that helps most in the place of one of the stops; none if none helps.
fn better_place(
    standing: &Standing<'_>,
    places: &[Spot],
    aim: &Aim<'_>,
    stops: &[Spot],
    index: usize,
    reach_m: f64,
) -> Option<Spot> {
    let own = stops[index];
    let others = without(stops, index);
    let around = standing.without(index);
    // Where the others span all that is wanted, so do all together.
    let short = aim.span.missing(&others) > 0.0;
    let mut held = Vec::new();
    let mut all = stops.to_vec();
    let mut score = |place: Spot| {
        let (balance, inertia) = around.with(place.at, &mut held);
        let missing = if short {
            all[index] = place;
            aim.span.missing(&all)
        } else {
            0.0
        };
        balance + SPREAD * inertia / aim.spread + missing
    };
    // A missing tramline or patch may lie further off than the next one.
    // On its own line the reach ends exactly at a candidate, which must be in or out whatever the rounding.
    let reach = if aim.span.missing(stops) > 0.0 { f64::INFINITY } else { reach_m + 1e-3 };
    let mut best = (score(own), None);
    let mut weigh = |at: usize, best: &mut (f64, Option<usize>)| {
        let Some(place) = places.get(at) else { return };
        if distance2(place.at, own.at) <= reach * reach && aim.is_free(place.at, &others) {
            let reached = score(*place);
            if reached < best.0 - SAME_SCORE {
                *best = (reached, Some(at));
            }
        }
    };
    for at in (0..places.len()).step_by(STRIDE) {
        weigh(at, &mut best);
    }
    let middle = best.1.or_else(|| places.iter().position(|place| place.at == own.at));
    if let Some(middle) = middle {
        for at in middle.saturating_sub(STRIDE - 1)..middle + STRIDE {
            weigh(at, &mut best);
        }
    }
    best.1.and_then(|at| places.get(at)).copied()
}
