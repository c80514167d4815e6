//! Where the land on the map lies: a mark on the coasts and borders round about, and every field of the year, small, with a frame
//! round what the map shows.
//!
//! Metres are of a plane about what each of the two shows, so that its own bar is true; below them the grid reference of the middle.

use std::sync::Arc;

use geo::{BoundingRect as _, Coord, Intersects as _, LineString, MapCoords as _, Rect, Simplify as _};

use crate::crs::{LocalPlane, PlaceNames};
use crate::geometry::merged_bounds;
use crate::model::Field;
use crate::report::furniture::{at, plain, round_length};
use crate::report::panels::Layout;
use crate::report::svg::{self, Anchor, Box, Type};
use crate::report::{lettering, outlines, palette};

/// Space inside the card, mm.
const PAD: f64 = 2.5;
/// Height of the heading, of the line with the bars, and of the reference, mm.
const HEAD: f64 = 5.0;
const BAR: f64 = 5.5;
const FOOT: f64 = 4.0;
/// Fields smaller than this on the inset are drawn as dots, mm.
const DOT: f64 = 0.5;
/// A frame is never smaller than this, mm, so that it is seen.
const LEAST_FRAME: f64 = 1.6;
/// From this width on a card has room for coasts and fields side by side, mm.
const BOTH_FROM: f64 = 52.0;
/// How far the coasts round about are shown at least, to all sides, km: the first of these within which there is one.
const ROUND_ABOUT_KM: [f64; 4] = [350.0, 700.0, 1_400.0, 2_800.0];
/// Middles farther apart than this have no reference in common, m.
const ONE_PLACE_M: f64 = 30_000.0;

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

/// The inset in a box; none if there is nothing to show that the map does not show itself.
pub fn inset(all: &[Arc<Field>], layout: &Layout, room: Box) -> Option<String> {
    let shown: usize = layout.panels.iter().map(|panel| panel.fields.len()).sum();
    // All there is in one piece would only be the map again.
    let more = layout.panels.len() > 1 || shown < all.len();
    let (width, height) = (room.width - 2.0 * PAD, room.height - 2.0 * PAD - HEAD - FOOT);
    let whole = Box { x: room.x + PAD, y: room.y + PAD + HEAD, width, height };
    let half = (width - 2.0 * PAD) / 2.0;
    let (left, right) = (Box { width: half, ..whole }, Box { x: whole.x + half + 2.0 * PAD, width: half, ..whole });
    let pictures = if more && room.width >= BOTH_FROM {
        let (coasts, fields) = (coasts(layout, left), farms(all, layout, right));
        if coasts.is_some() { [coasts, fields] } else { [farms(all, layout, whole), None] }
    } else {
        let fields = if more { farms(all, layout, whole) } else { None };
        [fields.or_else(|| coasts(layout, whole)), None]
    };
    if pictures.iter().all(Option::is_none) {
        return None;
    }
    let heading = Type { bold: true, ..plain(2.6, Anchor::Start) };
    let mut out = svg::rect(room, 0.0, palette::PANEL)
        + &svg::stroke(&svg::points(&corners(room), true), 0.2, palette::LINE, "")
        + &svg::text(at(room.x + PAD, room.y + PAD + 2.4), heading, "Where it lies");
    out.extend(pictures.into_iter().flatten());
    let muted = Type { colour: palette::MUTED, ..plain(2.4, Anchor::Start) };
    let foot = room.y + room.height - PAD;
    if let Some(words) = reference(layout) {
        let size = (2.4 * width / lettering::width(&words, 2.4, false).max(1e-6)).min(2.4);
        out.push_str(&svg::text(at(room.x + PAD, foot), Type { size, ..muted }, &words));
    }
    Some(format!("<g class=\"inset\">\n{out}</g>\n"))
}

fn corners(b: Box) -> [Coord<f64>; 4] {
    [at(b.x, b.y), at(b.x + b.width, b.y), at(b.x + b.width, b.y + b.height), at(b.x, b.y + b.height)]
}

