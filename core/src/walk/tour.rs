//! The shortest tour through places whose distances are known: closed, or from one place to another.
//!
//! Up to [`EXACT_UP_TO`] stops exact, by dynamic programming over subsets; above by a local search that is kicked out of where
//! it gets stuck (`improve.rs`). The same distances give the same tour.

use crate::walk::improve::improved;
use crate::walk::subsets::Subsets;
use crate::walk::table::{Ends, Table};

/// Stops up to which the tour is exact.
pub const EXACT_UP_TO: usize = 12;

/// An order to visit places in, starting from place 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Tour {
    /// The places in order, 0 first; each once. An open tour has the last place last; a closed one returns to 0.
    pub order: Vec<usize>,
    /// Length of the tour, with the return of a closed one.
    pub length: f64,
    /// Whether no shorter one exists.
    pub exact: bool,
}

/// The shortest closed tour over `distance[a][b]`, symmetric, from place 0 and back to it.
pub fn shortest_tour(distance: &[Vec<f64>]) -> Tour {
    shortest(distance, Ends::AtStart)
}

/// The shortest open tour over `distance[a][b]`, symmetric, from place 0 past all others to the last place.
pub fn shortest_open_tour(distance: &[Vec<f64>]) -> Tour {
    shortest(distance, Ends::AtLast)
}

fn shortest(distance: &[Vec<f64>], ends: Ends) -> Tour {
    let table = Table::of(distance, ends);
    let order = table.whole(&shortest_order(&table));
    Tour { length: length(distance, ends, &order), order, exact: table.stops() <= EXACT_UP_TO }
}

/// The stops of a table in the order of its shortest tour: exact up to [`EXACT_UP_TO`] stops.
pub(super) fn shortest_order(table: &Table) -> Vec<usize> {
    if table.stops() <= EXACT_UP_TO {
        let subsets = Subsets::of(table);
        subsets.order(subsets.all())
    } else {
        improved(table, None)
    }
}

/// Length of the tour of an order; infinite if it has to get where no way leads.
pub(super) fn length(distance: &[Vec<f64>], ends: Ends, order: &[usize]) -> f64 {
    let steps: f64 = order.windows(2).map(|pair| distance[pair[0]][pair[1]]).sum();
    match (ends, order.last()) {
        (Ends::AtStart, Some(last)) if order.len() > 1 => steps + distance[*last][order[0]],
        _ => steps,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Shortest paths on a ladder: lines at x, cross-headlands at y = 0 and 200.
    fn ladder(a: (f64, f64), b: (f64, f64)) -> f64 {
        if a.0 == b.0 { (a.1 - b.1).abs() } else { (a.0 - b.0).abs() + (a.1 + b.1).min(400.0 - a.1 - b.1) }
    }

    #[test]
    fn the_ladder_has_its_known_optimum() {
        // Nine lines 24 m apart between two headlands, eight stops and a gate in the corner: 1184 by Held-Karp and by all 8!
        // orders. The distances are exact for two lines of a ladder (Ratliff and Rosenthal 1983 treat the same graph).
        let places = [
            (0.0, 0.0),
            (24.0, 60.0),
            (24.0, 150.0),
            (72.0, 40.0),
            (96.0, 120.0),
            (120.0, 180.0),
            (144.0, 30.0),
            (168.0, 90.0),
            (192.0, 170.0),
        ];
        let distance: Vec<Vec<f64>> = places.iter().map(|a| places.iter().map(|b| ladder(*a, *b)).collect()).collect();
        let tour = shortest_tour(&distance);
        assert!(tour.exact && (tour.length - 1184.0).abs() < 1e-9, "{tour:?}");
        for ends in [Ends::AtStart, Ends::AtLast] {
            let table = Table::of(&distance, ends);
            let (searched, exact) = (table.length(&improved(&table, None)), table.length(&shortest_order(&table)));
            assert!((searched - exact).abs() < 1e-9, "{searched} {exact}");
        }
    }

    #[test]
    fn a_place_without_a_way_makes_the_tour_infinite_and_loses_no_place() {
        let mut distance = vec![vec![1.0; 5]; 5];
        distance[3] = vec![f64::INFINITY; 5];
        for row in &mut distance {
            row[3] = f64::INFINITY;
        }
        let tour = shortest_tour(&distance);
        assert_eq!((tour.order.len(), tour.length), (5, f64::INFINITY));
    }

    #[test]
    fn no_stops_make_no_way() {
        assert_eq!(shortest_tour(&[vec![0.0]]), Tour { order: vec![0], length: 0.0, exact: true });
        let two = [vec![0.0, 7.0], vec![7.0, 0.0]];
        assert_eq!(shortest_open_tour(&two), Tour { order: vec![0, 1], length: 7.0, exact: true });
        assert_eq!(shortest_open_tour(&[vec![0.0]]).order, [0]);
        assert_eq!(shortest_tour(&[]).length, 0.0);
    }
}
