//! The legend card: classes worst first, with counts and hectares; what a plan's drawing means in the walk lens.

use awn_core::units;
use egui::{Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, pos2, vec2};

use super::classes::{Class, Over, class_of};
use super::density::DensityLayer;
use super::hatch::{hatch, stipple};
use crate::gui::ctx::Ctx;
use crate::gui::style::{self, Tokens};
use crate::gui::view_state::{Colouring, Lens};

/// A line of the legend.
struct Line {
    class: Class,
    fields: usize,
    area_m2: f64,
}

/// Draws the card in the top left corner; gives its place.
pub fn draw(painter: &Painter, map: Rect, ctx: &Ctx<'_>, density: Option<&DensityLayer>, tokens: &Tokens) -> Rect {
    match (ctx.view.shown_colouring(), density) {
        (Colouring::Plain, Some(layer)) if ctx.view.lens == Lens::Scout && !layer.fields.is_empty() => {
            draw_density(painter, map, layer, tokens)
        }
        (Colouring::Plain, _) => Rect::NOTHING,
        (colouring, _) => draw_classes(painter, map, ctx, colouring, tokens),
    }
}

fn draw_classes(painter: &Painter, map: Rect, ctx: &Ctx<'_>, colouring: Colouring, tokens: &Tokens) -> Rect {
    let mut lines: Vec<Line> = Vec::new();
    for row in &ctx.facts.rows {
        let mut class = class_of(row, colouring, ctx.facts.interval, ctx.view.year);
        if class.dotted {
            class.letter = format!("{}+", ctx.facts.interval);
        } else if row.due && colouring == Colouring::Due {
            class.letter = "1…".into();
        }
        match lines.iter_mut().find(|line| line.class == class) {
            Some(line) => {
                line.fields += 1;
                line.area_m2 += row.area_m2;
            }
            None => lines.push(Line { class, fields: 1, area_m2: row.area_m2 }),
        }
    }
    if lines.is_empty() {
        return Rect::NOTHING;
    }
    lines.sort_by_key(|line| std::cmp::Reverse(line.class.rank));
    let card = Card::new(painter, map, colouring.label(), lines.len(), vec2(264.0, 0.0), tokens);
    let (fields_at, ha_at) = (card.rect.right() - 76.0, card.rect.right() - 12.0);
    card.heading(fields_at, "fields");
    card.heading(ha_at, "ha");
    for (at, line) in lines.iter().enumerate() {
        let y = card.row(at);
        swatch(painter, pos2(card.rect.left() + 12.0, y), &line.class, tokens);
        card.text(card.rect.left() + 52.0, y, Align2::LEFT_CENTER, &line.class.name);
        card.text(fields_at, y, Align2::RIGHT_CENTER, &line.fields.to_string());
        card.text(ha_at, y, Align2::RIGHT_CENTER, &format!("{:.1}", line.area_m2 / units::M2_PER_HA));
    }
    card.rect
}

fn draw_density(painter: &Painter, map: Rect, layer: &DensityLayer, tokens: &Tokens) -> Rect {
    let lines = layer.classes();
    let unit = layer.unit.map_or("", awn_core::model::DensityUnit::label);
    let card = Card::new(painter, map, &format!("Density, {unit}"), lines.len(), vec2(208.0, 0.0), tokens);
    for (at, (colour, text)) in lines.iter().enumerate() {
        let y = card.row(at);
        let place = Rect::from_min_size(pos2(card.rect.left() + 12.0, y - 8.0), vec2(30.0, 16.0));
        painter.rect(place, 0.0, *colour, Stroke::new(1.0, tokens.ink), egui::StrokeKind::Inside);
        card.text(card.rect.left() + 52.0, y, Align2::LEFT_CENTER, text);
    }
    card.rect
}

/// A small card with a title and rows.
struct Card<'a> {
    painter: &'a Painter,
    rect: Rect,
    ink: Color32,
    muted: Color32,
}

const CARD_ROW: f32 = 22.0;

impl<'a> Card<'a> {
    fn new(painter: &'a Painter, map: Rect, title: &str, rows: usize, size: egui::Vec2, tokens: &Tokens) -> Self {
        let rect = Rect::from_min_size(map.min + vec2(12.0, 12.0), vec2(size.x, 36.0 + rows as f32 * CARD_ROW + 6.0));
        painter.rect(rect, 2.0, tokens.raised, Stroke::new(1.0, tokens.line), egui::StrokeKind::Inside);
        let at = rect.min + vec2(12.0, 20.0);
        painter.text(at, Align2::LEFT_CENTER, title, style::bold_of(style::SMALL), tokens.ink);
        Self { painter, rect, ink: tokens.ink, muted: tokens.muted }
    }

    fn row(&self, at: usize) -> f32 {
        self.rect.top() + 36.0 + (at as f32 + 0.5) * CARD_ROW
    }

    fn heading(&self, x: f32, text: &str) {
        let at = pos2(x, self.rect.top() + 20.0);
        self.painter.text(at, Align2::RIGHT_CENTER, text, FontId::proportional(style::SMALL), self.muted);
    }

    fn text(&self, x: f32, y: f32, align: Align2, text: &str) {
        self.painter.text(pos2(x, y), align, text, FontId::proportional(style::SMALL), self.ink);
    }
}

/// A sample of a class with its letter, 30 by 16 points, from the middle of its left side.
pub fn swatch(painter: &Painter, left: Pos2, class: &Class, tokens: &Tokens) {
    let place = Rect::from_min_size(left - vec2(0.0, 8.0), vec2(30.0, 16.0));
    let fill = class.fill.unwrap_or(tokens.ground);
    painter.rect_filled(place, 0.0, fill);
    let ring = [vec![place.left_top(), place.right_top(), place.right_bottom(), place.left_bottom()]];
    let over = class.fill.map_or(tokens.ink, style::text_on);
    match class.over {
        Over::Nothing => {}
        Over::Stipple => stipple(painter, &ring, 5.0, place.min + vec2(2.0, 2.0), over.gamma_multiply(0.75)),
        Over::Hatch => hatch(painter, &ring, 6.0, place.min, Stroke::new(0.8, over.gamma_multiply(0.7))),
        Over::Unknown => hatch(painter, &ring, 8.0, place.min, Stroke::new(1.0, over.gamma_multiply(0.55))),
    }
    painter.rect_stroke(place, 0.0, Stroke::new(1.0, tokens.ink), egui::StrokeKind::Inside);
    if class.over == Over::Unknown || class.letter.is_empty() {
        return;
    }
    let galley = painter.layout_no_wrap(class.letter.clone(), style::bold_of(11.0), style::text_on(fill));
    let text = Rect::from_center_size(place.center(), galley.size());
    if class.over != Over::Nothing {
        painter.rect_filled(text.expand2(vec2(1.0, -2.0)), 0.0, fill);
    }
    painter.galley(text.min, galley, style::text_on(fill));
}
