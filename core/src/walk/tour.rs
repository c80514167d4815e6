//! The shortest closed tour through places whose distances are known.
//!
//! Up to [`EXACT_UP_TO`] places beside the start: exact, by dynamic programming over subsets (Held and Karp 1962, Bellman 1962).
//! Above: from the nearest-neighbour tours of many starts, improved by 2-opt (Croes 1958) and Or-opt (Or 1976) until neither
//! helps; the best is kept. Nothing is random.

/// Places beside the start up to which the tour is exact.
pub const EXACT_UP_TO: usize = 12;

/// Gains smaller than this are rounding, m.
const GAIN: f64 = 1e-9;

/// An order to visit places in, starting from place 0 and returning there.
#[derive(Debug, Clone, PartialEq)]
pub struct Tour {
    /// The places in order, 0 first; each once.
    pub order: Vec<usize>,
    /// Length of the closed tour.
    pub length: f64,
    /// Whether no shorter one exists.
    pub exact: bool,
}

/// The shortest closed tour over `distance[a][b]`, symmetric, from place 0.
pub fn shortest_tour(distance: &[Vec<f64>]) -> Tour {
    let n = distance.len();
    if n <= 3 {
        // There is one closed tour.
        let order: Vec<usize> = (0..n).collect();
        return Tour { length: length(distance, &order), order, exact: true };
    }
    if n - 1 <= EXACT_UP_TO { held_karp(distance) } else { improved(distance) }
}

fn length(distance: &[Vec<f64>], order: &[usize]) -> f64 {
    let next = order.iter().cycle().skip(1);
    order.iter().zip(next).map(|(a, b)| distance[*a][*b]).sum()
}

fn held_karp(distance: &[Vec<f64>]) -> Tour {
    let m = distance.len() - 1;
    let subsets = 1usize << m;
    // best[set * m + last]: the shortest way from 0 through the places of `set`, ending in `last` (place last + 1).
    let mut best = vec![f64::INFINITY; subsets * m];
    let mut before = vec![usize::MAX; subsets * m];
    for last in 0..m {
        best[(1 << last) * m + last] = distance[0][last + 1];
    }
    for set in 1..subsets {
        for last in (0..m).filter(|last| set >> last & 1 == 1) {
            let so_far = best[set * m + last];
            for next in (0..m).filter(|next| set >> next & 1 == 0) {
                let longer = so_far + distance[last + 1][next + 1];
                let slot = (set | 1 << next) * m + next;
                if longer < best[slot] {
                    best[slot] = longer;
                    before[slot] = last;
                }
            }
        }
    }
    let mut set = subsets - 1;
    let total = |last: usize| best[set * m + last] + distance[last + 1][0];
    let mut last = (0..m).min_by(|a, b| total(*a).total_cmp(&total(*b))).unwrap_or(0);
    let mut order = Vec::with_capacity(m + 1);
    while last != usize::MAX {
        order.push(last + 1);
        let previous = before[set * m + last];
        set &= !(1 << last);
        last = previous;
    }
    order.push(0);
    order.reverse();
    Tour { length: length(distance, &order), order, exact: true }
}

fn improved(distance: &[Vec<f64>]) -> Tour {
    let n = distance.len();
    let mut best: Option<(f64, Vec<usize>)> = None;
    for start in 0..n.min(60) {
        let mut order = nearest_neighbours(distance, start);
        while two_opt(distance, &mut order) | or_opt(distance, &mut order) {}
        let total = length(distance, &order);
        if best.as_ref().is_none_or(|(held, _)| total < held - GAIN) {
            best = Some((total, order));
        }
    }
    let (length, mut order) = best.unwrap_or((0.0, (0..n).collect()));
    let zero = order.iter().position(|place| *place == 0).unwrap_or(0);
    order.rotate_left(zero);
    Tour { order, length, exact: false }
}

fn nearest_neighbours(distance: &[Vec<f64>], start: usize) -> Vec<usize> {
    let mut left: Vec<usize> = (0..distance.len()).filter(|place| *place != start).collect();
    let mut order = vec![start];
    let mut here = start;
    while !left.is_empty() {
        let nearest = (0..left.len()).min_by(|a, b| distance[here][left[*a]].total_cmp(&distance[here][left[*b]]));
        here = left.remove(nearest.unwrap_or(0));
        order.push(here);
    }
    order
}

/// Turns stretches round while that shortens the tour; whether it did.
fn two_opt(distance: &[Vec<f64>], order: &mut [usize]) -> bool {
    let n = order.len();
    let mut any = false;
    let mut again = true;
    while again {
        again = false;
        for i in 0..n - 1 {
            for j in i + 1..n {
                let (a, b, c, d) = (order[i], order[i + 1], order[j], order[(j + 1) % n]);
                if a == d {
                    continue;
                }
                if distance[a][c] + distance[b][d] < distance[a][b] + distance[c][d] - GAIN {
                    order[i + 1..=j].reverse();
                    again = true;
                    any = true;
                }
            }
        }
    }
    any
}

/// Moves runs of one to three places elsewhere, either way round, while that shortens the tour; whether it did.
fn or_opt(distance: &[Vec<f64>], order: &mut Vec<usize>) -> bool {
    let n = order.len();
    let mut any = false;
    for run in 1..=3.min(n - 2) {
        let mut from = 0;
        while from < n {
            // Bring the run to the front, so that it never wraps.
            order.rotate_left(from);
            let (first, last) = (order[0], order[run - 1]);
            let (before, after) = (order[n - 1], order[run]);
            let gain = distance[before][first] + distance[last][after] - distance[before][after];
            let mut best = (GAIN, 0, false);
            for at in run..n - 1 {
                let (a, b) = (order[at], order[at + 1]);
                for turned in [false, true] {
                    let (head, tail) = if turned { (last, first) } else { (first, last) };
                    let cost = distance[a][head] + distance[tail][b] - distance[a][b];
                    if gain - cost > best.0 {
                        best = (gain - cost, at, turned);
                    }
                }
            }
            if best.1 > 0 {
                let mut moved: Vec<usize> = order.drain(..run).collect();
                if best.2 {
                    moved.reverse();
                }
                let at = best.1 - run + 1;
                order.splice(at..at, moved);
                any = true;
            } else {
                order.rotate_right(from);
                from += 1;
            }
        }
    }
    any
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
        assert!((improved(&distance).length - 1184.0).abs() < 1e-9);
    }
}
