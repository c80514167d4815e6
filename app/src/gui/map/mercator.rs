//! Where the plane that the map is drawn in lies on the screen.

use egui::{Pos2, Rect, Vec2, vec2};
use geo::Coord;

use crate::backdrop::mercator::RADIUS_M;
pub use crate::backdrop::mercator::{degrees, world};

/// Side of the world at zoom 0, points.
const WORLD_POINTS: f64 = 256.0;

/// Where the unit square lies on the screen in this frame.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    /// The map's part of the window.
    pub rect: Rect,
    /// The middle of it in the unit square.
    pub centre: Coord<f64>,
    /// Points for the side of the unit square.
    pub scale: f64,
}

impl Screen {
    /// A screen centred at degrees, at a zoom level (each doubles the scale).
    pub fn new(rect: Rect, lonlat: Coord<f64>, zoom: f64) -> Self {
        Self { rect, centre: world(lonlat), scale: WORLD_POINTS * zoom.exp2() }
    }

    /// From the unit square to the screen; the subtraction is made in f64, so nothing shakes at high zoom.
    pub fn pos_from_world(&self, world: Coord<f64>) -> Pos2 {
        let at = vec2(((world.x - self.centre.x) * self.scale) as f32, ((world.y - self.centre.y) * self.scale) as f32);
        self.rect.center() + at
    }

    /// From degrees to the screen.
    pub fn pos(&self, lonlat: Coord<f64>) -> Pos2 {
        self.pos_from_world(world(lonlat))
    }

    /// From the screen to degrees.
    pub fn lonlat(&self, pos: Pos2) -> Coord<f64> {
        let off = pos - self.rect.center();
        degrees(Coord { x: self.centre.x + f64::from(off.x) / self.scale, y: self.centre.y + f64::from(off.y) / self.scale })
    }

    /// The part of the unit square in view: its north-western and south-eastern corners.
    pub fn world_bounds(&self) -> (Coord<f64>, Coord<f64>) {
        let half = self.rect.size() / 2.0;
        let (x, y) = (f64::from(half.x) / self.scale, f64::from(half.y) / self.scale);
        (Coord { x: self.centre.x - x, y: self.centre.y - y }, Coord { x: self.centre.x + x, y: self.centre.y + y })
    }

    /// Points for a metre on the ground in the middle of the map.
    pub fn points_per_m(&self) -> f64 {
        let lat = degrees(self.centre).y.to_radians();
        self.scale / (std::f64::consts::TAU * RADIUS_M * lat.cos())
    }

    /// A rectangle of degrees on the screen.
    pub fn rect_of_degrees(&self, bounds: geo::Rect<f64>) -> Rect {
        Rect::from_two_pos(self.pos(bounds.min()), self.pos(bounds.max()))
    }

    /// A rectangle of the unit square on the screen.
    pub fn rect_of(&self, low: Coord<f64>, high: Coord<f64>) -> Rect {
        Rect::from_two_pos(self.pos_from_world(low), self.pos_from_world(high))
    }
}

/// The zoom level at which a rectangle of degrees fits into a size with a margin, points.
pub fn fitting_zoom(bounds: geo::Rect<f64>, size: Vec2, margin: f32) -> f64 {
    let (low, high) = (world(bounds.min()), world(bounds.max()));
    let room = (size - Vec2::splat(2.0 * margin)).max(Vec2::splat(32.0));
    let wide = f64::from(room.x) / (high.x - low.x).abs().max(1e-9);
    let high = f64::from(room.y) / (high.y - low.y).abs().max(1e-9);
    (wide.min(high) / WORLD_POINTS).log2().clamp(1.0, 20.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    #[test]
    fn screen_and_back_again() {
        let screen =
            Screen::new(Rect::from_min_size(pos2(300.0, 40.0), vec2(600.0, 400.0)), Coord { x: -0.5, y: 52.1 }, 15.0);
        let pos = pos2(411.0, 97.0);
        assert!((screen.pos(screen.lonlat(pos)) - pos).length() < 0.01);
    }

    #[test]
    fn a_metre_is_a_metre() {
        // At 60 degrees north web Mercator shows ground twice as large as at the equator (secant of the latitude).
        let rect = Rect::from_min_size(pos2(0.0, 0.0), vec2(100.0, 100.0));
        let equator = Screen::new(rect, Coord { x: 0.0, y: 0.0 }, 10.0).points_per_m();
        let north = Screen::new(rect, Coord { x: 0.0, y: 60.0 }, 10.0).points_per_m();
        assert!((north / equator - 2.0).abs() < 1e-9);
    }
}
