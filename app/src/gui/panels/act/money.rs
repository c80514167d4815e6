//! Control left and money at risk over the farms, and the fields ranked by it.

use awn_core::act::{self, FieldCheck, LETTERS, Tested, money as sum, percent, with_band};
use awn_core::units::{self, M2_PER_HA};
use egui::{Align, Label, Layout, RichText, Ui};
use egui_extras::{Column, TableBuilder};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{note, small};

const HEADINGS: [(&str, &str, bool); 5] = [
    ("Field", "Fields with a programme for this harvest, most money at risk first", false),
    ("Left, %", "Control of this field's plants by all steps together, from the likely figures", true),
    ("If S, %", "Control of susceptible plants by the same programme", true),
    ("At risk/ha", "Part of the cost a hectare that buys control which tests say is lost", true),
    ("In the field", "The same for the whole field", true),
];

/// Shows the summary and the table.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    let facts = &ctx.facts.act;
    let checks: Vec<&FieldCheck> = facts
        .checks
        .fields
        .iter()
        .filter(|check| ctx.view.selected.is_empty() || ctx.view.selected.contains(&check.field))
        .collect();
    if facts.checks.fields.is_empty() {
        note(
            ui,
            "A programme holds the steps that you plan for a crop, with the control that you expect on susceptible plants and what \
             each costs. Put one on fields, and each step is read against the latest test of its active, or of its mode of action.",
        );
        return;
    }
    let money = |value: f64| sum(&facts.currency, value);
    super::assumed(ui);
    for (farm, part) in facts.checks.farms_ranked() {
        let text = format!(
            "{farm}: {} of {} at risk in {}",
            with_band(part.at_risk, money),
            money(part.cost),
            units::count(part.fields, "field")
        );
        ui.label(RichText::new(text).size(style::SMALL)).on_hover_text(format!(
            "{:.1} ha with a programme. {} of the money buys steps of which nothing was tested there.\nThe ends are the sums of the \
             fields' ends: fields of a farm often share a fate.",
            part.area_m2 / M2_PER_HA,
            money(part.untested)
        ));
    }
    if !facts.checks.without.is_empty() {
        note(ui, format!("{} without a programme for this harvest.", units::count(facts.checks.without.len(), "field")));
    }
    ui.add_space(style::STEP);
    if checks.is_empty() {
        note(ui, "None of the chosen fields has a programme for this harvest.");
        return;
    }
    table(ui, ctx, &checks);
}

fn table(ui: &mut Ui, ctx: &Ctx<'_>, checks: &[&FieldCheck]) {
    ui.spacing_mut().item_spacing = egui::vec2(2.0 * style::STEP, 0.0);
    let mut clicked = None;
    TableBuilder::new(ui)
        .id_salt("money at risk")
        .sense(egui::Sense::click())
        .cell_layout(Layout::left_to_right(Align::Center))
        .auto_shrink(false)
        .min_scrolled_height(0.0)
        .column(Column::remainder().at_least(84.0).clip(true))
        .column(Column::exact(62.0))
        .column(Column::exact(54.0))
        .column(Column::exact(84.0))
        .column(Column::exact(80.0))
        .header(style::ROW, |mut header| {
            for (title, tip, numbers) in HEADINGS {
                header.col(|ui| {
                    let text = small(ui, title);
                    aligned(ui, numbers, |ui| drop(ui.label(text).on_hover_text(tip)));
                });
            }
        })
        .body(|body| {
            body.rows(style::ROW, checks.len(), |mut row| {
                let Some(check) = checks.get(row.index()) else { return };
                cells(&mut row, ctx, check);
                if row.response().clicked() {
                    clicked = Some(check.field);
                }
            });
        });
    if let Some(field) = clicked {
        ctx.ask(Request::Select { field: Some(field), add: false, scroll: true });
    }
}

fn cells(row: &mut egui_extras::TableRow<'_, '_>, ctx: &Ctx<'_>, check: &FieldCheck) {
    let facts = &ctx.facts.act;
    let money = |value: f64| sum(&facts.currency, value);
    let (name, farm) = ctx.facts.row(check.field).map_or(("", ""), |row| (row.name.as_str(), row.farm.as_str()));
    row.col(|ui| {
        let tip = format!("{farm}: “{}”, {}", check.name, check.tested.label());
        ui.add(Label::new(name).selectable(false).truncate()).on_hover_text(tip);
    });
    row.col(|ui| {
        aligned(ui, true, |ui| {
            if check.tested == Tested::None {
                let text = small(ui, "n.t.");
                ui.label(text).on_hover_text("No step was tested here: nothing is known.");
                return;
            }
            let letter = LETTERS[act::control_class(check.control.likely)];
            ui.label(percent(check.control.likely)).on_hover_text(format!(
                "Class {letter}; {} (8 draws in 10). If steps that were not tested did nothing: {}.",
                with_band(check.control, percent),
                with_band(check.without_untested, percent)
            ));
        });
    });
    row.col(|ui| {
        aligned(ui, true, |ui| {
            let tip = format!("{} (8 draws in 10), from your own figures alone.", with_band(check.if_susceptible, percent));
            ui.label(percent(check.if_susceptible.likely)).on_hover_text(tip);
        });
    });
    let shown = |ui: &mut Ui, range: act::Range| {
        aligned(ui, true, |ui| {
            let text = if check.tested == Tested::None { "–".to_owned() } else { money(range.likely) };
            ui.label(text).on_hover_text(format!("{} (8 draws in 10)", with_band(range, money)));
        });
    };
    row.col(|ui| shown(ui, check.at_risk_per_ha));
    row.col(|ui| shown(ui, check.at_risk()));
}

fn aligned(ui: &mut Ui, numbers: bool, add: impl FnOnce(&mut Ui)) {
    let layout = if numbers { Layout::right_to_left(Align::Center) } else { Layout::left_to_right(Align::Center) };
    ui.with_layout(layout, add);
}
