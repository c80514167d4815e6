//! Where the map looks. The widget pans; zooming is ours, about the pointer, by wheel, pinch or action.

use egui::{Key, Modifiers, Rect, Ui, Vec2};
use geo::Coord;
use walkers::{MapMemory, Position, lon_lat};

use super::mercator::{Screen, degrees, fitting_zoom, world};

/// Zoom levels between which the map moves.
const ZOOMS: std::ops::RangeInclusive<f64> = 3.0..=22.0;
/// Zoom levels for a point of the wheel.
const ZOOM_PER_POINT: f64 = 1.0 / 160.0;
/// How fast arrow keys move the map.
const POINTS_PER_SECOND: f32 = 700.0;
/// Room left around what is zoomed to, points.
const MARGIN: f32 = 48.0;

/// The camera of the map.
#[derive(Debug, Clone, Default)]
pub struct Camera {
    pub(super) memory: MapMemory,
    /// What is to be fitted, degrees; it is fitted anew when the map or the legend changes its size, until the user moves the map.
    fit: Option<geo::Rect<f64>>,
    /// Map, legend, centre and zoom of the last fitting.
    fitted: Option<(Rect, Option<Rect>, Coord<f64>, f64)>,
    /// Where the legend lay in the last frame; what is fitted keeps clear of it.
    pub(super) covered: Option<Rect>,
    /// The map as a widget, once it has been shown.
    pub(super) widget: Option<egui::Id>,
    /// The last frame's screen.
    pub(super) screen: Option<Screen>,
}

impl Camera {
    /// Shows this rectangle of degrees from the next frame on.
    pub fn show(&mut self, bounds: geo::Rect<f64>) {
        self.fit = Some(bounds);
        self.fitted = None;
    }

    /// Zooms by levels about the middle.
    pub fn zoom_by(&mut self, levels: f64) {
        if let Some(screen) = self.screen {
            self.zoom_about(screen, screen.rect.center(), levels);
        }
    }

    /// Where a place was on the screen in the last frame, for tests.
    pub fn pos_of(&self, lonlat: Coord<f64>) -> Option<egui::Pos2> {
        self.screen.map(|screen| screen.pos(lonlat))
    }

    /// The ground that was in view in the last frame, degrees; none before the map was shown.
    pub fn bounds(&self) -> Option<geo::Rect<f64>> {
        let (low, high) = self.screen?.world_bounds();
        Some(geo::Rect::new(degrees(low), degrees(high)))
    }

    /// Zoom level, for tests and the scale.
    pub fn zoom(&self) -> f64 {
        self.memory.zoom()
    }

    /// Takes in what was asked before the map is drawn: fitting, wheel and pinch.
    pub(super) fn prepare(&mut self, ui: &Ui, rect: Rect) {
        if let Some((map, legend, centre, zoom)) = self.fitted {
            let now = self.screen_in(rect).centre;
            let moved = (now.x - centre.x).abs() + (now.y - centre.y).abs() > 1e-12 || self.memory.zoom() != zoom;
            if moved {
                self.fit = None;
                self.fitted = None;
            } else if map != rect || legend != self.covered {
                self.fitted = None;
            }
        }
        if let (Some(bounds), None) = (self.fit, self.fitted) {
            self.fit(bounds, rect);
            self.fitted = Some((rect, self.covered, self.screen_in(rect).centre, self.memory.zoom()));
        }
        self.keys(ui, rect);
        let Some(pointer) = ui.ctx().pointer_hover_pos().filter(|pos| rect.contains(*pos) && ui.ui_contains_pointer())
        else {
            return;
        };
        let (wheel, pinch) = ui.input(|input| (input.smooth_scroll_delta, input.zoom_delta()));
        let levels = f64::from(wheel.y) * ZOOM_PER_POINT + f64::from(pinch).max(1e-3).log2();
        if levels != 0.0 {
            self.zoom_about(self.screen_in(rect), pointer, levels);
            ui.input_mut(|input| input.smooth_scroll_delta = Vec2::ZERO);
        }
    }

