//! Variograms, kriging, leave-one-out and kernel density against published libraries.
//!
//! Data: the meuse survey (Burrough & McDonnell 1998), 155 places with zinc in the soil, as scikit-gstat carries it. Figures
//! by gstat 2.1-0 (Pebesma 2004) were printed once and stand here; PyKrige 1.7.3, scipy and numpy are run beside
//! (`tests/reference/kriging.py`).

#![allow(clippy::unwrap_used)] // helpers of tests stop where something is wrong

use awn_core::density::{
    Grid, Kriging, Variogram, VariogramShape, bandwidth, choose, fit_shape, fit_variogram, inverse_distance, kernel_density,
    leave_one_out_idw, sample_variogram,
};
use awn_core::model::Between;
use awn_tests::reference;
use geo::{Coord, MultiPolygon, polygon};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

type Points = Vec<(Coord<f64>, f64)>;

/// The variogram that the printed figures of kriging were made with.
const FIXED: Variogram = Variogram { shape: VariogramShape::Spherical, nugget: 0.05, partial_sill: 0.59, range_m: 897.0 };

/// Places that they were printed for: cells 1, 2, 3, 1000 and 3103 of gstat's grid of the same area.
const CELLS: [(f64, f64); 5] =
    [(181_180.0, 333_740.0), (181_140.0, 333_700.0), (181_180.0, 333_700.0), (179_660.0, 331_860.0), (179_220.0, 329_620.0)];

fn cells() -> Vec<Coord<f64>> {
    CELLS.map(|(x, y)| Coord { x, y }).to_vec()
}

/// Zinc, ppm.
fn zinc() -> Points {
    let rows = reference::run("kriging", &json!({"task": "meuse"}));
    let rows: Vec<[f64; 3]> = serde_json::from_value(rows).unwrap();
    rows.into_iter().map(|[x, y, zinc]| (Coord { x, y }, zinc)).collect()
}

fn log_zinc() -> Points {
    zinc().into_iter().map(|(at, zinc)| (at, zinc.ln())).collect()
}

fn rows(points: &Points) -> Vec<[f64; 3]> {
    points.iter().map(|(at, value)| [at.x, at.y, *value]).collect()
}

fn pairs(cells: &[Coord<f64>]) -> Vec<[f64; 2]> {
    cells.iter().map(|at| [at.x, at.y]).collect()
}

fn numbers(value: &Value) -> Vec<f64> {
    serde_json::from_value(value.clone()).unwrap()
}

fn assert_near(found: &[f64], expected: &[f64], within: f64, what: &str) {
    assert_eq!(found.len(), expected.len(), "{what}");
    for (index, (found, expected)) in found.iter().zip(expected).enumerate() {
        assert!((found - expected).abs() < within, "{what}, {index}: {found}, not {expected}");
    }
}

/// Points and cells at random in 300 by 200 m, values skewed.
fn scattered(points: usize, cells: usize, seed: u64) -> (Points, Vec<Coord<f64>>) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut at = || Coord { x: rng.random_range(0.0..300.0), y: rng.random_range(0.0..200.0) };
    let places: Vec<Coord<f64>> = (0..points).map(|_| at()).collect();
    let cells = (0..cells).map(|_| at()).collect();
    let points =
        places.into_iter().map(|at| (at, (at.x / 40.0).sin() * 3.0 + rng.random_range(0.0..2.0_f64).exp())).collect();
    (points, cells)
}

fn variograms() -> Vec<Variogram> {
    let mut all = Vec::new();
    for (nugget, range_m) in [(0.0, 45.0), (0.7, 45.0), (1.5, 200.0)] {
        for shape in [VariogramShape::Spherical, VariogramShape::Exponential, VariogramShape::Nugget] {
            if shape != VariogramShape::Nugget || nugget > 0.0 {
                all.push(Variogram { shape, nugget, partial_sill: 4.0, range_m });
            }
        }
    }
    all
}

#[test]
fn the_sample_variogram_is_gstats() {
    let points = log_zinc();
    let values: Vec<f64> = points.iter().map(|point| point.1).collect();
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let greatest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert_eq!(points.len(), 155);
    assert_near(&[least, greatest], &[4.727_387_8, 7.516_977], 1e-6, "log of 113 and 1839 ppm, the extremes of the survey");
    let bins = sample_variogram(&points);
    assert_eq!(bins.len(), 15);
    let printed = [
        (0, 57, 79.292_437_46, 0.123_447_934_9),
        (1, 299, 163.973_665_56, 0.216_218_485_3),
        (2, 419, 267.364_827_67, 0.302_785_875_6),
        (14, 415, 1_543.202_482, 0.574_822_734_1),
    ];
    for (bin, count, distance_m, gamma) in printed {
        assert_eq!(bins[bin].pairs, count);
        assert!((bins[bin].distance_m - distance_m).abs() < 1e-6, "{:?}", bins[bin]);
        assert!((bins[bin].gamma - gamma).abs() < 1e-10, "{:?}", bins[bin]);
    }
}

