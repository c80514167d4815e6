//! Scouting as it was seen: points as small discs, zones as outlines, with the value beside them when there is room.

use std::sync::Arc;

use awn_core::model::{Records, Survey};
use egui::{Align2, FontId, Mesh, Painter, Pos2, Rect, Shape, Stroke, Vec2};
use geo::Coord;
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

use super::mercator::{Screen, world};
use crate::gui::style::{self, Tokens};

/// From this many points for a metre on, values are written beside the points.
const VALUES_FROM: f64 = 0.8;
/// From this many points for a metre on, single finds and zones are drawn; from farther away they would hide the density.
const FINDS_FROM: f64 = 0.25;
/// With more in view than this, finds are drawn as small squares of one mesh.
const FINE: usize = 1500;
/// Of finds that fall into one cell of the screen of this side, points, one is drawn.
const CELL: f32 = 4.0;

/// The surveys of the latest year up to a harvest year.
pub fn latest(records: &Records, year: i32) -> Vec<&Arc<Survey>> {
    let of_time = || records.surveys.values().filter(|survey| survey.harvest_year() <= year);
    let newest = of_time().map(|survey| survey.harvest_year()).max();
    of_time().filter(|survey| Some(survey.harvest_year()) == newest).collect()
}

/// A find: its place in the unit square, its value and the number of its unit.
type Find = GeomWithData<[f64; 2], (f64, usize)>;

/// The finds of the surveys on show, by place.
#[derive(Debug, Default)]
pub struct Finds {
    points: RTree<Find>,
    units: Vec<&'static str>,
    /// Rings of zones in the unit square with their bounds.
    zones: Vec<(AABB<[f64; 2]>, Vec<Coord<f64>>)>,
}

impl Finds {
    /// The finds of a harvest year.
    pub fn of(records: &Records, year: i32) -> Self {
        let mut finds = Self::default();
        let mut points = Vec::new();
        for survey in latest(records, year) {
            let unit = finds.units.len();
            finds.units.push(survey.unit.label());
            points.extend(survey.points.iter().map(|point| {
                let at = world(point.position);
                Find::new([at.x, at.y], (point.value, unit))
            }));
            let polygons = survey.zones.iter().flat_map(|zone| &zone.area);
            for ring in polygons.flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors())) {
                let ring: Vec<Coord<f64>> = ring.coords().map(|c| world(*c)).collect();
                let places: Vec<[f64; 2]> = ring.iter().map(|at| [at.x, at.y]).collect();
                finds.zones.push((AABB::from_points(places.iter()), ring));
            }
        }
        finds.points = RTree::bulk_load(points);
        finds
    }

    /// The value of the find nearest to a place on the screen, if one is under the pointer, and its unit.
    pub fn value_at(&self, screen: &Screen, pos: Pos2) -> Option<(f64, &'static str)> {
        if screen.points_per_m() < FINDS_FROM {
            return None;
        }
        let at = world(screen.lonlat(pos));
        let find = self.points.nearest_neighbor(&[at.x, at.y])?;
        let away = screen.pos_from_world(place(find)).distance(pos);
        let unit = self.units.get(find.data.1).copied().unwrap_or_default();
        (away <= 8.0).then_some((find.data.0, unit))
    }

    /// Draws what is in view.
    pub fn draw(&self, painter: &Painter, screen: &Screen, tokens: &Tokens) {
        if screen.points_per_m() < FINDS_FROM {
            return;
        }
        let (low, high) = screen.world_bounds();
        let view = AABB::from_corners([low.x, low.y], [high.x, high.y]);
        let ink = tokens.ink;
        for (bounds, ring) in &self.zones {
            if rstar::Envelope::intersects(bounds, &view) {
                let on: Vec<Pos2> = ring.iter().map(|at| screen.pos_from_world(*at)).collect();
                painter.extend(Shape::dashed_line(&on, Stroke::new(1.0, ink), 4.0, 3.0));
            }
        }
        let seen = self.thinned(screen, &view);
        if seen.len() > FINE {
            painter.add(Shape::mesh(squares(&seen, tokens)));
            return;
        }
        for (pos, value) in seen {
            if value > 0.0 {
                painter.circle_filled(pos, 2.6, tokens.ground);
                painter.circle_filled(pos, 1.8, ink);
            } else {
                // Nothing seen there: an open ring, as worth knowing as a find.
                painter.circle_stroke(pos, 2.0, Stroke::new(0.8, ink));
            }
            if screen.points_per_m() >= VALUES_FROM {
                let font = FontId::proportional(style::SMALL);
                painter.text(pos + egui::vec2(5.0, 0.0), Align2::LEFT_CENTER, figure(value), font, ink);
            }
        }
    }

    /// The finds in view, at most one for each cell of the screen.
    fn thinned(&self, screen: &Screen, view: &AABB<[f64; 2]>) -> Vec<(Pos2, f64)> {
        let columns = (screen.rect.width() / CELL).ceil().max(1.0) as usize;
        let rows = (screen.rect.height() / CELL).ceil().max(1.0) as usize;
        let mut taken = vec![false; columns * rows];
        let mut seen = Vec::new();
        for find in self.points.locate_in_envelope_intersecting(view) {
            let pos = screen.pos_from_world(place(find));
            let cell = (pos - screen.rect.min) / CELL;
            let at = (cell.y.max(0.0) as usize).min(rows - 1) * columns + (cell.x.max(0.0) as usize).min(columns - 1);
            if !std::mem::replace(&mut taken[at], true) {
                seen.push((pos, find.data.0));
            }
        }
        seen
    }
}

fn place(find: &Find) -> Coord<f64> {
    let [x, y] = *find.geom();
    Coord { x, y }
}

fn squares(seen: &[(Pos2, f64)], tokens: &Tokens) -> Mesh {
    let mut mesh = Mesh::default();
    mesh.reserve_vertices(4 * seen.len());
    mesh.reserve_triangles(2 * seen.len());
    for (pos, value) in seen {
        let colour = if *value > 0.0 { tokens.ink } else { tokens.muted.gamma_multiply(0.6) };
        mesh.add_colored_rect(Rect::from_center_size(*pos, Vec2::splat(2.4)), colour);
    }
    mesh
}

/// A density with a sensible number of digits.
pub fn figure(value: f64) -> String {
    if value >= 10.0 || value == 0.0 { format!("{value:.0}") } else { format!("{value:.1}") }
}
