//! Names and letters on the fields, largest field first, none over another.

use awn_core::model::FieldId;
use egui::{Align2, FontId, Painter, Pos2, Rect, Shape, Vec2, pos2, vec2};

use super::classes::{Class, Way};
use super::detail::Detail;
use super::drawn::Drawn;
use super::mercator::Screen;
use super::shapes::FieldShape;
use crate::gui::ctx::Ctx;
use crate::gui::map::Layers;
use crate::gui::style;
use crate::gui::view::layers::Layer;
use crate::gui::view::{Colouring, Lens};

/// More labels than this are not put on one map: nobody could read them.
const MOST: usize = 400;
/// Fields smaller than this hold no letter, points.
const SMALLEST: Vec2 = vec2(12.0, 10.0);
/// The smallest letters, points.
const TINY: f32 = 11.0;
/// Width of the arrow beside a letter.
const ARROW: f32 = 12.0;

/// Draws what fits; `taken` are places where nothing may go, such as the legend.
pub fn draw(
    painter: &Painter,
    screen: &Screen,
    drawn: &mut Drawn,
    layers: &Layers<'_>,
    ctx: &Ctx<'_>,
    taken: &mut Vec<Rect>,
) {
    let mut fits = std::mem::take(&mut drawn.fits);
    let letters = layers.density.map_or(0, |layer| layer.number);
    fits.refresh(screen.scale, (drawn.painted.number, letters), layers.shapes.fields.len());
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
        done += usize::from(label(painter, screen, drawn, layers, ctx, taken, &mut fits, number));
    }
    drawn.fits = fits;
}

#[allow(clippy::too_many_arguments)] // one step of the loop above
fn label(
    painter: &Painter,
    screen: &Screen,
    drawn: &Drawn,
    layers: &Layers<'_>,
    ctx: &Ctx<'_>,
    taken: &mut Vec<Rect>,
    fits: &mut Fits,
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
    let (ground, ink) = match class.fill {
        Some(fill) => (fill, style::text_on(fill)),
        None => (tokens.ground, tokens.ink),
    };
    let of_mean = density_class(ctx, layers, shape.id);
    let class = of_mean.as_ref().unwrap_or(class);
    let stops = stops_of(screen, ctx, shape.id);
    let ways = writings(class, row.name.as_str(), room);
    let known = fits.of_shape.get(number).copied().flatten();
    if known == Some(NONE_FITS) {
        return false;
    }
    let detail = drawn.details.made(number);
    let middle = screen.pos(row.label);
    let mut on_edge = false;
    let tried = ways.into_iter().filter(|way| known.is_none_or(|known| known == way.number));
    let found = tried.into_iter().find_map(|way| {
        let lay = |words: &str, font| painter.layout_no_wrap(words.to_owned(), font, ink);
        let name = way.name.map(|name| lay(name, FontId::proportional(style::SMALL)));
        let letter = (!way.letter.is_empty()).then(|| lay(way.letter, style::bold_of(way.size)));
        let arrow = if way.arrow { ARROW } else { 0.0 };
        let letter_size = letter.as_ref().map_or(Vec2::ZERO, |galley| galley.size() + vec2(arrow, 0.0));
        let name_size = name.as_ref().map_or(Vec2::ZERO, |name| name.size());
        let size = vec2(name_size.x.max(letter_size.x), name_size.y + letter_size.y);
        let place = Rect::from_center_size(middle, size + vec2(6.0, 2.0));
        let inner = place.shrink2(vec2(3.0, 0.25 * size.y));
        let inside = size.x > 0.0 && (known.is_some() || detail.is_some_and(|detail| holds(screen, shape, detail, inner)));
        // What lies over the edge of the map or under a card may fit in the next frame.
        let free = screen.rect.contains_rect(place) && !taken.iter().chain(&stops).any(|other| other.intersects(place));
        on_edge |= inside && !free;
        (inside && free).then_some((place, name, letter, letter_size, way))
    });
    let Some((place, name, letter, letter_size, way)) = found else {
        if !on_edge && known.is_none() {
            fits.remember(number, NONE_FITS);
        }
        return false;
    };
    if !on_edge {
        fits.remember(number, way.number);
    }
    let with_arrow = way.arrow;
    taken.push(place);
    let clear = matches!(ctx.view.shown_colouring(), Colouring::Plain | Colouring::Density);
    painter.rect_filled(place, 2.0, ground.gamma_multiply(if clear { 0.8 } else { 1.0 }));
    let mut top = place.center_top() + vec2(0.0, 1.0);
    if let Some(name) = name {
        let at = Align2::CENTER_TOP.anchor_size(top, name.size()).min;
        top.y += name.size().y;
        painter.galley(at, name, ink);
    }
    if let Some(letter) = letter {
        let at = Align2::CENTER_TOP.anchor_size(top, letter_size).min;
        let mut at = at;
        if let Some(way) = class.way.filter(|_| with_arrow) {
            draw_arrow(painter, at + vec2(4.0, letter_size.y / 2.0), way, ink);
            at.x += ARROW;
        }
        painter.galley(at, letter, ink);
    }
    true
}

