//! Names and letters on the fields, largest field first, none over another.

use egui::{Align2, FontId, Painter, Rect, vec2};

use super::classes::class_of;
use super::mercator::Screen;
use crate::gui::ctx::Ctx;
use crate::gui::map::Shapes;
use crate::gui::style::{self, Tokens};
use crate::gui::view_state::{Colouring, Lens};

/// Draws what fits; `taken` are places where nothing may go, such as the legend.
pub fn draw(painter: &Painter, screen: &Screen, shapes: &Shapes, ctx: &Ctx<'_>, tokens: &Tokens, taken: &mut Vec<Rect>) {
    let mut shapes: Vec<_> = shapes.fields.iter().filter(|shape| shape.rect(screen).intersects(screen.rect)).collect();
    let chosen = |id| ctx.view.selected.contains(&id);
    shapes.sort_by(|a, b| chosen(b.id).cmp(&chosen(a.id)).then(b.size.total_cmp(&a.size)));
    let colouring = ctx.view.shown_colouring();
    for shape in shapes {
        let Some(row) = ctx.facts.row(shape.id) else { continue };
        let class = class_of(row, colouring, ctx.facts.interval, ctx.view.year);
        let room = shape.rect(screen);
        let middle = screen.pos(row.label);
        let (ground, text) = match class.fill {
            Some(fill) => (fill, style::text_on(fill)),
            None => (tokens.ground, tokens.ink),
        };
        let name = painter.layout_no_wrap(row.name.clone(), FontId::proportional(style::SMALL), text);
        let letter = (!class.letter.is_empty())
            .then(|| painter.layout_no_wrap(class.letter.clone(), style::bold_of(style::BODY), text));
        let letter_size = letter.as_ref().map_or(egui::Vec2::ZERO, |galley| galley.size());
        let both = vec2(name.size().x.max(letter_size.x), name.size().y + letter_size.y);
        let with_name = both.x <= room.width() * 0.9 && both.y <= room.height();
        // In the walk lens a planned field close up is full of stops; its name stands in the list and the panel.
        let close_up = ctx.view.lens == Lens::Walk && ctx.plan(shape.id).is_some() && room.width() > 220.0;
        if close_up {
            continue;
        }
        let size = if with_name { both } else { letter_size };
        if size.x <= 0.0 || size.x > room.width() || size.y > room.height() + 4.0 {
            continue;
        }
        let place = Rect::from_center_size(middle, size + vec2(6.0, 2.0));
        if !screen.rect.contains_rect(place) || taken.iter().any(|other| other.intersects(place)) {
            continue;
        }
        taken.push(place);
        let back = if colouring == Colouring::Plain { ground.gamma_multiply(0.8) } else { ground };
        painter.rect_filled(place, 2.0, back);
        let mut top = place.center_top() + vec2(0.0, 1.0);
        if with_name {
            let at = Align2::CENTER_TOP.anchor_size(top, name.size()).min;
            top.y += name.size().y;
            painter.galley(at, name, text);
        }
        if let Some(letter) = letter {
            painter.galley(Align2::CENTER_TOP.anchor_size(top, letter.size()).min, letter, text);
        }
    }
}