#[test]
fn the_fit_is_gstats() {
    // fit.variogram(v, vgm(1, "Sph", 300, 1)) and vgm(1, "Exp", 300, 1), weights N / h^2.
    let bins = sample_variogram(&log_zinc());
    let spherical = fit_shape(&bins, VariogramShape::Spherical).unwrap();
    let relative = [spherical.nugget / 0.050_655_47, spherical.partial_sill / 0.590_600_85, spherical.range_m / 896.969_95];
    assert_near(&relative, &[1.0; 3], 1e-3, "spherical, as parts of gstat's");
    let exponential = fit_shape(&bins, VariogramShape::Exponential).unwrap();
    let relative = [exponential.partial_sill / 0.718_652_58, exponential.range_m / 449.758_0];
    assert_near(&relative, &[1.0; 2], 1e-3, "exponential, as parts of gstat's");
    assert!(exponential.nugget < 1e-6);
    assert_eq!(fit_variogram(&bins), Some(spherical), "the spherical leaves less");
}

#[test]
fn kriging_is_gstats() {
    let kriging = Kriging::new(&log_zinc(), FIXED, None).unwrap();
    let found = kriging.estimate_all(&cells());
    let values: Vec<f64> = found.iter().map(|estimate| estimate.value).collect();
    let variances: Vec<f64> = found.iter().map(|estimate| estimate.variance).collect();
    assert_near(&values, &[6.499_876_613, 6.622_729_450, 6.505_411_981, 5.566_117_756, 6.424_672_163], 1e-8, "values");
    let printed = [0.318_677_612_8, 0.250_931_389_9, 0.271_893_933_8, 0.163_065_412_4, 0.235_646_839_5];
    assert_near(&variances, &printed, 1e-8, "variances");
}

#[test]
fn kriging_of_the_whole_grid_is_gstats() {
    // The 3103 cells of 40 m of the meuse grid, in runs from west to east (tests/data/meuse-grid.csv: data set meuse.grid of the R
    // package sp 1.6, GPL-2 or later); mean, least and greatest of krige(log(zinc) ~ 1, ...) there.
    let runs = std::fs::read_to_string(awn_tests::project_path("tests/data/meuse-grid.csv")).unwrap();
    let run = |line: &str| -> Vec<u32> { line.split(',').map(|number| number.parse().unwrap()).collect() };
    let along = |run: Vec<u32>| (run[1]..=run[2]).step_by(40).map(move |x| Coord { x: f64::from(x), y: f64::from(run[0]) });
    let grid: Vec<Coord<f64>> = runs.lines().skip(1).flat_map(|line| along(run(line))).collect();
    assert_eq!(grid.len(), 3103);
    let found = Kriging::new(&log_zinc(), FIXED, None).unwrap().estimate_all(&grid);
    let mean = found.iter().map(|estimate| estimate.value).sum::<f64>() / 3103.0;
    let least = found.iter().map(|estimate| estimate.value).fold(f64::INFINITY, f64::min);
    let greatest = found.iter().map(|estimate| estimate.value).fold(f64::NEG_INFINITY, f64::max);
    assert_near(&[mean, least, greatest], &[5.707_122, 4.776_069, 7.441_003], 1e-6, "mean, least and greatest");
}

/// Places in the block of 40 m about the first cell with weights that add up to 1: Gauss's four a side.
fn block() -> Vec<(Coord<f64>, f64)> {
    // Gauss-Legendre nodes and weights on -1 to 1 (Abramowitz and Stegun 1964, table 25.4).
    let nodes = [(0.339_981_043_6, 0.652_145_154_9), (0.861_136_311_6, 0.347_854_845_1)];
    let side: Vec<(f64, f64)> =
        nodes.iter().flat_map(|(at, weight)| [(-20.0 * at, *weight), (20.0 * at, *weight)]).collect();
    side.iter()
        .flat_map(|(x, a)| side.iter().map(move |(y, b)| (Coord { x: CELLS[0].0 + x, y: CELLS[0].1 + y }, a * b / 4.0)))
        .collect()
}

#[test]
fn the_mean_over_a_block_is_gstats() {
    // krige(..., block = c(40, 40)) at the first cell: 6.499410318, by Gauss's four points a side.
    let (kriging, block) = (Kriging::new(&log_zinc(), FIXED, None).unwrap(), block());
    let estimates = kriging.estimate_all(&block.iter().map(|place| place.0).collect::<Vec<_>>());
    let mean: f64 = estimates.iter().zip(&block).map(|(estimate, (_, weight))| estimate.value * weight).sum();
    println!("mean over the block: {mean:.9}");
    assert!((mean - 6.499_410_318).abs() < 1e-7, "{mean}");
}

