//! Kernel density: from bare places of plants or patches, without counts, to places per m2.
//!
//! A Gaussian kernel cut off at four bandwidths. Each place's kernel is divided by what of it lies inside the field (the edge
//! correction of Diggle 1985, Applied Statistics 34:138-147, and Jones 1993, Statistics and Computing 3:69-73: from memory),
//! so that every place counts once and the surface adds up to the number of places.

use geo::Coord;
use rayon::prelude::*;
use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::density::Grid;

/// Bandwidths beyond which the kernel is cut off; outside lie 0.03 % of it.
const CUT_OFF: f64 = 4.0;

/// The least and the greatest bandwidth, m: below, single plants show; above, patches melt together. Common practice, no
/// source.
const BANDWIDTHS_M: (f64, f64) = (15.0, 30.0);

/// A bandwidth for places, m: the standard deviation per axis times n^(-1/6) (Silverman 1986, section 4.3.2, for the plane),
/// kept within 15 to 30 m. A single place gets the greatest.
pub fn bandwidth(places: &[Coord<f64>]) -> f64 {
    let n = places.len() as f64;
    if n < 2.0 {
        return BANDWIDTHS_M.1;
    }
    let mean = places.iter().fold(Coord::zero(), |sum: Coord<f64>, at| sum + *at) / n;
    let squares: f64 = places.iter().map(|at| (at.x - mean.x).powi(2) + (at.y - mean.y).powi(2)).sum();
    let deviation = (squares / (2.0 * (n - 1.0))).sqrt();
    (deviation * n.powf(-1.0 / 6.0)).clamp(BANDWIDTHS_M.0, BANDWIDTHS_M.1)
}

/// Places per m2 at the cells of `grid` that have a value, from places in metres; NaN elsewhere. Places more than a cell
/// outside the field are left out; the values times the area of a cell add up to the number of the others. A bandwidth
/// shorter than a cell is taken as long as a cell, so that the middle of some cell lies within reach of every place.
pub fn kernel_density(grid: &Grid, places: &[Coord<f64>], bandwidth_m: f64) -> Vec<f64> {
    let bandwidth_m = bandwidth_m.max(grid.cell_m);
    let cells = RTree::bulk_load(grid.cells().map(|(at, _)| [at.x, at.y]).collect());
    let reach2 = (CUT_OFF * bandwidth_m).powi(2);
    let kernel = |distance2: f64| (-distance2 / (2.0 * bandwidth_m * bandwidth_m)).exp();
    let between = |a: &[f64; 2], b: &[f64; 2]| (a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2);
    // Sorted, so that the order in which places come does not show in the sums.
    let mut inside: Vec<[f64; 2]> = places.iter().filter(|at| is_in(grid, **at)).map(|at| [at.x, at.y]).collect();
    inside.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let weighted = |place: &[f64; 2]| {
        let mass: f64 = cells.locate_within_distance(*place, reach2).map(|cell| kernel(between(cell, place))).sum();
        GeomWithData::new(*place, 1.0 / (mass * grid.cell_m * grid.cell_m))
    };
    let tree = RTree::bulk_load(inside.par_iter().map(weighted).collect());
    let density = |(index, held): (usize, &f64)| {
        if held.is_nan() {
            return f64::NAN;
        }
        let at = grid.centre(index % grid.columns, index / grid.columns);
        let near = tree.locate_within_distance([at.x, at.y], reach2);
        near.map(|place| place.data * kernel(between(place.geom(), &[at.x, at.y]))).sum()
    };
    grid.values.par_iter().enumerate().map(density).collect()
}

/// Whether a place lies in a cell with a value or beside one: cells whose middle is just outside the field have none.
fn is_in(grid: &Grid, at: Coord<f64>) -> bool {
    let steps = [0.0, -grid.cell_m, grid.cell_m];
    steps.iter().any(|x| steps.iter().any(|y| grid.value_at(at + Coord { x: *x, y: *y }).is_some()))
}

#[cfg(test)]
mod tests {
    use geo::{MultiPolygon, polygon};
    use rand::{RngExt as _, SeedableRng as _, seq::SliceRandom as _};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    fn field() -> Grid {
        let hole = vec![(120.0, 60.0), (180.0, 60.0), (180.0, 120.0), (120.0, 120.0)];
        let outline = polygon!((x: 0., y: 0.), (x: 300., y: 0.), (x: 300., y: 100.), (x: 150., y: 240.), (x: 0., y: 200.));
        let shape = geo::Polygon::new(outline.exterior().clone(), vec![hole.into()]);
        Grid::over(&MultiPolygon(vec![shape]), 3.0, 0.0).unwrap()
    }

