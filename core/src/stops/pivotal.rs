//! Spatially balanced random draws: the local pivotal method LPM2 (Grafström, Lundström and Schelin 2012, Biometrics 68:514-520).
//!
//! Each step takes an undecided place and its nearest undecided neighbour and settles one of the two, so that near places are
//! seldom both drawn. The chance of every place stays exactly what it was, and the size of the sample is fixed.

use geo::Coord;
use rand::{Rng, RngExt as _};
use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::stops::search::first_nearest;

/// Chances nearer than this to 0 or 1 are settled.
const SETTLED: f64 = 1e-9;

/// Chances in proportion to sizes that add up to `n`; places so large that they would come out above 1 are taken for certain and
/// the others rescaled. Fewer than `n` places of any size: all of them are certain.
pub fn inclusion_probabilities(sizes: &[f64], n: usize) -> Vec<f64> {
    let mut chances = vec![0.0; sizes.len()];
    let mut open: Vec<usize> = (0..sizes.len()).filter(|index| sizes[*index] > 0.0).collect();
    let mut left = n.min(open.len());
    loop {
        let total: f64 = open.iter().map(|index| sizes[*index]).sum();
        let certain: Vec<usize> = open.iter().copied().filter(|index| sizes[*index] * left as f64 >= total).collect();
        if certain.is_empty() || left == 0 {
            for index in &open {
                chances[*index] = if total > 0.0 { left as f64 * sizes[*index] / total } else { 0.0 };
            }
            return chances;
        }
        for index in &certain {
            chances[*index] = 1.0;
        }
        left = left.saturating_sub(certain.len());
        open.retain(|index| !certain.contains(index));
    }
}

/// Indices of the places drawn with the given chances, in order. As many as the chances add up to, if that is a whole number.
pub fn local_pivotal(places: &[Coord<f64>], chances: &[f64], random: &mut impl Rng) -> Vec<usize> {
    let mut chance = chances.to_vec();
    let is_open = |chance: f64| chance > SETTLED && chance < 1.0 - SETTLED;
    let node = |index: usize| GeomWithData::new([places[index].x, places[index].y], index);
    let mut open: Vec<usize> = (0..places.len()).filter(|index| is_open(chance[*index])).collect();
    // Where each open place stands in the list, to take it out in one step.
    let mut position: Vec<usize> = vec![usize::MAX; places.len()];
    for (at, index) in open.iter().enumerate() {
        position[*index] = at;
    }
    let mut tree = RTree::bulk_load(open.iter().map(|index| node(*index)).collect());
    while open.len() > 1 {
        let one = open[random.random_range(0..open.len())];
        tree.remove(&node(one));
        // Places on a line lie at whole steps: two are as near, of which the first is taken.
        let Some(other) = first_nearest(&tree, places[one]) else { break };
        let (p, q) = (chance[one], chance[other]);
        let sum = p + q;
        // The last two add up to 1 but for rounding, which must not choose the branch.
        (chance[one], chance[other]) = if sum < 1.0 - SETTLED {
            if random.random::<f64>() < q / sum { (0.0, sum) } else { (sum, 0.0) }
        } else if random.random::<f64>() < (1.0 - q) / (2.0 - sum) {
            (1.0, sum - 1.0)
        } else {
            (sum - 1.0, 1.0)
        };
        let mut close = |index: usize| {
            let at = position[index];
            open.swap_remove(at);
            if let Some(moved) = open.get(at) {
                position[*moved] = at;
            }
        };
        if is_open(chance[one]) {
            tree.insert(node(one));
        } else {
            close(one);
        }
        if !is_open(chance[other]) {
            tree.remove(&node(other));
            close(other);
        }
    }
    // What is left of rounding, or of chances that do not add up to a whole number.
    for index in open {
        chance[index] = if random.random::<f64>() < chance[index] { 1.0 } else { 0.0 };
    }
    (0..places.len()).filter(|index| chance[*index] > 0.5).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng as _;
    use rand_chacha::ChaCha8Rng;

    #[test]
    fn large_places_are_certain_and_the_rest_is_rescaled() {
        let chances = inclusion_probabilities(&[10.0, 1.0, 1.0, 2.0, 0.0], 3);
        // 10 of 14 is above a third: certain; two are left for sizes 1, 1 and 2, of which 2 is certain in its turn.
        assert_eq!(chances, [1.0, 0.5, 0.5, 1.0, 0.0]);
        assert_eq!(inclusion_probabilities(&[1.0, 2.0], 5), [1.0, 1.0]);
    }

    #[test]
    fn the_size_is_fixed_and_near_places_are_seldom_both_drawn() {
        let places: Vec<Coord<f64>> = (0..20).map(|x| Coord { x: f64::from(x / 2 * 100 + x % 2), y: 0.0 }).collect();
        let mut random = ChaCha8Rng::seed_from_u64(5);
        for _ in 0..200 {
            // Ten pairs a metre apart, half of all places: always one of each pair.
            let drawn = local_pivotal(&places, &[0.5; 20], &mut random);
            assert_eq!(drawn.len(), 10);
            let pairs: Vec<usize> = drawn.iter().map(|index| index / 2).collect();
            assert_eq!(pairs, (0..10).collect::<Vec<_>>());
        }
    }
}
