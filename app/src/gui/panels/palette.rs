//! The list of actions: type a part of what you want to do, and press Enter.

use egui::{Align2, Area, Frame, Id, Key, Margin, Order, RichText, ScrollArea, Stroke, TextEdit, Ui, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::palette::{Found, Palette, found};
use crate::gui::widgets::{note, small};

/// Shows the list over everything, if it is open.
pub fn show(ui: &Ui, ctx: &Ctx<'_>, over: egui::Rect) {
    let Some(held) = &ctx.view.palette else { return };
    let list = found(ctx, &held.text);
    let mut next = held.clone();
    let (up, down, enter, escape) = ui.input_mut(|input| {
        let mut pressed = |key| input.consume_key(egui::Modifiers::NONE, key);
        (pressed(Key::ArrowUp), pressed(Key::ArrowDown), pressed(Key::Enter), pressed(Key::Escape))
    });
    next.at = next.at.min(list.len().saturating_sub(1));
    if down && next.at + 1 < list.len() {
        next.at += 1;
    }
    if up {
        next.at = next.at.saturating_sub(1);
    }
    let mut run = enter.then(|| list.get(next.at).cloned()).flatten();
    let at = over.center_top() + vec2(0.0, 24.0);
    let area = Area::new(Id::unique("actions")).order(Order::Foreground).pivot(Align2::CENTER_TOP).fixed_pos(at);
    let shown = area.show(ui.ctx(), |ui| {
        let tokens = style::of(ui);
        let frame = Frame::new().fill(tokens.raised).stroke(Stroke::new(1.0, tokens.ink)).corner_radius(2.0);
        frame.inner_margin(Margin::same(12)).show(ui, |ui| {
            ui.set_width((over.width() - 64.0).clamp(240.0, 480.0));
            let edit =
                TextEdit::singleline(&mut next.text).hint_text("What do you want to do?").desired_width(f32::INFINITY);
            let response = ui.add(edit);
            response.widget_info(|| {
                let info = egui::WidgetInfo::text_edit(true, &held.text, &next.text, "");
                egui::WidgetInfo { label: Some("Find an action".into()), ..info }
            });
            response.request_focus();
            if list.is_empty() {
                note(ui, "Nothing of that name can be done now.");
            }
            ScrollArea::vertical().max_height(280.0).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = 0.0;
                for (number, line) in list.iter().enumerate() {
                    let response = row(ui, line, number == next.at);
                    if number == next.at && (up || down) {
                        response.scroll_to_me(None);
                    }
                    if response.clicked() {
                        run = Some(line.clone());
                    }
                }
            });
        });
    });
    if next.text != held.text {
        next.at = 0;
    }
    let outside = ui.input(|input| input.pointer.any_pressed()) && !shown.response.contains_pointer();
    if let Some(line) = run {
        ctx.ask(Request::SetPalette(None));
        match line {
            Found::Action(action) => ctx.act(action),
            Found::Field(field, _) => {
                ctx.ask(Request::Select { field: Some(field), add: false, scroll: true });
                ctx.ask(Request::ZoomTo(field));
            }
        }
    } else if escape || outside {
        ctx.ask(Request::SetPalette(None));
    } else if next != *held {
        ctx.ask(Request::SetPalette(Some(Palette { ..next })));
    }
}

fn row(ui: &mut Ui, line: &Found, marked: bool) -> egui::Response {
    let (name, keys, tip) = match line {
        Found::Action(action) => {
            let keys = action.shortcut().map(|keys| ui.ctx().format_shortcut(&keys)).unwrap_or_default();
            (action.text().to_owned(), keys, action.tooltip())
        }
        Found::Field(_, name) => (format!("Go to {name}"), String::new(), "Choose this field and zoom to it."),
    };
    let tokens = style::of(ui);
    let button = egui::Button::new(RichText::new(name).color(tokens.ink));
    let button = if keys.is_empty() { button } else { button.right_text(small(ui, keys)) };
    let button = button.frame_when_inactive(marked).min_size(vec2(ui.available_width(), style::ROW));
    ui.add(button).on_hover_text(tip)
}
