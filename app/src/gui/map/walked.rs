//! Walks as they were walked: the track dashed, places where seed was taken, and stops that were not reached.

use awn_core::model::{TakenAt, WalkedFigures};
use egui::{Painter, Pos2, Shape, Stroke, vec2};

use super::mercator::Screen;
use crate::gui::ctx::Ctx;
use crate::gui::style::{self, Tokens};

/// Stops and places are drawn from this many points for a metre on.
const PLACES_FROM: f64 = 0.2;

/// Draws the walks of the harvest in view.
pub fn draw(painter: &Painter, screen: &Screen, ctx: &Ctx<'_>, tokens: &Tokens) {
    for walk in ctx.records.walked.values().filter(|walk| walk.year == ctx.view.year) {
        for line in walk.lines() {
            let on: Vec<Pos2> = thinned(line.coords().map(|at| screen.pos(*at)));
            if on.len() < 2 || !egui::Rect::from_points(&on).intersects(screen.rect) {
                continue;
            }
            painter.line(on.clone(), Stroke::new(style::WALK + 2.4, tokens.ground));
            painter.extend(Shape::dashed_line(&on, Stroke::new(style::WALK, tokens.accent), 6.0, 3.0));
        }
        if screen.points_per_m() < PLACES_FROM {
            continue;
        }
        let found = &walk.figures;
        for (number, (stop, away)) in found.stops.iter().zip(&found.away_m).enumerate() {
            let at = screen.pos(*stop);
            let reached = *away <= WalkedFigures::REACHED_M;
            let ring = Stroke::new(1.6, if reached { tokens.ink } else { tokens.bad });
            painter.circle(at, style::STOP_RADIUS - 2.0, tokens.raised, ring);
            let text = (number + 1).to_string();
            painter.text(at, egui::Align2::CENTER_CENTER, text, style::bold_of(11.0), ring.color);
            if !reached {
                let d = style::STOP_RADIUS;
                painter.line_segment([at + vec2(-d, d), at + vec2(d, -d)], Stroke::new(1.6, tokens.bad));
            }
        }
        if found.taken_at != TakenAt::Stops {
            for place in &found.places {
                let at = screen.pos(*place);
                let square = egui::Rect::from_center_size(at, vec2(8.0, 8.0));
                painter.rect(square, 0.0, tokens.accent, Stroke::new(1.4, tokens.raised), egui::StrokeKind::Outside);
            }
        }
    }
}

/// A line without points nearer than a pixel or two to the one before.
fn thinned(points: impl Iterator<Item = Pos2>) -> Vec<Pos2> {
    let mut kept: Vec<Pos2> = Vec::new();
    for at in points {
        if kept.last().is_none_or(|last| last.distance(at) > 1.5) {
            kept.push(at);
        }
    }
    kept
}