#[test]
fn the_variance_over_a_block_by_our_weights_is_gstats() {
    // The variance beside it: 0.2488628834, which hangs on how a block is taken apart: 1e-3. A block has no nugget of its own.
    let (points, block) = (log_zinc(), block());
    let places: Vec<Coord<f64>> = block.iter().map(|place| place.0).collect();
    // Kriging is linear in the values: a point's weight is what comes out where its value is 1 and every other 0.
    let weight = |own: usize| -> f64 {
        let unit = |(number, point): (usize, &(Coord<f64>, f64))| (point.0, f64::from(u8::from(number == own)));
        let unit: Points = points.iter().enumerate().map(unit).collect();
        let found = Kriging::new(&unit, FIXED, None).unwrap().estimate_all(&places);
        found.iter().zip(&block).map(|(estimate, (_, weight))| estimate.value * weight).sum()
    };
    let weighted: Vec<(Coord<f64>, f64)> = (0..points.len()).map(|own| (points[own].0, weight(own))).collect();
    assert!((weighted.iter().map(|point| point.1).sum::<f64>() - 1.0).abs() < 1e-9, "weights add up to 1");
    let covariance = |a: Coord<f64>, b: Coord<f64>| {
        let h = ((a.x - b.x).hypot(a.y - b.y) / FIXED.range_m).min(1.0);
        FIXED.partial_sill * (1.0 - 1.5 * h + 0.5 * h.powi(3))
    };
    let mean = |these: &[(Coord<f64>, f64)], those: &[(Coord<f64>, f64)]| -> f64 {
        these.iter().map(|(a, u)| those.iter().map(|(b, v)| u * v * covariance(*a, *b)).sum::<f64>()).sum()
    };
    let nugget: f64 = weighted.iter().map(|point| point.1.powi(2) * FIXED.nugget).sum();
    let variance = mean(&block, &block) - 2.0 * mean(&weighted, &block) + mean(&weighted, &weighted) + nugget;
    println!("variance over the block: {variance:.6}");
    assert!((variance - 0.248_862_883_4).abs() < 1e-3, "{variance}");
}

#[test]
fn leave_one_out_is_gstats() {
    // krige.cv: mean of the residuals (observed less predicted), root of their mean square, mean square of the z scores.
    let found = Kriging::new(&log_zinc(), FIXED, None).unwrap().leave_one_out();
    let figures = [found.mean_error, found.rmse, found.msdr.unwrap()];
    assert_near(&figures, &[-1.256_05e-5, 0.391_749_474_1, 0.822_763_313_6], 1e-8, "mean error, RMSE, MSDR");
}

#[test]
fn inverse_distance_is_gstats_and_scipys() {
    // gstat printed figures over all points; the reference gives them again and then answers for the nearest 16.
    let (plain, logs) = (zinc(), log_zinc());
    let scipy = |points: &Points, neighbours: usize, cells: Option<Vec<[f64; 2]>>| {
        let given = json!({"task": "inverse_distance", "points": rows(points), "neighbours": neighbours, "cells": cells});
        numbers(&reference::run("kriging", &given))
    };
    let printed = [633.686_394_1, 712.545_020_3, 654.161_735_5, 473.968_557_9, 499.111_403_9];
    assert_near(&scipy(&plain, 155, Some(pairs(&cells()))), &printed, 1e-6, "the reference over all points");
    let rmse = |errors: &[f64]| (errors.iter().map(|error| error * error).sum::<f64>() / errors.len() as f64).sqrt();
    assert_near(&[rmse(&scipy(&logs, 154, None))], &[0.513_833_073_5], 1e-9, "the reference, left out, over all points");
    let found = leave_one_out_idw(&logs).unwrap();
    assert_near(&[found.rmse], &[rmse(&scipy(&logs, 16, None))], 1e-9, "left out, over the nearest 16");
    for (at, expected) in cells().into_iter().zip(scipy(&plain, 16, Some(pairs(&cells())))) {
        let grid = Grid {
            origin: at - Coord { x: 0.5, y: 0.5 },
            along: Coord { x: 0.0, y: 1.0 },
            cell_m: 1.0,
            columns: 1,
            rows: 1,
            values: vec![0.0],
        };
        assert_near(&inverse_distance(&grid, &plain), &[expected], 1e-6, "over the nearest 16");
    }
}

