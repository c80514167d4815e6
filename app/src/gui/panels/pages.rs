//! The pages of the report, one below the other in the place of the map; those in view are drawn, and the ones before stand until
//! new ones are there.

use egui::{Rect, ScrollArea, Sense, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::report::ReportPages;

/// Space between pages and around them.
const GAP: f32 = 16.0;
/// Pages are never shown wider than this, points: as large as A4 on paper, nearly.
const WIDEST: f32 = 860.0;

/// Shows the pages in the space that is left.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, pages: &ReportPages) {
    let tokens = style::of(ui);
    let rect = ui.available_rect_before_wrap();
    ui.painter().rect_filled(rect, 0.0, tokens.ground);
    let Some(report) = &pages.report else {
        let words = pages.wrong.clone().unwrap_or_else(|| "Setting the report…".to_owned());
        ui.centered_and_justified(|ui| ui.label(words));
        return;
    };
    if let Some(wrong) = &pages.wrong {
        egui::Frame::new().fill(tokens.raised).inner_margin(8.0).show(ui, |ui| ui.colored_label(tokens.warn, wrong));
    }
    let mut lacking = Vec::new();
    ScrollArea::vertical().id_salt("pages").auto_shrink(false).show(ui, |ui| {
        let width = (ui.available_width() - 2.0 * GAP).clamp(120.0, WIDEST);
        ui.spacing_mut().item_spacing = Vec2::ZERO;
        ui.add_space(GAP);
        for page in 0..report.pages.count() {
            let Some((wide, high)) = report.pages.size(page) else { continue };
            let size = vec2(ui.available_width(), width * (high / wide) as f32 + GAP);
            let (room, response) = ui.allocate_exact_size(size, Sense::hover());
            response.widget_info(|| WidgetInfo::labeled(egui::Role::Image, true, format!("Page {}", page + 1)));
            let sheet = Rect::from_min_size(pos2(room.center().x - width / 2.0, room.top()), vec2(width, size.y - GAP));
            if !ui.is_rect_visible(sheet) {
                continue;
            }
            if pages.lacks(page) {
                lacking.push(page);
            }
            let painter = ui.painter();
            match pages.pictures.get(&page) {
                Some((_, picture)) => {
                    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
                    painter.image(picture.texture(ui.ctx()).id(), sheet, whole, style::DATA_PAPER);
                }
                None => drop(painter.rect_filled(sheet, 0.0, style::DATA_PAPER)),
            }
            painter.rect_stroke(sheet, 0.0, Stroke::new(1.0, tokens.line), StrokeKind::Outside);
        }
    });
    if !lacking.is_empty() && lacking.iter().any(|page| !pages.asked.contains(page)) {
        ctx.ask(Request::DrawPages(lacking));
    }
}
