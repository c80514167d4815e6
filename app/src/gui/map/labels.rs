//! Names and letters on the fields, largest field first, none over another.

use egui::{Align2, FontId, Painter, Pos2, Rect, Shape, Vec2, pos2, vec2};

use super::classes::Way;
use super::drawn::Drawn;
use super::mercator::Screen;
use crate::gui::ctx::Ctx;
use crate::gui::map::Layers;
use crate::gui::style;
use crate::gui::view_state::{Colouring, Lens};

/// More labels than this are not put on one map: nobody could read them.
const MOST: usize = 400;
/// Fields smaller than this hold no letter, points.
const SMALLEST: Vec2 = vec2(12.0, 10.0);
/// Width of the arrow beside a letter.
const ARROW: f32 = 12.0;

/// Draws what fits; `taken` are places where nothing may go, such as the legend.
pub fn draw(painter: &Painter, screen: &Screen, drawn: &Drawn, layers: &Layers<'_>, ctx: &Ctx<'_>, taken: &mut Vec<Rect>) {
    let mut visible = vec![false; layers.shapes.fields.len()];
    for number in &drawn.in_view {
        if let Some(seen) = visible.get_mut(*number) {
            *seen = true;
        }
    }
    let chosen = ctx.view.selected.iter().filter_map(|id| layers.shapes.number(*id));
    let mut done = 0;
    for number in chosen.chain(layers.shapes.by_size.iter().copied()) {
        // The chosen come first, and are not drawn a second time.
        if done >= MOST || !visible.get_mut(number).is_some_and(std::mem::take) {
            continue;
        }
        done += usize::from(label(painter, screen, drawn, layers, ctx, taken, number));
    }
}

#[allow(clippy::too_many_arguments)] // one step of the loop above
fn label(
    painter: &Painter,
    screen: &Screen,
    drawn: &Drawn,
    layers: &Layers<'_>,
    ctx: &Ctx<'_>,
    taken: &mut Vec<Rect>,
    number: usize,
) -> bool {
    let (Some(shape), Some((row, class))) = (layers.shapes.fields.get(number), drawn.painted.class(number)) else {
        return false;
    };
    let Some(row) = ctx.facts.rows.get(row) else { return false };
    let room = shape.rect(screen);
    if room.width() < SMALLEST.x || room.height() < SMALLEST.y {
        return false;
    }
    // In the walk lens a planned field close up is full of stops; its name stands in the list and the panel.
    if ctx.view.lens == Lens::Walk && room.width() > 220.0 && ctx.plan(shape.id).is_some() {
        return false;
    }
    let tokens = style::tokens(painter.ctx().theme());
    let (ground, text) = match class.fill {
        Some(fill) => (fill, style::text_on(fill)),
        None => (tokens.ground, tokens.ink),
    };
    let arrow = class.way.map_or(0.0, |_| ARROW);
    let letter =
        (!class.letter.is_empty()).then(|| painter.layout_no_wrap(class.letter.clone(), style::bold_of(style::BODY), text));
    let letter_size = letter.as_ref().map_or(Vec2::ZERO, |galley| galley.size() + vec2(arrow, 0.0));
    // The name is worked out only where it can fit.
    let name = (room.height() > letter_size.y + 12.0 && room.width() > 24.0)
        .then(|| painter.layout_no_wrap(row.name.clone(), FontId::proportional(style::SMALL), text))
        .filter(|name| name.size().x.max(letter_size.x) <= room.width() * 0.9)
        .filter(|name| name.size().y + letter_size.y <= room.height());
    let name_size = name.as_ref().map_or(Vec2::ZERO, |name| name.size());
    let size = vec2(name_size.x.max(letter_size.x), name_size.y + letter_size.y);
    if size.x <= 0.0 || size.x > room.width() || size.y > room.height() + 4.0 {
        return false;
    }
    let place = Rect::from_center_size(screen.pos(row.label), size + vec2(6.0, 2.0));
    if !screen.rect.contains_rect(place) || taken.iter().any(|other| other.intersects(place)) {
        return false;
    }
    taken.push(place);
    let clear = matches!(ctx.view.shown_colouring(), Colouring::Plain | Colouring::Density);
    painter.rect_filled(place, 2.0, ground.gamma_multiply(if clear { 0.8 } else { 1.0 }));
    let mut top = place.center_top() + vec2(0.0, 1.0);
    if let Some(name) = name {
        let at = Align2::CENTER_TOP.anchor_size(top, name.size()).min;
        top.y += name.size().y;
        painter.galley(at, name, text);
    }
    if let Some(letter) = letter {
        let at = Align2::CENTER_TOP.anchor_size(top, letter_size).min;
        if let Some(way) = class.way {
            draw_arrow(painter, at + vec2(4.0, letter_size.y / 2.0), way, text);
        }
        painter.galley(at + vec2(arrow, 0.0), letter, text);
    }
    true
}

/// An arrow as a shape: up for worse, down for better, level for the same.
pub fn draw_arrow(painter: &Painter, middle: Pos2, way: Way, colour: egui::Color32) {
    let points = match way {
        Way::Worse => [(0.0, -5.0), (4.0, 3.0), (-4.0, 3.0)],
        Way::Better => [(0.0, 5.0), (-4.0, -3.0), (4.0, -3.0)],
        Way::Same => {
            let line = |y: f32| [pos2(middle.x - 4.0, middle.y + y), pos2(middle.x + 4.0, middle.y + y)];
            for y in [-2.0, 2.0] {
                painter.line_segment(line(y), egui::Stroke::new(1.6, colour));
            }
            return;
        }
    };
    let points = points.iter().map(|(x, y)| middle + vec2(*x, *y)).collect();
    painter.add(Shape::convex_polygon(points, colour, egui::Stroke::NONE));
}
