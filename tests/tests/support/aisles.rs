//! The shortest closed tour over parallel aisles between two cross aisles, by the dynamic programme of Ratliff and Rosenthal
//! (1983, Operations Research 31:507-521): aisle by aisle from the left, with what of the tour so far can still grow.

use std::collections::BTreeMap;

/// Edges of the tour at one of the two corners of the last aisle: none, an even number, an odd number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Degree {
    None,
    Even,
    Odd,
}

/// What matters of a part of a tour: its degrees at the bottom and the top corner, and into how many pieces it falls.
type State = (Degree, Degree, usize);

use Degree::{Even, None as Bare, Odd};

/// A run along the aisle once, which turns the parity of a corner.
fn once(degree: Degree) -> Degree {
    if degree == Odd { Even } else { Odd }
}

/// A run out and back, which does not.
fn twice(degree: Degree) -> Degree {
    if degree == Bare { Even } else { degree }
}

/// The ways to visit all places of one aisle: (length, how it meets the corners).
fn within(state: State, places: &[f64], height: f64) -> Vec<(f64, State)> {
    let (bottom, top, pieces) = state;
    let more = |degree: Degree| usize::from(degree == Bare);
    let mut ways = vec![(height, (once(bottom), once(top), 1)), (2.0 * height, (twice(bottom), twice(top), 1))];
    let (Some(lowest), Some(highest)) = (places.first(), places.last()) else {
        ways.push((0.0, state));
        return ways;
    };
    ways.push((2.0 * highest, (twice(bottom), top, pieces + more(bottom))));
    ways.push((2.0 * (height - lowest), (bottom, twice(top), pieces + more(top))));
    let gap = places.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
    if gap > 0.0 {
        ways.push((2.0 * (height - gap), (twice(bottom), twice(top), pieces + more(bottom) + more(top))));
    }
    ways
}

/// The ways along both cross aisles to the next aisle: (number of edges, what they make of the state).
fn across(state: State) -> Vec<(f64, State)> {
    let (bottom, top, pieces) = state;
    let edges = |degree: Degree| if degree == Odd { vec![1] } else { vec![0, 2] };
    let next = |edges: usize| [Bare, Odd, Even][edges];
    let mut ways = Vec::new();
    for b in edges(bottom) {
        for t in edges(top) {
            let grows = |edges: usize, degree: Degree| edges > 0 && degree != Bare;
            let begins = |edges: usize, degree: Degree| usize::from(edges > 0 && degree == Bare);
            // Every piece has to grow on, or the tour falls apart; two pieces meet only further right.
            let kept = usize::from(grows(b, bottom)) + usize::from(grows(t, top));
            if kept == 0 || (pieces == 2 && kept < 2) {
                continue;
            }
            ways.push(((b + t) as f64, (next(b), next(t), pieces + begins(b, bottom) + begins(t, top))));
        }
    }
    ways
}

/// Length of the shortest closed tour from the bottom of the first aisle: aisles `apart` from each other, each with the heights
/// of its places, between cross aisles at 0 and `height`.
pub fn shortest(aisles: &[Vec<f64>], apart: f64, height: f64) -> f64 {
    let mut aisles = aisles.to_vec();
    aisles[0].push(0.0);
    for places in &mut aisles {
        places.sort_by(f64::total_cmp);
    }
    let last = aisles.iter().rposition(|places| !places.is_empty()).unwrap_or(0);
    let mut states: BTreeMap<State, f64> = BTreeMap::from([((Bare, Bare, 0), 0.0)]);
    for (aisle, places) in aisles[..=last].iter().enumerate() {
        if aisle > 0 {
            states =
                stepped(&states, |state| across(state).into_iter().map(|(edges, next)| (edges * apart, next)).collect());
        }
        states = stepped(&states, |state| within(state, places, height));
    }
    let whole = states.into_iter().filter(|((bottom, top, pieces), _)| *bottom != Odd && *top != Odd && *pieces == 1);
    whole.map(|(_, length)| length).fold(f64::INFINITY, f64::min)
}

fn stepped(states: &BTreeMap<State, f64>, ways: impl Fn(State) -> Vec<(f64, State)>) -> BTreeMap<State, f64> {
    let mut next = BTreeMap::new();
    for (state, so_far) in states {
        for (length, reached) in ways(*state) {
            let held: &mut f64 = next.entry(reached).or_insert(f64::INFINITY);
            *held = held.min(so_far + length);
        }
    }
    next
}
