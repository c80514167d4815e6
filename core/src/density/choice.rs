//! Which rule of interpolation points deserve: kriging where there are enough of them and it proves itself, else inverse
//! distance.
//!
//! | points | rule |
//! |---|---|
//! | 100 or more | ordinary kriging, unless it fails leave-one-out |
//! | 30 to 99 | ordinary kriging only if it passes leave-one-out and is no worse than inverse distance |
//! | fewer | inverse distance |
//!
//! A variogram wants more than 100 points (Webster & Oliver 2007, from memory; 150 in Webster & Oliver 1992, Journal of Soil
//! Science 43:177-192, from memory). Leave-one-out is failed if the mean squared deviation ratio is outside 0.5 to 2, or the
//! error not below that of the plain mean: judgements, no source. All errors are compared on the scale that is kriged, so that
//! in skewed counts a few great ones do not decide alone.

use geo::{ConvexHull as _, Coord, MultiPoint, Point};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

use crate::density::kriging::different_places;
use crate::density::validation::{CrossValidation, leave_one_out_idw};
use crate::density::variogram::sample_variogram_to;
use crate::density::{Grid, Kriging, Scale, Variogram, VariogramBin, VariogramShape, fit_variogram, inverse_distance};
use crate::model::Between;
use crate::units::{count, length};

/// From this many points a variogram is trusted unless it fails.
const TRUSTED_FROM: usize = 100;

/// From this many points a variogram is tried.
const TRIED_FROM: usize = 30;

/// Mean squared deviation ratios that are allowed.
const MSDR: std::ops::RangeInclusive<f64> = 0.5..=2.0;

/// Up to this many points, each cell is kriged from all of them; above, from the nearest.
const AT_ONCE_UP_TO: usize = 200;

/// Neighbours that a cell is kriged from where there are many points: the weights beyond are next to nothing. Common
/// practice is 16 to 32, no source.
const NEIGHBOURS: usize = 24;

/// A variogram of more points is taken from so many of them, drawn at random: eight million pairs are enough.
const MOST_FOR_VARIOGRAM: usize = 4_000;

/// A rule of interpolation.
#[derive(Debug)]
pub enum Interpolator {
    /// Inverse distance weighting ([`inverse_distance`]).
    InverseDistance,
    /// Ordinary kriging.
    Kriging {
        /// The points on the scale below.
        kriging: Box<Kriging>,
        /// The scale they are kriged on.
        scale: Scale,
    },
}

/// What was chosen for points, and why.
#[derive(Debug)]
pub struct Choice {
    /// The rule.
    pub interpolator: Interpolator,
    /// Why, in one sentence for people.
    pub reason: String,
    /// Leave-one-out of kriging, on the scale that was kriged; none where it was not tried.
    pub validation: Option<CrossValidation>,
    places: Vec<(Coord<f64>, f64)>,
}

/// Chooses a rule for points (metres, density not below 0), in any order, or takes the one that is set. Points at one place count as one, with their mean;
/// points that are not finite are left out.
pub fn choose(points: &[(Coord<f64>, f64)], between: Between) -> Choice {
    let finite = |(at, value): &&(Coord<f64>, f64)| at.x.is_finite() && at.y.is_finite() && value.is_finite();
    let places = different_places(&points.iter().filter(finite).copied().collect::<Vec<_>>());
    let (interpolator, why, validation) = match tried(&places, between) {
        Ok((kriging, scale, validation)) => {
            let why = in_favour(&kriging, scale, &validation);
            (Interpolator::Kriging { kriging: Box::new(kriging), scale }, why, Some(validation))
        }
        Err((why, validation)) => (Interpolator::InverseDistance, format!("inverse distance, because {why}"), validation),
    };
    Choice { interpolator, reason: format!("{}: {why}.", count(places.len(), "point")), validation, places }
}

/// Kriging that proved itself, or why there is none.
type Tried = Result<(Kriging, Scale, CrossValidation), (String, Option<CrossValidation>)>;