/// Land and borders round about, with a mark where each part of the map lies; none where the parts are too far from each other.
fn coasts(layout: &Layout, room: Box) -> Option<String> {
    let picture = Box { height: room.height - BAR, ..room };
    let middles: Vec<Coord<f64>> = layout.panels.iter().map(|panel| panel.plane.degrees(panel.bounds.center())).collect();
    let spread = merged_bounds(middles.iter().map(|middle| Rect::new(*middle, *middle)))?;
    let plane = LocalPlane::around(spread).ok()?;
    let away = middles.iter().map(|middle| plane.metres(*middle)).map(|m| m.x.abs().max(m.y.abs())).fold(0.0, f64::max);
    let middle = plane.centre();
    // Of a flat picture neither side alone tells how much can be seen in it.
    let reach = (picture.width * picture.height).max(0.0).sqrt() / 2.0;
    let mut found = None;
    for km in ROUND_ABOUT_KM.into_iter().filter(|km| away < 700.0 * km) {
        let mm_per_m = reach / (1000.0 * km);
        let half = at(picture.width / 2.0 / mm_per_m, picture.height / 2.0 / mm_per_m);
        let cut = outlines::within(window(middle, half));
        let in_sight = |place: &Coord<f64>| {
            let metres = plane.metres(*place);
            metres.x.abs() < half.x && metres.y.abs() < half.y
        };
        let seen = cut.land.iter().chain(&cut.borders).flatten().any(in_sight);
        found = Some((mm_per_m, cut));
        if seen {
            break;
        }
    }
    let (mm_per_m, cut) = found?;
    let place = |degrees: Coord<f64>| {
        let metres = plane.metres(degrees);
        at(picture.x + picture.width / 2.0 + metres.x * mm_per_m, picture.y + picture.height / 2.0 - metres.y * mm_per_m)
    };
    let drawn = |lines: &[Vec<Coord<f64>>], closed: bool| -> String {
        let lines = lines.iter().map(|line| LineString::new(line.iter().map(|at| place(*at)).collect()).simplify(0.05));
        lines.filter(|line| line.0.len() > 2 || !closed).map(|line| svg::points(&line.0, closed)).collect()
    };
    let (land, borders) = (drawn(&cut.land, true), drawn(&cut.borders, false));
    let edge = svg::points(&corners(picture), true);
    let mut out = format!(
        "<clipPath id=\"round-about\"><path d=\"{edge}\"/></clipPath>\n<g clip-path=\"url(#round-about)\">\n"
    ) + &svg::rect(picture, 0.0, palette::RAISED)
        + &format!(
            "<path class=\"land\" d=\"{land}\" fill=\"{}\" fill-rule=\"evenodd\" stroke=\"{}\" stroke-width=\"0.10\"/>\n",
            svg::colour(palette::LINE),
            svg::colour(palette::MUTED)
        );
    if !borders.is_empty() {
        out.push_str(&svg::stroke(&borders, 0.2, palette::MUTED, "stroke-dasharray=\"0.80 0.50\""));
    }
    for middle in &middles {
        let [x, y] = [place(*middle).x, place(*middle).y].map(svg::number);
        let (ink, paper) = (svg::colour(palette::INK), svg::colour(palette::RAISED));
        out.push_str(&format!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"1.20\" fill=\"{paper}\" stroke=\"{ink}\" stroke-width=\"0.40\"/>\n\
             <circle class=\"inset-mark\" cx=\"{x}\" cy=\"{y}\" r=\"0.50\" fill=\"{ink}\"/>\n"
        ));
    }
    out.push_str("</g>\n");
    out.push_str(&svg::stroke(&edge, 0.15, palette::LINE, ""));
    Some(out + &bar(mm_per_m, room))
}

