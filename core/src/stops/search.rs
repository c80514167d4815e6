//! The search for even cover: many seeded starts, the best of them swapped, and shaken while balance is poor.

use geo::Coord;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::model::PlanSettings;
use crate::progress::Progress;
use crate::stops::blocks::Blocks;
use crate::stops::candidates::{Among, near_gate};
use crate::stops::cover::{Aim, Span, move_one, start, swap, swap_last};
use crate::stops::ground::Ground;
use crate::stops::kmeans::distance2;
use crate::stops::{Cell, PlanError, Spot, sort};

/// Starts that are worth the swaps: the best of them before.
const SWAPPED_STARTS: usize = 4;
/// So often a plan that is not yet balanced is shaken and swapped again; once for each stop where there are more, up to the second.
const KICKS: (usize, usize) = (16, 30);
/// A plan that scores below this, balance and a little for spread, is balanced well enough.
const BALANCED: f64 = 0.008;

/// From a plan that scores below this on no other start need be tried: a score of 0.005 is that of perfect balance with the spread
/// of the best start.
const WELL_BALANCED: f64 = 0.0055;

/// Scores that differ by less are equal.
pub(super) const SAME_SCORE: f64 = 1e-9;
/// Squared distances that differ by less than this part are equal.
const ROUNDING: f64 = 1e-6;

/// A score counted in the least steps that are told apart.
fn in_steps(score: f64) -> i64 {
    (score / SAME_SCORE).round() as i64
}

/// Stops, and what they were asked to span.
pub(super) struct Chosen {
    pub stops: Vec<Spot>,
    pub span: Span,
}

/// Even cover, pinned stops included.
pub(super) fn even_cover(
    ground: &Ground<'_>,
    settings: &PlanSettings,
    pinned: &[Spot],
    progress: &dyn Progress,
) -> Result<Chosen, PlanError> {
    // First as if there were no gate: if no stop comes to lie near one, the stops do not depend on where the gates are.
    let chosen = choose(ground, settings, pinned, Among::OffHeadland, progress)?;
    if chosen.stops.iter().any(|stop| !stop.pinned && near_gate(&ground.site, settings.gate_exclusion_m, stop.at)) {
        return choose(ground, settings, pinned, Among::OffHeadlandAndGate, progress);
    }
    Ok(chosen)
}

fn choose(
    ground: &Ground<'_>,
    settings: &PlanSettings,
    pinned: &[Spot],
    among: Among,
    progress: &dyn Progress,
) -> Result<Chosen, PlanError> {
    let places = ground.places(among);
    if places.is_empty() && pinned.len() < settings.stops {
        return Err(ground.no_room());
    }
    let mut aim = Aim { settings, span: Span::allowed(settings, settings.stops, places), spread: 1.0 };
    let steps = settings.starts + SWAPPED_STARTS;
    let mut starts = Vec::new();
    for number in 0..settings.starts {
        progress.check(number, steps)?;
        let mut random = ChaCha8Rng::seed_from_u64(settings.seed);
        random.set_stream(number as u64);
        let stops = start(&ground.coarse, places, pinned, &aim, &mut random);
        aim.spread = Aim::spread_of(&ground.coarse, &stops);
        starts.push((in_steps(aim.score(&ground.coarse, &stops)), stops));
    }
    // More stops come before better ones: a start that left no room for one is no better for that.
    starts.sort_by_key(|(score, stops)| (std::cmp::Reverse(stops.len()), *score));
    starts.dedup_by(|a, b| a.1 == b.1);
    starts.truncate(SWAPPED_STARTS);
    let most = starts.first().map_or(0, |(_, stops)| stops.len());
    starts.retain(|(_, stops)| stops.len() == most);
    aim.spread = starts.first().map_or(1.0, |(_, stops)| Aim::spread_of(&ground.coarse, stops));

    let blocks = Blocks::of(&ground.coarse);
    let mut best: Option<(f64, Vec<Spot>)> = None;
    for (number, (_, mut stops)) in starts.into_iter().enumerate() {
        progress.check(settings.starts + number, steps)?;
        swap(&blocks, places, &aim, &mut stops);
        let reached = aim.score(&ground.coarse, &stops);
        if best.as_ref().is_none_or(|(held, _)| reached < *held - SAME_SCORE) {
            best = Some((reached, stops));
        }
        if best.as_ref().is_some_and(|(held, _)| *held < WELL_BALANCED) {
            break;
        }
    }
    let (reached, stops) = best.unwrap_or_default();
    let mut stops = shaken(ground, places, &blocks, &aim, (reached, stops), progress)?;
    // The last bit on the cells themselves.
    let fine = Blocks::of(&ground.cells);
    aim.spread = Aim::spread_of(&ground.cells, &stops);
    swap_last(&fine, places, &aim, &mut stops);
    Ok(Chosen { stops, span: aim.span })
}

