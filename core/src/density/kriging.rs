//! Ordinary kriging: the best linear unbiased estimate of a value at a cell from points about it, and its variance.
//!
//! Takes points in metres of a local plane with a value each, and a variogram ([`crate::density::Variogram`]); gives values in
//! the same unit. Over all points at once, or at each cell over the nearest ones. Equations: Matheron 1963; Cressie 1993,
//! section 3.2; as solved in `kriging_system`.

use geo::Coord;
use rayon::prelude::*;
use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::density::kriging_system::{Estimate, SAME_PLACE_M, System};
use crate::density::validation::CrossValidation;
use crate::density::{Variogram, VariogramShape};

/// Beyond this many places at once the equations would fill the memory.
const MOST_AT_ONCE: usize = 5_000;

/// Points as far away as the last neighbour, within this part, are neighbours too.
const AS_FAR: f64 = 1e-6;

/// With less than this part of the sill between the two nearest places, kriging cannot tell them apart.
const LEAST_DIFFERENCE: f64 = 1e-10;

/// Cells that one thread takes at a time.
const CELLS_AT_A_TIME: usize = 256;

/// Points with a value each, m.
type Places = Vec<(Coord<f64>, f64)>;

/// Why points cannot be kriged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum KrigingError {
    /// Fewer than two different places.
    #[error("Kriging needs points at 2 different places or more; there are {0}. Add points.")]
    TooFew(usize),
    /// A coordinate or value is not finite.
    #[error("A point has a position or a value that is not a number. Mend or leave out that point.")]
    NotFinite,
    /// A parameter out of its bounds.
    #[error("The variogram needs a range above 0, and a nugget and a sill that are not negative and not both 0.")]
    Variogram,
    /// Equations that cannot be solved.
    #[error("Points lie too near together for this variogram to tell them apart. Give it a nugget, or thin the points.")]
    Singular,
    /// Too many for one set of equations.
    #[error("{0} places are too many to krige at once. Give a number of neighbours.")]
    TooMany(usize),
}

/// Points ready to be kriged.
#[derive(Debug)]
pub struct Kriging {
    places: Places,
    variogram: Variogram,
    way: Way,
}

#[derive(Debug)]
enum Way {
    AllAtOnce(Box<System>),
    Neighbours { tree: RTree<GeomWithData<[f64; 2], usize>>, count: usize },
}

impl Kriging {
    /// Takes points (metres, value) in any order; those at the same place are averaged. With `neighbours`, a cell is
    /// estimated from that many nearest places, and from any that are as far away as the last of them.
    pub fn new(points: &[(Coord<f64>, f64)], variogram: Variogram, neighbours: Option<usize>) -> Result<Self, KrigingError> {
        if points.iter().any(|(at, value)| !(at.x.is_finite() && at.y.is_finite() && value.is_finite())) {
            return Err(KrigingError::NotFinite);
        }
        if !usable(&variogram) {
            return Err(KrigingError::Variogram);
        }
        let places = different_places(points);
        if places.len() < 2 {
            return Err(KrigingError::TooFew(places.len()));
        }
        let way = match neighbours {
            Some(count) if count < places.len() => among_neighbours(&places, &variogram, count.max(1))?,
            _ if places.len() > MOST_AT_ONCE => return Err(KrigingError::TooMany(places.len())),
            _ => Way::AllAtOnce(Box::new(System::new(places.clone(), variogram).ok_or(KrigingError::Singular)?)),
        };
        Ok(Self { places, variogram, way })
    }

    /// The different places, sorted by x and then y, m, with their values.
    pub fn places(&self) -> &[(Coord<f64>, f64)] {
        &self.places
    }

    /// The variogram in use.
    pub fn variogram(&self) -> &Variogram {
        &self.variogram
    }

    /// How many nearest places a cell is estimated from; none if from all.
    pub fn neighbours(&self) -> Option<usize> {
        match &self.way {
            Way::AllAtOnce(_) => None,
            Way::Neighbours { count, .. } => Some(*count),
        }
    }

    /// Value and variance at a place, m.
    pub fn estimate(&self, at: Coord<f64>) -> Estimate {
        self.estimate_chunk(&[at])[0]
    }

