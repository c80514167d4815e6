//! A plan on the map: patches, the walk with small arrows, numbered stops with their share of the seed.

use std::f64::consts::TAU;
use std::fmt::Write as _;

use geo::Coord;

use crate::model::Plan;
use crate::report::palette;
use crate::report::panels::{Layout, Panel};
use crate::report::svg::{self, Anchor, Box, Type};

/// Distance of the walk's arrows on the ground, m.
const ARROW_EVERY_M: f64 = 60.0;
/// Arrows nearer than this on paper, mm, would be a blur and are left out.
const ARROWS_APART_MM: f64 = 6.0;

/// Radius of a stop's ring, mm: large enough for a number when one field is shown.
const LARGE: f64 = 3.0;
const SMALL: f64 = 0.8;
/// Where stops lie close together their rings are made smaller, down to this radius, mm: the number can still be read.
const LEAST: f64 = 2.0;
/// Rounds in which rings that still lie over each other are moved apart.
const ROUNDS: usize = 200;
/// Rings that overlap by less than this only touch, mm.
const TOUCHING_MM: f64 = 0.01;

/// The ring of a stop on paper, mm.
struct Ring {
    /// Where the stop is.
    at: Coord<f64>,
    /// Where the ring is drawn.
    drawn: Coord<f64>,
}

impl Ring {
    /// Whether the stop lies outside its ring, so that a dot must show where it is.
    fn is_beside(&self, radius: f64) -> bool {
        libm::hypot(self.at.x - self.drawn.x, self.at.y - self.drawn.y) > radius
    }
}

/// The radius of the rings of a plan's stops, mm, and the rings.
fn rings(layout: &Layout, panel: &Panel, plan: &Plan, large: bool) -> (f64, Vec<Ring>) {
    let places: Vec<Coord<f64>> = plan.stops.iter().map(|stop| layout.place(panel, stop.position)).collect();
    let (radius, drawn) = if large { apart(&places) } else { (SMALL, places.clone()) };
    (radius, places.into_iter().zip(drawn).map(|(at, drawn)| Ring { at, drawn }).collect())
}

/// A radius for rings round places, mm, and where to draw them so that none lies over another.
fn apart(places: &[Coord<f64>]) -> (f64, Vec<Coord<f64>>) {
    let away = |a: Coord<f64>, b: Coord<f64>| libm::hypot(a.x - b.x, a.y - b.y);
    let pairs: Vec<(usize, usize)> =
        (0..places.len()).flat_map(|one| (one + 1..places.len()).map(move |other| (one, other))).collect();
    let nearest = pairs.iter().map(|(one, other)| away(places[*one], places[*other])).fold(f64::INFINITY, f64::min);
    let radius = (nearest / 2.0).clamp(LEAST, LARGE);
    let mut drawn = places.to_vec();
    for _ in 0..ROUNDS {
        let mut moved = false;
        for (one, other) in &pairs {
            let (now, wanted) = (away(drawn[*one], drawn[*other]), 2.0 * radius);
            if now >= wanted - TOUCHING_MM {
                continue;
            }
            // Two in the same place part sideways.
            let along = if now > 1e-6 { (drawn[*other] - drawn[*one]) / now } else { Coord { x: 1.0, y: 0.0 } };
            let push = along * ((wanted - now) / 2.0);
            drawn[*one] = drawn[*one] - push;
            drawn[*other] = drawn[*other] + push;
            moved = true;
        }
        if !moved {
            break;
        }
    }
    (radius, drawn)
}

/// The room that a plan's stops take on paper.
pub fn room(layout: &Layout, panel: &Panel, plan: &Plan, large: bool) -> Vec<Box> {
    let (radius, rings) = rings(layout, panel, plan, large);
    let side = 2.0 * radius;
    let ring = |at: Coord<f64>| Box { x: at.x - radius, y: at.y - radius, width: side, height: side };
    rings.into_iter().map(|of| ring(of.drawn)).collect()
}

/// Patches and walk.
pub fn walk(layout: &Layout, panel: &Panel, plan: &Plan, large: bool) -> String {
    let mut out = String::new();
    for patch in &plan.patches {
        let path = svg::shape_path(&layout.shape(panel, &patch.outline));
        out.push_str(&svg::stroke(&path, 0.25, palette::INK, "class=\"patch\" stroke-dasharray=\"1.60 0.60 0.30 0.60\""));
    }
    for walk in plan.walks() {
        let line = geo::MapCoords::map_coords(&walk.line, |c| layout.place(panel, c));
        let width = if large { 0.5 } else { 0.28 };
        out.push_str(&svg::stroke(&svg::line_path(&line), width, palette::INK, "class=\"walk\" stroke-linejoin=\"round\""));
        let step = ARROW_EVERY_M * layout.mm_per_m;
        if large && step >= ARROWS_APART_MM {
            out.push_str(&arrows(&line, step));
        }
    }
    out
}

