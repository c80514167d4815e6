//! Scale bar, north mark and the pointer's position.

use awn_core::crs::PlaceNames;
use awn_core::units;
use egui::{Align2, FontId, Painter, Rect, Shape, Stroke, pos2, vec2};
use geo::Coord;

use super::mercator::Screen;
use crate::gui::style::{self, Tokens};

/// The longest the scale bar may be, points.
const BAR: f64 = 160.0;

/// Draws them along the lower edge.
pub fn draw(
    painter: &Painter,
    screen: &Screen,
    names: &mut PlaceNames,
    pointer: Option<Coord<f64>>,
    credit: Option<&str>,
    tokens: &Tokens,
) {
    let strip = Rect::from_min_max(screen.rect.left_bottom() - vec2(0.0, 28.0), screen.rect.right_bottom());
    let length_m = round_length(BAR / screen.points_per_m());
    let width = (length_m * screen.points_per_m()) as f32;
    let left = strip.left() + 44.0;
    let y = strip.center().y;
    let font = FontId::proportional(style::SMALL);
    let back =
        Rect::from_min_max(pos2(strip.left() + 8.0, strip.top() + 2.0), pos2(left + width + 64.0, strip.bottom() - 2.0));
    painter.rect_filled(back, 2.0, tokens.ground.gamma_multiply(0.85));
    let ink = Stroke::new(1.2, tokens.ink);
    painter
        .line(vec![pos2(left, y - 4.0), pos2(left, y + 4.0), pos2(left + width, y + 4.0), pos2(left + width, y - 4.0)], ink);
    let half = left + width / 2.0;
    painter.line_segment([pos2(half, y), pos2(half, y + 4.0)], ink);
    painter.text(pos2(left + width + 8.0, y), Align2::LEFT_CENTER, bar_words(length_m), font.clone(), tokens.ink);
    north(painter, pos2(strip.left() + 26.0, y), tokens);
    if let Some(at) = pointer {
        let grid = names.name(at).map_or_else(String::new, |name| format!("   {name}"));
        let galley = painter.layout_no_wrap(format!("{}{grid}", position(at)), font.clone(), tokens.ink);
        let place = Align2::RIGHT_CENTER.anchor_size(pos2(strip.right() - 12.0, y), galley.size());
        painter.rect_filled(place.expand(4.0), 2.0, tokens.ground.gamma_multiply(0.85));
        painter.galley(place.min, galley, tokens.ink);
    }
    if let Some(credit) = credit {
        let galley = painter.layout_no_wrap(credit.to_owned(), FontId::proportional(11.0), tokens.ink);
        let place = Align2::RIGHT_BOTTOM.anchor_size(screen.rect.right_bottom() - vec2(12.0, 30.0), galley.size());
        painter.rect_filled(place.expand(3.0), 2.0, tokens.ground.gamma_multiply(0.85));
        painter.galley(place.min, galley, tokens.ink);
    }
}

/// A needle, one half filled.
fn north(painter: &Painter, at: egui::Pos2, tokens: &Tokens) {
    let (tip, foot) = (at - vec2(0.0, 10.0), at + vec2(0.0, 6.0));
    let stroke = Stroke::new(1.0, tokens.ink);
    painter.add(Shape::convex_polygon(vec![tip, at + vec2(5.0, 10.0), foot], tokens.ink, stroke));
    painter.add(Shape::convex_polygon(vec![tip, foot, at + vec2(-5.0, 10.0)], tokens.raised, stroke));
}

/// The largest of 1, 2, 5 times a power of ten that is not longer, m.
fn round_length(longest_m: f64) -> f64 {
    let power = 10_f64.powf(longest_m.max(1e-3).log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|length| *length <= longest_m).unwrap_or(power)
}

/// A round length in words: "2 km", "500 m".
fn bar_words(length_m: f64) -> String {
    match length_m {
        1000.0.. => format!("{:.0} km", length_m / 1000.0),
        1.0.. => format!("{length_m:.0} m"),
        _ => units::length(length_m),
    }
}

/// A position for people: "52.12345° N, 0.12345° W", about a metre.
pub fn position(at: Coord<f64>) -> String {
    let (ns, ew) = (if at.y < 0.0 { "S" } else { "N" }, if at.x < 0.0 { "W" } else { "E" });
    format!("{:.5}° {ns}, {:.5}° {ew}", at.y.abs(), at.x.abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_has_a_round_length() {
        assert_eq!(round_length(740.0), 500.0);
        assert_eq!(round_length(199.0), 100.0);
        assert_eq!(round_length(2000.0), 2000.0);
        assert_eq!(round_length(0.3), 0.2);
        assert_eq!([2000.0, 500.0, 1e6].map(bar_words), ["2 km", "500 m", "1000 km"]);
    }

    #[test]
    fn positions_name_the_hemisphere() {
        assert_eq!(position(Coord { x: -0.5, y: 52.25 }), "52.25000° N, 0.50000° W");
    }
}
