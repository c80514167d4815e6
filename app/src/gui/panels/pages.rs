//! The pages of the report, one below the other in the place of the map; those in view are drawn, and the ones before stand until
//! new ones are there.

use egui::{Id, Key, Modifiers, Rect, ScrollArea, Sense, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::report::ReportPages;
use crate::gui::widgets::{Icon, icon_button_with};

/// Space between pages and around them.
const GAP: f32 = 16.0;
/// Pages are never shown wider than this, points: as large as A4 on paper, nearly.
const WIDEST: f32 = 860.0;
/// What a key turns of what is in view, so that a line or two stay to go on from.
const TURN: f32 = 0.9;

/// Where the pages stood in the last frame.
#[derive(Debug, Clone, Default)]
struct Stand {
    /// How far they are scrolled.
    offset: f32,
    /// Height of what is in view.
    view: f32,
    /// Tops of the pages.
    tops: Vec<f32>,
}

impl Stand {
    /// The page in the middle of the view, counted from 0.
    fn page(&self) -> usize {
        let middle = self.offset + self.view / 2.0;
        self.tops.iter().rposition(|top| *top <= middle).unwrap_or(0)
    }

    /// Where a page begins, or the first or last if there is no such page.
    fn top(&self, page: usize) -> f32 {
        self.tops.get(page).or(self.tops.last()).copied().unwrap_or(0.0) - GAP / 2.0
    }

    /// A view farther down: to the end of a page first, then to the next page.
    fn down(&self) -> f32 {
        let next = self.tops.iter().map(|top| top - GAP / 2.0).find(|top| *top > self.offset + 1.0);
        next.unwrap_or(f32::INFINITY).min(self.offset + TURN * self.view)
    }

    /// A view farther up: to the top of the page first.
    fn up(&self) -> f32 {
        let before = self.tops.iter().map(|top| top - GAP / 2.0).rfind(|top| *top < self.offset - 1.0);
        before.unwrap_or(0.0).max(self.offset - TURN * self.view).max(0.0)
    }
}

/// The number of the page in view with buttons to turn pages; gives where to go, by them or by keys.
fn turned(ui: &mut Ui, stand: &Stand, count: usize) -> Option<f32> {
    let tokens = style::of(ui);
    let page = stand.page();
    let mut to = None;
    let frame = egui::Frame::new().fill(tokens.panel).inner_margin(egui::Margin::symmetric(16, 2));
    frame.show(ui, |ui| {
        ui.horizontal(|ui| {
            let tip = "Page before (keys: Page Up, Home)";
            if icon_button_with(ui, Icon::Back, "Page before", tip, page > 0).clicked() {
                to = Some(stand.top(page.saturating_sub(1)));
            }
            ui.label(format!("Page {} of {count}", page + 1));
            let tip = "Next page (keys: Page Down, End)";
            if icon_button_with(ui, Icon::Forward, "Next page", tip, page + 1 < count).clicked() {
                to = Some(stand.top(page + 1));
            }
            ui.allocate_space(vec2(ui.available_width(), 0.0));
        });
    });
    // Keys that move in a text belong to it while one is typed.
    if ui.memory(|memory| memory.focused().is_some()) {
        return to;
    }
    ui.input_mut(|input| {
        for (key, there) in [
            (Key::PageDown, stand.down()),
            (Key::PageUp, stand.up()),
            (Key::Home, 0.0),
            (Key::End, stand.top(count.saturating_sub(1))),
        ] {
            if input.consume_key(Modifiers::NONE, key) {
                to = Some(there);
            }
        }
    });
    to
}

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
    let id = Id::unique("where the pages of the report stand");
    let stand: Stand = ui.data(|data| data.get_temp(id)).unwrap_or_default();
    let mut lacking = Vec::new();
    let mut tops = Vec::new();
    ui.spacing_mut().item_spacing.y = 0.0;
    let to = turned(ui, &stand, report.pages.count());
    let mut area = ScrollArea::vertical().id_salt("pages").auto_shrink(false);
    if let Some(to) = to {
        area = area.vertical_scroll_offset(to.max(0.0));
        ui.ctx().request_repaint();
    }
    let shown = area.show(ui, |ui| {
        let start = ui.cursor().top();
        let width = (ui.available_width() - 2.0 * GAP).clamp(120.0, WIDEST);
        ui.spacing_mut().item_spacing = Vec2::ZERO;
        ui.add_space(GAP);
        for page in 0..report.pages.count() {
            let Some((wide, high)) = report.pages.size(page) else { continue };
            let size = vec2(ui.available_width(), width * (high / wide) as f32 + GAP);
            let (room, response) = ui.allocate_exact_size(size, Sense::hover());
            response.widget_info(|| WidgetInfo::labeled(egui::Role::Image, true, format!("Page {}", page + 1)));
            tops.push(room.top() - start);
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
    let stand = Stand { offset: shown.state.clamped_offset().y, view: shown.inner_rect.height(), tops };
    ui.data_mut(|data| data.insert_temp(id, stand));
    if !lacking.is_empty() && lacking.iter().any(|page| !pages.asked.contains(page)) {
        ctx.ask(Request::DrawPages(lacking));
    }
}
