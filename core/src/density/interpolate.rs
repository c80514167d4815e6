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
    let mut farthest = f64::INFINITY;
    for (number, (point, distance2)) in tree.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]).enumerate() {
        if distance2 < SAME_PLACE_M * SAME_PLACE_M {
            return point.data;
        }
        // All that lie as far as the last one count, so that the result depends neither on the order of the points nor on
        // how they lie to north.
        if number + 1 == NEIGHBOURS {
            farthest = distance2 * (1.0 + 1e-6);
        } else if number >= NEIGHBOURS && distance2 > farthest {
            break;
        }
        sum += point.data / distance2;
        weights += 1.0 / distance2;
    }
    sum / weights
}
