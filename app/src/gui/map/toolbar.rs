//! The column of buttons at the right edge of the map, and beside it the card of layers.

use egui::{Area, Frame, Id, Margin, Order, Rect, ScrollArea, Slider, Stroke, TextEdit, Ui, vec2};

use crate::backdrop::{Background, Server};
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::aim::Aim;
use crate::gui::view::layers::Layer;
use crate::gui::view::tool::Tool;
use crate::gui::widgets::{Icon, action_button, icon_button, icon_button_with, note};

const SIDE: f32 = 12.0;

/// Shows the buttons; gives the place they cover.
pub fn show(ui: &Ui, map: Rect, ctx: &Ctx<'_>) -> Rect {
    let tokens = style::of(ui);
    let card = || {
        let frame = Frame::new().fill(tokens.raised).stroke(Stroke::new(1.0, tokens.line)).corner_radius(2.0);
        frame.inner_margin(Margin::same(2))
    };
    let area = |name| Area::new(Id::unique(name)).order(Order::Middle).movable(false).constrain(false);
    let corner = map.right_top() + vec2(-SIDE, SIDE);
    let column = area("map tools").pivot(egui::Align2::RIGHT_TOP).fixed_pos(corner).show(ui.ctx(), |ui| {
        card().show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            buttons(ui, ctx);
        });
    });
    let mut covered = column.response.rect;
    if ctx.view.layers_open {
        let at = covered.left_top() - vec2(style::STEP, 0.0);
        let shown = area("layers").pivot(egui::Align2::RIGHT_TOP).fixed_pos(at).show(ui.ctx(), |ui| {
            card().inner_margin(Margin::symmetric(12, 8)).show(ui, |ui| {
                let room = (map.height() - 64.0).max(120.0);
                ScrollArea::vertical().id_salt("layers").max_height(room).show(ui, |ui| layers(ui, ctx));
            });
        });
        covered = covered.union(shown.response.rect);
    }
    covered
}

fn buttons(ui: &mut Ui, ctx: &Ctx<'_>) {
    for (icon, action) in [
        (Icon::Plus, Action::ZoomIn),
        (Icon::Minus, Action::ZoomOut),
        (Icon::Whole, Action::ZoomToAll),
        (Icon::Measure, Action::Measure),
        (Icon::Rectangle, Action::ChooseRectangle),
        (Icon::Outline, Action::ChooseOutline),
        (Icon::Layers, Action::ShowLayers),
    ] {
        // What cannot be done yet is absent, as in the lenses.
        if !action.enabled(ctx) {
            continue;
        }
        let at_work = match action {
            Action::Measure => matches!(ctx.view.tool, Tool::Aim(Aim::Measure(_))),
            Action::ChooseRectangle => matches!(ctx.view.tool, Tool::Aim(Aim::Rectangle { .. })),
            Action::ChooseOutline => matches!(ctx.view.tool, Tool::Aim(Aim::Outline(_))),
            Action::ShowLayers => ctx.view.layers_open,
            _ => false,
        };
        let keys = action.shortcut().map(|keys| format!(" ({})", ui.ctx().format_shortcut(&keys))).unwrap_or_default();
        let tip = format!("{}{keys}", action.tooltip());
        let response = icon_button_with(ui, icon, action.text(), &tip, true);
        if at_work {
            let stroke = Stroke::new(1.6, style::of(ui).accent);
            ui.painter().rect_stroke(response.rect.shrink(1.0), 2.0, stroke, egui::StrokeKind::Inside);
        }
        let clicked = response.clicked();
        if clicked && at_work && action != Action::ShowLayers {
            ctx.ask(Request::SetTool(Tool::Choose));
        } else if clicked {
            ctx.act(action);
        }
    }
}

