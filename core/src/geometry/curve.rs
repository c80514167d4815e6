//! Arcs of circles as chords.

use std::f64::consts::TAU;

use geo::Coord;

/// Turn of one chord, radians: one degree, which leaves out 5e-5 of the area of a circle.
const STEP: f64 = TAU / 360.0;

/// A string of arcs through three positions each, the last of one being the first of the next (ISO 19125 circular string).
pub fn through(positions: &[Coord<f64>]) -> Vec<Coord<f64>> {
    let mut list: Vec<Coord<f64>> = positions.first().copied().into_iter().collect();
    let mut from = 0;
    while let Some([a, b, c]) = positions.get(from..from + 3) {
        // A whole circle has its ends in one place, the middle opposite.
        if a == c && a != b {
            let centre = Coord { x: f64::midpoint(a.x, b.x), y: f64::midpoint(a.y, b.y) };
            list.extend(around(centre, *a, TAU));
        } else {
            list.extend(arc(*a, *b, *c));
        }
        list.push(*c);
        from += 2;
    }
    list.extend(positions.iter().skip(from + 1));
    list
}

/// A whole circle through three positions, closed.
pub fn circle(a: Coord<f64>, b: Coord<f64>, c: Coord<f64>) -> Vec<Coord<f64>> {
    let mut list = vec![a];
    match centre(a, b, c) {
        Some(centre) => list.extend(around(centre, a, TAU)),
        None => list.extend([b, c]),
    }
    list.push(a);
    list
}

/// The positions between the first and the last of an arc; the middle one alone if the three lie on a line.
fn arc(a: Coord<f64>, b: Coord<f64>, c: Coord<f64>) -> Vec<Coord<f64>> {
    let Some(centre) = centre(a, b, c) else { return vec![b] };
    let turn = |at: Coord<f64>| (at.y - centre.y).atan2(at.x - centre.x);
    let (to_b, to_c) = ((turn(b) - turn(a)).rem_euclid(TAU), (turn(c) - turn(a)).rem_euclid(TAU));
    around(centre, a, if to_b < to_c { to_c } else { to_c - TAU })
}

fn around(centre: Coord<f64>, from: Coord<f64>, turn: f64) -> Vec<Coord<f64>> {
    let steps = (turn.abs() / STEP).ceil().clamp(1.0, 360.0) as usize;
    let (dx, dy) = (from.x - centre.x, from.y - centre.y);
    let at = |step: usize| {
        let (sin, cos) = (turn * step as f64 / steps as f64).sin_cos();
        Coord { x: centre.x + dx * cos - dy * sin, y: centre.y + dx * sin + dy * cos }
    };
    (1..steps).map(at).collect()
}

/// The centre of the circle through three positions; none if they lie on a line.
fn centre(a: Coord<f64>, b: Coord<f64>, c: Coord<f64>) -> Option<Coord<f64>> {
    let (bx, by, cx, cy) = (b.x - a.x, b.y - a.y, c.x - a.x, c.y - a.y);
    let d = 2.0 * (bx * cy - by * cx);
    let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
    let at = Coord { x: a.x + (cy * b2 - by * c2) / d, y: a.y + (bx * c2 - cx * b2) / d };
    (d.abs() > 1e-12 * b2.max(c2) && at.x.is_finite() && at.y.is_finite()).then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area as _, LineString, Polygon};
    use std::f64::consts::PI;

    fn at(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    fn area(ring: Vec<Coord<f64>>) -> f64 {
        Polygon::new(LineString(ring), vec![]).unsigned_area()
    }

    #[test]
    fn circles_have_their_area() {
        let two_arcs = through(&[at(5.0, 0.0), at(0.0, 5.0), at(-5.0, 0.0), at(0.0, -5.0), at(5.0, 0.0)]);
        let one_arc = through(&[at(5.0, 0.0), at(-5.0, 0.0), at(5.0, 0.0)]);
        let three_points = circle(at(5.0, 0.0), at(3.0, 4.0), at(-3.0, -4.0));
        for ring in [two_arcs, one_arc, three_points] {
            let ratio = area(ring) / (25.0 * PI);
            assert!((ratio - 1.0).abs() < 6e-5, "{ratio}");
        }
    }

    #[test]
    fn both_ways_round_and_straight() {
        let near = |a: &Coord<f64>, x: f64, y: f64| (a.x - x).hypot(a.y - y) < 0.05;
        let clockwise = through(&[at(1.0, 0.0), at(0.0, -1.0), at(-1.0, 0.0)]);
        assert!(near(&clockwise[clockwise.len() / 2], 0.0, -1.0), "{clockwise:?}");
        let straight = [at(0.0, 0.0), at(1.0, 0.0), at(2.0, 0.0)];
        assert_eq!(through(&straight), straight);
        assert_eq!(through(&[]), []);
        assert_eq!(through(&straight[..2]), straight[..2]);
    }
}