    /// Values and variances at cells, m, in their order.
    pub fn estimate_all(&self, cells: &[Coord<f64>]) -> Vec<Estimate> {
        cells.par_chunks(CELLS_AT_A_TIME).flat_map_iter(|chunk| self.estimate_chunk(chunk)).collect()
    }

    fn estimate_chunk(&self, cells: &[Coord<f64>]) -> Vec<Estimate> {
        match &self.way {
            Way::AllAtOnce(system) => system.estimate_all(cells),
            Way::Neighbours { tree, count } => {
                let mut last = Neighbourhood::default();
                cells.iter().map(|cell| last.estimate(self, nearest(tree, *count, *cell, None), *cell)).collect()
            }
        }
    }

    /// How well each place is foretold from the others.
    pub fn leave_one_out(&self) -> CrossValidation {
        let left: Vec<(f64, f64)> = match &self.way {
            Way::AllAtOnce(system) => system.leave_one_out(),
            Way::Neighbours { tree, count } => {
                let foretold = |(index, (at, value)): (usize, &(Coord<f64>, f64))| {
                    let others = nearest(tree, *count, *at, Some(index));
                    let estimate = Neighbourhood::default().estimate(self, others, *at);
                    (value - estimate.value, estimate.variance)
                };
                self.places.par_iter().enumerate().map(foretold).collect()
            }
        };
        let (errors, variances): (Vec<f64>, Vec<f64>) = left.into_iter().unzip();
        let values: Vec<f64> = self.places.iter().map(|place| place.1).collect();
        CrossValidation::of(&errors, Some(&variances), &values)
    }
}

/// The equations of the neighbours last met: cells beside each other often share them.
#[derive(Default)]
struct Neighbourhood {
    members: Vec<usize>,
    system: Option<System>,
}

impl Neighbourhood {
    /// NaN if the equations cannot be solved, which [`among_neighbours`] keeps from happening.
    fn estimate(&mut self, kriging: &Kriging, members: Vec<usize>, at: Coord<f64>) -> Estimate {
        if members != self.members {
            let places = members.iter().map(|member| kriging.places[*member]).collect();
            self.system = System::new(places, kriging.variogram);
            self.members = members;
        }
        let nothing = Estimate { value: f64::NAN, variance: f64::NAN, lagrange: f64::NAN };
        self.system.as_ref().map_or(nothing, |system| system.estimate(at))
    }
}

fn usable(variogram: &Variogram) -> bool {
    let height = |part: f64| part >= 0.0 && part.is_finite();
    let structured = variogram.shape != VariogramShape::Nugget;
    height(variogram.nugget)
        && (!structured || height(variogram.partial_sill) && variogram.range_m > 0.0 && variogram.range_m.is_finite())
        && variogram.sill() > 0.0
}

/// Points sorted by x, y and value, those at the same place averaged: whatever the order they came in.
pub(super) fn different_places(points: &[(Coord<f64>, f64)]) -> Places {
    let mut sorted = points.to_vec();
    sorted.sort_by(|(a, z), (b, w)| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)).then(z.total_cmp(w)));
    // Position, sum of values, number of values.
    let mut places: Vec<(Coord<f64>, f64, f64)> = Vec::with_capacity(sorted.len());
    for (at, value) in sorted {
        let near_x = places.iter_mut().rev().take_while(|place| at.x - place.0.x <= SAME_PLACE_M);
        let same = near_x.filter(|place| (at.x - place.0.x).hypot(at.y - place.0.y) <= SAME_PLACE_M).last();
        if let Some(place) = same {
            place.1 += value;
            place.2 += 1.0;
        } else {
            places.push((at, value, 1.0));
        }
    }
    places.into_iter().map(|(at, sum, count)| (at, sum / count)).collect()
}

