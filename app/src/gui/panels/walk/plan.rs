//! One plan: its walk, its figures, its stops; or the plans of many fields together.

use awn_core::model::{Method, Plan};
use awn_core::units;
use egui::{Align, Grid, Layout, RichText, Sense, Ui};

use super::figures::{Column, table};
use super::{chart, compare, patches};
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::HowMany;
use crate::gui::widgets::{action_button, note, section, small};

/// More plans than this do not stand side by side: nobody could compare them.
const MOST_BESIDE: usize = 4;

/// The plans of all fields, or of those chosen, side by side.
pub fn many(ui: &mut Ui, ctx: &Ctx<'_>) {
    let chosen = |id| ctx.view.selected.is_empty() || ctx.view.selected.contains(&id);
    let rows = ctx.facts.rows.iter().filter(|row| row.planned && chosen(row.id));
    let plans: Vec<(&str, &Plan)> = rows.filter_map(|row| Some((row.name.as_str(), ctx.plan(row.id)?))).collect();
    section(ui, if ctx.view.selected.is_empty() { "Plans of this harvest" } else { "Plans of the chosen fields" });
    if plans.is_empty() {
        note(ui, "None yet. Choose fields in the list or on the map, or propose stops for all that are due.");
        return;
    }
    let stops: usize = plans.iter().map(|(_, plan)| plan.stops.len()).sum();
    let length: f64 = plans.iter().map(|(_, plan)| plan.length_m()).sum();
    let minutes: f64 = plans.iter().map(|(_, plan)| plan.minutes()).sum();
    Grid::new("plans").num_columns(2).spacing([16.0, 2.0]).min_row_height(20.0).show(ui, |ui| {
        for (name, value) in [
            ("Fields", plans.len().to_string()),
            ("Stops", stops.to_string()),
            ("Walking in all, km", format!("{:.1}", length / 1000.0)),
            ("Time in the fields, hours", format!("{:.1}", minutes / 60.0)),
        ] {
            ui.label(name);
            right(ui, &value);
            ui.end_row();
        }
    });
    if !ctx.view.selected.is_empty() && plans.len() <= MOST_BESIDE {
        let columns: Vec<_> =
            plans.iter().map(|(name, plan)| Column::of(plan, (*name).to_owned(), (*name).to_owned())).collect();
        table(ui, "figures of chosen fields", &columns);
    }
    note(ui, "Choose one field to see its figures and to drag its stops.");
    action_button(ui, ctx, Action::ExportWalks);
}

/// The plan of one field.
pub fn one(ui: &mut Ui, ctx: &Ctx<'_>, plan: &Plan) {
    let name = ctx.facts.row(plan.field).map_or("", |row| row.name.as_str());
    section(ui, &format!("Walk of {name}"));
    ui.label(format!(
        "{}, {}, about {:.0} minutes",
        units::count(plan.stops.len(), "stop"),
        units::length(plan.length_m()),
        plan.minutes()
    ));
    if plan.samples() > 1 {
        ui.label(format!("{} to fill", units::count(plan.samples(), "envelope")));
    }
    ui.add_space(style::STEP);
    if ctx.view.walk.comparing {
        compare::show(ui, ctx, plan);
    } else {
        let mut columns = vec![Column::of(plan, "Here".to_owned(), "The figures of this plan.".to_owned())];
        if let Some(figures) = &plan.gate_figures {
            let tip = "The same number of stops, taken at the gate.".to_owned();
            columns.push(Column { title: "At gate".to_owned(), tip, figures, walk: None });
        }
        table(ui, "figures of plan", &columns);
    }
    ui.horizontal(|ui| {
        let comparing = if ctx.view.walk.comparing { "Close the comparison" } else { Action::ComparePlans.text() };
        if ui.button(comparing).on_hover_text(Action::ComparePlans.tooltip()).clicked() {
            ctx.act(Action::ComparePlans);
        }
        action_button(ui, ctx, Action::SetPlanAside);
    });
    chart::show(ui, ctx);
    patches::show(ui, ctx, plan);
    note(ui, &plan.advice);
    if let Some(estimate) = plan.estimate {
        note(
            ui,
            format!(
                "Mean density from these stops alone (Horvitz and Thompson): {:.2}, standard error {:.2}.",
                estimate.mean, estimate.standard_error
            ),
        );
    }
    for text in &plan.notes {
        ui.label(RichText::new(text).size(style::SMALL).color(style::of(ui).warn));
    }
    fewer(ui, ctx, plan);
    note(
        ui,
        "Before you walk: ask leave, check what was sprayed and how long its label keeps people out, tell someone where you are. Clean boots between fields; gloves against ergot.",
    );
    stops(ui, ctx, plan);
    action_button(ui, ctx, Action::ExportWalks);
}

