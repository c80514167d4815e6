//! Laying out the map: one panel when the fields lie together, else one panel a farm, all at one scale.
//!
//! Panels stand in rows or in columns, whichever lets the scale be largest. Metres are of each panel's own local plane,
//! so that lengths on paper are true lengths on the ground.

use std::sync::Arc;

use geo::{BoundingRect as _, Coord, MultiPolygon, Rect, Simplify as _};

use crate::crs::LocalPlane;
use crate::geometry::merged_bounds;
use crate::model::{FarmId, Field, Records};

/// Room above a panel for its name, mm.
const TITLE_MM: f64 = 7.0;
/// Space between panels and around fields, mm.
const GAP_MM: f64 = 6.0;
/// One panel for all is preferred down to this share of the scale that a panel for each farm would have.
const TOGETHER: f64 = 0.75;
/// With more groups of fields than this, panels stand in even rows: every way to break rows would be too many to try.
const MANY: usize = 10;

/// Corners that move an outline by less than this on paper are left out, mm: a printer's dot at 1200 to the inch.
const UNSEEN_MM: f64 = 0.02;

/// A part of the map.
#[derive(Debug)]
pub struct Panel {
    /// Name of the farm or farms.
    pub title: String,
    /// The fields in it.
    pub fields: Vec<Arc<Field>>,
    /// Their plane.
    pub plane: LocalPlane,
    /// Bounds of the fields, m in the plane.
    pub bounds: Rect<f64>,
    /// Where the bounds' south-west corner lies on the paper, mm.
    pub corner: Coord<f64>,
}

/// All panels at one scale.
#[derive(Debug)]
pub struct Layout {
    /// The panels.
    pub panels: Vec<Panel>,
    /// mm of paper for a metre of ground.
    pub mm_per_m: f64,
}

impl Layout {
    /// Paper position of a position in degrees.
    pub fn place(&self, panel: &Panel, lonlat: Coord<f64>) -> Coord<f64> {
        let metres = panel.plane.metres(lonlat);
        Coord {
            x: panel.corner.x + (metres.x - panel.bounds.min().x) * self.mm_per_m,
            y: panel.corner.y - (metres.y - panel.bounds.min().y) * self.mm_per_m,
        }
    }

    /// Position in degrees of a place on paper.
    pub fn ground(&self, panel: &Panel, place: Coord<f64>) -> Coord<f64> {
        let x = panel.bounds.min().x + (place.x - panel.corner.x) / self.mm_per_m;
        let y = panel.bounds.min().y + (panel.corner.y - place.y) / self.mm_per_m;
        panel.plane.degrees(Coord { x, y })
    }

    /// A shape on paper, without the corners that nobody could see.
    pub fn shape(&self, panel: &Panel, shape: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        geo::MapCoords::map_coords(shape, |c| self.place(panel, c)).simplify(UNSEEN_MM)
    }
}

/// One panel that shows a part of the ground as large as the frame allows, and whatever of the fields lies in the frame.
pub fn view_of(fields: &[Arc<Field>], view: Rect<f64>, frame: Rect<f64>) -> Option<Layout> {
    let plane = LocalPlane::around(view).ok()?;
    let wanted = plane.to_metres(&view.to_polygon()).bounding_rect()?;
    let mm_per_m = (frame.width() / wanted.width().max(1.0)).min(frame.height() / wanted.height().max(1.0));
    let half = Coord { x: frame.width() / mm_per_m / 2.0, y: frame.height() / mm_per_m / 2.0 };
    let bounds = Rect::new(wanted.center() - half, wanted.center() + half);
    let near = |field: &&Arc<Field>| {
        let rect = plane.to_metres(&field.boundary).bounding_rect();
        rect.is_some_and(|rect| geo::Intersects::intersects(&rect, &bounds))
    };
    let fields = fields.iter().filter(near).cloned().collect();
    let corner = Coord { x: frame.min().x, y: frame.max().y };
    Some(Layout { panels: vec![Panel { title: String::new(), fields, plane, bounds, corner }], mm_per_m })
}

/// Lays the fields out in a frame (mm of paper, y down).
pub fn lay_out(records: &Records, fields: &[Arc<Field>], frame: Rect<f64>) -> Layout {
    let together = arranged(panel(records, fields).into_iter().collect(), frame);
    let mut farms: Vec<(FarmId, Vec<Arc<Field>>)> = Vec::new();
    for field in fields {
        match farms.iter_mut().find(|(farm, _)| *farm == field.farm) {
            Some((_, list)) => list.push(field.clone()),
            None => farms.push((field.farm, vec![field.clone()])),
        }
    }
    let apart = arranged(farms.iter().filter_map(|(_, list)| panel(records, list)).collect(), frame);
    if farms.len() < 2 || together.mm_per_m >= TOGETHER * apart.mm_per_m { together } else { apart }
}