/// What a window of metres about a middle spans in degrees, with something to spare; towards the poles more.
fn window(middle: Coord<f64>, half_m: Coord<f64>) -> Rect<f64> {
    const M_PER_DEGREE: f64 = 111_000.0;
    const DIAMETER_M: f64 = 12_742_000.0;
    // Away from the middle, parallels bend towards the pole by the height of an arc.
    let bend = half_m.x * half_m.x * libm::tan(middle.y.abs().min(75.0).to_radians()) / DIAMETER_M;
    let high = 1.15 * (half_m.y + 1.5 * bend) / M_PER_DEGREE;
    let far = (middle.y.abs() + high).min(80.0);
    let wide = (1.15 * half_m.x / M_PER_DEGREE / libm::cos(far.to_radians())).min(170.0);
    Rect::new(at(middle.x - wide, middle.y - high), at(middle.x + wide, middle.y + high))
}

/// Every field of the year with a frame round each part of the map.
fn farms(all: &[Arc<Field>], layout: &Layout, room: Box) -> Option<String> {
    let degrees = merged_bounds(all.iter().filter_map(|field| field.boundary.bounding_rect()))?;
    let plane = LocalPlane::around(degrees).ok()?;
    let shapes: Vec<_> = all.iter().map(|field| plane.to_metres(&field.boundary)).collect();
    let ground = merged_bounds(shapes.iter().filter_map(geo::BoundingRect::bounding_rect))?;
    let inner = (room.width, room.height - BAR);
    let mm_per_m = (inner.0 / ground.width().max(1.0)).min(inner.1 / ground.height().max(1.0)).min(0.2);
    let middle = at(room.x + inner.0 / 2.0, room.y + inner.1 / 2.0);
    let place = |c: Coord<f64>| {
        let away = c - ground.center();
        at(middle.x + away.x * mm_per_m, middle.y - away.y * mm_per_m)
    };
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
    let mut out = format!("<path d=\"{path}\" fill=\"{}\" fill-rule=\"evenodd\"/>\n", svg::colour(palette::MUTED));
    for panel in &layout.panels {
        let framed = panel.plane.to_degrees(&panel.bounds.to_polygon());
        let Some(rect) = plane.to_metres(&framed).bounding_rect() else { continue };
        let frame = frame_of(rect, place);
        out.push_str(&svg::stroke(&svg::points(&corners(frame), true), 0.35, palette::INK, "class=\"inset-frame\""));
    }
    Some(out + &bar(mm_per_m, room))
}

/// A bar at the foot of a picture, and its length.
fn bar(mm_per_m: f64, room: Box) -> String {
    let metres = round_length(room.width * 0.45 / mm_per_m);
    let base = room.y + room.height - 1.5;
    let line = svg::points(&[at(room.x, base), at(room.x + metres * mm_per_m, base)], false);
    let words = if metres >= 1000.0 { format!("{} km", metres / 1000.0) } else { format!("{metres} m") };
    let look = plain(2.4, Anchor::Start);
    svg::stroke(&line, 0.5, palette::INK, &format!("class=\"inset-bar\" data-metres=\"{metres}\""))
        + &svg::text(at(room.x + metres * mm_per_m + 1.5, base + 0.8), look, &words)
}

/// The grid reference of the middle of what is shown, or its degrees where no grid reaches; none for parts far from each other.
fn reference(layout: &Layout) -> Option<String> {
    let bounds = merged_bounds(layout.panels.iter().filter_map(|panel| {
        let rect = panel.plane.to_degrees(&panel.bounds.to_polygon()).bounding_rect()?;
        Some(Rect::new(rect.min(), rect.max()))
    }))?;
    let size = LocalPlane::around(bounds).ok()?.to_metres(&bounds.to_polygon()).bounding_rect()?;
    if layout.panels.len() > 1 && size.width().max(size.height()) > ONE_PLACE_M {
        return None;
    }
    let middle = bounds.center();
    let (north, east) = (if middle.y < 0.0 { "S" } else { "N" }, if middle.x < 0.0 { "W" } else { "E" });
    let degrees = || format!("{:.3}° {north}, {:.3}° {east}", middle.y.abs(), middle.x.abs());
    Some(format!("Middle: {}", PlaceNames::default().name(middle).unwrap_or_else(degrees)))
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
