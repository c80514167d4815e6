//! A rating, or a stage of a sample, as its letter on its colour.

use awn_core::model::{Rating, Stage};
use egui::{Response, Role, Sense, Ui, WidgetInfo, vec2};

use crate::gui::map::{Class, stage_class, swatch};
use crate::gui::style;

/// Shows a rating, or hatching for "never tested".
pub fn rating_chip(ui: &mut Ui, rating: Option<Rating>) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(34.0, 16.0), Sense::hover());
    swatch(ui.painter(), rect.left_center(), &Class::rating(rating), style::of(ui));
    let words = rating.map_or("never tested".to_owned(), |rating| format!("{}, {}", rating.label(), rating.meaning()));
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &words));
    response.on_hover_text(words)
}

/// Shows the stage of a sample.
pub fn stage_chip(ui: &mut Ui, stage: Stage) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(34.0, 16.0), Sense::hover());
    swatch(ui.painter(), rect.left_center(), &stage_class(stage), style::of(ui));
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, stage.meaning()));
    response.on_hover_text(stage.meaning())
}
