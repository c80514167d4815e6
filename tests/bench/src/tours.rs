//! The tour of TSPLIB's berlin52, whose shortest length is published: 7542.

use awn_core::walk::shortest_tour;

use crate::{project_path, timed};

/// The tour through the 52 places, with the rounded distances that the optimum is published for.
pub fn berlin52() {
    let text = std::fs::read_to_string(project_path("tests/data/berlin52.tsp")).expect("the file of the tests");
    let places: Vec<(f64, f64)> = text
        .lines()
        .filter_map(|line| {
            let numbers: Vec<f64> = line.split_whitespace().filter_map(|word| word.parse().ok()).collect();
            (numbers.len() == 3).then(|| (numbers[1], numbers[2]))
        })
        .collect();
    let distance: Vec<Vec<f64>> =
        places.iter().map(|a| places.iter().map(|b| (a.0 - b.0).hypot(a.1 - b.1).round()).collect()).collect();
    let (seconds, tour) = timed(3, || shortest_tour(&distance));
    println!("| berlin52, {} places | {seconds:.3} | published optimum 7542 | | | | length {} |", places.len(), tour.length);
}
