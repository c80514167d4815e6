//! Text changed in place: it is kept when the cursor leaves it, so that one visit is one step of the history.

use egui::{Id, TextEdit, Ui, WidgetInfo};

/// A field of text that shows `held`; gives what was typed once the cursor leaves it and it is different.
pub fn typed(
    ui: &mut Ui,
    key: impl std::hash::Hash + std::fmt::Debug,
    name: &str,
    held: &str,
    lines: usize,
    hint: &str,
) -> Option<String> {
    let id = Id::unique(("typed", name)).with(key);
    let before: Option<String> = ui.data(|data| data.get_temp(id)).flatten();
    let mut text = before.unwrap_or_else(|| held.to_owned());
    let edit = if lines > 1 { TextEdit::multiline(&mut text).desired_rows(lines) } else { TextEdit::singleline(&mut text) };
    let edit = edit
        .text_color(crate::gui::style::of(ui).ink)
        .hint_text(hint)
        .desired_width(ui.available_width())
        .id(id.with("edit"));
    let response = ui.add(edit);
    response.widget_info(|| {
        let info = WidgetInfo::text_edit(true, held, &text, hint);
        WidgetInfo { label: Some(name.to_owned()), ..info }
    });
    let escaped = response.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Escape));
    let keep = response.has_focus().then(|| text.clone());
    ui.data_mut(|data| data.insert_temp(id, keep));
    (response.lost_focus() && !escaped && text.trim() != held.trim()).then(|| text.trim().to_owned())
}
