//! Every result against its standards: reduction with its interval, on the classes that the standard of its own test gives.

use awn_core::model::{Rating, StandardRole};
use egui::{Align2, Rect, Role, ScrollArea, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::gui::facts::ResultRow;
use crate::gui::style;
use crate::gui::view::results::ResultsView;
use crate::gui::widgets::note;

/// Height of a row.
const ROW: f32 = 30.0;
/// Width of the words before the scale.
const WORDS: f32 = 128.0;
/// The scale, % reduction.
const FROM: f32 = -20.0;
const TO: f32 = 100.0;

/// Shows the rows.
pub fn show(ui: &mut Ui, rows: &[&ResultRow], wanted: &mut ResultsView) {
    note(
        ui,
        "Reduction in %, with its 95 % interval, on the classes of its own test. Bar: susceptible standard; ring: resistant or other.",
    );
    let width = ui.available_width() - ui.spacing().scroll.allocated_width();
    let (rect, _) = ui.allocate_exact_size(vec2(width, 16.0), Sense::hover());
    let scale = scale(rect);
    for tick in [-20, 0, 20, 40, 60, 80, 100] {
        let text = style::of(ui).muted;
        ui.painter().text(
            pos2(x(scale, f64::from(tick)), rect.center().y),
            Align2::CENTER_CENTER,
            tick.to_string(),
            egui::FontId::proportional(11.0),
            text,
        );
    }
    ScrollArea::vertical().id_salt("chart").auto_shrink(false).show_rows(ui, ROW, rows.len(), |ui, range| {
        for result in rows.get(range).unwrap_or_default() {
            let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::click());
            let open = wanted.open == Some(result.id);
            row(ui, rect, result, open);
            let words = words(result);
            response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &words));
            if response.on_hover_text(&words).clicked() {
                wanted.open = if open { None } else { Some(result.id) };
            }
        }
    });
}

/// A result in words.
fn words(result: &ResultRow) -> String {
    let interval = result.found.sureness.and_then(|sure| sure.interval);
    let reduction = result.found.reduction;
    let reduction = reduction.map_or("no percentage".to_owned(), |reduction| format!("reduction {reduction:.0} %"));
    let interval = interval.map_or(String::new(), |[low, high]| format!(", 95 % interval {low:.0} to {high:.0} %"));
    let standard = result.found.standard.map_or("no standard".to_owned(), |standard| format!("standard {standard:.0} %"));
    format!(
        "{} {} {}: {reduction}{interval}, {standard}, {}",
        result.sample,
        result.field_name,
        result.active,
        match result.found.counted {
            Some(counted) if counted.by.is_laboratory() =>
                format!("{} by the laboratory, not worked out by us", counted.rating.label()),
            Some(counted) => counted.rating.label().to_owned(),
            None => "no rating".to_owned(),
        }
    )
}

/// The part of a row that the scale takes.
pub fn scale(rect: Rect) -> Rect {
    Rect::from_min_max(pos2(rect.left() + WORDS, rect.top()), pos2(rect.right() - 14.0, rect.bottom()))
}

fn x(scale: Rect, percent: f64) -> f32 {
    let part = ((percent as f32).clamp(FROM, TO) - FROM) / (TO - FROM);
    scale.left() + part * scale.width()
}

/// Draws one row: code and active, class bands, standards, interval, point.
pub fn row(ui: &Ui, rect: Rect, result: &ResultRow, open: bool) {
    let (painter, tokens) = (ui.painter().with_clip_rect(rect.intersect(ui.clip_rect())), style::of(ui));
    if open {
        painter.rect_filled(rect, 0.0, tokens.raised);
    }
    let small = egui::FontId::proportional(12.0);
    let column =
        painter.with_clip_rect(Rect::from_min_size(rect.min, vec2(WORDS - 8.0, rect.height())).intersect(ui.clip_rect()));
    column.text(
        rect.min + vec2(2.0, 1.0),
        Align2::LEFT_TOP,
        format!("{} {}", result.sample, result.year),
        small.clone(),
        tokens.ink,
    );
    column.text(rect.min + vec2(2.0, 15.0), Align2::LEFT_TOP, &result.active, small, tokens.muted);
    let scale = scale(rect);
    let middle = rect.center().y;
    // Marks lie in the upper half of the bands, so that the letters below them can be read.
    let marks = middle - 3.0;
    if let Some([s, r_question, rr]) = result.found.limits {
        let ends = [(Rating::RRR, f64::from(FROM), rr), (Rating::RR, rr, r_question), (Rating::RQuestion, r_question, s)];
        for (rating, from, to) in ends.into_iter().chain([(Rating::S, s, f64::from(TO))]) {
            let band = Rect::from_min_max(pos2(x(scale, from), middle - 11.0), pos2(x(scale, to), middle + 11.0));
            painter.rect_filled(band, 0.0, style::rating_colour(rating));
            if band.width() > 24.0 {
                let ink = style::text_on(style::rating_colour(rating));
                let place = pos2(band.left() + 3.0, middle + 11.0);
                painter.text(place, Align2::LEFT_BOTTOM, rating.label(), egui::FontId::proportional(9.0), ink);
            }
        }
    } else {
        let band = Rect::from_min_max(pos2(scale.left(), middle - 11.0), pos2(scale.right(), middle + 11.0));
        painter.rect_stroke(band, 0.0, Stroke::new(1.0, tokens.muted), egui::StrokeKind::Inside);
        painter.text(
            band.center(),
            Align2::CENTER_CENTER,
            match result.found.counted {
                Some(counted) if counted.by.is_laboratory() => format!("laboratory's rating: {}", counted.rating.label()),
                _ => "no standard: no classes".to_owned(),
            },
            egui::FontId::proportional(11.0),
            tokens.muted,
        );
    }
    // Ink with paper round it, to be seen on every class and in either theme.
    let (ink, paper) = (style::DATA_INK, style::DATA_PAPER);
    let strokes = [Stroke::new(4.5, paper), Stroke::new(1.8, ink)];
    let mut standards: Vec<(StandardRole, f64)> =
        result.standards.iter().map(|(role, _, reduction)| (*role, *reduction)).collect();
    if !standards.iter().any(|(role, _)| *role == StandardRole::Susceptible) {
        standards.extend(result.found.standard.map(|standard| (StandardRole::Susceptible, standard)));
    }
    for (role, reduction) in standards {
        let at = pos2(x(scale, reduction), marks);
        if role == StandardRole::Susceptible {
            for stroke in strokes {
                painter.line_segment([at - vec2(0.0, 12.0), at + vec2(0.0, 12.0)], stroke);
            }
        } else {
            painter.circle_stroke(at, 4.5, Stroke::new(4.0, paper));
            painter.circle_stroke(at, 4.5, Stroke::new(1.6, ink));
        }
    }
    if let Some([low, high]) = result.found.sureness.and_then(|sure| sure.interval) {
        let (left, right) = (pos2(x(scale, low), marks), pos2(x(scale, high), marks));
        for stroke in strokes {
            painter.line_segment([left, right], stroke);
            for end in [left, right] {
                painter.line_segment([end - vec2(0.0, 4.0), end + vec2(0.0, 4.0)], stroke);
            }
        }
    }
    let Some(reduction) = result.found.reduction else { return };
    let at = pos2(x(scale, reduction), marks);
    painter.circle_filled(at, 6.0, paper);
    painter.circle_filled(at, 4.5, ink);
}
