//! Scouting as it was seen: points as small discs, zones as outlines, with the value beside them when there is room.

use awn_core::model::{Records, Survey};
use egui::{Align2, FontId, Painter, Pos2, Shape, Stroke};
use std::sync::Arc;

use super::mercator::Screen;
use crate::gui::style::{self, Tokens};

/// From this many points for a metre on, values are written beside the points.
const VALUES_FROM: f64 = 0.8;

/// The surveys of the latest day up to a harvest year.
pub fn latest(records: &Records, year: i32) -> Vec<&Arc<Survey>> {
    let of_time = || records.surveys.values().filter(|survey| survey.harvest_year() <= year);
    let newest = of_time().map(|survey| survey.harvest_year()).max();
    of_time().filter(|survey| Some(survey.harvest_year()) == newest).collect()
}

/// Draws the surveys of a harvest year.
pub fn draw(painter: &Painter, screen: &Screen, records: &Records, year: i32, tokens: &Tokens) {
    let values = screen.points_per_m() >= VALUES_FROM;
    let view = screen.rect.expand(8.0);
    for survey in latest(records, year) {
        for point in &survey.points {
            let pos = screen.pos(point.position);
            if !view.contains(pos) {
                continue;
            }
            if point.value > 0.0 {
                painter.circle_filled(pos, 2.6, tokens.ground);
                painter.circle_filled(pos, 1.8, tokens.ink);
            } else {
                // Nothing seen there: an open ring, as worth knowing as a find.
                painter.circle_stroke(pos, 2.0, Stroke::new(0.8, tokens.ink));
            }
            if values {
                let font = FontId::proportional(style::SMALL);
                painter.text(pos + egui::vec2(5.0, 0.0), Align2::LEFT_CENTER, figure(point.value), font, tokens.ink);
            }
        }
        for zone in &survey.zones {
            for polygon in &zone.area {
                for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                    let on: Vec<Pos2> = ring.coords().map(|c| screen.pos(*c)).collect();
                    if egui::Rect::from_points(&on).intersects(view) {
                        painter.extend(Shape::dashed_line(&on, Stroke::new(1.0, tokens.ink), 4.0, 3.0));
                    }
                }
            }
        }
    }
}

/// A density with a sensible number of digits.
pub fn figure(value: f64) -> String {
    if value >= 10.0 || value == 0.0 { format!("{value:.0}") } else { format!("{value:.1}") }
}
