//! What an import would bring, drawn over the map.

use egui::{Painter, Shape, Stroke};

use super::mercator::Screen;
use crate::gui::style::Tokens;
use crate::gui::view::import_preview::Preview;

/// More points than this are thinned for drawing.
const MOST_POINTS: usize = 20_000;

/// Draws shapes that are not in the project yet: dashed, so that nobody takes them for fields. Under them, wide and in
/// the colour of errors, the outlines that were broken, as the file has them.
pub fn draw(painter: &Painter, screen: &Screen, preview: &Preview, tokens: &Tokens) {
    let stroke = Stroke::new(2.0, tokens.accent);
    for line in &preview.broken {
        let points: Vec<egui::Pos2> = line.0.iter().map(|at| screen.pos(*at)).collect();
        if egui::Rect::from_points(&points).intersects(screen.rect) {
            painter.add(Shape::line(points, Stroke::new(4.0, tokens.bad)));
        }
    }
    for line in &preview.lines {
        let points: Vec<egui::Pos2> = line.0.iter().map(|at| screen.pos(*at)).collect();
        let bounds = egui::Rect::from_points(&points);
        if !bounds.intersects(screen.rect) {
            continue;
        }
        // Dashes of a far larger shape than the window would be without number.
        if bounds.width().max(bounds.height()) > 4.0 * screen.rect.width() {
            painter.add(Shape::line(points, stroke));
        } else {
            painter.extend(Shape::dashed_line(&points, stroke, 8.0, 4.0));
        }
    }
    let every = preview.points.len().div_ceil(MOST_POINTS).max(1);
    for at in preview.points.iter().step_by(every) {
        let at = screen.pos(*at);
        if screen.rect.contains(at) {
            painter.circle_stroke(at, 4.0, stroke);
        }
    }
}
