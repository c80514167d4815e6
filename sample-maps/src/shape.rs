//! Dividing land: rings cut along bent lines, corners rounded. Metres; rings are open and run counter-clockwise.

use geo::{Coord, LineString, Polygon};

use crate::dice::Dice;

/// Corners of a shape, the first not repeated.
pub type Ring = Vec<Coord<f64>>;

/// A coordinate.
pub fn at(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

/// The vector of length 1 at an angle in degrees counter-clockwise from east.
pub fn towards(degrees: f64) -> Coord<f64> {
    let radians = degrees.to_radians();
    at(libm::cos(radians), libm::sin(radians))
}

/// The vector turned a quarter to the left.
pub fn left_of(v: Coord<f64>) -> Coord<f64> {
    at(-v.y, v.x)
}

/// Inner product.
pub fn dot(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.x + a.y * b.y
}

/// Length of a vector.
pub fn norm(v: Coord<f64>) -> f64 {
    libm::sqrt(dot(v, v))
}

fn cross(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.y - a.y * b.x
}

/// Signed area of a ring; counter-clockwise is positive.
pub fn area(ring: &[Coord<f64>]) -> f64 {
    edges(ring).map(|(a, b)| cross(a, b)).sum::<f64>() / 2.0
}

/// Sides of a ring.
pub fn edges(ring: &[Coord<f64>]) -> impl Iterator<Item = (Coord<f64>, Coord<f64>)> + '_ {
    (0..ring.len()).map(move |i| (ring[i], ring[(i + 1) % ring.len()]))
}

/// The ring as a closed polygon.
pub fn polygon(ring: &[Coord<f64>], holes: &[Ring]) -> Polygon<f64> {
    let line = |ring: &[Coord<f64>]| LineString::from(ring.to_vec());
    Polygon::new(line(ring), holes.iter().map(|hole| line(hole)).collect())
}

/// Distance from a point to the nearest side of a ring.
pub fn distance_to_edge(ring: &[Coord<f64>], p: Coord<f64>) -> f64 {
    edges(ring).map(|(a, b)| norm(p - on_segment(a, b, p))).fold(f64::INFINITY, f64::min)
}

/// The point of a segment that is nearest to `p`.
pub fn on_segment(a: Coord<f64>, b: Coord<f64>, p: Coord<f64>) -> Coord<f64> {
    let span = b - a;
    let t = if dot(span, span) > 0.0 { (dot(p - a, span) / dot(span, span)).clamp(0.0, 1.0) } else { 0.0 };
    a + span * t
}

/// Extent of a ring along a direction: least and greatest.
pub fn extent(ring: &[Coord<f64>], direction: Coord<f64>) -> (f64, f64) {
    ring.iter()
        .map(|p| dot(*p, direction))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}

/// The direction of the longer side of the narrowest rectangle around a ring, degrees counter-clockwise from east, to 3°.
pub fn long_axis(ring: &[Coord<f64>]) -> f64 {
    let width = |degrees: f64| {
        let (low, high) = extent(ring, left_of(towards(degrees)));
        high - low
    };
    (0..60).map(|i| 3.0 * f64::from(i)).min_by(|a, b| width(*a).total_cmp(&width(*b))).unwrap_or(0.0)
}

/// Area of the part of a ring that lies left of a line.
pub fn area_left_of(ring: &[Coord<f64>], p: Coord<f64>, direction: Coord<f64>) -> f64 {
    let normal = left_of(direction);
    let mut kept = Vec::new();
    for (a, b) in edges(ring) {
        let (sa, sb) = (dot(a - p, normal), dot(b - p, normal));
        if sa >= 0.0 {
            kept.push(a);
        }
        if (sa >= 0.0) != (sb >= 0.0) {
            kept.push(a + (b - a) * (sa / (sa - sb)));
        }
    }
    if kept.len() < 3 { 0.0 } else { area(&kept) }
}

/// How a dividing line departs from the straight: places along it (0 to 1) and how far to the left, as a share of its length.
pub type Profile = Vec<(f64, f64)>;

/// A hedge's profile: straight, with a bend, with a dog-leg, or winding like a ditch.
pub fn profile(dice: &mut Dice) -> Profile {
    let kind = dice.unit();
    if kind < 0.25 {
        Vec::new()
    } else if kind < 0.55 {
        vec![(dice.between(0.3, 0.7), dice.sign() * dice.between(0.025, 0.08))]
    } else if kind < 0.7 {
        let (t, step) = (dice.between(0.35, 0.6), dice.sign() * dice.between(0.03, 0.06));
        vec![(t, step), (t + dice.between(0.03, 0.07), -step)]
    } else {
        let mut offsets = vec![0.0, 0.0];
        let mut amplitude = 0.06;
        for _ in 0..3 {
            offsets = displaced(&offsets, amplitude, dice);
            amplitude *= 0.5;
        }
        let last = (offsets.len() - 1) as f64;
        offsets.iter().enumerate().skip(1).take(offsets.len() - 2).map(|(i, o)| (i as f64 / last, *o)).collect()
    }
}

