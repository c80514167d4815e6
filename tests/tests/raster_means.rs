//! Means of rasters over small pieces of ground, against rasterio (GDAL), shapely (GEOS) and counting.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers outside test functions may fail loudly too

use awn_core::density::raster::mean_over;
use awn_tests::reference;
use geo::{AffineTransform, Coord};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::json;

/// Pixels of about 3 m by 2 m turned by about 17 degrees.
const TURNED: [f64; 6] = [2.868, 0.585, 512_345.5, 0.877, -1.912, 298_765.25];

/// Numbers between 0 and 40, one in seven without data.
fn random_values(random: &mut ChaCha8Rng, count: usize) -> Vec<f64> {
    (0..count).map(|_| if random.random_bool(0.14) { f64::NAN } else { random.random_range(0.0..40.0) }).collect()
}

/// Numbers as JSON has them, null for no data.
fn nullable(values: &[f64]) -> Vec<Option<f64>> {
    values.iter().map(|value| (!value.is_nan()).then_some(*value)).collect()
}

fn transform([a, b, c, d, e, f]: [f64; 6]) -> AffineTransform<f64> {
    AffineTransform::new(a, b, c, d, e, f)
}

/// The piece of ground of a cell of a north-up grid.
fn cell(to_world: [f64; 6], column: usize, row: usize) -> [Coord<f64>; 4] {
    [(0, 0), (1, 0), (1, 1), (0, 1)]
        .map(|(x, y)| transform(to_world).apply(Coord { x: (column + x) as f64, y: (row + y) as f64 }))
}

/// Where pixels and cells share their edges, rasterio's average is the same mean.
#[test]
fn means_over_cells_of_whole_pixels_or_within_one() {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    for (pixel, cell_m) in [(0.5, 5.0), (1.0, 5.0), (2.5, 5.0), (5.0, 5.0), (20.0, 5.0)] {
        let side = 100.0;
        let (columns, cells) = ((side / pixel) as usize, (side / cell_m) as usize);
        let values = random_values(&mut random, columns * columns);
        let to_world = [pixel, 0.0, 512_345.5, 0.0, -pixel, 5_298_765.25];
        let cell_to_world = [cell_m, 0.0, 512_345.5, 0.0, -cell_m, 5_298_765.25];
        let theirs = reference::run(
            "raster",
            &json!({ "average": { "values": nullable(&values), "shape": [columns, columns], "transform": to_world,
                "to_shape": [cells, cells], "to_transform": cell_to_world } }),
        );
        let theirs: Vec<Option<f64>> = serde_json::from_value(theirs).unwrap();
        let to_pixel = transform(to_world).inverse().unwrap();
        for (index, other) in theirs.iter().enumerate() {
            let ours = mean_over(&values, columns, columns, &to_pixel, cell(cell_to_world, index % cells, index / cells));
            let own = ours.map(|(mean, _)| mean);
            // A piece that only touches a pixel by rounding takes nothing from it that matters.
            let own = own.filter(|_| ours.is_some_and(|(_, share)| share > 1e-6));
            let same = own.zip(*other).map_or(own.is_none() && other.is_none(), |(a, b)| (a - b).abs() < 1e-6);
            assert!(same, "pixels of {pixel} m, cell {index}: {own:?}, not {other:?}");
        }
    }
}

/// A random piece of ground in a raster of `side` pixels: mostly convex, some hollow, some partly outside.
fn random_quad(random: &mut ChaCha8Rng, side: f64) -> [Coord<f64>; 4] {
    let middle = Coord { x: random.random_range(0.0..side), y: random.random_range(0.0..side) };
    let reach = random.random_range(0.05..6.0);
    let turn = random.random_range(0.0..std::f64::consts::TAU);
    [0.0, 1.0, 2.0, 3.0].map(|corner| {
        let angle = turn + std::f64::consts::FRAC_PI_2 * (corner + random.random_range(-0.3..0.3));
        middle + Coord { x: angle.cos(), y: angle.sin() } * (reach * random.random_range(0.3..1.0))
    })
}