/// Where the rings of a field's stops lie: names keep clear of them.
fn stops_of(screen: &Screen, ctx: &Ctx<'_>, field: FieldId) -> Vec<Rect> {
    let shown = ctx.view.layers.shows(ctx.view.lens, Layer::Plans);
    let Some(plan) = ctx.plan(field).filter(|_| shown) else { return Vec::new() };
    let ring = |at| Rect::from_center_size(screen.pos(at), Vec2::splat(2.0 * style::STOP_RADIUS));
    plan.stops.iter().map(|stop| ring(stop.position)).collect()
}

/// Where the map shows densities, the number of the class of the field's mean, as on printed maps.
fn density_class(ctx: &Ctx<'_>, layers: &Layers<'_>, field: FieldId) -> Option<Class> {
    let layer = layers.density.filter(|_| ctx.view.shown_colouring() == Colouring::Density)?;
    let letter = layer.class_of_mean(field).map_or_else(|| "n.s.".to_owned(), |class| class.to_string());
    Some(Class { letter, ..Class::plain(None) })
}

/// Which way of writing fits each field at a scale, so that it is found out once and not in every frame.
#[derive(Default)]
pub struct Fits {
    key: Option<(u64, (u64, u64))>,
    of_shape: Vec<Option<u8>>,
}

/// No way of writing fits.
const NONE_FITS: u8 = u8::MAX;

impl Fits {
    /// Forgets what was found for another scale or other classes.
    fn refresh(&mut self, scale: f64, painted: (u64, u64), shapes: usize) {
        let key = (scale.to_bits(), painted);
        if self.key != Some(key) || self.of_shape.len() != shapes {
            self.of_shape = vec![None; shapes];
            self.key = Some(key);
        }
    }

    fn remember(&mut self, shape: usize, way: u8) {
        if let Some(slot) = self.of_shape.get_mut(shape) {
            *slot = Some(way);
        }
    }
}

/// One way of writing a label.
struct Writing<'a> {
    number: u8,
    name: Option<&'a str>,
    letter: &'a str,
    size: f32,
    arrow: bool,
}

/// Ways of writing a label, the fullest first; those that the room cannot hold are left out before any text is laid out.
fn writings<'a>(class: &'a Class, name: &'a str, room: Rect) -> Vec<Writing<'a>> {
    let short = if class.short.is_empty() { &class.letter } else { &class.short };
    let arrow = class.way.is_some();
    let ways = [
        (Some(name), class.letter.as_str(), style::BODY, arrow),
        (Some(name), short, style::BODY, arrow),
        (None, &class.letter, style::BODY, arrow),
        (None, short, style::BODY, arrow),
        (None, short, TINY, false),
    ];
    // A letter is at least a third as wide as it is high.
    let wide = |words: &str, size: f32| words.chars().count() as f32 * size * 0.33;
    let may_fit = |(name, letter, size, _): &(Option<&str>, &str, f32, bool)| {
        let width = wide(letter, *size).max(name.map_or(0.0, |name| wide(name, style::SMALL)));
        let height = if letter.is_empty() { 0.0 } else { *size } + if name.is_some() { style::SMALL } else { 0.0 };
        width <= room.width() && height <= room.height()
    };
    let numbered = ways.into_iter().zip(0..).filter(|(way, _)| may_fit(way));
    numbered.map(|((name, letter, size, arrow), number)| Writing { number, name, letter, size, arrow }).collect()
}

/// Whether corners and sides of a place lie inside the field (even-odd).
fn holds(screen: &Screen, shape: &FieldShape, detail: &Detail, place: Rect) -> bool {
    let (zero, scale) = (screen.pos_from_world(shape.anchor), screen.scale as f32);
    let inside = |pos: Pos2| {
        let pos = ((pos - zero) / scale).to_pos2();
        let mut odd = false;
        for ring in detail.rings() {
            for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
                if (a.y > pos.y) != (b.y > pos.y) && pos.x < a.x + (pos.y - a.y) / (b.y - a.y) * (b.x - a.x) {
                    odd = !odd;
                }
            }
        }
        odd
    };
    [
        place.left_top(),
        place.right_top(),
        place.left_bottom(),
        place.right_bottom(),
        place.left_center(),
        place.right_center(),
    ]
    .into_iter()
    .all(inside)
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
