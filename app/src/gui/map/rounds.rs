//! The drive of a day: from the base past the gates in order and back, as straight lines: the roads are not known.

use egui::{Align2, Painter, Pos2, Rect, Shape, Stroke, Vec2};

use super::mercator::Screen;
use crate::gui::ctx::Ctx;
use crate::gui::style::{self, Tokens};

/// Half the side of the square of a gate, points.
const HALF: f32 = 9.0;

/// Draws the round that is on show.
pub fn draw(painter: &Painter, screen: &Screen, ctx: &Ctx<'_>, tokens: &Tokens) {
    let Some(shown) = ctx.view.season.round else { return };
    let Some(rounds) = ctx.records.rounds_of(ctx.view.year) else { return };
    let Some((.., visits)) = rounds.days().find(|(date, car, _)| (*date, *car) == shown) else { return };
    let base = screen.pos(rounds.settings.base);
    let gates: Vec<Pos2> = visits.iter().map(|visit| screen.pos(visit.gate)).collect();
    let way: Vec<Pos2> = std::iter::once(base).chain(gates.iter().copied()).chain([base]).collect();
    for pair in way.windows(2) {
        painter.line_segment([pair[0], pair[1]], Stroke::new(style::WALK + 3.0, tokens.ground.gamma_multiply(0.7)));
    }
    painter.extend(Shape::dashed_line(&way, Stroke::new(style::WALK, tokens.accent), 10.0, 4.0));
    for pair in way.windows(2) {
        heading(painter, pair[0], pair[1], tokens);
    }
    let roof = [(-9.0, 0.0), (0.0, -10.0), (9.0, 0.0), (9.0, 8.0), (-9.0, 8.0)].map(|(x, y)| base + Vec2::new(x, y));
    painter.add(Shape::convex_polygon(roof.to_vec(), tokens.raised, Stroke::new(1.6, tokens.accent)));
    for (visit, gate) in visits.iter().zip(gates) {
        let square = Rect::from_center_size(gate, Vec2::splat(2.0 * HALF));
        painter.rect(square, 2.0, tokens.raised, Stroke::new(1.8, tokens.accent), egui::StrokeKind::Middle);
        let font = style::bold_of(style::SMALL);
        painter.text(gate, Align2::CENTER_CENTER, visit.number.to_string(), font, tokens.ink);
    }
}

/// An arrow half way along a stretch that is long enough for one.
fn heading(painter: &Painter, from: Pos2, to: Pos2, tokens: &Tokens) {
    let along = to - from;
    if along.length() < 48.0 {
        return;
    }
    let (middle, along) = (from + along * 0.5, along.normalized());
    let side = along.rot90() * 5.0;
    let points = vec![middle + along * 6.0, middle - along * 5.0 + side, middle - along * 5.0 - side];
    painter.add(Shape::convex_polygon(points, tokens.accent, Stroke::new(1.0, tokens.ground)));
}