    /// Arrows move the map, plus and minus zoom it, as long as nothing else has the keyboard.
    fn keys(&mut self, ui: &Ui, rect: Rect) {
        if ui.memory(|memory| memory.focused().is_some_and(|focused| Some(focused) != self.widget)) {
            return;
        }
        let (mut towards, zoom, seconds) = ui.input_mut(|input| {
            let pressed = |key| f32::from(u8::from(input.modifiers.is_none() && input.key_down(key)));
            let across = pressed(Key::ArrowRight) - pressed(Key::ArrowLeft);
            let down = pressed(Key::ArrowDown) - pressed(Key::ArrowUp);
            let steps = |input: &mut egui::InputState, key| input.count_and_consume_key(Modifiers::NONE, key) as f64;
            let seconds = input.stable_dt.min(0.1);
            let closer = steps(input, Key::Plus) + steps(input, Key::Equals);
            (Vec2::new(across, down), closer - steps(input, Key::Minus), seconds)
        });
        if zoom != 0.0 {
            self.zoom_about(self.screen_in(rect), rect.center(), 0.5 * zoom);
        }
        if towards != Vec2::ZERO {
            towards *= POINTS_PER_SECOND * seconds;
            let screen = self.screen_in(rect);
            let centre = screen.lonlat(rect.center() + towards);
            self.look_at(centre, self.memory.zoom());
            ui.ctx().request_repaint();
        }
    }

    /// Fits bounds beside or below the legend, whichever shows them larger.
    fn fit(&mut self, bounds: geo::Rect<f64>, rect: Rect) {
        let legend = self.covered.unwrap_or(Rect::from_min_size(rect.min, Vec2::new(0.0, 0.0)));
        let beside = Rect::from_min_max(egui::pos2(legend.right().max(rect.left()), rect.top()), rect.max);
        let below = Rect::from_min_max(egui::pos2(rect.left(), legend.bottom().max(rect.top())), rect.max);
        let zoom_in = |free: Rect| fitting_zoom(bounds, free.size(), MARGIN);
        let free = if zoom_in(beside) > zoom_in(below) { beside } else { below };
        let zoom = zoom_in(free);
        let middle = Coord {
            x: f64::midpoint(world(bounds.min()).x, world(bounds.max()).x),
            y: f64::midpoint(world(bounds.min()).y, world(bounds.max()).y),
        };
        let shift = free.center() - rect.center();
        let scale = Screen::new(rect, degrees(middle), zoom).scale;
        let centre = Coord { x: middle.x - f64::from(shift.x) / scale, y: middle.y - f64::from(shift.y) / scale };
        self.look_at(degrees(centre), zoom);
    }

    fn zoom_about(&mut self, screen: Screen, pos: egui::Pos2, levels: f64) {
        let zoom = (self.memory.zoom() + levels).clamp(*ZOOMS.start(), *ZOOMS.end());
        let factor = (zoom - self.memory.zoom()).exp2();
        let fixed = world(screen.lonlat(pos));
        // The place under the pointer stays where it is.
        let centre =
            Coord { x: fixed.x + (screen.centre.x - fixed.x) / factor, y: fixed.y + (screen.centre.y - fixed.y) / factor };
        self.look_at(degrees(centre), zoom);
    }

    fn look_at(&mut self, lonlat: Coord<f64>, zoom: f64) {
        self.memory.center_at(lon_lat(lonlat.x, lonlat.y));
        // Clamped to levels that the widget takes.
        self.memory.set_zoom(zoom.clamp(*ZOOMS.start(), *ZOOMS.end())).ok();
    }

    pub(super) fn screen_in(&self, rect: Rect) -> Screen {
        let centre = self.memory.detached().unwrap_or_else(home);
        Screen::new(rect, Coord { x: centre.x(), y: centre.y() }, self.memory.zoom())
    }
}

/// Where an empty map looks: the middle of England's arable east.
pub(super) fn home() -> Position {
    lon_lat(-0.5, 52.5)
}
