//! Headings, notes, and buttons that carry an action.

use egui::{Button, Response, RichText, TextEdit, Ui};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::style;

/// Small secondary text.
pub fn small(ui: &Ui, text: impl Into<String>) -> RichText {
    RichText::new(text).size(style::SMALL).color(style::of(ui).muted)
}

/// The head of a lens panel: its name and what it is for.
pub fn head(ui: &mut Ui, title: &str, purpose: &str) {
    ui.heading(title);
    let text = small(ui, purpose);
    ui.label(text);
    ui.add_space(style::STEP);
}

/// A heading inside a panel.
pub fn section(ui: &mut Ui, title: &str) {
    ui.add_space(2.0 * style::STEP);
    ui.label(RichText::new(title).font(style::bold_of(style::BODY)));
}

/// A line of secondary text.
pub fn note(ui: &mut Ui, text: impl Into<String>) {
    let text = small(ui, text);
    ui.label(text);
}

/// A line to type in, with its name above and a hint while it is empty.
pub fn line_to_type(ui: &mut Ui, name: &str, value: &mut String, hint: &str) {
    let label = ui.label(RichText::new(name).size(style::SMALL));
    ui.add(TextEdit::singleline(value).text_color(style::of(ui).ink).hint_text(hint).desired_width(f32::INFINITY))
        .labelled_by(label.id);
}

/// One of several choices.
pub fn choice(ui: &mut Ui, chosen: bool, text: &str) -> Response {
    let text = RichText::new(text).color(style::of(ui).ink);
    ui.radio(chosen, text)
}

/// What belongs here and how to get it.
pub fn empty(ui: &mut Ui, text: &str) {
    ui.add_space(2.0 * style::STEP);
    note(ui, text);
}

/// The one next step of a lens: a button that stands out. `text` says what it will do exactly. Absent while it cannot be done.
pub fn next_step(ui: &mut Ui, ctx: &Ctx<'_>, action: Action, text: &str) {
    if !action.enabled(ctx) {
        return;
    }
    let tokens = style::of(ui);
    let label = RichText::new(text).color(tokens.ground).font(style::bold_of(style::BODY));
    let button = Button::new(label).fill(tokens.accent).min_size(egui::vec2(ui.available_width(), 8.0 * style::STEP));
    let response = ui.add(button);
    finish(ui, ctx, action, response);
    ui.add_space(style::STEP);
}

/// A plain button for an action, as long as it can be done: a lens shows what it can do, and no more.
pub fn action_button(ui: &mut Ui, ctx: &Ctx<'_>, action: Action) {
    if !action.enabled(ctx) {
        return;
    }
    let response = ui.add(Button::new(action.text()));
    finish(ui, ctx, action, response);
}

/// An entry of a menu; `text` stands in the place of the action's own.
pub fn menu_item(ui: &mut Ui, ctx: &Ctx<'_>, action: Action, text: Option<&str>) {
    let mut button = Button::new(text.unwrap_or(action.text())).frame_when_inactive(false);
    if let Some(shortcut) = action.shortcut() {
        button = button.shortcut_text(ui.ctx().format_shortcut(&shortcut));
    }
    let response = ui.add_enabled(action.enabled(ctx), button);
    if response.clicked() {
        ui.close();
    }
    finish(ui, ctx, action, response);
}

fn finish(ui: &Ui, ctx: &Ctx<'_>, action: Action, response: Response) {
    if response.clicked() {
        ctx.act(action);
    }
    let keys = action.shortcut().map(|keys| format!(" ({})", ui.ctx().format_shortcut(&keys))).unwrap_or_default();
    response.on_hover_text(format!("{}{keys}", action.tooltip()));
}
