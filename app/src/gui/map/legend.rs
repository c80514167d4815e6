//! The legend card: classes worst first, with counts and hectares.

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
    name: String,
    fields: usize,
    area_m2: f64,
}

/// Draws the card in the top left corner; gives its place.
pub fn draw(painter: &Painter, map: Rect, ctx: &Ctx<'_>, density: Option<&DensityLayer>, tokens: &Tokens) -> Rect {
    let (title, lines) = match (ctx.view.shown_colouring(), density) {
        (Colouring::Plain, Some(layer)) if ctx.view.lens == Lens::Scout && !layer.fields.is_empty() => {
            let unit = layer.unit.map_or("", awn_core::model::DensityUnit::label);
            (format!("Density, {unit}"), density_lines(layer))
        }
        (Colouring::Plain, _) => return Rect::NOTHING,
        (colouring, _) => (colouring.label().to_owned(), class_lines(ctx, colouring)),
    };
    if lines.is_empty() { Rect::NOTHING } else { card(painter, map, &title, &lines, tokens) }
}

fn class_lines(ctx: &Ctx<'_>, colouring: Colouring) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    let mut add = |class: Class, area_m2: f64| match lines.iter_mut().find(|line| line.class == class) {
        Some(line) => {
            line.fields += 1;
            line.area_m2 += area_m2;
        }
        None => lines.push(Line { name: class.name.clone(), class, fields: 1, area_m2 }),
    };
    for row in &ctx.facts.rows {
        let mut class = class_of(row, colouring, ctx.facts.interval, ctx.view.year);
        if class.dotted {
            class.letter = format!("{}+", ctx.facts.interval);
        } else if row.due && colouring == Colouring::Due {
            class.letter = "1…".into();
        }
        if matches!(class.over, Over::Stipple | Over::Hatch) {
            // Age lies over every rating alike: a line of its own instead of one for each rating.
            let name = match class.over {
                Over::Stipple if ctx.facts.interval == 3 => "of which 2 harvests old".to_owned(),
                Over::Stipple => format!("of which 2 to {} harvests old", ctx.facts.interval - 1),
                _ => format!("of which {} harvests old or more", ctx.facts.interval),
            };
            let rank = if class.over == Over::Hatch { -1 } else { -2 };
            add(Class { name, over: class.over, rank, ..Class::plain(None) }, row.area_m2);
            class.over = Over::Nothing;
        }
        add(class, row.area_m2);
    }
    lines.sort_by_key(|line| std::cmp::Reverse(line.class.rank));
    lines
}

fn density_lines(layer: &DensityLayer) -> Vec<Line> {
    let classes = layer.classes();
    let line = |(fill, name, fields, area_m2)| Line { class: Class::plain(Some(fill)), name, fields, area_m2 };
    classes.into_iter().map(line).collect()
}

const ROW: f32 = 22.0;
const SIDE: f32 = 12.0;

fn card(painter: &Painter, map: Rect, title: &str, lines: &[Line], tokens: &Tokens) -> Rect {
    let font = FontId::proportional(style::SMALL);
    let wide = |text: &str| painter.layout_no_wrap(text.to_owned(), font.clone(), tokens.ink).size().x;
    let names = lines.iter().map(|line| wide(&line.name)).fold(wide(title) - 28.0, f32::max);
    let rect = Rect::from_min_size(
        map.min + vec2(SIDE, SIDE),
        vec2(SIDE + 40.0 + names + 52.0 + 56.0 + SIDE, 36.0 + lines.len() as f32 * ROW + 6.0),
    );
    painter.rect(rect, 2.0, tokens.raised, Stroke::new(1.0, tokens.line), egui::StrokeKind::Inside);
    let text = |x: f32, y: f32, align: Align2, text: &str, colour: Color32| {
        painter.text(pos2(x, y), align, text, font.clone(), colour);
    };
    let (fields_at, ha_at) = (rect.right() - SIDE - 56.0, rect.right() - SIDE);
    let top = rect.top() + 20.0;
    let left = rect.left() + SIDE;
    painter.text(pos2(left, top), Align2::LEFT_CENTER, title, style::bold_of(style::SMALL), tokens.ink);
    text(fields_at, top, Align2::RIGHT_CENTER, "fields", tokens.muted);
    text(ha_at, top, Align2::RIGHT_CENTER, "ha", tokens.muted);
    for (at, line) in lines.iter().enumerate() {
        let y = rect.top() + 36.0 + (at as f32 + 0.5) * ROW;
        swatch(painter, pos2(left, y), &line.class, tokens);
        text(left + 40.0, y, Align2::LEFT_CENTER, &line.name, tokens.ink);
        text(fields_at, y, Align2::RIGHT_CENTER, &line.fields.to_string(), tokens.ink);
        text(ha_at, y, Align2::RIGHT_CENTER, &format!("{:.1}", line.area_m2 / units::M2_PER_HA), tokens.ink);
    }
    rect
}

/// A sample of a class with its letter, 32 by 16 points, from the middle of its left side.
pub fn swatch(painter: &Painter, left: Pos2, class: &Class, tokens: &Tokens) {
    let place = Rect::from_min_size(left - vec2(0.0, 8.0), vec2(32.0, 16.0));
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