fn tried(places: &[(Coord<f64>, f64)], between: Between) -> Tried {
    if between == Between::InverseDistance {
        return Err(("it was set".to_owned(), None));
    }
    let at_will = between == Between::Automatic;
    if at_will && places.len() < TRIED_FROM {
        return Err((format!("kriging takes {TRIED_FROM} or more"), None));
    }
    let values: Vec<f64> = places.iter().map(|place| place.1).collect();
    let scale = Scale::of(&values);
    let scaled: Vec<_> = places.iter().map(|(at, value)| (*at, scale.to(*value))).collect();
    let variogram = fit_variogram(&sample_of(&some_of(&scaled)));
    let variogram = variogram.ok_or_else(|| ("values do not vary with distance".to_owned(), None))?;
    if at_will && variogram.shape == VariogramShape::Nugget {
        return Err(("near points are no more alike than far ones".to_owned(), None));
    }
    let neighbours = (places.len() > AT_ONCE_UP_TO).then_some(NEIGHBOURS);
    let kriging = Kriging::new(&scaled, variogram, neighbours);
    let kriging = kriging.map_err(|_error| ("the variogram cannot tell near points apart".to_owned(), None))?;
    let validation = kriging.leave_one_out();
    match against(&scaled, &validation) {
        Some(why) if at_will => Err((format!("{why}{}", on(scale)), Some(validation))),
        _ => Ok((kriging, scale, validation)),
    }
}

/// The sample variogram up to a third of the largest distance.
fn sample_of(points: &[(Coord<f64>, f64)]) -> Vec<VariogramBin> {
    let hull = points.iter().map(|point| Point(point.0)).collect::<MultiPoint<f64>>().convex_hull();
    let corners: Vec<Coord<f64>> = hull.exterior().coords().copied().collect();
    let pairs = corners.iter().enumerate().flat_map(|(i, a)| corners.iter().skip(i + 1).map(move |b| *a - *b));
    let largest = pairs.map(|away| away.x.hypot(away.y)).fold(0.0, f64::max);
    sample_variogram_to(points, largest / 3.0)
}

/// What speaks against kriging.
fn against(scaled: &[(Coord<f64>, f64)], validation: &CrossValidation) -> Option<String> {
    let ratio = validation.msdr.unwrap_or(f64::NAN);
    let (error, of_mean) = (validation.rmse, validation.rmse_of_mean);
    // Written so that a figure that is not a number fails.
    let below_mean = error < of_mean;
    if !below_mean {
        let (error, of_mean) = (figure(error), figure(of_mean));
        return Some(format!(
            "kriging foretells left-out points no better than their plain mean (error {error} against {of_mean})"
        ));
    }
    if !MSDR.contains(&ratio) {
        let (low, high) = (MSDR.start(), MSDR.end());
        return Some(format!(
            "the variances of kriging do not fit its errors (MSDR {}, not {low} to {high})",
            figure(ratio)
        ));
    }
    let inverse = leave_one_out_idw(scaled).map_or(f64::INFINITY, |inverse| inverse.rmse);
    (scaled.len() < TRUSTED_FROM && error > inverse).then(|| {
        let (error, inverse) = (figure(error), figure(inverse));
        format!("it foretells left-out points better than kriging (error {inverse} against {error})")
    })
}

/// What speaks for kriging, in words.
fn in_favour(kriging: &Kriging, scale: Scale, validation: &CrossValidation) -> String {
    let variogram: &Variogram = kriging.variogram();
    let reach = length(variogram.reach_m());
    let shape = match variogram.shape {
        VariogramShape::Nugget => "a pure nugget variogram".to_owned(),
        VariogramShape::Spherical => format!("a spherical variogram, range {reach}"),
        VariogramShape::Exponential => format!("an exponential variogram, effective range {reach}"),
    };
    let near = kriging.neighbours().map_or_else(String::new, |near| format!(" from the {near} nearest points"));
    let (error, of_mean) = (figure(validation.rmse), figure(validation.rmse_of_mean));
    let (mean, ratio) = (figure(validation.mean_error), figure(validation.msdr.unwrap_or(f64::NAN)));
    format!(
        "kriging{near} with {shape}; leave-one-out mean error {mean}, RMSE {error} against {of_mean} for the plain mean, \
         MSDR {ratio}{}",
        on(scale)
    )
}

fn on(scale: Scale) -> &'static str {
    if matches!(scale, Scale::Log1p { .. }) { ", on the scale of log(density / mean + 1)" } else { "" }
}

/// A figure with two digits or so that count.
fn figure(value: f64) -> String {
    match value.abs() {
        size if size >= 10.0 => format!("{value:.0}"),
        size if size >= 1.0 => format!("{value:.1}"),
        size if size >= 0.1 => format!("{value:.2}"),
        // Nought has no sign.
        size if size < 0.000_5 => "0.000".to_owned(),
        _ => format!("{value:.3}"),
    }
}