fn panel(records: &Records, fields: &[Arc<Field>]) -> Option<Panel> {
    let degrees = merged_bounds(fields.iter().filter_map(|field| field.boundary.bounding_rect()))?;
    let plane = LocalPlane::around(degrees).ok()?;
    let bounds = merged_bounds(fields.iter().filter_map(|field| plane.to_metres(&field.boundary).bounding_rect()))?;
    let mut names: Vec<&str> = fields.iter().map(|field| records.farm_name(field)).collect();
    names.dedup();
    Some(Panel { title: names.join(", "), fields: fields.to_vec(), plane, bounds, corner: Coord { x: 0.0, y: 0.0 } })
}

/// The panels broken into rows (or columns) so that the common scale is largest.
fn arranged(panels: Vec<Panel>, frame: Rect<f64>) -> Layout {
    let sizes: Vec<(f64, f64)> = panels.iter().map(|p| (p.bounds.width().max(1.0), p.bounds.height().max(1.0))).collect();
    let mut best = (0.0, false, Vec::new());
    for breaks in ways_to_break(sizes.len()) {
        for in_columns in [false, true] {
            let scale = scale_of(&sizes, &breaks, in_columns, frame);
            if scale > best.0 * 1.000_001 {
                best = (scale, in_columns, breaks.clone());
            }
        }
    }
    let mut layout = Layout { panels, mm_per_m: best.0 };
    put(&mut layout, &sizes, &best.2, best.1, frame);
    layout
}

/// Every way to break `n` panels in order into groups, as the lengths of the groups.
fn ways_to_break(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return Vec::new();
    }
    if n > MANY {
        return (1..=n).map(|length| (0..n).step_by(length).map(|start| length.min(n - start)).collect()).collect();
    }
    (0..1_usize << (n - 1))
        .map(|bits| {
            let mut groups = vec![1];
            for i in 0..n - 1 {
                match groups.last_mut() {
                    Some(last) if bits >> i & 1 == 0 => *last += 1,
                    _ => groups.push(1),
                }
            }
            groups
        })
        .collect()
}

/// The groups' panels, each with its number.
fn groups<'a>(sizes: &'a [(f64, f64)], breaks: &'a [usize]) -> impl Iterator<Item = std::ops::Range<usize>> + 'a {
    let mut start = 0;
    breaks.iter().map(move |length| {
        let range = start..(start + length).min(sizes.len());
        start += length;
        range
    })
}

fn scale_of(sizes: &[(f64, f64)], breaks: &[usize], in_columns: bool, frame: Rect<f64>) -> f64 {
    let (along, across) = if in_columns { (frame.height(), frame.width()) } else { (frame.width(), frame.height()) };
    let (pad_along, pad_across) = if in_columns { (TITLE_MM + GAP_MM, GAP_MM) } else { (GAP_MM, TITLE_MM + GAP_MM) };
    let length = |i: usize| if in_columns { sizes[i].1 } else { sizes[i].0 };
    let depth = |i: usize| if in_columns { sizes[i].0 } else { sizes[i].1 };
    let mut scale = f64::INFINITY;
    let mut depths = 0.0;
    for group in groups(sizes, breaks) {
        let room = along - pad_along * group.len() as f64;
        scale = scale.min(room / group.clone().map(length).sum::<f64>());
        depths += group.map(depth).fold(0.0, f64::max);
    }
    scale.min((across - pad_across * breaks.len() as f64) / depths).max(0.0)
}

fn put(layout: &mut Layout, sizes: &[(f64, f64)], breaks: &[usize], in_columns: bool, frame: Rect<f64>) {
    let scale = layout.mm_per_m;
    let size = |i: usize| (sizes[i].0 * scale + GAP_MM, sizes[i].1 * scale + GAP_MM + TITLE_MM);
    let lengths = |i: usize| if in_columns { size(i).1 } else { size(i).0 };
    let depths = |i: usize| if in_columns { size(i).0 } else { size(i).1 };
    let (along, across) = if in_columns { (frame.height(), frame.width()) } else { (frame.width(), frame.height()) };
    let used: f64 = groups(sizes, breaks).map(|group| group.map(depths).fold(0.0, f64::max)).sum();
    let slack = (across - used).max(0.0) / (breaks.len() + 1) as f64;
    let mut depth = slack;
    for group in groups(sizes, breaks) {
        let spare = (along - group.clone().map(lengths).sum::<f64>()).max(0.0) / (group.len() + 1) as f64;
        let deepest = group.clone().map(depths).fold(0.0, f64::max);
        let mut length = spare;
        for i in group {
            let inset = (deepest - depths(i)) / 2.0;
            let (x, y) = if in_columns { (depth + inset, length) } else { (length, depth + inset) };
            layout.panels[i].corner =
                Coord { x: frame.min().x + x + GAP_MM / 2.0, y: frame.min().y + y + size(i).1 - GAP_MM / 2.0 };
            length += lengths(i) + spare;
        }
        depth += deepest + slack;
    }
}

/// Height above a panel's fields at which its name stands, mm.
pub const TITLE_ABOVE_MM: f64 = 2.6;