fn displaced(offsets: &[f64], amplitude: f64, dice: &mut Dice) -> Vec<f64> {
    let mut finer = vec![offsets[0]];
    for pair in offsets.windows(2) {
        finer.push(f64::midpoint(pair[0], pair[1]) + amplitude * dice.between(-1.0, 1.0));
        finer.push(pair[1]);
    }
    finer
}

/// A ring with every long side roughened.
pub fn roughened(ring: &[Coord<f64>], dice: &mut Dice) -> Ring {
    let mut rough = Vec::new();
    for (a, b) in edges(ring) {
        rough.push(a);
        rough.extend(profile(dice).iter().map(|(t, o)| a + (b - a) * *t + left_of(b - a) * (*o * 0.7)));
    }
    rough
}

/// Cuts a ring along a line through `p` (bent by `profile`); the part left of the direction comes first. None: the bent line
/// leaves the ring.
pub fn cut(ring: &[Coord<f64>], p: Coord<f64>, direction: Coord<f64>, profile: &Profile) -> Option<(Ring, Ring)> {
    let normal = left_of(direction);
    let mut crossings: Vec<(f64, usize, Coord<f64>)> = Vec::new();
    for (i, (a, b)) in edges(ring).enumerate() {
        let (sa, sb) = (dot(a - p, normal), dot(b - p, normal));
        if (sa >= 0.0) != (sb >= 0.0) {
            let hit = a + (b - a) * (sa / (sa - sb));
            crossings.push((dot(hit - p, direction), i, hit));
        }
    }
    crossings.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (from, to) =
        crossings.chunks_exact(2).map(|c| (c[0], c[1])).max_by(|a, b| (a.1.0 - a.0.0).total_cmp(&(b.1.0 - b.0.0)))?;
    let span = to.2 - from.2;
    let inner: Vec<_> = profile.iter().map(|(t, o)| from.2 + span * *t + left_of(span) * *o).collect();
    let shape = polygon(ring, &[]);
    let clear = |c: &Coord<f64>| geo::Contains::contains(&shape, &geo::Point(*c)) && distance_to_edge(ring, *c) > 12.0;
    if !inner.iter().all(clear) {
        return None;
    }
    Some(divide(ring, (from.1, from.2), (to.1, to.2), &inner))
}

/// Divides a ring from a point on one side to a point on another over inner points; the part left of the line comes first.
pub fn divide(
    ring: &[Coord<f64>],
    from: (usize, Coord<f64>),
    to: (usize, Coord<f64>),
    inner: &[Coord<f64>],
) -> (Ring, Ring) {
    let n = ring.len();
    let walk = |start: usize, end: usize| {
        let steps = (end + n - start) % n;
        let steps = if steps == 0 { n } else { steps };
        (1..=steps).map(move |k| ring[(start + k) % n])
    };
    let mut left = vec![from.1];
    left.extend(inner);
    left.push(to.1);
    left.extend(walk(to.0, from.0));
    let mut right = vec![to.1];
    right.extend(inner.iter().rev());
    right.push(from.1);
    right.extend(walk(from.0, to.0));
    (left, right)
}

/// Cuts the sharp outward corners of a ring off along a curve that begins up to `radius` before the corner.
pub fn rounded(ring: &[Coord<f64>], radius: f64) -> Ring {
    let n = ring.len();
    let mut round = Vec::new();
    for i in 0..n {
        let (before, corner, after) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
        let (u, v) = (before - corner, after - corner);
        let (lu, lv) = (norm(u), norm(v));
        let turn = cross(corner - before, after - corner) / (lu * lv);
        let sharp = turn > 0.55 || (turn > 0.0 && dot(u, v) > 0.0);
        let r = radius.min(0.4 * lu).min(0.4 * lv);
        if !sharp || r < 2.0 {
            round.push(corner);
            continue;
        }
        let (start, end) = (corner + u * (r / lu), corner + v * (r / lv));
        for step in 0..=4 {
            let t = f64::from(step) / 4.0;
            round.push(start * ((1.0 - t) * (1.0 - t)) + corner * (2.0 * t * (1.0 - t)) + end * (t * t));
        }
    }
    round
}
