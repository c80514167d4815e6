//! What is being done and what has finished, as small cards over the map.

use egui::{Align2, Area, Frame, Id, Margin, Order, ProgressBar, RichText, Stroke, Ui, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::jobs::kind::JobKind;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{Icon, icon_button};

/// Shows jobs and messages above the lower edge of the window.
pub fn show(ui: &Ui, ctx: &Ctx<'_>, over: egui::Rect) {
    if ctx.jobs.is_empty() && ctx.toasts.is_empty() {
        return;
    }
    let at = over.center_bottom() - vec2(0.0, 40.0);
    Area::new(Id::unique("notices")).order(Order::Foreground).pivot(Align2::CENTER_BOTTOM).fixed_pos(at).show(
        ui.ctx(),
        |ui| {
            ui.spacing_mut().item_spacing.y = style::STEP;
            for job in ctx.jobs {
                card(ui, over.width(), |ui| {
                    ui.label(&job.title);
                    ui.add(ProgressBar::new(job.part.unwrap_or(0.0)).desired_width(120.0).desired_height(8.0));
                    if job.kind != JobKind::Write
                        && ui.button("Stop").on_hover_text("Stop this work; nothing is changed.").clicked()
                    {
                        ctx.ask(Request::Cancel(job.kind));
                    }
                });
            }
            for toast in ctx.toasts {
                card(ui, over.width(), |ui| {
                    let tokens = style::of(ui);
                    let colour = if toast.failed { tokens.bad } else { tokens.ink };
                    let text = RichText::new(&toast.text).color(colour);
                    ui.scope(|ui| {
                        ui.set_max_width((over.width() - 120.0).clamp(120.0, 560.0));
                        ui.add(egui::Label::new(text).wrap());
                    });
                    if icon_button(ui, Icon::Close, "Close this message", true).clicked() {
                        ctx.ask(Request::DismissToast(toast.id));
                    }
                });
            }
        },
    );
}

fn card(ui: &mut Ui, width: f32, add: impl FnOnce(&mut Ui)) {
    let tokens = style::of(ui);
    Frame::new()
        .fill(tokens.raised)
        .stroke(Stroke::new(1.0, tokens.ink))
        .corner_radius(2.0)
        .inner_margin(Margin::symmetric(12, 4))
        .show(ui, |ui| {
            ui.set_max_width((width - 48.0).clamp(160.0, 640.0));
            ui.horizontal(add);
        });
}
