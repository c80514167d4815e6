//! The first page: three ways to begin.

use egui::{Align, Button, Layout, RichText, Ui, vec2};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::note;

/// Shows the page.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    let tokens = style::of(ui);
    ui.painter().rect_filled(ui.max_rect(), 0.0, tokens.ground);
    let width = 480.0;
    let side = ((ui.available_width() - width) / 2.0).max(16.0);
    ui.add_space((ui.available_height() * 0.18).max(24.0));
    ui.horizontal(|ui| {
        ui.add_space(side);
        ui.vertical(|ui| {
            ui.set_max_width(width);
            ui.label(RichText::new("Awn").font(style::bold_of(style::HEADING)));
            ui.label("Plan, record and map herbicide-resistance testing of black-grass and other grass weeds.");
            ui.add_space(4.0 * style::STEP);
            for action in [Action::OpenSampleFarm, Action::StartFromBoundaries, Action::OpenProject] {
                choice(ui, ctx, action, width);
            }
            if !ctx.recent.is_empty() {
                ui.add_space(3.0 * style::STEP);
                note(ui, "Opened before");
                for path in ctx.recent {
                    let name = path.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
                    let button = Button::new(RichText::new(&name).color(tokens.accent)).frame_when_inactive(false);
                    if ui.add(button).on_hover_text(path.display().to_string()).clicked() {
                        ctx.ask(Request::Open(path.clone()));
                    }
                }
            }
            ui.add_space(4.0 * style::STEP);
            note(ui, "You can also drop a project or a boundary file on this window. Awn works without a network and keeps everything in one file of yours.");
        });
    });
}

/// A wide button with what it does under its name.
fn choice(ui: &mut Ui, ctx: &Ctx<'_>, action: Action, width: f32) {
    let tokens = style::of(ui);
    let size = vec2(width, 56.0);
    let response = ui.add(Button::new("").min_size(size));
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, action.text()));
    let inside = response.rect.shrink2(vec2(16.0, 8.0));
    let mut over = ui.new_child(egui::UiBuilder::new().max_rect(inside).layout(Layout::top_down(Align::Min)));
    over.spacing_mut().item_spacing.y = 2.0;
    let painter = over.painter();
    painter.text(inside.left_top(), egui::Align2::LEFT_TOP, action.text(), style::bold_of(style::BODY), tokens.accent);
    let below = inside.left_bottom();
    painter.text(below, egui::Align2::LEFT_BOTTOM, action.tooltip(), egui::FontId::proportional(style::SMALL), tokens.muted);
    if response.clicked() {
        ctx.act(action);
    }
}
