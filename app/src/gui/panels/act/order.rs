//! The order in which to harvest and cultivate, cleanest first.

use awn_core::act::{Block, Place};
use egui::{RichText, Ui};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{action_button, note, rating_chip, section, small};

/// Shows the list.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    note(
        ui,
        "Harvest and cultivate in this order, so that machines carry as little resistant seed as they can into clean land. Clean them \
         down between the parts. Ripeness, weather and the ground decide as well.",
    );
    let Some(order) = ctx.field_order.filter(|order| order.year == ctx.view.year) else {
        note(ui, "Working it out…");
        return;
    };
    action_button(ui, ctx, Action::SaveOrder);
    for (farm, places) in &order.farms {
        section(ui, farm);
        let mut block: Option<Block> = None;
        for (number, place) in (1..).zip(places) {
            if block != Some(place.block) {
                block = Some(place.block);
                ui.add_space(style::STEP);
                note(ui, place.block.label());
            }
            one(ui, ctx, number, place);
        }
    }
}

fn one(ui: &mut Ui, ctx: &Ctx<'_>, number: usize, place: &Place) {
    let name = ctx.facts.row(place.field).map_or("", |row| row.name.as_str());
    let chosen = ctx.view.selected.contains(&place.field);
    ui.horizontal(|ui| {
        let text = small(ui, format!("{number:>2}"));
        ui.add_sized([22.0, 20.0], egui::Label::new(text));
        if place.worst.is_some() {
            rating_chip(ui, place.worst);
        } else {
            let text = small(ui, "n.t.");
            ui.add_sized([34.0, 20.0], egui::Label::new(text)).on_hover_text("Never tested: nothing is known.");
        }
        let label = ui.selectable_label(chosen, RichText::new(name).size(style::SMALL)).on_hover_text(&place.reason);
        if label.clicked() {
            ctx.ask(Request::Select { field: Some(place.field), add: false, scroll: true });
        }
        let reason = RichText::new(&place.reason).size(style::SMALL).color(style::of(ui).muted);
        ui.add(egui::Label::new(reason).truncate());
    });
}