fn layers(ui: &mut Ui, ctx: &Ctx<'_>) {
    ui.spacing_mut().item_spacing = vec2(style::STEP, style::STEP);
    ui.label(egui::RichText::new("Layers").font(style::bold_of(style::BODY)));
    note(ui, format!("As shown in {}; the upper cover the lower.", lens_name(ctx)));
    let mut list = ctx.view.layers.clone();
    let lens = ctx.view.lens;
    for layer in ctx.view.layers.order.iter().rev().copied() {
        ui.horizontal(|ui| {
            if icon_button(ui, Icon::Up, &format!("Move {} up", lower(layer)), list.order.last() != Some(&layer)).clicked() {
                list.shift(layer, 1);
            }
            if icon_button(ui, Icon::Down, &format!("Move {} down", lower(layer)), list.order.first() != Some(&layer))
                .clicked()
            {
                list.shift(layer, -1);
            }
            let mut shown = list.shows(lens, layer);
            let text = egui::RichText::new(layer.label()).size(style::SMALL).color(style::of(ui).ink);
            ui.allocate_ui(vec2(160.0, 24.0), |ui| {
                ui.set_min_width(160.0);
                if ui.checkbox(&mut shown, text).changed() {
                    list.set_shown(lens, layer, shown);
                }
            });
            let mut percent = (list.opacity(layer) * 100.0).round();
            ui.spacing_mut().slider_width = 64.0;
            if !shown {
                return;
            }
            // On a raised card its rail has to be seen.
            ui.visuals_mut().widgets.inactive.bg_fill = style::of(ui).line;
            let slider = ui.add(Slider::new(&mut percent, 0.0..=100.0).suffix(" %").integer());
            let slider = slider.accessible_name(format!("Opacity of {}", lower(layer)));
            if slider.changed() {
                list.set_opacity(layer, percent / 100.0);
            }
        });
    }
    let text = egui::RichText::new("A pattern for every class").size(style::SMALL).color(style::of(ui).ink);
    ui.checkbox(&mut list.patterns, text).on_hover_text(
        "Level lines besides colour and letter, the closer the worse, where no other pattern says something else.",
    );
    if list != ctx.view.layers {
        ctx.ask(Request::SetLayers(list));
    }
    ui.separator();
    background(ui, ctx);
}

fn lens_name(ctx: &Ctx<'_>) -> &'static str {
    let of = |action: Action| (action.lens() == Some(ctx.view.lens)).then(|| action.text());
    Action::ALL.iter().copied().find_map(of).unwrap_or_default()
}

fn lower(layer: Layer) -> String {
    crate::gui::document::lower_first(layer.label())
}

/// What lies under the fields, and how to put something else there.
fn background(ui: &mut Ui, ctx: &Ctx<'_>) {
    ui.label(egui::RichText::new("Background").font(style::bold_of(style::BODY)));
    note(ui, format!("Now: {}", ctx.view.background.label()));
    ui.horizontal(|ui| {
        action_button(ui, ctx, Action::OpenBackground);
        if ctx.view.background != Background::Ground && ui.button("None").clicked() {
            ctx.ask(Request::SetBackground(Background::Ground));
        }
    });
    note(ui, "A tile server is asked only after you have named one here.");
    let id = Id::unique("tile server being typed");
    let mut server: Server = ui.data(|data| data.get_temp(id)).unwrap_or_default();
    let line = |ui: &mut Ui, text: &mut String, hint: &str, name: &str| {
        let response = ui.add(TextEdit::singleline(text).hint_text(hint).desired_width(320.0));
        response.accessible_name(name);
    };
    line(ui, &mut server.address, "https://…/{z}/{x}/{y}.png", "Address of the tile server");
    line(ui, &mut server.credit, "Whose map it is, for the line on the map", "Whose map it is");
    let fault = server.fault();
    ui.horizontal(|ui| {
        if fault.is_none() && ui.button("Use this server").clicked() {
            ctx.ask(Request::SetBackground(Background::Server(server.clone())));
        }
    });
    if let Some(fault) = fault.filter(|_| !server.address.is_empty()) {
        note(ui, fault);
    }
    ui.data_mut(|data| data.insert_temp(id, server));
}