/// Any piece of ground: the areas that polygons have in common by shapely (GEOS), exactly.
#[test]
fn means_over_any_piece_of_ground() {
    let mut random = ChaCha8Rng::seed_from_u64(12);
    let side = 30;
    let values = random_values(&mut random, side * side);
    let quads: Vec<_> = (0..600).map(|_| random_quad(&mut random, side as f64)).collect();
    let corners: Vec<Vec<[f64; 2]>> = quads.iter().map(|quad| quad.iter().map(|at| [at.x, at.y]).collect()).collect();
    let rows: Vec<Vec<Option<f64>>> = values.chunks(side).map(nullable).collect();
    let theirs = reference::run("raster", &json!({ "cover": { "values": rows, "quads": corners } }));
    let theirs: Vec<Option<(f64, f64)>> = serde_json::from_value(theirs).unwrap();
    let (mut read, mut partly) = (0, 0);
    // In coordinates of a turned raster, so that the way from them to pixels is part of what is checked.
    let to_pixel = transform(TURNED).inverse().unwrap();
    for (quad, theirs) in quads.iter().zip(&theirs) {
        let ours = mean_over(&values, side, side, &to_pixel, quad.map(|at| transform(TURNED).apply(at)));
        let (Some((mean, share)), Some((their_mean, their_share))) = (ours, theirs) else {
            assert_eq!(ours, *theirs, "{quad:?}");
            continue;
        };
        read += 1;
        partly += usize::from(share < 0.999);
        // Positions of some 500 km are known to about 1e-10 m, which small pieces feel most.
        assert!((share - their_share).abs() < 1e-7, "{quad:?}: {share}, not {their_share}");
        assert!((mean - their_mean).abs() * share < 1e-6, "{quad:?}: {mean}, not {their_mean}");
    }
    assert!(read > 500 && partly > 200, "{read} read, {partly} of them in part");
}

/// The same by brute force: 200 by 200 places spread evenly over a piece with parallel sides.
#[test]
fn means_by_counting_places() {
    let mut random = ChaCha8Rng::seed_from_u64(13);
    let side = 24;
    let values = random_values(&mut random, side * side);
    let whole = AffineTransform::identity();
    for _ in 0..60 {
        let from = Coord { x: random.random_range(4.0..16.0), y: random.random_range(4.0..16.0) };
        let u = Coord { x: random.random_range(0.5..6.0), y: random.random_range(-2.0..2.0) };
        let v = Coord { x: random.random_range(-2.0..2.0), y: random.random_range(0.5..6.0) };
        let (mut sum, mut found) = (0.0, 0);
        for step in 0..200 * 200 {
            let at = from + u * ((f64::from(step % 200) + 0.5) / 200.0) + v * ((f64::from(step / 200) + 0.5) / 200.0);
            let value = values[at.y as usize * side + at.x as usize];
            if !value.is_nan() {
                sum += value;
                found += 1;
            }
        }
        let Some((mean, share)) = mean_over(&values, side, side, &whole, [from, from + u, from + u + v, from + v]) else {
            assert_eq!(found, 0);
            continue;
        };
        // The lattice misplaces at most about a row of places along each edge that crosses the piece.
        assert!((share - f64::from(found) / 40_000.0).abs() < 0.005, "{from:?} {u:?} {v:?}");
        assert!(
            (mean - sum / f64::from(found)).abs() < 0.25,
            "{from:?} {u:?} {v:?}: {mean}, not {}",
            sum / f64::from(found)
        );
    }
}

/// 100 ha in cells of 5 m over pixels of 10 cm: pixels inside a cell are not cut, so it takes a moment and no more.
#[test]
fn fine_pixels_cost_little() {
    let values = vec![2.5; 2000 * 2000];
    let to_pixel = transform([0.1, 0.01, 512_000.0, 0.01, -0.1, 299_000.0]).inverse().unwrap();
    let start = std::time::Instant::now();
    for step in 0..40_000 {
        let from = transform([0.1, 0.01, 512_000.0, 0.01, -0.1, 299_000.0])
            .apply(Coord { x: f64::from(step % 200) * 9.0 + 60.0, y: f64::from(step / 200) * 9.0 + 60.0 });
        let quad = [(0.0, 0.0), (5.0, 0.0), (5.0, 5.0), (0.0, 5.0)].map(|(x, y)| from + Coord { x, y });
        let (mean, share) = mean_over(&values, 2000, 2000, &to_pixel, quad).unwrap();
        assert!((mean - 2.5).abs() < 1e-9 && share > 0.5);
    }
    let seconds = start.elapsed().as_secs_f64();
    println!("40 000 cells of 5 m over pixels of 10 cm: {seconds:.2} s");
    assert!(seconds < 20.0, "{seconds} s");
}