/// An index for neighbours, after a look whether the two nearest places can be told apart: then those of any neighbourhood
/// can.
fn among_neighbours(places: &Places, variogram: &Variogram, count: usize) -> Result<Way, KrigingError> {
    let leaf = |(index, (at, _)): (usize, &(Coord<f64>, f64))| GeomWithData::new([at.x, at.y], index);
    let tree = RTree::bulk_load(places.iter().enumerate().map(leaf).collect());
    let to_next = |(at, _): &(Coord<f64>, f64)| {
        tree.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]).nth(1).map_or(f64::INFINITY, |(_, distance2)| distance2)
    };
    let least = places.iter().map(to_next).fold(f64::INFINITY, f64::min).sqrt();
    if variogram.gamma(least) <= LEAST_DIFFERENCE * variogram.sill() {
        return Err(KrigingError::Singular);
    }
    Ok(Way::Neighbours { tree, count })
}

/// The nearest `count` places but one, and all that are as far as the last of them; in order of the places.
fn nearest(tree: &RTree<GeomWithData<[f64; 2], usize>>, count: usize, at: Coord<f64>, without: Option<usize>) -> Vec<usize> {
    let mut members = Vec::with_capacity(count + 8);
    let mut as_far = f64::INFINITY;
    for (place, distance2) in tree.nearest_neighbor_iter_with_distance_2(&[at.x, at.y]) {
        if members.len() >= count && distance2 > as_far {
            break;
        }
        if Some(place.data) == without {
            continue;
        }
        if members.len() < count {
            as_far = distance2 * (1.0 + AS_FAR) * (1.0 + AS_FAR);
        }
        members.push(place.data);
    }
    members.sort_unstable();
    members
}

#[cfg(test)]
mod tests {
    use rand::{RngExt as _, SeedableRng as _, seq::SliceRandom as _};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    const SPHERICAL: Variogram =
        Variogram { shape: VariogramShape::Spherical, nugget: 0.3, partial_sill: 2.0, range_m: 60.0 };

    fn variograms() -> [Variogram; 5] {
        let exponential = Variogram { shape: VariogramShape::Exponential, range_m: 25.0, ..SPHERICAL };
        let nugget = Variogram { shape: VariogramShape::Nugget, ..SPHERICAL };
        let exact = |variogram: Variogram| Variogram { nugget: 0.0, ..variogram };
        [SPHERICAL, exponential, nugget, exact(SPHERICAL), exact(exponential)]
    }

    fn scattered(n: usize, seed: u64) -> Places {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut draw = |to: f64| rng.random_range(0.0..to);
        (0..n).map(|_| (Coord { x: draw(200.0), y: draw(120.0) }, 5.0 + draw(3.0))).collect()
    }

    /// The equations as they stand in the books, [G 1; 1' 0] [l; mu] = [g; 1], by Gauss with row exchanges.
    fn by_the_book(places: &[(Coord<f64>, f64)], variogram: &Variogram, at: Coord<f64>) -> Estimate {
        let n = places.len();
        let gamma = |a: Coord<f64>, b: Coord<f64>| variogram.gamma((a.x - b.x).hypot(a.y - b.y));
        let mut rows: Vec<Vec<f64>> = places
            .iter()
            .map(|one| {
                let others = places.iter().map(|other| gamma(one.0, other.0));
                others.chain([1.0, gamma(one.0, at)]).collect()
            })
            .collect();
        rows.push((0..n).map(|_| 1.0).chain([0.0, 1.0]).collect());
        let to_places: Vec<f64> = rows[..n].iter().map(|row| row[n + 1]).collect();
        for pivot in 0..=n {
            let greatest = (pivot..=n).max_by(|a, b| rows[*a][pivot].abs().total_cmp(&rows[*b][pivot].abs())).unwrap();
            rows.swap(pivot, greatest);
            let of = rows[pivot].clone();
            for (index, row) in rows.iter_mut().enumerate().filter(|(index, _)| *index != pivot) {
                assert!(index <= n);
                let factor = row[pivot] / of[pivot];
                row.iter_mut().zip(&of).for_each(|(cell, pivot)| *cell -= factor * pivot);
            }
        }
        let solved: Vec<f64> = rows.iter().enumerate().map(|(index, row)| row[n + 1] / row[index]).collect();
        let value = solved.iter().zip(places).map(|(weight, place)| weight * place.1).sum();
        let explained: f64 = solved.iter().zip(&to_places).map(|(weight, gamma)| weight * gamma).sum();
        Estimate { value, variance: explained + solved[n], lagrange: solved[n] }
    }

