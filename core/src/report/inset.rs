//! Where the land on the map lies: every field of the year, small, with a frame round what the map shows.
//!
//! Made of the fields themselves, because nothing else is at hand offline. Metres are of a plane about all of them, so that the
//! inset's own bar is true; beside it the grid reference of the middle.

use std::sync::Arc;

use geo::{BoundingRect as _, Coord, Intersects as _, MapCoords as _, Rect, Simplify as _};

use crate::crs::{LocalPlane, PlaceNames};
use crate::geometry::merged_bounds;
use crate::model::Field;
use crate::report::furniture::{at, plain, round_length};
use crate::report::panels::Layout;
use crate::report::svg::{self, Anchor, Box, Type};
use crate::report::{lettering, palette};

/// Space inside the card, mm.
const PAD: f64 = 2.5;
/// Height of heading, bar and reference, mm.
const WORDS: f64 = 14.5;
/// Fields smaller than this on the inset are drawn as dots, mm.
const DOT: f64 = 0.5;
/// A frame is never smaller than this, mm, so that it is seen.
const LEAST_FRAME: f64 = 1.6;

/// Least width and height of an inset, mm.
pub const LEAST_MM: (f64, f64) = (20.0, 24.0);
/// Width and height of an inset in a corner of the map, mm.
const CORNER_MM: (f64, f64) = (36.0, 34.0);

/// A corner of the map in which no field and no name of a farm lies.
pub fn free_corner(layout: &Layout, frame: Rect<f64>) -> Option<Box> {
    let (width, height) = CORNER_MM;
    let (low, high) = (frame.min(), frame.max());
    let mut taken: Vec<geo::MultiPolygon<f64>> = Vec::new();
    for panel in &layout.panels {
        taken.extend(panel.fields.iter().map(|field| layout.shape(panel, &field.boundary)));
        let top = panel.corner.y - panel.bounds.height() * layout.mm_per_m;
        let right = panel.corner.x + lettering::width(&panel.title, 4.0, true);
        let name = Rect::new(at(panel.corner.x, top - 7.0), at(right, top));
        taken.push(name.to_polygon().into());
    }
    let corners = [(low.x, low.y), (high.x - width, low.y), (low.x, high.y - height), (high.x - width, high.y - height)];
    corners.into_iter().map(|(x, y)| Box { x, y, width, height }).find(|b| {
        let room = Rect::new(at(b.x - 2.0, b.y - 2.0), at(b.x + b.width + 2.0, b.y + b.height + 2.0));
        !taken.iter().any(|shape| shape.intersects(&room))
    })
}

/// The inset in a box; none if the map shows all there is in one piece, so that it would only be the map again.
pub fn inset(all: &[Arc<Field>], layout: &Layout, room: Box) -> Option<String> {
    let shown: usize = layout.panels.iter().map(|panel| panel.fields.len()).sum();
    if layout.panels.len() < 2 && shown >= all.len() {
        return None;
    }
    let degrees = merged_bounds(all.iter().filter_map(|field| field.boundary.bounding_rect()))?;
    let plane = LocalPlane::around(degrees).ok()?;
    let shapes: Vec<_> = all.iter().map(|field| plane.to_metres(&field.boundary)).collect();
    let ground = merged_bounds(shapes.iter().filter_map(geo::BoundingRect::bounding_rect))?;
    let inner = (room.width - 2.0 * PAD, room.height - WORDS - 2.0 * PAD);
    let mm_per_m = (inner.0 / ground.width().max(1.0)).min(inner.1 / ground.height().max(1.0)).min(0.2);
    let middle = at(room.x + room.width / 2.0, room.y + PAD + 5.0 + inner.1 / 2.0);
    let place = |c: Coord<f64>| {
        let away = c - ground.center();
        at(middle.x + away.x * mm_per_m, middle.y - away.y * mm_per_m)
    };
    let corners =
        |b: Box| [at(b.x, b.y), at(b.x + b.width, b.y), at(b.x + b.width, b.y + b.height), at(b.x, b.y + b.height)];
    let mut path = String::new();
    for shape in &shapes {
        let Some(rect) = shape.bounding_rect() else { continue };
        if rect.width().max(rect.height()) * mm_per_m < DOT {
            let c = place(rect.center());
            path.push_str(&svg::points(&corners(square(c, DOT)), true));
        } else {
            path.push_str(&svg::shape_path(&shape.map_coords(place).simplify(0.08)));
        }
    }
    let mut out = svg::rect(room, 0.0, palette::PANEL)
        + &svg::stroke(&svg::points(&corners(room), true), 0.2, palette::LINE, "")
        + &svg::text(
            at(room.x + PAD, room.y + PAD + 2.4),
            Type { bold: true, ..plain(2.6, Anchor::Start) },
            "Where it lies",
        )
        + &format!("<path d=\"{path}\" fill=\"{}\" fill-rule=\"evenodd\"/>\n", svg::colour(palette::MUTED));
    for panel in &layout.panels {
        let framed = panel.plane.to_degrees(&panel.bounds.to_polygon());
        let Some(rect) = plane.to_metres(&framed).bounding_rect() else { continue };
        let frame = frame_of(rect, place);
        out.push_str(&svg::stroke(&svg::points(&corners(frame), true), 0.35, palette::INK, "class=\"inset-frame\""));
    }
    let foot = room.y + room.height - PAD;
    let metres = round_length((inner.0 * 0.5) / mm_per_m);
    let bar = svg::points(&[at(room.x + PAD, foot - 5.2), at(room.x + PAD + metres * mm_per_m, foot - 5.2)], false);
    out.push_str(&svg::stroke(&bar, 0.5, palette::INK, &format!("class=\"inset-bar\" data-metres=\"{metres}\"")));
    let small = plain(2.4, Anchor::Start);
    let words = if metres >= 1000.0 { format!("{} km", metres / 1000.0) } else { format!("{metres} m") };
    out.push_str(&svg::text(at(room.x + PAD + metres * mm_per_m + 1.5, foot - 4.4), small, &words));
    let muted = Type { colour: palette::MUTED, ..small };
    out.push_str(&svg::text(at(room.x + PAD, foot), muted, &reference(layout)));
    Some(format!("<g class=\"inset\">\n{out}</g>\n"))
}

/// The grid reference of the middle of what is shown, or its degrees where no grid reaches.
fn reference(layout: &Layout) -> String {
    let bounds = merged_bounds(layout.panels.iter().filter_map(|panel| {
        let rect = panel.plane.to_degrees(&panel.bounds.to_polygon()).bounding_rect()?;
        Some(Rect::new(rect.min(), rect.max()))
    }));
    let Some(middle) = bounds.map(Rect::center) else { return String::new() };
    PlaceNames::default().name(middle).unwrap_or_else(|| format!("{:.3}, {:.3}", middle.y, middle.x))
}

fn square(middle: Coord<f64>, side: f64) -> Box {
    Box { x: middle.x - side / 2.0, y: middle.y - side / 2.0, width: side, height: side }
}

fn frame_of(rect: Rect<f64>, place: impl Fn(Coord<f64>) -> Coord<f64>) -> Box {
    let (low, high) = (place(rect.min()), place(rect.max()));
    let (width, height) = ((high.x - low.x).max(LEAST_FRAME), (low.y - high.y).max(LEAST_FRAME));
    let middle = (low + high) / 2.0;
    Box { x: middle.x - width / 2.0, y: middle.y - height / 2.0, width, height }
}