/// The points for the variogram: all, or a draw that is the same each time.
fn some_of(points: &[(Coord<f64>, f64)]) -> Vec<(Coord<f64>, f64)> {
    if points.len() <= MOST_FOR_VARIOGRAM {
        return points.to_vec();
    }
    let mut drawn = rand::seq::index::sample(&mut ChaCha8Rng::seed_from_u64(0), points.len(), MOST_FOR_VARIOGRAM).into_vec();
    drawn.sort_unstable();
    drawn.into_iter().map(|index| points[index]).collect()
}

impl Choice {
    /// Densities at the cells of `grid` that have a value, and for kriging their standard errors, both in the unit of the
    /// points ([`Scale::back`], [`Scale::standard_error`]); NaN elsewhere.
    pub fn surface(&self, grid: &Grid) -> (Vec<f64>, Option<Vec<f64>>) {
        let Interpolator::Kriging { kriging, scale } = &self.interpolator else {
            return (inverse_distance(grid, &self.places), None);
        };
        let cells: Vec<Coord<f64>> = grid.cells().map(|(at, _)| at).collect();
        let mut estimates = kriging.estimate_all(&cells).into_iter();
        let mut values = vec![f64::NAN; grid.values.len()];
        let mut errors = values.clone();
        for (index, _) in grid.values.iter().enumerate().filter(|(_, held)| !held.is_nan()) {
            if let Some(estimate) = estimates.next() {
                values[index] = scale.back(&estimate);
                errors[index] = scale.standard_error(&estimate);
            }
        }
        (values, Some(errors))
    }
}

#[cfg(test)]
mod tests {
    use geo::{MultiPolygon, polygon};
    use rand::{RngExt as _, seq::SliceRandom as _};

    use super::*;

    fn truth(at: Coord<f64>) -> f64 {
        20.0 + 8.0 * (at.x / 45.0).sin() * (at.y / 45.0).cos()
    }

