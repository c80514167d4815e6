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
fn radius(large: bool) -> f64 {
    if large { 3.0 } else { 0.8 }
}

/// The room that a plan's stops take on paper.
pub fn room(layout: &Layout, panel: &Panel, plan: &Plan, large: bool) -> Vec<Box> {
    let side = 2.0 * radius(large);
    let stop = |at: Coord<f64>| Box { x: at.x - side / 2.0, y: at.y - side / 2.0, width: side, height: side };
    plan.stops.iter().map(|s| stop(layout.place(panel, s.position))).collect()
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

/// Stops in walking order.
pub fn stops(layout: &Layout, panel: &Panel, plan: &Plan, large: bool) -> String {
    let mut out = String::new();
    for (number, stop) in plan.stops.iter().enumerate() {
        out.push_str(&ring(layout.place(panel, stop.position), number + 1, stop.share, large));
    }
    out
}

/// A numbered ring; the wedge round its edge, from the top clockwise, is the share of the seed.
fn ring(at: Coord<f64>, number: usize, share: f64, large: bool) -> String {
    let r = radius(large);
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
    let look = Type { size: 2.8, bold: true, colour: palette::INK, anchor: Anchor::Middle };
    out + &svg::text(Coord { x: at.x, y: at.y + 1.0 }, look, &number.to_string())
}