#[test]
fn kriging_is_pykriges() {
    let meuse = (log_zinc(), cells(), vec![FIXED]);
    let (points, cells) = scattered(80, 60, 1);
    for (points, cells, variograms) in [meuse, (points, cells, variograms())] {
        let near = [None, Some(16), Some(5)];
        let cases: Vec<(Variogram, Option<usize>)> =
            variograms.into_iter().flat_map(|variogram| near.map(|neighbours| (variogram, neighbours))).collect();
        let given = json!({"task": "krige_each", "points": rows(&points), "cells": pairs(&cells), "cases": cases});
        let expected = reference::run("kriging", &given);
        for (index, (variogram, neighbours)) in cases.into_iter().enumerate() {
            let found = Kriging::new(&points, variogram, neighbours).unwrap().estimate_all(&cells);
            let values: Vec<f64> = found.iter().map(|estimate| estimate.value).collect();
            let variances: Vec<f64> = found.iter().map(|estimate| estimate.variance).collect();
            let what = format!("{variogram:?}, {neighbours:?}");
            assert_near(&values, &numbers(&expected[index]["values"]), 1e-6, &what);
            assert_near(&variances, &numbers(&expected[index]["variances"]), 1e-6, &what);
        }
    }
}

#[test]
fn leave_one_out_is_pykrige_without_each_point() {
    let (points, _) = scattered(40, 0, 5);
    let variogram = Variogram { shape: VariogramShape::Exponential, nugget: 0.7, partial_sill: 4.0, range_m: 30.0 };
    for neighbours in [None, Some(12)] {
        let found = Kriging::new(&points, variogram, neighbours).unwrap().leave_one_out();
        let expected = reference::run(
            "kriging",
            &json!({"task": "leave_one_out", "points": rows(&points), "variogram": variogram, "neighbours": neighbours}),
        );
        let (errors, variances) = (numbers(&expected["errors"]), numbers(&expected["variances"]));
        let mean = |of: &dyn Fn(usize) -> f64| (0..40).map(of).sum::<f64>() / 40.0;
        let figures = [
            mean(&|index| errors[index]),
            mean(&|index| errors[index].powi(2)).sqrt(),
            mean(&|index| errors[index].powi(2) / variances[index]),
        ];
        assert_near(&[found.mean_error, found.rmse, found.msdr.unwrap()], &figures, 1e-6, "mean error, RMSE, MSDR");
    }
}

#[test]
fn zinc_is_kriged_as_logarithms() {
    // The logarithms are hardly skewed: they are kriged as they are. gstat 2.1-0 in R, given our cut-off (a third of the largest
    // distance, 4440.8 m) and 15 bins: spherical, nugget 0.0627, partial sill 0.5904, range 948.9; leave-one-out RMSE 0.397 and
    // MSDR 0.802; the mean error is nought in three places.
    let logs: Vec<_> = zinc().into_iter().map(|(at, zinc)| (at, zinc.ln())).collect();
    let choice = choose(&logs, Between::Automatic);
    let start = "155 points: kriging with a spherical variogram, range 949 m; leave-one-out mean error 0.000, RMSE 0.40 against 0.72";
    assert!(choice.reason.starts_with(start), "{}", choice.reason);
    assert!(choice.reason.ends_with("MSDR 0.80."), "{}", choice.reason);
    // 155 values of skewness 1.5: logarithms, with zinc counted in its mean, so the structure is another.
    let points = zinc();
    let choice = choose(&points, Between::Automatic);
    assert!(choice.reason.ends_with("on the scale of log(density / mean + 1)."), "{}", choice.reason);
    for (at, zinc) in &points {
        let grid = Grid {
            origin: *at - Coord { x: 0.5, y: 0.5 },
            along: Coord { x: 0.0, y: 1.0 },
            cell_m: 1.0,
            columns: 1,
            rows: 1,
            values: vec![0.0],
        };
        let (values, errors) = choice.surface(&grid);
        assert_near(&[values[0] / zinc], &[1.0], 1e-6, "a point keeps its value");
        assert!(errors.unwrap()[0] < 1e-3 * zinc);
    }
}

#[test]
fn kernel_density_is_numpys() {
    let shape = polygon!((x: 0., y: 0.), (x: 280., y: 30.), (x: 300., y: 190.), (x: 140., y: 120.), (x: 20., y: 200.));
    let grid = Grid::over(&MultiPolygon(vec![shape]), 5.0, 0.0).unwrap();
    let middles: Vec<Coord<f64>> = grid.cells().map(|(at, _)| at).collect();
    let places: Vec<Coord<f64>> = middles.iter().step_by(61).map(|at| *at + Coord { x: 1.3, y: -0.7 }).collect();
    let bandwidth = bandwidth(&places);
    let found: Vec<f64> = kernel_density(&grid, &places, bandwidth).into_iter().filter(|value| !value.is_nan()).collect();
    let given =
        json!({"task": "kernel", "cells": pairs(&middles), "side": 5.0, "places": pairs(&places), "bandwidth": bandwidth});
    assert_near(&found, &numbers(&reference::run("kriging", &given)), 1e-12, "kernel density");
    assert!((found.iter().sum::<f64>() * 25.0 - places.len() as f64).abs() < 1e-9);
}
