//! The chart of a figure against the number of stops: where more of them stop helping.

use awn_core::stops::DEFINITIONS;
use egui::Ui;

use super::figures::{name, value, written};
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::view::HowMany;
use crate::gui::widgets::{Chart, action_button, chart, note, small};

/// The key that stands for the minutes on foot.
const MINUTES: &str = "minutes";

/// Shows the chart, or the button that opens it.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    if !ctx.view.walk.charting {
        action_button(ui, ctx, Action::HowManyStops);
        return;
    }
    let key = ctx.view.walk.chart_figure;
    let called = |key: &str| {
        let known = DEFINITIONS.iter().find(|known| known.key == key);
        known.map_or_else(|| "Time, minutes".to_owned(), name)
    };
    ui.horizontal(|ui| {
        let mut chosen = key;
        let label = ui.label(small(ui, "Chart of")).id;
        let combo = egui::ComboBox::from_id_salt("chart").selected_text(called(key)).width(160.0).truncate();
        let shown = combo.show_ui(ui, |ui| {
            for known in DEFINITIONS {
                ui.selectable_value(&mut chosen, known.key, name(known)).on_hover_text(known.text);
            }
            ui.selectable_value(&mut chosen, MINUTES, called(MINUTES)).on_hover_text("Until the last one is back.");
        });
        shown.response.labelled_by(label);
        if chosen != key {
            ctx.ask(Request::ChartFigure(chosen));
        }
        if ui.button("Close").on_hover_text("Close the chart.").clicked() {
            ctx.act(Action::HowManyStops);
        }
    });
    let Some(found) = ctx.chart.filter(|chart| Some(chart.field) == ctx.view.single()) else {
        note(ui, "The numbers of stops are being worked out.");
        return;
    };
    if let Some(why) = &found.why {
        note(ui, format!("No chart: {why}."));
        return;
    }
    let points: Vec<(usize, f64)> = found
        .points
        .iter()
        .filter_map(|point| {
            let figure = if key == MINUTES { Some(point.minutes) } else { value(&point.figures, key) };
            Some((point.stops, figure?))
        })
        .collect();
    if points.is_empty() {
        note(ui, "This figure does not apply to this field.");
        return;
    }
    let marked = ctx.single_plan().map_or(ctx.view.plan.settings.stops, |plan| plan.stops.len());
    let title = format!("Chart of {} against the number of stops", called(key));
    let write = |value: f64| written(key, value);
    let clicked = chart(ui, &Chart { name: &title, along: "Stops", points: &points, marked, write: &write });
    note(ui, "Click a number of stops to set it for the next proposal.");
    if let Some(stops) = clicked {
        let mut form = ctx.view.plan.clone();
        form.how_many = HowMany::Given;
        form.settings.stops = stops;
        ctx.ask(Request::SetPlanForm(form));
    }
}