fn arrows(line: &geo::LineString<f64>, step: f64) -> String {
    let mut data = String::new();
    let mut next = step / 2.0;
    let mut walked = 0.0;
    for side in line.lines() {
        let span = side.end - side.start;
        let length = libm::hypot(span.x, span.y);
        while next <= walked + length && length > 0.0 {
            let along = span / length;
            let across = Coord { x: -along.y, y: along.x };
            let at = side.start + along * (next - walked);
            data.push_str(&svg::points(
                &[at + along * 1.1, at - along * 0.7 + across * 0.8, at - along * 0.7 - across * 0.8],
                true,
            ));
            next += step;
        }
        walked += length;
    }
    format!("<path d=\"{data}\" fill=\"{}\"/>\n", svg::colour(palette::INK))
}

/// Stops in walking order. A ring that would hide another's number is moved; a stop that then lies outside its
/// ring is a dot on a thin line to it.
pub fn stops(layout: &Layout, panel: &Panel, plan: &Plan, large: bool) -> String {
    let (radius, rings) = rings(layout, panel, plan, large);
    let mut out = String::new();
    for of in rings.iter().filter(|ring| ring.is_beside(radius)) {
        out.push_str(&svg::stroke(&svg::points(&[of.at, of.drawn], false), 0.25, palette::INK, "class=\"leader\""));
    }
    for (number, (stop, of)) in plan.stops.iter().zip(&rings).enumerate() {
        out.push_str(&ring(of.drawn, number + 1, stop.share, radius, large));
    }
    let ink = svg::colour(palette::INK);
    for of in rings.iter().filter(|ring| ring.is_beside(radius)) {
        let (x, y) = (svg::number(of.at.x), svg::number(of.at.y));
        let _ = writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"0.45\" fill=\"{ink}\"/>");
    }
    out
}

/// A numbered ring; the wedge round its edge, from the top clockwise, is the share of the seed.
fn ring(at: Coord<f64>, number: usize, share: f64, r: f64, large: bool) -> String {
    let (x, y, ink) = (svg::number(at.x), svg::number(at.y), svg::colour(palette::INK));
    let circle =
        |radius: f64, more: String| format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{}\" {more}/>\n", svg::number(radius));
    let line = if large { 0.35 } else { 0.25 };
    let mut out = circle(
        r,
        format!("class=\"stop\" fill=\"{}\" stroke=\"{ink}\" stroke-width=\"{line}\"", svg::colour(palette::RAISED)),
    );
    if !large {
        return out;
    }
    let wedge = svg::colour(palette::MUTED);
    let turn = share.clamp(0.0, 1.0) * TAU;
    if turn > 0.999 * TAU {
        out.push_str(&circle(r - 0.2, format!("fill=\"{wedge}\"")));
    } else {
        let edge = r - 0.17;
        let end = Coord { x: at.x + edge * libm::sin(turn), y: at.y - edge * libm::cos(turn) };
        let (edge_text, sweep) = (svg::number(edge), i32::from(turn > TAU / 2.0));
        let _ = writeln!(
            out,
            "<path d=\"M{x} {y}V{}A{edge_text} {edge_text} 0 {sweep} 1 {} {}Z\" fill=\"{wedge}\"/>",
            svg::number(at.y - edge),
            svg::number(end.x),
            svg::number(end.y)
        );
    }
    // The number stands on a disc, so that the wedge shows as a band about it.
    out.push_str(&circle(0.7 * r, format!("fill=\"{}\"", svg::colour(palette::RAISED))));
    let look = Type { size: 2.8 * r / LARGE, bold: true, colour: palette::INK, anchor: Anchor::Middle };
    out + &svg::text(Coord { x: at.x, y: at.y + r / LARGE }, look, &number.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crowded_rings_part_and_others_stay() {
        let at = |x: f64, y: f64| Coord { x, y };
        let loose = [at(0.0, 0.0), at(9.0, 0.0), at(0.0, 9.0)];
        assert_eq!(apart(&loose), (LARGE, loose.to_vec()));
        let close = [at(0.0, 0.0), at(5.0, 0.0)];
        assert_eq!(apart(&close), (2.5, close.to_vec()));
        let crowded = [at(0.0, 0.0), at(0.0, 0.0), at(1.0, 0.5), at(2.0, 0.0), at(1.5, 2.0), at(20.0, 0.0)];
        let (radius, drawn) = apart(&crowded);
        assert!((radius - LEAST).abs() < 1e-12);
        for (one, a) in drawn.iter().enumerate() {
            for b in drawn.iter().skip(one + 1) {
                let gap = libm::hypot(a.x - b.x, a.y - b.y);
                assert!(gap >= 2.0 * LEAST - 0.1, "{gap} mm between rings: {drawn:?}");
            }
        }
        assert_eq!(drawn.last(), crowded.last(), "what is in nobody's way stays");
    }
}