/// Where the patches hold fewer stops than there are: proposes as many as they hold.
fn fewer(ui: &mut Ui, ctx: &Ctx<'_>, plan: &Plan) {
    let Some(held) = plan.patches_hold.filter(|held| *held > 0 && *held < plan.stops.len()) else { return };
    let even = ctx.view.plan.settings.method == Method::EvenCover && plan.method == Method::EvenCover;
    if !even || !ctx.can_write() {
        return;
    }
    let text = format!("Propose {} instead", units::count(held, "stop"));
    if ui.button(text).on_hover_text("As many as the tramlines inside the patches hold.").clicked() {
        let mut form = ctx.view.plan.clone();
        form.how_many = HowMany::Given;
        form.settings.stops = held;
        ctx.ask(Request::SetPlanForm(form));
        ctx.act(Action::ProposeStops);
    }
}

fn stops(ui: &mut Ui, ctx: &Ctx<'_>, plan: &Plan) {
    section(ui, "Stops in walking order");
    note(
        ui,
        if ctx.can_write() {
            "Drag a stop on the map to move it. A pinned stop stays when stops are proposed again."
        } else {
            "The project is read-only here; stops cannot be moved."
        },
    );
    let several = plan.samples() > 1;
    let two = plan.second_walk.is_some();
    Grid::new("stops").num_columns(4).spacing([16.0, 2.0]).min_row_height(20.0).show(ui, |ui| {
        for title in ["Stop", "Seed, %", "Tramline"] {
            heading(ui, title);
        }
        if several {
            heading(ui, "Envelope");
        }
        if two {
            heading(ui, "Person");
        }
        heading(ui, "Pinned");
        ui.end_row();
        for (at, stop) in plan.stops.iter().enumerate() {
            let chosen = ctx.view.stop == Some(at);
            let text = RichText::new((at + 1).to_string());
            let text = if chosen { text.font(style::bold_of(style::BODY)).underline() } else { text };
            let clicked = ui
                .with_layout(Layout::right_to_left(Align::Center), |ui| {
                    let label = ui.add(egui::Label::new(text.color(style::of(ui).accent)).sense(Sense::click()));
                    let name = format!("Stop {}", at + 1);
                    label.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, chosen, &name));
                    label.on_hover_text("Choose this stop, to pin or remove it.").clicked()
                })
                .inner;
            if clicked {
                ctx.ask(Request::ChooseStop((!chosen).then_some(at)));
            }
            right(ui, &format!("{:.0}", 100.0 * stop.share));
            right(ui, &stop.tramline.map_or("–".to_owned(), |line| line.to_string()));
            if several {
                right(ui, &stop.unit.to_string());
            }
            if two {
                right(ui, &stop.person.to_string());
            }
            let mut pinned = stop.pinned;
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let tip = format!("Pin stop {}: it stays where it is when stops are proposed again.", at + 1);
                let tick = ui.add_enabled(ctx.can_write(), egui::Checkbox::without_text(&mut pinned));
                tick.widget_info(|| {
                    egui::WidgetInfo::selected(egui::Role::CheckBox, true, pinned, format!("Pin stop {}", at + 1))
                });
                if tick.on_hover_text(tip).changed() {
                    ctx.ask(Request::PinStop(plan.field, at, pinned));
                }
            });
            ui.end_row();
        }
    });
    ui.horizontal(|ui| {
        action_button(ui, ctx, Action::AddStop);
        let removable = ctx.view.stop.is_some() && Action::RemoveStop.enabled(ctx);
        if removable
            && ui.button("Remove the stop").on_hover_text("Take the chosen stop out of the plan (Delete).").clicked()
        {
            ctx.act(Action::RemoveStop);
        }
    });
}

fn heading(ui: &mut Ui, title: &str) {
    let text = small(ui, title);
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
}

fn right(ui: &mut Ui, text: &str) {
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
}
