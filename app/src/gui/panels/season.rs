//! The season along the lower edge: when seed is ripe, by when samples must be posted, when results come, and where today stands.

use awn_core::model::FieldId;
use awn_core::season::{Calendar, calendar};
use egui::{Align2, FontId, Pos2, Rect, Sense, Shape, Stroke, Ui, pos2, vec2};
use jiff::civil::Date;

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style::{self, Tokens};

/// Height of the strip.
pub const HEIGHT: f32 = 52.0;

/// Shows the strip. Clicking a week chooses the fields from which seed was taken in it.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, today: Option<Date>) {
    let Some(known) = calendar(ctx.view.year) else { return };
    let tokens = style::of(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::click());
    let name = format!("Season of harvest {}: seed is ripe about {}", ctx.view.year, words(&known));
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &name));
    let scale = Scale { rect, from: known.shown.from, days: days(known.shown.from, known.shown.to) + 1 };
    let painter = ui.painter_at(rect);
    months(&painter, &scale, &known, tokens);
    ripe(&painter, &scale, &known, tokens);
    let taken = taken(ctx);
    for (number, (day, _)) in taken.iter().filter(|(day, _)| known.shown.contains(*day)).enumerate() {
        // Samples of one day rise above each other.
        let same = taken.iter().take(number).filter(|(other, _)| other == day).count();
        let at = pos2(scale.x(*day) + 2.0, scale.base() - 4.0 - 4.0 * (same % 5) as f32);
        painter.circle_filled(at, 2.0, tokens.ink);
    }
    for (day, text) in [(known.post_by, "post by"), (known.petri_back, "dish results"), (known.pot_back, "pot results")] {
        flag(&painter, pos2(scale.x(day), scale.base()), text, tokens);
    }
    if let Some(day) = today.filter(|day| known.shown.contains(*day)) {
        painter.vline(scale.x(day), rect.y_range(), Stroke::new(1.6, tokens.warn));
        painter.text(pos2(scale.x(day) + 4.0, rect.top()), Align2::LEFT_TOP, "today", small(), tokens.warn);
    }
    let week = response.hover_pos().and_then(|pos| scale.week_at(pos, &known));
    if let Some((from, to)) = week {
        let band = Rect::from_x_y_ranges(scale.x(from)..=scale.x(to), rect.y_range());
        painter.rect_stroke(band, 0.0, Stroke::new(1.0, tokens.accent), egui::StrokeKind::Inside);
        let here: Vec<FieldId> = taken.iter().filter(|(day, _)| (from..to).contains(day)).map(|(_, field)| *field).collect();
        if response.clicked() && !here.is_empty() {
            ctx.ask(Request::SelectMany { fields: here.clone(), add: false });
        }
        response.on_hover_text(told(ctx, &known, from, to, &here));
    }
}

fn small() -> FontId {
    FontId::proportional(11.0)
}

fn days(from: Date, to: Date) -> i32 {
    (to - from).get_days()
}

fn words(known: &Calendar) -> String {
    format!("{} to {}", known.ripe.from.strftime("%-d"), known.ripe.to.strftime("%-d %B"))
}

/// Days against places on the screen.
struct Scale {
    rect: Rect,
    from: Date,
    days: i32,
}

impl Scale {
    fn x(&self, day: Date) -> f32 {
        self.rect.left() + self.rect.width() * days(self.from, day) as f32 / self.days as f32
    }

    fn base(&self) -> f32 {
        self.rect.bottom() - 18.0
    }

    /// The week from Monday on that lies under the pointer.
    fn week_at(&self, pos: Pos2, known: &Calendar) -> Option<(Date, Date)> {
        let part = (pos.x - self.rect.left()) / self.rect.width();
        let ahead = (part * self.days as f32).floor().clamp(0.0, (self.days - 1) as f32) as i32;
        let day = known.shown.from.checked_add(jiff::Span::new().days(ahead)).ok()?;
        let back = i32::from(day.weekday().to_monday_zero_offset());
        let monday = day.checked_sub(jiff::Span::new().days(back)).ok()?;
        Some((monday, monday.checked_add(jiff::Span::new().days(7)).ok()?))
    }
}