/// Swaps of one stop at a time can end where only two together would help: one is moved somewhere else and all swapped again.
fn shaken(
    ground: &Ground<'_>,
    places: &[Spot],
    blocks: &Blocks,
    aim: &Aim<'_>,
    (mut reached, mut stops): (f64, Vec<Spot>),
    progress: &dyn Progress,
) -> Result<Vec<Spot>, PlanError> {
    let mut random = ChaCha8Rng::seed_from_u64(aim.settings.seed);
    random.set_stream(u64::MAX);
    let in_patches: Vec<Spot> = places.iter().filter(|place| place.patch.is_some()).copied().collect();
    let around = if in_patches.is_empty() { places } else { &in_patches };
    let kicks = stops.len().clamp(KICKS.0, KICKS.1);
    // Half of them in vain are enough: what cannot be balanced is not worth the time.
    let mut in_vain = 0;
    for kick in 0..kicks {
        if reached < BALANCED || stops.len() < 2 || in_vain > kicks / 2 {
            break;
        }
        progress.check(kick, kicks)?;
        // Which stop is moved must not hang on the order in which they came to lie where they are.
        sort(&mut stops);
        let mut kicked = stops.clone();
        move_one(around, aim, &mut kicked, &mut random);
        swap(blocks, places, aim, &mut kicked);
        let score = aim.score(&ground.coarse, &kicked);
        if score < reached - SAME_SCORE {
            (reached, stops) = (score, kicked);
            in_vain = 0;
        } else {
            in_vain += 1;
        }
    }
    Ok(stops)
}

/// How many stops the tramlines inside patches hold: as many as fit at the least spacing, and no more than leave the densest
/// place for a stop about an equal share of the population. None: there are no patches.
pub(super) fn patches_hold(ground: &Ground<'_>) -> Option<usize> {
    if ground.patches.list.is_empty() {
        return None;
    }
    let places = ground.places(Among::OffHeadlandAndGate);
    let mut taken: Vec<Spot> = Vec::new();
    let least2 = ground.settings.min_spacing_m.powi(2) * (1.0 - ROUNDING);
    for place in places.iter().filter(|place| place.patch.is_some()) {
        if taken.len() < MOST_COUNTED && taken.iter().all(|other| distance2(other.at, place.at) >= least2) {
            taken.push(*place);
        }
    }
    // A stop stands at least for what lies nearest to its tramline within half the spacing either way.
    let held = represented(ground, places, |cell| cell.population);
    let half2 = least2 / 4.0;
    let around = |index: usize| {
        let own = &places[index];
        let near = |at: &usize| places[*at].tramline == own.tramline && distance2(places[*at].at, own.at) <= half2;
        let before = (0..index).rev().take_while(near);
        before.chain((index..places.len()).take_while(near)).map(|at| held[at]).sum::<f64>()
    };
    let densest = (0..places.len()).map(around).fold(0.0, f64::max);
    let total: f64 = held.iter().sum();
    let by_share = if densest > 0.0 { (EQUAL_ENOUGH * total / densest).floor() as usize } else { MOST_COUNTED };
    Some(taken.len().min(by_share))
}

/// The number of the place nearest to another; of equals, but for rounding, the first.
pub(super) fn first_nearest(tree: &RTree<GeomWithData<[f64; 2], usize>>, at: Coord<f64>) -> Option<usize> {
    let mut near = tree.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]);
    let (nearest, away2) = near.next()?;
    let as_near = near.take_while(|(_, other2)| *other2 <= away2 * (1.0 + ROUNDING)).map(|(place, _)| place.data);
    as_near.chain([nearest.data]).min()
}

/// What each place stands for: a quantity summed over the cells nearest to it.
pub(super) fn represented(ground: &Ground<'_>, places: &[Spot], of: impl Fn(&Cell) -> f64) -> Vec<f64> {
    let node = |(index, place): (usize, &Spot)| GeomWithData::new([place.at.x, place.at.y], index);
    let tree = RTree::bulk_load(places.iter().enumerate().map(node).collect());
    let mut sums = vec![0.0; places.len()];
    for cell in &ground.cells {
        if let Some(nearest) = first_nearest(&tree, cell.at) {
            sums[nearest] += of(cell);
        }
    }
    sums
}

/// A stop that stands for this many equal shares is still as good as equal: one such among twelve adds 0.013 to B.
const EQUAL_ENOUGH: f64 = 1.4;
/// More stops than this are not counted: nobody takes as many.
const MOST_COUNTED: usize = 200;
