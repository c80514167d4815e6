//! The season along the lower edge: when seed of each weed is ripe, checks, rounds, samples, by when to post, when results come,
//! and where today stands.

use std::collections::{BTreeMap, BTreeSet};

use awn_core::model::FieldId;
use awn_core::season::{Calendar, Days, calendar};
use egui::{Align2, FontId, Pos2, Rect, Sense, Shape, Stroke, Ui, pos2, vec2};
use jiff::civil::Date;

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::strip::{Event, Strip, Weed};
use crate::gui::style::{self, Tokens};
use crate::gui::view::season::Week;

/// Height of the strip.
pub const HEIGHT: f32 = 52.0;

/// Shows the strip. Clicking a week filters list and map to the fields in which something happens in it.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, today: Option<Date>) {
    let Some(known) = calendar(ctx.view.year) else { return };
    let Strip { weeds, events } = &ctx.facts.strip;
    let ripe = weeds.first().map_or(known.ripe, |weed| weed.window);
    let tokens = style::of(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::click());
    let name = format!("Season of harvest {}: seed is ripe about {}", ctx.view.year, ripe.words());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &name));
    let scale = Scale { rect, from: known.shown.from, days: days(known.shown.from, known.shown.to) + 1 };
    let painter = ui.painter_at(rect);
    months(&painter, &scale, &known, tokens);
    for (at, weed) in weeds.iter().enumerate() {
        band(&painter, &scale, weed, at, weeds.len(), tokens);
    }
    marks(&painter, &scale, &known, events, tokens);
    for (day, text) in [(known.post_by, "post by"), (known.petri_back, "dish results"), (known.pot_back, "pot results")] {
        flag(&painter, pos2(scale.x(day), scale.base()), text, tokens);
    }
    if let Some(day) = today.filter(|day| known.shown.contains(*day)) {
        painter.vline(scale.x(day), rect.y_range(), Stroke::new(1.6, tokens.warn));
        painter.text(pos2(scale.x(day) + 4.0, rect.top()), Align2::LEFT_TOP, "today", small(), tokens.warn);
    }
    if let Some(week) = &ctx.view.season.week {
        let band = Rect::from_x_y_ranges(scale.x(week.from)..=scale.x(week.to), rect.y_range());
        painter.rect_stroke(band, 0.0, Stroke::new(2.0, tokens.ink), egui::StrokeKind::Inside);
    }
    if response.has_focus() {
        painter.rect_stroke(rect, 0.0, Stroke::new(2.0, tokens.accent), egui::StrokeKind::Inside);
        step(ui, ctx, events, response.id);
    }
    let week = response.hover_pos().and_then(|pos| scale.week_at(pos, &known));
    if let Some((from, to)) = week {
        let band = Rect::from_x_y_ranges(scale.x(from)..=scale.x(to), rect.y_range());
        painter.rect_stroke(band, 0.0, Stroke::new(1.0, tokens.accent), egui::StrokeKind::Inside);
        if response.clicked() {
            choose(ctx, events, from, to);
        }
        response.on_hover_text(told(ctx, &known, weeds, events, from, to));
    }
}

/// With the keyboard on the strip, arrows go to the week before or after in which something happens.
fn step(ui: &Ui, ctx: &Ctx<'_>, events: &[(Date, Event, FieldId)], strip: egui::Id) {
    let filter = egui::EventFilter { horizontal_arrows: true, ..Default::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(strip, filter));
    let (back, on) = ui.input_mut(|input| {
        let mut pressed = |key| input.consume_key(egui::Modifiers::NONE, key);
        (pressed(egui::Key::ArrowLeft), pressed(egui::Key::ArrowRight))
    });
    let weeks: BTreeSet<Date> = events.iter().filter_map(|(day, ..)| Some(week_of(*day)?.0)).collect();
    let now = ctx.view.season.week.as_ref().map(|week| week.from);
    let next = match now {
        _ if back == on => None,
        None => weeks.first(),
        Some(now) if on => weeks.range(now..).find(|week| **week > now),
        Some(now) => weeks.range(..now).next_back(),
    };
    if let Some((from, to)) = next.and_then(|monday| week_of(*monday)) {
        choose(ctx, events, from, to);
    }
}

/// The week from Monday on that a day lies in.
fn week_of(day: Date) -> Option<(Date, Date)> {
    let back = i32::from(day.weekday().to_monday_zero_offset());
    let monday = day.checked_sub(jiff::Span::new().days(back)).ok()?;
    Some((monday, monday.checked_add(jiff::Span::new().days(7)).ok()?))
}

/// Filters by a week, or lets go of it when it is clicked again or when nothing happens in it.
fn choose(ctx: &Ctx<'_>, events: &[(Date, Event, FieldId)], from: Date, to: Date) {
    let mut season = ctx.view.season.clone();
    let held = season.week.take().is_some_and(|week| week.from == from);
    let fields: BTreeSet<FieldId> =
        events.iter().filter(|(day, ..)| (from..to).contains(day)).map(|(.., field)| *field).collect();
    let chosen: Vec<FieldId> = if held { Vec::new() } else { fields.iter().copied().collect() };
    if !held && !fields.is_empty() {
        season.week = Some(Week { from, to, fields });
    }
    ctx.ask(Request::SetSeason(Box::new(season)));
    ctx.ask(Request::SelectMany { fields: chosen, add: false });
}