fn months(painter: &egui::Painter, scale: &Scale, known: &Calendar, tokens: &Tokens) {
    painter.hline(scale.rect.x_range(), scale.base(), Stroke::new(1.0, tokens.muted));
    let mut day = known.shown.from;
    while day <= known.shown.to {
        let x = scale.x(day);
        if day.day() == 1 {
            painter.vline(x, scale.base() - 6.0..=scale.rect.bottom(), Stroke::new(1.0, tokens.muted));
            let name = day.strftime("%B").to_string();
            painter.text(
                pos2(x + 4.0, scale.rect.bottom() - 1.0),
                Align2::LEFT_BOTTOM,
                name,
                FontId::proportional(style::SMALL),
                tokens.muted,
            );
        } else if day.weekday().to_monday_zero_offset() == 0 {
            painter.vline(x, scale.base() - 3.0..=scale.base(), Stroke::new(1.0, tokens.line));
        }
        let Ok(next) = day.tomorrow() else { break };
        day = next;
    }
}

fn ripe(painter: &egui::Painter, scale: &Scale, known: &Calendar, tokens: &Tokens) {
    let end = known.ripe.to.tomorrow().unwrap_or(known.ripe.to);
    let band = Rect::from_x_y_ranges(scale.x(known.ripe.from)..=scale.x(end), scale.rect.top() + 2.0..=scale.base());
    painter.rect_filled(band, 0.0, tokens.accent.gamma_multiply(0.18));
    painter.hline(band.x_range(), band.bottom(), Stroke::new(3.0, tokens.accent));
    painter.text(band.center_top() + vec2(0.0, 2.0), Align2::CENTER_TOP, "seed ripe", small(), tokens.ink);
}

fn flag(painter: &egui::Painter, foot: Pos2, text: &str, tokens: &Tokens) {
    let top = foot - vec2(0.0, 26.0);
    painter.line_segment([foot, top], Stroke::new(1.2, tokens.ink));
    painter.add(Shape::convex_polygon(vec![top, top + vec2(9.0, 3.5), top + vec2(0.0, 7.0)], tokens.ink, Stroke::NONE));
    painter.text(top + vec2(12.0, 3.5), Align2::LEFT_CENTER, text, small(), tokens.ink);
}

/// The days on which samples of this harvest were taken, and from which fields.
fn taken(ctx: &Ctx<'_>) -> Vec<(Date, FieldId)> {
    let samples = ctx.records.samples.values().filter(|sample| sample.year == ctx.view.year);
    let mut list: Vec<_> = samples.filter_map(|sample| Some((sample.taken?, sample.field))).collect();
    list.sort();
    list
}

fn told(ctx: &Ctx<'_>, known: &Calendar, from: Date, to: Date, here: &[FieldId]) -> String {
    let mut lines = vec![format!("Week from {}", from.strftime("%A, %-d %B"))];
    let touches = |day: Date| (from..to).contains(&day);
    if known.ripe.from < to && known.ripe.to >= from {
        lines.push(format!("Seed of black-grass is ripe about {}; look before you go.", words(known)));
    }
    if touches(known.post_by) {
        lines.push(format!("Samples for dish tests should be posted by {}.", known.post_by.strftime("%-d %B")));
    }
    if touches(known.petri_back) {
        lines.push("Results of dish tests come about now.".into());
    }
    if touches(known.pot_back) {
        lines.push("Results of pot tests come about now.".into());
    }
    let names: Vec<_> = here.iter().filter_map(|id| ctx.facts.row(*id)).map(|row| row.name.as_str()).collect();
    if !names.is_empty() {
        lines.push(format!("Seed taken: {}. Click to choose these fields.", names.join(", ")));
    }
    lines.join("\n")
}
