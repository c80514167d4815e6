//! What makes a field due and how its score is made: the interval, the signs' points, and the limits behind them, each with what it
//! means.

use awn_core::model::{DueRules, DueSign, modes_of_action};
use awn_core::units;
use egui::{DragValue, Grid, Id, RichText, Ui};

use super::{held_rules, letter};
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{note, small};

/// Shows them.
pub(super) fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    note(
        ui,
        format!(
            "A field is due {} after its last test, or sooner by the harvests beside each sign that it shows, but not within a \
             harvest of it; a field that was never tested is due at once, unless scouting found none. The score is the sum of the \
             signs’ points: it ranks the fields, no more. All of it is common practice or our choice; change it as you see fit.",
            units::count(ctx.facts.interval.max(0) as usize, "harvest")
        ),
    );
    interval(ui, ctx);
    held_rules(ui, ctx, "due rules", |ui, rules| {
        let mut done = false;
        Grid::new("due rules").num_columns(3).spacing([8.0, 2.0]).show(ui, |ui| {
            for title in ["Sign", "Points", "Sooner by"] {
                let title = small(ui, title);
                ui.label(title);
            }
            ui.end_row();
            for sign in DueSign::ALL.iter().copied() {
                let mut rule = rules.rule(sign);
                let text =
                    RichText::new(format!("{} ({})", sign.name(), letter(sign))).size(style::SMALL).color(style::of(ui).ink);
                done |= ui.checkbox(&mut rule.on, text).on_hover_text(sign.meaning()).changed();
                let points = ui.add(DragValue::new(&mut rule.points).range(0.0..=200.0).speed(0.5).max_decimals(0));
                let points = points.accessible_name(format!("Points for: {}", sign.name()));
                done |= points.drag_stopped() || points.lost_focus();
                let sooner = ui.add(DragValue::new(&mut rule.sooner).range(0..=20).speed(0.1));
                let sooner = sooner.accessible_name(format!("Harvests sooner for: {}", sign.name()));
                done |= sooner.drag_stopped() || sooner.lost_focus();
                rules.set(sign, rule);
                ui.end_row();
            }
        });
        Grid::new("due limits").num_columns(2).spacing([8.0, 2.0]).show(ui, |ui| {
            let mut limit = |ui: &mut Ui, name: &str, drag: DragValue<'_>, tip: &str| {
                ui.label(RichText::new(name).size(style::SMALL)).on_hover_text(tip);
                let response = ui.add(drag).accessible_name(name);
                done |= response.drag_stopped() || response.lost_focus();
                ui.end_row();
            };
            limit(
                ui,
                "Same mode of action, harvests",
                DragValue::new(&mut rules.repeat_years).range(2..=10).speed(0.1),
                "So many harvests running; three are common practice.",
            );
            limit(
                ui,
                "Rising means times",
                DragValue::new(&mut rules.rise_factor).range(1.0..=10.0).speed(0.05).max_decimals(1),
                "Density counts as rising when it is so many times that of the survey before.",
            );
            limit(
                ui,
                "Neighbours within, m",
                DragValue::new(&mut rules.neighbour_m).range(0.0..=2000.0).speed(1.0).max_decimals(0),
                "From boundary to boundary.",
            );
        });
        done |= groups(ui, rules);
        if !rules.are_usual()
            && ui.button("Back to the usual rules").on_hover_text("Points, harvests and limits; the budget stays.").clicked()
        {
            *rules = rules.reset();
            done = true;
        }
        done
    });
}

/// Harvests after which a field is due again.
fn interval(ui: &mut Ui, ctx: &Ctx<'_>) {
    let id = Id::unique("interval of the due list");
    let held: Option<i32> = ui.data(|data| data.get_temp(id)).flatten();
    let mut years = held.unwrap_or(ctx.facts.interval);
    let mut done = false;
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        ui.horizontal(|ui| {
            ui.label(RichText::new("Due again after").size(style::SMALL));
            let suffix = if years == 1 { " harvest" } else { " harvests" };
            let drag = ui.add(DragValue::new(&mut years).range(1..=30).speed(0.1).suffix(suffix));
            let drag =
                drag.on_hover_text("Harvests from one test of a field to the next; five at most are common practice.");
            done = drag.drag_stopped() || drag.lost_focus();
        });
    });
    let kept = (years != ctx.facts.interval && !done).then_some(years);
    ui.data_mut(|data| data.insert_temp(id, kept));
    if done && years != ctx.facts.interval {
        ctx.ask(Request::SetInterval(years));
    }
}

/// The modes of action that are looked at for use year after year; whether that was changed.
fn groups(ui: &mut Ui, rules: &mut DueRules) -> bool {
    let before = rules.repeat_groups.clone();
    let named = if before.is_empty() { "none".to_owned() } else { before.join(", ") };
    let button = ui.button(RichText::new(format!("Modes of action looked at: {named}…")).size(style::SMALL));
    let button =
        button.on_hover_text("HRAC groups. Resistance to 1 and 2 has come fastest, so that these are looked at first.");
    let close = egui::PopupCloseBehavior::CloseOnClickOutside;
    egui::Popup::menu(&button).close_behavior(close).show(|ui| {
        for mode in modes_of_action() {
            let mut on = rules.repeat_groups.iter().any(|group| *group == mode.group);
            let text = RichText::new(format!("{} {}", mode.group, mode.name)).size(style::SMALL).color(style::of(ui).ink);
            if ui.checkbox(&mut on, text).changed() {
                rules.repeat_groups.retain(|group| *group != mode.group);
                rules.repeat_groups.extend(on.then(|| mode.group.to_owned()));
                rules.repeat_groups.sort_by_key(|group| group.parse::<u32>().unwrap_or(u32::MAX));
            }
        }
    });
    rules.repeat_groups != before
}
