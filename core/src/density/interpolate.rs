//! Inverse distance weighting (Shepard 1968) with power 2 over the nearest 16 points.

use geo::Coord;
use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::density::Grid;

/// Neighbours that a cell's value comes from.
const NEIGHBOURS: usize = 16;

/// A cell this near to a point, m, takes its value.
const SAME_PLACE_M: f64 = 1e-6;

/// Values at the cells of `grid` that have one, from points (metres, value); NaN elsewhere, and everywhere without points.
pub fn inverse_distance(grid: &Grid, points: &[(Coord<f64>, f64)]) -> Vec<f64> {
    let tree = RTree::bulk_load(points.iter().map(|(at, value)| GeomWithData::new([at.x, at.y], *value)).collect());
    let at = |index: usize| grid.centre(index % grid.columns, index / grid.columns);
    let cells = grid.values.iter().enumerate();
    cells.map(|(index, held)| if held.is_nan() { f64::NAN } else { value(&tree, at(index)) }).collect()
}

fn value(tree: &RTree<GeomWithData<[f64; 2], f64>>, at: Coord<f64>) -> f64 {
    let (mut sum, mut weights) = (0.0, 0.0);
    for (point, distance2) in tree.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]).take(NEIGHBOURS) {
        if distance2 < SAME_PLACE_M * SAME_PLACE_M {
            return point.data;
        }
        sum += point.data / distance2;
        weights += 1.0 / distance2;
    }
    sum / weights
}
