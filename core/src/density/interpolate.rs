//! Inverse distance weighting (Shepard 1968) with power 2 over the nearest 16 points.

use geo::Coord;
use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::density::Grid;

/// Neighbours that a cell's value comes from.
const NEIGHBOURS: usize = 16;

/// A cell this near to a point, m, takes its value.
const SAME_PLACE_M: f64 = 1e-6;

/// Up to this many points, sorting all by distance is quicker than asking an index.
const FEW: usize = 32;

/// Values at the cells of `grid` that have one, from points (metres, value); NaN elsewhere, and everywhere without points.
pub fn inverse_distance(grid: &Grid, points: &[(Coord<f64>, f64)]) -> Vec<f64> {
    let at = |index: usize| grid.centre(index % grid.columns, index / grid.columns);
    let cells = grid.values.iter().enumerate();
    if points.len() <= FEW {
        let mut away: Vec<(f64, f64)> = Vec::with_capacity(points.len());
        let mut value_at = |at: Coord<f64>| {
            away.clear();
            away.extend(points.iter().map(|(point, value)| ((point.x - at.x).powi(2) + (point.y - at.y).powi(2), *value)));
            away.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
            weighted(away.iter().copied())
        };
        return cells.map(|(index, held)| if held.is_nan() { f64::NAN } else { value_at(at(index)) }).collect();
    }
    let tree = RTree::bulk_load(points.iter().map(|(at, value)| GeomWithData::new([at.x, at.y], *value)).collect());
    let value_at = |at: Coord<f64>| {
        let nearest = tree.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]);
        weighted(nearest.map(|(point, distance2)| (distance2, point.data)))
    };
    cells.map(|(index, held)| if held.is_nan() { f64::NAN } else { value_at(at(index)) }).collect()
}

/// The mean of values weighted by inverse squared distance: squared distances, m2, and values, the nearest first.
fn weighted(nearest: impl Iterator<Item = (f64, f64)>) -> f64 {
    let (mut sum, mut weights) = (0.0, 0.0);
    let mut farthest = f64::INFINITY;
    for (number, (distance2, value)) in nearest.enumerate() {
        if distance2 < SAME_PLACE_M * SAME_PLACE_M {
            return value;
        }
        // All that lie as far as the last one count, so that the result depends neither on the order of the points nor on
        // how they lie to north.
        if number + 1 == NEIGHBOURS {
            farthest = distance2 * (1.0 + 1e-6);
        } else if number >= NEIGHBOURS && distance2 > farthest {
            break;
        }
        sum += value / distance2;
        weights += 1.0 / distance2;
    }
    sum / weights
}