    fn places(grid: &Grid, n: usize) -> Vec<Coord<f64>> {
        let cells: Vec<Coord<f64>> = grid.cells().map(|(at, _)| at).collect();
        let mut rng = ChaCha8Rng::seed_from_u64(1);
        (0..n).map(|_| cells[rng.random_range(0..cells.len())] + Coord { x: rng.random_range(-1.4..1.4), y: 0.3 }).collect()
    }

    fn total(grid: &Grid, density: &[f64]) -> f64 {
        density.iter().filter(|value| !value.is_nan()).sum::<f64>() * grid.cell_m * grid.cell_m
    }

    #[test]
    fn it_adds_up_to_the_places() {
        let grid = field();
        let mut places = places(&grid, 57);
        places.extend([Coord { x: 0.5, y: 0.5 }, Coord { x: 299.5, y: 99.0 }, Coord { x: 0.1, y: 199.0 }]);
        for bandwidth in [0.2, 3.0, 15.0, 30.0, 400.0] {
            let density = kernel_density(&grid, &places, bandwidth);
            assert!((total(&grid, &density) - 60.0).abs() < 1e-9, "{bandwidth}: {}", total(&grid, &density));
        }
        places.extend([Coord { x: -20.0, y: 50.0 }, Coord { x: 150.0, y: 90.0 }, Coord { x: 1e6, y: 0.0 }]);
        let density = kernel_density(&grid, &places, 20.0);
        assert!((total(&grid, &density) - 60.0).abs() < 1e-9, "places outside and in the hole do not count");
        for (value, held) in density.iter().zip(&grid.values) {
            assert_eq!(value.is_nan(), held.is_nan());
        }
    }

    #[test]
    fn in_the_open_it_is_the_kernel() {
        // One place far from any edge: 1 / (2 pi h^2) at the middle, e^-2 of it at 2 h, nothing beyond 4 h.
        let shape = MultiPolygon(vec![geo::Rect::new((0.0, 0.0), (401.0, 401.0)).to_polygon()]);
        let grid = Grid::over(&shape, 1.0, 0.0).unwrap();
        let density = Grid { values: kernel_density(&grid, &[Coord { x: 200.5, y: 200.5 }], 20.0), ..grid };
        let top = 1.0 / (std::f64::consts::TAU * 400.0);
        let at = |x: f64| density.value_at(Coord { x: 200.5 + x, y: 200.5 }).unwrap();
        // What is cut off is e^-8, shared out over the rest.
        let kept = 1.0 - (-8.0_f64).exp();
        assert!((at(0.0) * kept / top - 1.0).abs() < 1e-4, "{}", at(0.0) / top);
        assert!((at(40.0) / at(0.0) - (-2.0_f64).exp()).abs() < 1e-9);
        assert_eq!(at(81.0), 0.0);
    }

    #[test]
    fn an_edge_does_not_thin_it() {
        // A place on a straight edge keeps half of its kernel inside: its density there is twice that of one in the open.
        let shape = MultiPolygon(vec![geo::Rect::new((0.0, 0.0), (300.0, 300.0)).to_polygon()]);
        let grid = Grid::over(&shape, 1.0, 0.0).unwrap();
        let beside = |x: f64, from: f64| {
            let density = kernel_density(&grid, &[Coord { x, y: 150.5 }], 15.0);
            Grid { values: density, ..grid.clone() }.value_at(Coord { x: x + from, y: 150.5 }).unwrap()
        };
        assert!((beside(0.0, 0.5) / beside(150.0, 0.5) - 2.0).abs() < 0.01);
    }

    #[test]
    fn order_says_nothing_and_none_is_nothing() {
        let grid = field();
        let mut places = places(&grid, 40);
        let bits = |density: Vec<f64>| density.into_iter().map(f64::to_bits).collect::<Vec<_>>();
        let first = bits(kernel_density(&grid, &places, 18.0));
        places.shuffle(&mut ChaCha8Rng::seed_from_u64(2));
        assert_eq!(first, bits(kernel_density(&grid, &places, 18.0)));
        assert_eq!(total(&grid, &kernel_density(&grid, &[], 18.0)), 0.0);
    }

    #[test]
    fn bandwidths_stay_in_bounds() {
        assert_eq!(bandwidth(&[]), 30.0);
        assert_eq!(bandwidth(&[Coord { x: 1.0, y: 1.0 }]), 30.0);
        assert_eq!(bandwidth(&[Coord { x: 1.0, y: 1.0 }; 9]), 15.0);
        // Four corners of a square of side 2 a: variance per axis 4 a^2 / 3; n^(-1/6) = 4^(-1/6).
        let a = 25.0;
        let corners = [(a, a), (a, -a), (-a, a), (-a, -a)].map(|(x, y)| Coord { x, y });
        assert!((bandwidth(&corners) - (4.0 * a * a / 3.0_f64).sqrt() / 4.0_f64.powf(1.0 / 6.0)).abs() < 1e-12);
        assert_eq!(bandwidth(&corners.map(|at| at * 100.0)), 30.0);
    }
}
