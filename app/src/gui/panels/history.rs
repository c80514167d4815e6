//! Every change of the project, newest first; a click goes back to it, or forward again.

use egui::{RichText, ScrollArea, Ui};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{Icon, icon_button, note, small};

/// Shows the list.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    let (steps, done) = ctx.history;
    ui.horizontal(|ui| {
        ui.label(RichText::new("History").font(style::bold_of(style::BODY)));
        let said = small(ui, format!("{} of {}", done, awn_core::units::count(steps.len(), "step")));
        ui.label(said);
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if icon_button(ui, Icon::Close, "Close the history", true).clicked() {
                ctx.ask(Request::ShowHistory(false));
            }
        });
    });
    if steps.is_empty() {
        note(ui, "Nothing was changed yet.");
        return;
    }
    note(
        ui,
        "Click a step to have the project as it was after it. Later steps stay in the list until something new is done.",
    );
    ScrollArea::vertical().id_salt("history").auto_shrink(false).show_rows(ui, style::ROW, steps.len() + 1, |ui, rows| {
        for row in rows {
            // Newest first; the last line is the project before every step.
            let after = steps.len() - row;
            line(ui, ctx, after, done);
        }
    });
}

fn line(ui: &mut Ui, ctx: &Ctx<'_>, after: usize, done: usize) {
    let tokens = style::of(ui);
    let step = after.checked_sub(1).and_then(|at| ctx.history.0.get(at));
    let name = step.map_or("As it was first", |(name, _)| name);
    let colour = if after > done { tokens.muted } else { tokens.ink };
    let text = RichText::new(name).color(colour);
    let text = if after == done { text.font(style::bold_of(style::BODY)) } else { text };
    let made = small(ui, step.map_or(String::new(), |(_, made)| day_and_hour(made)));
    let button = egui::Button::new(text).right_text(made).frame_when_inactive(false);
    let response = ui.add_enabled(ctx.can_write(), button.min_size(egui::vec2(ui.available_width(), style::ROW)));
    let tip = match after.cmp(&done) {
        std::cmp::Ordering::Equal => "The project is here.",
        std::cmp::Ordering::Less => "Go back to here.",
        std::cmp::Ordering::Greater => "Taken back. Do again up to here.",
    };
    if response.on_hover_text(tip).clicked() {
        ctx.ask(Request::GoToStep(after));
    }
}

/// "2026-11-25T13:40:11Z" as "25 November 2026, 13:40", in the time zone of the machine where it is known.
fn day_and_hour(made: &str) -> String {
    let at: Option<jiff::Timestamp> = made.parse().ok();
    at.map_or_else(
        || made.to_owned(),
        |at| at.to_zoned_datetime(jiff::tz::TimeZone::system()).strftime("%-d %B %Y, %H:%M").to_string(),
    )
}
