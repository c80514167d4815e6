//! Laying out a farm: an outline divided again and again by hedges, lanes and tracks until there are fields.
//!
//! A line is bent before it divides, so both neighbours have the same bends. Lanes and tracks are two such lines with a gap.

use geo::{Contains as _, Coord, Point, Validation as _};

use crate::dice::Dice;
use crate::shape::{self, Ring, area, at, distance_to_edge, dot, extent, left_of, long_axis, norm, towards};

/// What to lay out.
pub struct Layout {
    /// Seed of everything by chance.
    pub seed: u64,
    /// Corners of the outline, m around the farm's middle, before roughening; only their shape counts.
    pub outline: &'static [(f64, f64)],
    /// Middle of the farm, m in the business's plane.
    pub middle: (f64, f64),
    /// Area of the outline, ha.
    pub hectares: f64,
    /// How many pieces.
    pub pieces: usize,
    /// The pieces that belong to somebody else, by number.
    pub not_ours: &'static [usize],
    /// Pieces with a hole: number, and the hole's half length in m.
    pub holes: &'static [(usize, f64)],
}

/// One field.
#[derive(Clone)]
pub struct Piece {
    /// Outer ring, m in the business's plane.
    pub ring: Ring,
    /// Holes.
    pub holes: Vec<Ring>,
    /// The ring of the land from which this piece and its sister were divided last, if a hedge divides them.
    pub mother: Option<Ring>,
}

/// Lays out a farm. Pieces come in the order of division.
pub fn lay_out(layout: &Layout) -> Vec<Piece> {
    let mut dice = Dice::new(layout.seed);
    let outline: Ring = layout.outline.iter().map(|(x, y)| at(*x, *y)).collect();
    let scale = libm::sqrt(layout.hectares * 10_000.0 / area(&outline));
    let middle = at(layout.middle.0, layout.middle.1);
    let outline: Ring = outline.iter().map(|c| *c * scale + middle).collect();
    let outline = shape::roughened(&outline, &mut dice);
    let mut pieces = Vec::new();
    split(outline, layout.pieces, 0, &mut dice, &mut pieces);
    round_and_join(&mut pieces);
    for (number, radius) in layout.holes {
        let piece = &mut pieces[*number];
        piece.holes.extend(hole(&piece.ring, *radius, &mut dice));
    }
    let ours = |(i, piece): (usize, Piece)| (!layout.not_ours.contains(&i)).then_some(piece);
    pieces.into_iter().enumerate().filter_map(ours).collect()
}

fn split(ring: Ring, pieces: usize, depth: usize, dice: &mut Dice, done: &mut Vec<Piece>) {
    if pieces <= 1 {
        done.push(Piece { ring, holes: Vec::new(), mother: None });
        return;
    }
    let first = if pieces > 3 && dice.chance(0.4) { pieces / 2 - 1 } else { pieces / 2 };
    let share = first as f64 / pieces as f64;
    let gap = if depth == 0 {
        11.0
    } else if depth == 1 || (depth == 2 && dice.chance(0.4)) {
        5.0
    } else {
        0.0
    };
    for attempt in 0..60 {
        let jitter = 1.0 - f64::from(attempt) / 70.0;
        let Some((one, other)) = try_split(&ring, pieces, share, gap, jitter, dice) else { continue };
        let from = done.len();
        split(one, first, depth + 1, dice, done);
        split(other, pieces - first, depth + 1, dice, done);
        if pieces == 2 && gap == 0.0 {
            done[from..].iter_mut().for_each(|piece| piece.mother = Some(ring.clone()));
        }
        return;
    }
    done.push(Piece { ring, holes: Vec::new(), mother: None });
}

fn try_split(ring: &Ring, pieces: usize, share: f64, gap: f64, jitter: f64, dice: &mut Dice) -> Option<(Ring, Ring)> {
    let hectares = area(ring) / 10_000.0;
    if pieces == 2
        && hectares > 40.0
        && dice.chance(0.5)
        && let Some(parts) = corner_taken(ring, dice)
    {
        return Some(parts).filter(sound);
    }
    let lengthwise = pieces == 2 && gap == 0.0 && dice.chance(0.22 * jitter);
    let turn = if lengthwise { 0.0 } else { 90.0 };
    let direction = towards(long_axis(ring) + turn + jitter * dice.between(-13.0, 13.0));
    let share = (share * dice.between(1.0 - 0.35 * jitter, 1.0 + 0.35 * jitter)).clamp(0.22, 0.78);
    let p = place_for_share(ring, direction, share);
    let bends: shape::Profile = shape::profile(dice).into_iter().map(|(t, o)| (t, o * jitter)).collect();
    let (left, right) = shape::cut(ring, p, direction, &bends)?;
    let left = if gap > 0.0 { shape::cut(&left, p + left_of(direction) * gap, direction, &bends)?.0 } else { left };
    Some((left, right)).filter(sound).filter(|(a, b)| lengthwise || (compact(a) > 0.3 && compact(b) > 0.3))
}

