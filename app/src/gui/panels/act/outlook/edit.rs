//! Changing a scenario: its name and its crop years.

use awn_core::act::outlook::crops::crops;
use awn_core::act::outlook::scenario::MOST_YEARS;
use awn_core::model::{Cultivation, LowLikelyHigh, Scenario, ScenarioYear};
use egui::{DragValue, RichText, TextEdit, Ui};

use super::{show_view, wish};
use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::view::outlook::{OutlookView, OutlookWish};
use crate::gui::widgets::{line_to_type, note, small};

/// Shows the form.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, held: &Scenario) {
    let mut scenario = held.clone();
    line_to_type(ui, "Name of the scenario", &mut scenario.name, "As now");
    note(ui, "Crop years, gone through again from the first when the last is over. Control and cost are your own figures.");
    let mut remove = None;
    let alone = scenario.years.len() == 1;
    for (index, year) in scenario.years.iter_mut().enumerate() {
        ui.push_id(("crop year", index), |ui| {
            ui.add_space(style::STEP);
            ui.horizontal(|ui| {
                ui.label(RichText::new(format!("Year {}", index + 1)).font(style::bold_of(style::SMALL)));
                let button = egui::Button::new(small(ui, "Take out")).small();
                let tip = format!("Take crop year {} out of the scenario.", index + 1);
                if ui.add_enabled(!alone, button).on_hover_text(tip).clicked() {
                    remove = Some(index);
                }
            });
            crop_year(ui, ctx, year);
        });
    }
    if let Some(index) = remove {
        scenario.years.remove(index);
    }
    ui.add_space(style::STEP);
    if scenario.years.len() < MOST_YEARS && ui.button("Another crop year").on_hover_text("A copy of the last.").clicked() {
        scenario.years.extend(scenario.years.last().cloned());
    }
    for wrong in &ctx.view.outlook.wrong {
        ui.label(RichText::new(wrong).color(style::of(ui).bad).size(style::SMALL));
    }
    ui.horizontal(|ui| {
        if ui.button("Keep scenario").clicked() {
            wish(ctx, OutlookWish::Keep(Box::new(scenario.clone())));
        }
        if ui.button("Leave").on_hover_text("Leave it as it was.").clicked() {
            show_view(ctx, OutlookView { editing: None, wrong: Vec::new(), ..ctx.view.outlook.clone() });
        }
        let is_kept = ctx.records.scenarios.contains_key(&held.id);
        if is_kept && ui.button("Remove").on_hover_text("Take the scenario out; undo brings it back.").clicked() {
            wish(ctx, OutlookWish::Remove(held.id));
        }
    });
    if scenario != *held {
        show_view(ctx, OutlookView { editing: Some(scenario), ..ctx.view.outlook.clone() });
    }
}

fn percent(ui: &mut Ui, name: &str, tip: &str, range: &mut LowLikelyHigh) {
    ui.horizontal(|ui| {
        ui.label(small(ui, name)).on_hover_text(tip);
        for (which, value) in [("low", &mut range.low), ("likely", &mut range.likely), ("high", &mut range.high)] {
            let label = ui.label(small(ui, which)).id;
            ui.add(DragValue::new(value).range(0.0..=100.0).speed(0.2).max_decimals(1)).labelled_by(label);
        }
    });
}

fn crop_year(ui: &mut Ui, ctx: &Ctx<'_>, year: &mut ScenarioYear) {
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Crop")).id;
        let combo = egui::ComboBox::from_id_salt("crop").selected_text(year.crop.clone()).width(132.0);
        let combo = combo.show_ui(ui, |ui| {
            for crop in crops() {
                ui.selectable_value(&mut year.crop, crop.name.to_owned(), crop.name);
            }
        });
        combo.response.labelled_by(label);
        let label = ui.label(small(ui, "drilled")).on_hover_text("Month and day, such as 10-05.").id;
        let mut day = year.drilled.clone().unwrap_or_default();
        let edit = TextEdit::singleline(&mut day).hint_text("10-05").desired_width(68.0);
        ui.add(edit).labelled_by(label);
        year.drilled = Some(day).filter(|day| !day.trim().is_empty());
    });
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Cultivation")).id;
        let combo = egui::ComboBox::from_id_salt("cultivation").selected_text(year.cultivation.name()).width(200.0);
        let combo = combo.show_ui(ui, |ui| {
            for cultivation in Cultivation::ALL {
                ui.selectable_value(&mut year.cultivation, *cultivation, cultivation.name());
            }
        });
        combo.response.labelled_by(label);
    });
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Programme")).id;
        let none = "none: control as below";
        let combo =
            egui::ComboBox::from_id_salt("programme").selected_text(year.programme.as_deref().unwrap_or(none)).width(200.0);
        let combo = combo.show_ui(ui, |ui| {
            ui.selectable_value(&mut year.programme, None, none);
            for programme in ctx.records.programmes.values() {
                ui.selectable_value(&mut year.programme, Some(programme.name.clone()), &programme.name);
            }
        });
        combo
            .response
            .labelled_by(label)
            .on_hover_text("With a programme, control is what its check finds in each field, and its cost is added.");
    });
    if year.programme.is_none() {
        let tip = "Plants that the programme controls, of those that come up in the crop: your own figures.";
        percent(ui, "Control %", tip, &mut year.control);
    }
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Cost a hectare")).on_hover_text("Programme and measures.").id;
        let mut cost = year.cost_per_ha.unwrap_or(0.0);
        let drag = ui.add(DragValue::new(&mut cost).range(0.0..=5000.0).speed(1.0).max_decimals(2)).labelled_by(label);
        if drag.changed() {
            year.cost_per_ha = Some(cost);
        }
        let tip = "Fewer heads by 8 to 45 %, 22 % on average (Lutman et al. 2013).";
        ui.checkbox(&mut year.competitive, "competitive cultivar").on_hover_text(tip);
    });
    let mut takes_out = year.heads_removed.is_some();
    let tip = "Heads pulled or sprayed off before they shed, % of the field's.";
    if ui.checkbox(&mut takes_out, "heads taken out before they shed").on_hover_text(tip).changed() {
        year.heads_removed = takes_out.then(|| LowLikelyHigh::new(30.0, 50.0, 70.0));
    }
    if let Some(range) = &mut year.heads_removed {
        percent(ui, "Heads %", tip, range);
    }
}