    fn assert_same(a: &Estimate, b: &Estimate, within: f64) {
        assert!((a.value - b.value).abs() < within, "{a:?} {b:?}");
        assert!((a.variance - b.variance).abs() < within, "{a:?} {b:?}");
        assert!((a.lagrange - b.lagrange).abs() < within, "{a:?} {b:?}");
    }

    #[test]
    fn all_at_once_is_the_solution_of_the_books() {
        for (seed, n) in [2, 3, 4, 5, 8, 31].into_iter().enumerate() {
            let points = scattered(n, seed as u64);
            let cells: Vec<Coord<f64>> = scattered(11, 99).into_iter().map(|(at, _)| at).collect();
            for variogram in variograms() {
                let kriging = Kriging::new(&points, variogram, None).unwrap();
                for (cell, found) in cells.iter().zip(kriging.estimate_all(&cells)) {
                    assert_same(&found, &by_the_book(&points, &variogram, *cell), 1e-9);
                    assert_same(&found, &kriging.estimate(*cell), 1e-12);
                    assert!(found.variance >= 0.0);
                }
            }
        }
    }

    #[test]
    fn neighbours_are_the_solution_over_the_nearest() {
        let points = scattered(60, 7);
        for variogram in variograms() {
            let kriging = Kriging::new(&points, variogram, Some(9)).unwrap();
            for (cell, _) in scattered(40, 8) {
                let mut near = points.clone();
                let away = |at: Coord<f64>| (at.x - cell.x).hypot(at.y - cell.y);
                near.sort_by(|a, b| away(a.0).total_cmp(&away(b.0)));
                assert_same(&kriging.estimate(cell), &by_the_book(&near[..9], &variogram, cell), 1e-9);
            }
        }
    }

    #[test]
    fn leave_one_out_is_what_taking_each_point_out_gives() {
        let points = scattered(25, 3);
        for variogram in variograms() {
            for neighbours in [None, Some(6)] {
                let found = Kriging::new(&points, variogram, neighbours).unwrap().leave_one_out();
                let (mut errors, mut variances) = (Vec::new(), Vec::new());
                for (index, (at, value)) in points.iter().enumerate() {
                    let mut others = points.clone();
                    others.remove(index);
                    let estimate = Kriging::new(&others, variogram, neighbours).unwrap().estimate(*at);
                    errors.push(value - estimate.value);
                    variances.push(estimate.variance);
                }
                let values: Vec<f64> = points.iter().map(|point| point.1).collect();
                let expected = CrossValidation::of(&errors, Some(&variances), &values);
                assert!((found.mean_error - expected.mean_error).abs() < 1e-9);
                assert!((found.rmse - expected.rmse).abs() < 1e-9);
                assert!((found.msdr.unwrap() - expected.msdr.unwrap()).abs() < 1e-9);
                if variogram.shape == VariogramShape::Nugget && neighbours.is_none() {
                    assert!((found.rmse - found.rmse_of_mean).abs() < 1e-9, "a pure nugget foretells the mean");
                }
            }
        }
    }

    #[test]
    fn points_keep_their_values() {
        let points = scattered(50, 5);
        for variogram in variograms() {
            for neighbours in [None, Some(12)] {
                let kriging = Kriging::new(&points, variogram, neighbours).unwrap();
                for (at, value) in &points {
                    let found = kriging.estimate(*at);
                    assert!((found.value - value).abs() < 1e-9, "{found:?} {value}");
                    assert!(found.variance < 1e-9, "{found:?}");
                }
            }
        }
    }

