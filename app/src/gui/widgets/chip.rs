//! A rating as its letter on its colour.

use awn_core::model::Rating;
use egui::{Response, Role, Sense, Ui, WidgetInfo, vec2};

use crate::gui::map::{Class, Over, swatch};
use crate::gui::style;

/// Shows a rating, or hatching for "never tested".
pub fn rating_chip(ui: &mut Ui, rating: Option<Rating>) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(30.0, 16.0), Sense::hover());
    let class = Class {
        name: String::new(),
        letter: rating.map(|rating| rating.label().to_owned()).unwrap_or_default(),
        fill: rating.map(style::rating_colour),
        over: if rating.is_some() { Over::Nothing } else { Over::Unknown },
        rank: 0,
    };
    swatch(ui.painter(), rect.left_center(), &class, style::of(ui));
    let words = rating.map_or("never tested".to_owned(), |rating| format!("{}, {}", rating.label(), rating.meaning()));
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &words));
    response.on_hover_text(words)
}
