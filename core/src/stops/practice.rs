//! What people commonly do, to compare a plan with: stops at the gate, along a W, along one tramline (common practice, no source).

use geo::{BooleanOps as _, Coord, Distance as _, Euclidean, Length as _, LineString, MultiLineString};

use crate::model::{Method, PlanSettings};
use crate::stops::Spot;
use crate::stops::candidates::Among;
use crate::stops::ground::Ground;
use crate::walk::Position;

/// The stops of a common practice; none where it cannot be done, such as at a gate that is not known.
pub(super) fn practice(ground: &Ground<'_>, method: Method, settings: &PlanSettings) -> Vec<Spot> {
    match method {
        Method::AtGate => at_gate(ground, settings),
        Method::WalkedW => walked_w(ground, settings.stops),
        Method::OneTramline => one_tramline(ground, settings),
        Method::EvenCover | Method::RandomDraw => Vec::new(),
    }
}

/// The places on tramlines nearest to the gate: as people take seed who do not go far in.
pub(super) fn at_gate(ground: &Ground<'_>, settings: &PlanSettings) -> Vec<Spot> {
    let Some(gate) = ground.site.gates.first() else { return Vec::new() };
    let mut places = ground.places(Among::All).to_vec();
    // In micrometres: of two places as near, the first among the candidates.
    places.sort_by_key(|place| ((Euclidean.distance(place.at, *gate) * 1e6).round() as i64, place.rank));
    places.truncate(settings.stops);
    places
}

/// Stops evenly along a W that reaches over the whole field.
fn walked_w(ground: &Ground<'_>, stops: usize) -> Vec<Spot> {
    let grid = &ground.surface.grid;
    let (wide, long) = (grid.columns as f64, grid.rows as f64);
    // The four legs go across the longer side.
    let corner = |step: f64, end: f64| {
        if long >= wide { grid.place(wide * end, long * step) } else { grid.place(wide * step, long * end) }
    };
    let w = LineString(vec![corner(0.0, 1.0), corner(0.25, 0.0), corner(0.5, 1.0), corner(0.75, 0.0), corner(1.0, 1.0)]);
    let inside = ground.site.open.clip(&MultiLineString(vec![w]), false);
    let spots = evenly(&inside.0, stops).into_iter().map(|at| ground.spot(Position { at, tramline: None }));
    spots.collect()
}

/// Stops evenly along the longest tramline.
fn one_tramline(ground: &Ground<'_>, settings: &PlanSettings) -> Vec<Spot> {
    let pieces = &ground.network.tramlines;
    let length = |line: i32| {
        pieces.iter().filter(|piece| piece.line == line).map(|piece| Euclidean.length(&piece.along)).sum::<f64>()
    };
    // Of lines as long, but for rounding, the first among the candidates.
    let lines = ground.places(Among::All).iter().filter_map(|place| place.tramline).map(|line| (length(line), line));
    let longest = lines.reduce(|held, next| if next.0 > held.0 + 1e-3 { next } else { held }).map(|(_, line)| line);
    let Some(longest) = longest else { return Vec::new() };
    let own = pieces.iter().filter(|piece| piece.line == longest);
    let lines: Vec<LineString<f64>> = own.map(|piece| LineString::from(piece.along)).collect();
    let spots = evenly(&lines, settings.stops).into_iter().map(|at| ground.spot(Position { at, tramline: Some(longest) }));
    spots.collect()
}

/// Places along lines, as far from each other as from the ends twice.
fn evenly(lines: &[LineString<f64>], count: usize) -> Vec<Coord<f64>> {
    let total: f64 = lines.iter().map(|line| Euclidean.length(line)).sum();
    let step = total / count as f64;
    let mut next = step / 2.0;
    let mut so_far = 0.0;
    let mut places = Vec::with_capacity(count);
    for edge in lines.iter().flat_map(LineString::lines) {
        let length = Euclidean.length(&edge);
        while places.len() < count && length > 0.0 && next <= so_far + length * (1.0 + 1e-12) {
            places.push(edge.start + edge.delta() * ((next - so_far) / length));
            next += step;
        }
        so_far += length;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_spaced_evenly_over_several_lines() {
        let line = |a: f64, b: f64| LineString(vec![Coord { x: a, y: 0.0 }, Coord { x: b, y: 0.0 }]);
        let places = evenly(&[line(0.0, 10.0), line(20.0, 50.0)], 4);
        let x: Vec<f64> = places.iter().map(|place| place.x).collect();
        assert_eq!(x, [5.0, 25.0, 35.0, 45.0]);
    }
}
