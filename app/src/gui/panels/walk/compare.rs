//! Plans side by side: the one in use, those set aside, and other ways of choosing as many stops.

use awn_core::model::Plan;
use egui::Ui;

use super::figures::{Column, table};
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::view::Beside;
use crate::gui::widgets::{choice, note};

/// Shows the comparison.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, plan: &Plan) {
    let mut columns = vec![Column::of(plan, "In use".to_owned(), format!("The plan in use: {}.", plan.method.name()))];
    let Some(found) = ctx.comparison.filter(|found| found.field == plan.field) else {
        table(ui, "figures of plan", &columns);
        note(ui, "The other ways are being worked out.");
        return;
    };
    for (at, (which, other)) in found.plans.iter().enumerate() {
        columns.push(Column::of(other, title(*which, at), words(*which, at, other)));
    }
    table(ui, "plans side by side", &columns);
    note(ui, "On the map as well, dashed and with square stops:");
    if choice(ui, ctx.view.walk.beside.is_none(), "None").clicked() {
        ctx.ask(Request::ShowBeside(None));
    }
    for (at, (which, other)) in found.plans.iter().enumerate() {
        let shown = ctx.view.walk.beside == Some(*which);
        ui.horizontal(|ui| {
            if choice(ui, shown, &words(*which, at, other)).clicked() {
                ctx.ask(Request::ShowBeside(Some(*which)));
            }
        });
        if shown && ctx.can_write() {
            ui.horizontal(|ui| {
                ui.add_space(24.0);
                let tip = "Take this plan into use; the one in use until now is set aside.";
                if ui.button("Use this plan").on_hover_text(tip).clicked() {
                    ctx.ask(Request::UsePlan(Box::new(other.clone())));
                }
                if let Beside::Aside(id) = which
                    && ui.button("Discard").on_hover_text("Throw this plan away; undo brings it back.").clicked()
                {
                    ctx.ask(Request::DiscardPlan(*id));
                }
            });
        }
    }
}

fn title(which: Beside, at: usize) -> String {
    match which {
        Beside::Aside(_) => format!("Aside {}", at + 1),
        Beside::Way(method) => match method {
            awn_core::model::Method::EvenCover => "Even",
            awn_core::model::Method::RandomDraw => "Random",
            awn_core::model::Method::AtGate => "Gate",
            awn_core::model::Method::WalkedW => "W",
            awn_core::model::Method::OneTramline => "1 line",
        }
        .to_owned(),
    }
}

fn words(which: Beside, at: usize, plan: &Plan) -> String {
    match which {
        Beside::Aside(_) => format!("Set aside {}: {}, {} stops", at + 1, plan.method.name(), plan.stops.len()),
        Beside::Way(method) => method.name().to_owned(),
    }
}
