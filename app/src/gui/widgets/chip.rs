//! A rating, or a stage of a sample, as its letter on its colour.

use awn_core::model::{Rating, Stage};
use awn_core::rating::{Counted, RatedBy};
use egui::{Align2, Response, Role, Sense, Ui, WidgetInfo, vec2};

use crate::gui::map::{Class, stage_class, swatch};
use crate::gui::style;

/// As [`rating_chip`], and "lab" behind a rating that is the laboratory's.
pub fn counted_chip(ui: &mut Ui, counted: Option<Counted>) -> Response {
    let Some(counted) = counted.filter(|counted| counted.by.is_laboratory()) else {
        return rating_chip(ui, counted.map(|counted| counted.rating));
    };
    let rating = counted.rating;
    let (rect, response) = ui.allocate_exact_size(vec2(34.0 + LAB, 16.0), Sense::hover());
    let tokens = style::of(ui);
    swatch(ui.painter(), rect.left_center(), &Class::rating(Some(rating)), tokens);
    let lab = RatedBy::Laboratory.mark().trim();
    ui.painter().text(rect.right_center(), Align2::RIGHT_CENTER, lab, style::bold_of(11.0), tokens.ink);
    let words = format!("{}, {}: the laboratory's rating, not worked out by us", rating.label(), rating.meaning());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &words));
    response.on_hover_text(words)
}

/// Room for "lab" behind a chip, points.
pub const LAB: f32 = 20.0;

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