fn small() -> FontId {
    FontId::proportional(11.0)
}

fn days(from: Date, to: Date) -> i32 {
    (to - from).get_days()
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
        week_of(known.shown.from.checked_add(jiff::Span::new().days(ahead)).ok()?)
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

/// The ripe days of a weed: its window pale, what checks say darker below. Several weeds share the height.
fn band(painter: &egui::Painter, scale: &Scale, weed: &Weed, at: usize, of: usize, tokens: &Tokens) {
    let span = |days: Days| scale.x(days.from)..=scale.x(days.to.tomorrow().unwrap_or(days.to));
    let (top, bottom) = (scale.rect.top() + 2.0, scale.base());
    let height = (bottom - top) / of as f32;
    let ys = top + height * at as f32..=top + height * (at + 1) as f32;
    let band = Rect::from_x_y_ranges(span(weed.window), ys);
    painter.rect_filled(band, 0.0, tokens.accent.gamma_multiply(0.18));
    painter.hline(band.x_range(), band.bottom() - 1.0, Stroke::new(if at == 0 { 3.0 } else { 1.6 }, tokens.accent));
    if let Some(days) = weed.checked {
        let low = band.bottom() - (height * 0.45).min(14.0)..=band.bottom();
        painter.rect_filled(Rect::from_x_y_ranges(span(days), low), 0.0, tokens.accent.gamma_multiply(0.36));
    }
    let text = if of == 1 { "seed ripe" } else { weed.name };
    if height >= 10.0 {
        painter.text(band.center_top(), Align2::CENTER_TOP, text, small(), tokens.ink);
    }
}

fn flag(painter: &egui::Painter, foot: Pos2, text: &str, tokens: &Tokens) {
    let top = foot - vec2(0.0, 26.0);
    painter.line_segment([foot, top], Stroke::new(1.2, tokens.ink));
    painter.add(Shape::convex_polygon(vec![top, top + vec2(9.0, 3.5), top + vec2(0.0, 7.0)], tokens.ink, Stroke::NONE));
    painter.text(top + vec2(12.0, 3.5), Align2::LEFT_CENTER, text, small(), tokens.ink);
}

/// Checks as open circles, rounds as ticks below the line, seed taken as dots and samples posted as small squares that rise above
/// each other.
fn marks(painter: &egui::Painter, scale: &Scale, known: &Calendar, events: &[(Date, Event, FieldId)], tokens: &Tokens) {
    let mut on: BTreeMap<(Date, Event), usize> = BTreeMap::new();
    for (day, event, _) in events.iter().filter(|(day, ..)| known.shown.contains(*day)) {
        let count = on.entry((*day, *event)).or_insert(0);
        let rise = 5.0 * (*count % 5) as f32;
        *count += 1;
        let middle = scale.x(*day) + scale.rect.width() / scale.days as f32 / 2.0;
        match event {
            Event::Checked => {
                let at = pos2(middle, scale.base() - 5.0 - rise);
                painter.circle(at, 2.4, tokens.raised, Stroke::new(1.2, tokens.ink));
            }
            Event::Taken => {
                painter.circle_filled(pos2(middle, scale.base() - 5.0 - rise), 2.2, tokens.ink);
            }
            Event::Posted => {
                let at = pos2(middle, scale.base() - 5.0 - rise);
                painter.rect_filled(Rect::from_center_size(at, vec2(4.0, 4.0)), 0.0, tokens.ink);
            }
            // One tick a day, longer with more fields.
            Event::Round => {
                let length = 3.0 + 1.2 * (*count).min(6) as f32;
                painter.vline(middle, scale.base()..=scale.base() + length, Stroke::new(2.4, tokens.ink));
            }
        }
    }
}

fn told(ctx: &Ctx<'_>, known: &Calendar, bands: &[Weed], events: &[(Date, Event, FieldId)], from: Date, to: Date) -> String {
    let mut lines = vec![format!("Week from {}", from.strftime("%A, %-d %B"))];
    let touches = |day: Date| (from..to).contains(&day);
    let meets = |days: Days| days.from < to && days.to >= from;
    for weed in bands {
        if let Some(days) = weed.checked.filter(|days| meets(*days)) {
            lines.push(format!("By checks, seed of {} is ripe in one field or another about {}.", weed.name, days.words()));
        }
        if meets(weed.window) {
            lines.push(format!("Season window of {}: about {}; look before you go.", weed.name, weed.window.words()));
        }
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
    let mut any = false;
    for (event, text) in [
        (Event::Checked, "Ripeness looked at"),
        (Event::Round, "On the rounds"),
        (Event::Taken, "Seed taken"),
        (Event::Posted, "Posted"),
    ] {
        let here = events.iter().filter(|(day, other, _)| touches(*day) && *other == event);
        let names: BTreeSet<&str> = here.filter_map(|(.., id)| ctx.facts.row(*id)).map(|row| row.name.as_str()).collect();
        if !names.is_empty() {
            any = true;
            lines.push(format!("{text}: {}.", names.into_iter().collect::<Vec<_>>().join(", ")));
        }
    }
    if any {
        lines.push("Click to show these fields only; with the keyboard here, arrows go from week to week.".into());
    }
    lines.join("\n")
}
