//! One field in plain sentences: what its programme costs and leaves, with how each figure was worked out.

use awn_core::act::{self, FieldCheck, Sentence, StepCheck, outlook, percent, with_band};
use awn_core::model::{FieldId, FieldProgramme};
use egui::{ComboBox, Grid, RichText, Ui};

use super::cell;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::act::{ActRequest, ActTab, ActView};
use crate::gui::widgets::{note, rating_chip, section, small};

/// Shows the page.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId, wanted: &mut ActView) {
    let Some(row) = ctx.facts.row(field) else { return };
    ui.label(RichText::new(format!("{}, {}", row.name, row.farm)).font(style::bold_of(style::BODY)));
    let planned = ctx.records.field_programme(field, ctx.view.year);
    plan(ui, ctx, field, planned.map(|planned| &**planned), wanted);
    let facts = &ctx.facts.act;
    let uses = facts.uses.get(&field);
    let Some(check) = facts.checks.of(field) else {
        note(ui, "Choose the programme that is planned here, and each step is read against the latest tests.");
        coming(ui, ctx, field, wanted);
        if let Some(uses) = uses {
            super::history::of_field(ui, ctx, uses);
        }
        return;
    };
    section(ui, "What it comes to");
    for sentence in act::sentences(check, uses, &facts.currency) {
        said(ui, &sentence);
    }
    super::assumed(ui);
    steps(ui, ctx, check);
    coming(ui, ctx, field, wanted);
    if let Some(uses) = uses {
        super::history::of_field(ui, ctx, uses);
    }
}

/// What the scenarios come to here.
fn coming(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId, wanted: &mut ActView) {
    section(ui, "The coming years");
    match ctx.outlook.filter(|found| found.field == field) {
        _ if ctx.records.scenarios.is_empty() => {
            note(ui, "There is no scenario to look ahead with; Coming years takes one in.");
        }
        None => note(ui, "They are being drawn."),
        Some(found) => {
            for why in &found.why {
                note(ui, why);
            }
            let sentences = found.found.iter().flat_map(|found| outlook::sentences(found, &ctx.facts.act.currency));
            for sentence in sentences {
                said(ui, &sentence);
            }
        }
    }
    if ui.link(RichText::new("Harvest by harvest").size(style::SMALL)).clicked() {
        wanted.tab = ActTab::Years;
    }
}

/// A sentence; how its figures were worked out stands on hover.
fn said(ui: &mut Ui, sentence: &Sentence) {
    let tokens = style::of(ui);
    let colour = match sentence.kind {
        "resisted" => tokens.bad,
        "untested" | "runs" => tokens.warn,
        _ => tokens.ink,
    };
    let label = ui.label(RichText::new(&sentence.text).size(style::SMALL).color(colour));
    if !sentence.how.is_empty() {
        label.on_hover_text(sentence.how.join("\n"));
    }
}

/// What is planned: the programme and measures besides.
fn plan(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId, planned: Option<&FieldProgramme>, wanted: &mut ActView) {
    let held = planned.and_then(|planned| planned.programme);
    let keys = planned.map(|planned| planned.measures.clone()).unwrap_or_default();
    let put = |programme, measures| {
        ctx.ask(Request::Act(ActRequest::Put { fields: vec![field], programme, measures }));
    };
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        ui.horizontal(|ui| {
            let label = ui.label(small(ui, format!("Programme for harvest {}", ctx.view.year))).id;
            let name =
                held.and_then(|id| ctx.records.programmes.get(&id)).map_or("none", |programme| programme.name.as_str());
            let mut chosen = held;
            let shown = ComboBox::from_id_salt("programme of field").width(190.0).selected_text(name).show_ui(ui, |ui| {
                ui.selectable_value(&mut chosen, None, "none");
                for programme in ctx.records.programmes.values() {
                    ui.selectable_value(&mut chosen, Some(programme.id), &programme.name);
                }
            });
            shown.response.labelled_by(label);
            if chosen != held {
                put(chosen, None);
            }
        });
        if let Some(id) = held
            && ui.link(RichText::new("Steps of the programme").size(style::SMALL)).clicked()
        {
            wanted.tab = ActTab::Programmes;
            wanted.open = Some(id);
        }
        let title = if keys.is_empty() {
            "Non-chemical measures".to_owned()
        } else {
            format!("Non-chemical measures ({})", keys.len())
        };
        egui::CollapsingHeader::new(RichText::new(title).size(style::SMALL)).id_salt("measures").show(ui, |ui| {
            for measure in act::measures() {
                let mut on = keys.contains(&measure.key);
                let text = RichText::new(format!("{}: {}", measure.name, measure.label())).size(style::SMALL);
                let tip = format!("Instead of {}. {} ({})", measure.instead_of, measure.source, measure.confidence);
                if ui.checkbox(&mut on, text).on_hover_text(tip).changed() {
                    let mut keys = keys.clone();
                    keys.retain(|key| *key != measure.key);
                    if on {
                        keys.push(measure.key.clone());
                    }
                    put(held, Some(keys));
                }
            }
            note(ui, "Published means and ranges. Outcomes varied widely between experiments: read the ranges.");
        });
    });
}

/// Step by step: expected, what tests say, what is left.
fn steps(ui: &mut Ui, ctx: &Ctx<'_>, check: &FieldCheck) {
    section(ui, "Step by step");
    let money = |value: f64| act::money(&ctx.facts.act.currency, value);
    Grid::new("steps").num_columns(5).spacing([6.0, 4.0]).show(ui, |ui| {
        for title in ["Step", "Test", "Expected", "Here, %", "Cost/ha"] {
            let text = small(ui, title);
            ui.label(text);
        }
        ui.end_row();
        for step in &check.steps {
            let how: Vec<String> = step.known.iter().map(act::Known::said).collect();
            let text = |text: String| RichText::new(text).size(style::SMALL);
            let tip = format!("{}, {}", step.step.active, step.step.timing);
            cell(ui, 78.0, text(step.step.active.clone())).on_hover_text(tip);
            tested(ui, step, &how.join("\n"));
            cell(ui, 74.0, text(step.step.control.label()))
                .on_hover_text("Expected on susceptible plants: low, likely, high. Your own figures.");
            cell(ui, 92.0, text(with_band(step.control, percent)))
                .on_hover_text("Expected control times what tests say is left; in brackets 8 draws in 10.");
            cell(ui, 52.0, text(money(step.step.cost_per_ha))).on_hover_text("Cost a hectare, your own figure.");
            ui.end_row();
        }
    });
}

/// The worst rating of a step's actives, with the harvest of the oldest test that counts.
fn tested(ui: &mut Ui, step: &StepCheck, how: &str) {
    let worst = step.worst();
    // Of a fixed width: the panel must not grow with what stands in it.
    let layout = egui::Layout::left_to_right(egui::Align::Center);
    ui.allocate_ui_with_layout(egui::vec2(76.0, 20.0), layout, |ui| {
        ui.set_max_width(76.0);
        ui.spacing_mut().item_spacing.x = 4.0;
        if worst.is_some() {
            rating_chip(ui, worst).on_hover_text(how);
        } else {
            let text = small(ui, "n.t.");
            ui.label(text).on_hover_text(how);
        }
        if let Some(year) = step.known.iter().filter_map(|known| known.year).min() {
            let old = if step.known.iter().any(|known| known.old) { " old" } else { "" };
            let text = small(ui, format!("’{:02}{old}", year.rem_euclid(100)));
            ui.label(text).on_hover_text(how);
        }
    });
}