    /// A smooth wave over 300 by 300 m with noise, at random places.
    fn wave(n: usize, noise: f64, seed: u64) -> Vec<(Coord<f64>, f64)> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        (0..n)
            .map(|_| {
                let at = Coord { x: rng.random_range(0.0..300.0), y: rng.random_range(0.0..300.0) };
                (at, truth(at) + noise * rng.random_range(-1.0..1.0))
            })
            .collect()
    }

    fn grid() -> Grid {
        let shape = polygon!((x: 0., y: 0.), (x: 300., y: 0.), (x: 300., y: 280.), (x: 90., y: 280.), (x: 0., y: 160.));
        Grid::over(&MultiPolygon(vec![shape]), 10.0, 0.0).unwrap()
    }

    /// What a surface holds inside the field.
    fn inside(values: &[f64]) -> Vec<f64> {
        values.iter().copied().filter(|value| !value.is_nan()).collect()
    }

    fn is_kriging(choice: &Choice) -> bool {
        matches!(choice.interpolator, Interpolator::Kriging { .. })
    }

    #[test]
    fn few_points_get_inverse_distance() {
        for n in [0, 1, 29] {
            let choice = choose(&wave(n, 1.0, 1), Between::Automatic);
            assert!(!is_kriging(&choice));
            assert!(choice.reason.ends_with("inverse distance, because kriging takes 30 or more."), "{}", choice.reason);
            assert_eq!(choice.surface(&grid()).1, None);
        }
    }

    #[test]
    fn many_points_with_structure_are_kriged() {
        let points = wave(150, 2.0, 2);
        let choice = choose(&points, Between::Automatic);
        assert!(is_kriging(&choice), "{}", choice.reason);
        assert!(choice.reason.starts_with("150 points: kriging with a"), "{}", choice.reason);
        let validation = choice.validation.unwrap();
        assert!(validation.rmse < validation.rmse_of_mean);
        let grid = grid();
        let (values, errors) = choice.surface(&grid);
        for ((value, error), held) in values.iter().zip(errors.unwrap()).zip(&grid.values) {
            assert_eq!(value.is_nan(), held.is_nan());
            assert!(held.is_nan() || (*value >= 0.0 && error >= 0.0));
        }
        // It should tell the wave better than inverse distance does.
        let off = |values: Vec<f64>| {
            let made = Grid { values, ..grid.clone() };
            made.cells().map(|(at, value)| (value - truth(at)).powi(2)).sum::<f64>()
        };
        assert!(off(values) < off(inverse_distance(&grid, &points)));
    }

    #[test]
    fn very_many_points_are_kriged_from_the_nearest() {
        let choice = choose(&wave(300, 2.0, 3), Between::Automatic);
        assert!(choice.reason.starts_with("300 points: kriging from the 24 nearest points with a"), "{}", choice.reason);
    }

    #[test]
    fn noise_gets_inverse_distance_whatever_its_number() {
        for (n, seed) in [(60, 4), (120, 5), (250, 6)] {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let points: Vec<_> = wave(n, 0.0, seed).into_iter().map(|(at, _)| (at, rng.random_range(0.0..9.0))).collect();
            let choice = choose(&points, Between::Automatic);
            // Chance can feign a structure; but then it must have passed.
            let passed = choice.validation.is_some_and(|v| v.rmse < v.rmse_of_mean && MSDR.contains(&v.msdr.unwrap()));
            assert_eq!(is_kriging(&choice), passed, "{}", choice.reason);
            assert!(!is_kriging(&choice), "{}", choice.reason);
        }
    }

    #[test]
    fn from_30_to_99_kriging_must_be_no_worse_than_inverse_distance() {
        let (mut kriged, mut not) = (0, 0);
        for seed in 0..30 {
            let points = wave(30 + seed as usize * 2, 6.0, seed);
            let choice = choose(&points, Between::Automatic);
            let inverse = leave_one_out_idw(&points).unwrap().rmse;
            if is_kriging(&choice) {
                let validation = choice.validation.unwrap();
                assert!(validation.rmse <= inverse && validation.rmse < validation.rmse_of_mean, "{}", choice.reason);
                assert!(MSDR.contains(&validation.msdr.unwrap()));
                kriged += 1;
            } else {
                not += 1;
            }
        }
        assert!(kriged > 0 && not > 0, "{kriged} kriged, {not} not: the test shows nothing");
    }

    #[test]
    fn values_that_do_not_vary_stay_as_they_are() {
        let points: Vec<_> = wave(120, 0.0, 7).into_iter().map(|(at, _)| (at, 4.0)).collect();
        let choice = choose(&points, Between::Automatic);
        assert!(!is_kriging(&choice), "{}", choice.reason);
        let (values, _) = choice.surface(&grid());
        assert!(inside(&values).iter().all(|value| (value - 4.0).abs() < 1e-9));
    }

    #[test]
    fn skewed_counts_are_kriged_as_logarithms_and_come_back() {
        let points: Vec<_> = wave(140, 5.0, 8).into_iter().map(|(at, value)| (at, (value / 3.0 - 5.0).exp())).collect();
        let choice = choose(&points, Between::Automatic);
        assert!(is_kriging(&choice), "{}", choice.reason);
        assert!(choice.reason.ends_with("on the scale of log(density / mean + 1)."), "{}", choice.reason);
        let (values, errors) = choice.surface(&grid());
        let greatest = points.iter().map(|point| point.1).fold(0.0, f64::max);
        assert!(inside(&values).iter().all(|value| *value >= 0.0 && *value < 2.0 * greatest));
        assert!(inside(&errors.unwrap()).iter().all(|error| error.is_finite()));
    }

    #[test]
    fn order_and_points_that_are_no_numbers_say_nothing() {
        for n in [20, 60, 150, 260] {
            let mut points = wave(n, 2.0, 9);
            points.extend(points.clone().into_iter().step_by(9).map(|(at, value)| (at, value + 1.0)));
            let first = choose(&points, Between::Automatic);
            points.shuffle(&mut ChaCha8Rng::seed_from_u64(3));
            points.push((Coord { x: f64::NAN, y: 0.0 }, 1.0));
            points.push((Coord { x: 0.0, y: 0.0 }, f64::INFINITY));
            let second = choose(&points, Between::Automatic);
            assert_eq!(first.reason, second.reason);
            let (one, other) = (first.surface(&grid()), second.surface(&grid()));
            assert_eq!(inside(&one.0), inside(&other.0));
            assert_eq!(one.1.map(|errors| inside(&errors)), other.1.map(|errors| inside(&errors)));
        }
    }

    #[test]
    fn a_variogram_of_very_many_points_is_drawn_the_same_each_time() {
        let points = wave(MOST_FOR_VARIOGRAM + 500, 2.0, 10);
        let drawn = some_of(&points);
        assert_eq!(drawn.len(), MOST_FOR_VARIOGRAM);
        assert_eq!(drawn, some_of(&points));
    }
}
