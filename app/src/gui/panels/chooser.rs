//! The card that asks for a file or folder where the system has no dialog for it.

use egui::{Align2, Area, Button, Frame, Id, Key, Margin, Order, RichText, ScrollArea, Stroke, TextEdit, Ui, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::dialogs::Wanted;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::chooser::Chooser;
use crate::gui::widgets::note;

/// Shows the card over everything, if it is open.
pub fn show(ui: &Ui, ctx: &Ctx<'_>, over: egui::Rect) {
    let Some(held) = &ctx.view.chooser else { return };
    let mut next = (**held).clone();
    let mut done = None;
    let at = over.center_top() + vec2(0.0, 24.0);
    let area = Area::new(Id::unique("choose a file")).order(Order::Foreground).pivot(Align2::CENTER_TOP).fixed_pos(at);
    area.show(ui.ctx(), |ui| {
        let tokens = style::of(ui);
        let frame = Frame::new().fill(tokens.raised).stroke(Stroke::new(1.0, tokens.ink)).corner_radius(2.0);
        frame.inner_margin(Margin::same(12)).show(ui, |ui| {
            ui.set_width((over.width() - 64.0).clamp(240.0, 560.0));
            ui.label(RichText::new(next.asked.title.as_str()).font(style::bold_of(style::BODY)));
            note(ui, what(&next));
            let entered = line(ui, &mut next);
            list(ui, &mut next, over.height());
            let answer = next.answer();
            match &answer {
                Err(missing) => note(ui, missing),
                Ok(_) if next.replaces() => {
                    ui.label(RichText::new("A file of this name is there; it will be replaced.").color(tokens.warn));
                }
                Ok(_) => {}
            }
            ui.horizontal(|ui| {
                let word = match next.asked.wanted {
                    Wanted::Open | Wanted::OpenMany => "Open",
                    Wanted::Save(_) => "Save",
                    Wanted::Folder(_) => "Use this folder",
                };
                if let Ok(path) = answer {
                    let label = RichText::new(word).color(tokens.ground).font(style::bold_of(style::BODY));
                    let pressed = ui.add(Button::new(label).fill(tokens.accent).min_size(vec2(96.0, 28.0))).clicked();
                    done = (pressed || entered).then_some(path);
                }
                if ui.button("Cancel").on_hover_text("Close without choosing (Escape).").clicked() {
                    ctx.ask(Request::SetChooser(None));
                }
            });
        });
    });
    if let Some(path) = done {
        ctx.ask(Request::Chosen(next.question, path));
    } else if next != **held {
        ctx.ask(Request::SetChooser(Some(Box::new(next))));
    }
}

fn what(chooser: &Chooser) -> String {
    let endings = chooser.asked.endings.join(", ");
    match chooser.asked.wanted {
        Wanted::Open | Wanted::OpenMany => format!("Type the place or choose from the list: {endings}."),
        Wanted::Save(_) => format!("Type where to keep it. Its ending says how it is written: {endings}."),
        Wanted::Folder(_) => "Type a folder or choose one; one that is not there is made.".to_owned(),
    }
}

/// The line with the place; true if Enter was pressed in it.
fn line(ui: &mut Ui, next: &mut Chooser) -> bool {
    let id = Id::unique("place of the file");
    let is_first = ui.memory(|memory| !memory.had_focus_last_frame(id)) && ui.memory(|memory| memory.focused().is_none());
    let before = next.text.clone();
    let edit = TextEdit::singleline(&mut next.text).text_color(style::of(ui).ink).desired_width(f32::INFINITY).id(id);
    let response = ui.add(edit);
    response.widget_info(|| {
        let info = egui::WidgetInfo::text_edit(true, &before, &next.text, "");
        egui::WidgetInfo { label: Some("Place of the file".into()), ..info }
    });
    if is_first {
        response.request_focus();
    }
    response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter))
}

fn list(ui: &mut Ui, next: &mut Chooser, room: f32) {
    let mut text = None;
    ScrollArea::vertical().max_height((room - 220.0).clamp(80.0, 320.0)).auto_shrink([false, true]).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        let mut entry = |ui: &mut Ui, name: &str, to: String| {
            let label = RichText::new(name).color(style::of(ui).ink);
            let button = Button::new(label).frame_when_inactive(false).truncate();
            if ui.add(button.min_size(vec2(ui.available_width(), style::ROW))).clicked() {
                text = Some(to);
            }
        };
        if let Some(up) = next.up() {
            entry(ui, "Folder above", up);
        }
        for known in next.shown() {
            let name = if known.is_folder { format!("{}/", known.name) } else { known.name.clone() };
            entry(ui, &name, next.with(known));
        }
    });
    if let Some(text) = text {
        next.text = text;
    }
}
