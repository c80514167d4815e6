//! A rating as its letter on its colour.

use awn_core::model::Rating;
use egui::{Response, Role, Sense, Ui, WidgetInfo, vec2};

use crate::gui::map::{Class, swatch};
use crate::gui::style;

/// Shows a rating, or hatching for "never tested".
pub fn rating_chip(ui: &mut Ui, rating: Option<Rating>) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(34.0, 16.0), Sense::hover());
    swatch(ui.painter(), rect.left_center(), &Class::rating(rating), style::of(ui));
    let words = rating.map_or("never tested".to_owned(), |rating| format!("{}, {}", rating.label(), rating.meaning()));
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &words));
    response.on_hover_text(words)
}
