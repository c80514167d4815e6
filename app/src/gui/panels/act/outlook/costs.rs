//! Prices, yields and costs: the user's own figures.

use awn_core::act::outlook::crops::crops;
use awn_core::model::{CropMoney, Cultivation, OutlookSettings, Records, same_name};
use egui::{DragValue, Grid, RichText, Ui};

use super::{show_view, wish};
use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::view::outlook::{OutlookView, OutlookWish};
use crate::gui::widgets::{note, small};

/// Shows the form.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, held: &OutlookSettings) {
    let mut settings = held.clone();
    note(ui, "What is 0 or not given is not counted, and that is said beside the figures.");
    Grid::new("crop money").num_columns(3).spacing([12.0, 4.0]).show(ui, |ui| {
        for name in ["Crop", "Price a tonne", "Tonnes a hectare"] {
            ui.label(small(ui, name));
        }
        ui.end_row();
        for crop in used(ctx.records) {
            let at = settings.crops.iter().position(|priced| same_name(&priced.crop, crop));
            let mut money = at.map_or_else(
                || CropMoney { crop: crop.to_owned(), price_per_t: 0.0, yield_t_per_ha: 0.0 },
                |at| settings.crops[at].clone(),
            );
            let before = money.clone();
            let label = ui.label(crop).id;
            ui.add(DragValue::new(&mut money.price_per_t).range(0.0..=5000.0).speed(1.0).max_decimals(2)).labelled_by(label);
            ui.add(DragValue::new(&mut money.yield_t_per_ha).range(0.0..=100.0).speed(0.1).max_decimals(2))
                .labelled_by(label);
            ui.end_row();
            if money != before {
                settings.crops.retain(|priced| !same_name(&priced.crop, crop));
                if money.price_per_t > 0.0 || money.yield_t_per_ha > 0.0 {
                    settings.crops.push(money);
                }
            }
        }
    });
    ui.add_space(style::STEP);
    Grid::new("costs").num_columns(2).spacing([12.0, 4.0]).show(ui, |ui| {
        for cultivation in Cultivation::ALL {
            let mut cost = settings.cultivation_cost.get(cultivation).copied().unwrap_or(0.0);
            let label = ui.label(format!("{}, a hectare", cultivation.name())).id;
            let drag = ui.add(DragValue::new(&mut cost).range(0.0..=2000.0).speed(1.0).max_decimals(2)).labelled_by(label);
            if drag.changed() {
                settings.cultivation_cost.insert(*cultivation, cost);
            }
            ui.end_row();
        }
        for (name, value) in [
            ("Spraying off, a hectare", &mut settings.spray_off_per_ha),
            ("Plants pulled in an hour", &mut settings.pulled_per_hour),
            ("An hour costs", &mut settings.hour_cost),
        ] {
            let label = ui.label(name).id;
            let mut amount = value.unwrap_or(0.0);
            let drag =
                ui.add(DragValue::new(&mut amount).range(0.0..=10_000.0).speed(1.0).max_decimals(2)).labelled_by(label);
            if drag.changed() {
                *value = (amount > 0.0).then_some(amount);
            }
            ui.end_row();
        }
    });
    for wrong in &ctx.view.outlook.wrong {
        ui.label(RichText::new(wrong).color(style::of(ui).bad).size(style::SMALL));
    }
    ui.horizontal(|ui| {
        if ui.button("Keep prices and costs").clicked() {
            wish(ctx, OutlookWish::KeepCosts(Box::new(settings.clone())));
        }
        if ui.button("Leave").on_hover_text("Leave them as they were.").clicked() {
            show_view(ctx, OutlookView { costs: None, wrong: Vec::new(), ..ctx.view.outlook.clone() });
        }
    });
    if settings != *held {
        show_view(ctx, OutlookView { costs: Some(settings), ..ctx.view.outlook.clone() });
    }
}

/// Crops of the scenarios, and those that have a price, in the order of the table.
fn used(records: &Records) -> Vec<&'static str> {
    let priced = |name: &str| records.settings.outlook.crops.iter().any(|money| same_name(&money.crop, name));
    let grown = |name: &str| {
        let mut years = records.scenarios.values().flat_map(|scenario| &scenario.years);
        years.any(|year| same_name(&year.crop, name))
    };
    crops()
        .iter()
        .filter(|crop| crop.days.is_some() && (priced(crop.name) || grown(crop.name)))
        .map(|crop| crop.name)
        .collect()
}