    #[test]
    fn order_says_nothing() {
        // On a lattice, where many neighbours are equally far; with places given twice.
        let mut points: Places = (0..100)
            .map(|index| {
                (Coord { x: f64::from(index % 10) * 20.0, y: f64::from(index / 10) * 20.0 }, f64::from(index * 37 % 11))
            })
            .collect();
        points.extend(points.clone().into_iter().step_by(7).map(|(at, value)| (at, value + 1.0)));
        let cells: Vec<Coord<f64>> =
            scattered(200, 4).into_iter().map(|(at, _)| at).chain([Coord { x: 90.0, y: 90.0 }]).collect();
        for neighbours in [None, Some(5), Some(16)] {
            let first = Kriging::new(&points, SPHERICAL, neighbours).unwrap();
            points.shuffle(&mut ChaCha8Rng::seed_from_u64(1));
            let second = Kriging::new(&points, SPHERICAL, neighbours).unwrap();
            assert_eq!(first.places(), second.places());
            assert_eq!(first.estimate_all(&cells), second.estimate_all(&cells));
            assert_eq!(first.leave_one_out(), second.leave_one_out());
        }
        let middle = Kriging::new(&points, SPHERICAL, Some(1)).unwrap().estimate(Coord { x: 90.0, y: 90.0 });
        let four = Kriging::new(&points, SPHERICAL, Some(4)).unwrap().estimate(Coord { x: 90.0, y: 90.0 });
        assert_eq!(middle, four, "all four corners are as near");
    }

    #[test]
    fn scale_and_place_carry_through() {
        let points = scattered(40, 6);
        let (by, along) = (7.0, Coord { x: 4000.0, y: -900.0 });
        let moved: Places = points.iter().map(|(at, value)| (*at + along, by * value + 100.0)).collect();
        let scaled = Variogram { nugget: 0.3 * by * by, partial_sill: 2.0 * by * by, ..SPHERICAL };
        for neighbours in [None, Some(10)] {
            let first = Kriging::new(&points, SPHERICAL, neighbours).unwrap();
            let second = Kriging::new(&moved, scaled, neighbours).unwrap();
            for (cell, _) in scattered(30, 2) {
                let (a, b) = (first.estimate(cell), second.estimate(cell + along));
                assert!((a.value * by + 100.0 - b.value).abs() < 1e-8, "{a:?} {b:?}");
                assert!((a.variance.sqrt() * by - b.variance.sqrt()).abs() < 1e-8, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn awkward_places_still_give_figures() {
        let line: Places = (0..60).map(|x| (Coord { x: f64::from(x) * 12.0, y: 5.0 }, f64::from(x % 7))).collect();
        let pairs = scattered(60, 12)
            .into_iter()
            .flat_map(|(at, value)| [(at, value), (at + Coord { x: 2e-5, y: 0.0 }, value + 0.01)]);
        let far = [(Coord { x: 1e6, y: -1e6 }, 3.0)];
        for points in [line.clone(), pairs.collect(), line.into_iter().chain(far).collect()] {
            for variogram in variograms() {
                for neighbours in [None, Some(8)] {
                    let kriging = Kriging::new(&points, variogram, neighbours).unwrap();
                    for (cell, _) in scattered(100, 13).into_iter().chain(far) {
                        let found = kriging.estimate(cell);
                        assert!(found.value.abs() < 1e3 && found.variance >= 0.0 && found.lagrange.is_finite(), "{found:?}");
                    }
                    assert!(kriging.leave_one_out().msdr.unwrap().is_finite());
                }
            }
        }
    }

    #[test]
    fn what_cannot_be_kriged_says_why() {
        let points = scattered(5, 1);
        let place = |x: f64| (Coord { x, y: 0.0 }, x);
        let error = |points: &[(Coord<f64>, f64)], variogram| Kriging::new(points, variogram, None).unwrap_err();
        assert_eq!(error(&[], SPHERICAL), KrigingError::TooFew(0));
        assert_eq!(error(&[place(1.0), place(1.0), place(1.0 + 5e-7)], SPHERICAL), KrigingError::TooFew(1));
        assert_eq!(error(&[place(1.0), place(f64::NAN)], SPHERICAL), KrigingError::NotFinite);
        for bad in [
            Variogram { nugget: -1.0, ..SPHERICAL },
            Variogram { range_m: 0.0, ..SPHERICAL },
            Variogram { partial_sill: f64::NAN, ..SPHERICAL },
            Variogram { nugget: 0.0, partial_sill: 0.0, ..SPHERICAL },
        ] {
            assert_eq!(error(&points, bad), KrigingError::Variogram);
        }
        let endless = Variogram { nugget: 0.0, range_m: 1e15, ..SPHERICAL };
        assert_eq!(error(&points, endless), KrigingError::Singular);
        assert_eq!(Kriging::new(&points, endless, Some(3)).unwrap_err(), KrigingError::Singular);
    }
}