/// The point through which a line in this direction leaves the given share of the area to its left.
fn place_for_share(ring: &Ring, direction: Coord<f64>, share: f64) -> Coord<f64> {
    let normal = left_of(direction);
    let (mut low, mut high) = extent(ring, normal);
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        if shape::area_left_of(ring, normal * middle, direction) > share * area(ring) { low = middle } else { high = middle }
    }
    normal * f64::midpoint(low, high)
}

/// A four-sided piece taken out of a corner, which leaves an L.
fn corner_taken(ring: &Ring, dice: &mut Dice) -> Option<(Ring, Ring)> {
    let n = ring.len();
    let square = |i: usize| {
        let (u, v) = (ring[(i + n - 1) % n] - ring[i], ring[(i + 1) % n] - ring[i]);
        let cosine = dot(u, v) / (norm(u) * norm(v));
        (cosine.abs() < 0.35 && norm(u) > 180.0 && norm(v) > 180.0).then_some((u, v))
    };
    let corner = (0..n).find(|i| square(*i).is_some_and(|(u, v)| u.y * v.x - u.x * v.y > 0.0))?;
    let (u, v) = square(corner)?;
    let reach = |length: f64, share: f64| (share * length).min(length - 30.0) / length;
    let (su, sv) = (reach(norm(u), dice.between(0.55, 0.8)), reach(norm(v), dice.between(0.55, 0.8)));
    let (a, b) = (ring[corner] + u * su, ring[corner] + v * sv);
    let inner = ring[corner] + u * su + v * sv;
    let inside = polygon_contains(ring, inner) && distance_to_edge(ring, inner) > 60.0;
    inside.then(|| shape::divide(ring, (corner, b), ((corner + n - 1) % n, a), &[inner]))
}

fn polygon_contains(ring: &Ring, p: Coord<f64>) -> bool {
    shape::polygon(ring, &[]).contains(&Point(p))
}

/// Both parts are plain rings of 6 ha at least, without narrow necks.
fn sound((a, b): &(Ring, Ring)) -> bool {
    [a, b].iter().all(|ring| area(ring) > 62_000.0 && shape::polygon(ring, &[]).is_valid())
}

/// 1 for a circle, less the longer the way round.
fn compact(ring: &Ring) -> f64 {
    let round: f64 = shape::edges(ring).map(|(a, b)| norm(b - a)).sum();
    4.0 * std::f64::consts::PI * area(ring) / (round * round)
}

/// Rounds corners, then gives every ring the corners of its neighbours that lie on its sides, so that neighbours share points.
fn round_and_join(pieces: &mut [Piece]) {
    for (number, piece) in pieces.iter_mut().enumerate() {
        piece.ring = shape::rounded(&piece.ring, 9.0 + 2.0 * (number % 4) as f64);
    }
    let corners: Vec<Coord<f64>> = pieces.iter().flat_map(|piece| piece.ring.iter().copied()).collect();
    for piece in pieces.iter_mut() {
        piece.ring = joined(&piece.ring, &corners);
    }
}

fn joined(ring: &Ring, corners: &[Coord<f64>]) -> Ring {
    let mut fuller = Vec::new();
    for (a, b) in shape::edges(ring) {
        fuller.push(a);
        let on_side = |c: &&Coord<f64>| {
            norm(**c - a) > 1e-3 && norm(**c - b) > 1e-3 && norm(**c - shape::on_segment(a, b, **c)) < 1e-5
        };
        let mut between: Vec<_> = corners.iter().filter(on_side).copied().collect();
        between.sort_by(|p, q| norm(*p - a).total_cmp(&norm(*q - a)));
        between.dedup_by(|p, q| norm(*p - *q) < 1e-3);
        fuller.extend(between);
    }
    fuller
}

/// A pond or copse: an uneven oval well inside the ring.
fn hole(ring: &Ring, half_length: f64, dice: &mut Dice) -> Option<Ring> {
    let (east, north) = (extent(ring, at(1.0, 0.0)), extent(ring, at(0.0, 1.0)));
    let room = |p: &Coord<f64>| polygon_contains(ring, *p) && distance_to_edge(ring, *p) > half_length * 1.4 + 25.0;
    let places: Vec<_> = (0..400).map(|_| at(dice.between(east.0, east.1), dice.between(north.0, north.1))).collect();
    let middle = places.into_iter().find(room)?;
    let (turn, flat) = (dice.between(0.0, 180.0), dice.between(0.55, 0.9));
    let corners = 14;
    let oval = (0..corners).map(|i| {
        let around = towards(360.0 * f64::from(i) / f64::from(corners));
        let uneven = half_length * dice.between(0.8, 1.15);
        let (long, short) = (towards(turn), left_of(towards(turn)));
        middle + long * (around.x * uneven) + short * (around.y * uneven * flat)
    });
    Some(oval.collect())
}
