//! Rounds over the farms: what they are worked out from, each day in order, what does not fit, and the files to take along.

use awn_core::model::{Rounds, Visit};
use awn_core::season::{doubts_in_words, drive_km, drive_minutes};
use awn_core::units;
use egui::{Align, DragValue, Grid, Layout, RichText, TextEdit, Ui};
use jiff::SignedDuration;
use jiff::civil::Date;

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::season::RoundsForm;
use crate::gui::view::tool::Tool;
use crate::gui::widgets::{action_button, note, section, small};

/// Shows them.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    section(ui, "Rounds");
    note(ui, "Which fields on which day, inside their ripe dates, and the order of each day with the least driving.");
    let kept = ctx.records.rounds_of(ctx.view.year);
    let mut form =
        ctx.view.season.form.clone().unwrap_or_else(|| RoundsForm::with(ctx.records, ctx.view.year, &ctx.facts.ripe));
    let before = form.clone();
    if kept.is_some() {
        ui.collapsing("Days, people and base", |ui| settings(ui, ctx, &mut form));
    } else {
        settings(ui, ctx, &mut form);
    }
    if form != before {
        let mut season = ctx.view.season.clone();
        season.form = Some(form.clone());
        ctx.ask(Request::SetSeason(Box::new(season)));
    }
    if let (Err(text), true) = (form.checked(), ctx.view.season.form.is_some()) {
        ui.label(RichText::new(text).size(style::SMALL).color(style::of(ui).bad));
    }
    action_button(ui, ctx, Action::PlanRounds);
    match kept {
        Some(rounds) => found(ui, ctx, rounds),
        None => note(ui, "None are worked out for this harvest. Every field with a walk planned is visited."),
    }
}

fn settings(ui: &mut Ui, ctx: &Ctx<'_>, form: &mut RoundsForm) {
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        Grid::new("rounds form").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
            text(ui, "First day", &mut form.from, "2027-07-08");
            text(ui, "Last day", &mut form.to, "2027-07-21");
            text(ui, "Start of a day", &mut form.start, "08:00");
            text(ui, "Base, latitude and longitude", &mut form.base, "52.34, -0.21");
            ui.label("");
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let tip = "Click on the map where each day begins and ends.";
                if ui.button("Set on the map").on_hover_text(tip).clicked() {
                    ctx.ask(Request::SetTool(Tool::SetBase));
                }
            });
            ui.end_row();
            let s = &mut form.settings;
            figure(ui, "Hours a day", DragValue::new(&mut s.hours).range(0.5..=24.0).speed(0.1).max_decimals(1), "From leaving the base to being back.");
            figure(ui, "People", DragValue::new(&mut s.people).range(1..=20).speed(0.1), "Each goes alone in a car of his own, unless they go together.");
        });
        let s = &mut form.settings;
        let ink = style::of(ui).ink;
        let tick = |ui: &mut Ui, value: &mut bool, name: &str, tip: &str| {
            ui.checkbox(value, RichText::new(name).size(style::SMALL).color(ink)).on_hover_text(tip);
        };
        tick(ui, &mut s.together, "All in one car", "They share the walks that are planned for two.");
        tick(ui, &mut s.weekends, "Saturdays and Sundays too", "Otherwise Mondays to Fridays.");
        tick(
            ui,
            &mut s.cleanest_first,
            "Cleanest fields first",
            "On each round fields rated S first, then untested ones, then R?, RR and RRR, so that boots and car carry no resistant seed on.",
        );
        ui.collapsing("Travel", |ui| {
            Grid::new("rounds travel").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
                figure(ui, "Way by road for a metre straight", DragValue::new(&mut s.detour).range(1.0..=5.0).speed(0.01).max_decimals(2), "1.4 is a mean of English roads (Ballou and others 2002, from memory).");
                figure(ui, "Speed, km/h", DragValue::new(&mut s.km_per_h).range(5.0..=120.0).speed(0.5).max_decimals(0), "Between fields, tracks and gates included.");
                figure(ui, "Minutes at a field beside the walk", DragValue::new(&mut s.minutes_a_field).range(0.0..=240.0).speed(0.5).max_decimals(0), "Parking, cleaning boots, sealing the envelope.");
                figure(ui, "Spare days about the ripe dates", DragValue::new(&mut s.spare_days).range(0..=30).speed(0.1), "So many days before and after are still good enough.");
            });
        });
    });
}

fn text(ui: &mut Ui, name: &str, value: &mut String, hint: &str) {
    ui.label(RichText::new(name).size(style::SMALL));
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let edit = TextEdit::singleline(value).text_color(style::of(ui).ink).hint_text(hint).desired_width(132.0);
        let response = ui.add(edit);
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, name));
    });
    ui.end_row();
}

fn figure(ui: &mut Ui, name: &str, drag: DragValue<'_>, tip: &str) {
    ui.label(RichText::new(name).size(style::SMALL)).on_hover_text(tip);
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.add(drag).accessible_name(name);
    });
    ui.end_row();
}

fn found(ui: &mut Ui, ctx: &Ctx<'_>, rounds: &Rounds) {
    let days: Vec<(Date, usize, &[Visit])> = rounds.days().collect();
    note(ui, format!("{} on {}.", units::count(rounds.visits.len(), "field"), units::count(days.len(), "round")));
    if let Some(text) = doubts_in_words(&ctx.facts.doubts) {
        let text = RichText::new(text).size(style::SMALL).color(style::of(ui).warn);
        let all: Vec<&str> = ctx.facts.doubts.iter().map(|doubt| doubt.what.as_str()).collect();
        ui.add(egui::Label::new(text).wrap().sense(egui::Sense::hover())).on_hover_text(all.join("\n"));
    }
    for (date, car, visits) in days {
        day(ui, ctx, rounds, (date, car), visits);
    }
    if !rounds.left_out.is_empty() {
        section(ui, &format!("Left out: {}", units::count(rounds.left_out.len(), "field")));
        for left in &rounds.left_out {
            let name = ctx.facts.row(left.field).map_or("a field of another year", |row| row.name.as_str());
            ui.label(RichText::new(name).font(style::bold_of(style::SMALL)));
            ui.label(RichText::new(&left.reason).size(style::SMALL).color(style::of(ui).warn));
        }
    }
    ui.horizontal_wrapped(|ui| {
        action_button(ui, ctx, Action::ExportCalendar);
        action_button(ui, ctx, Action::ExportRounds);
    });
}

/// One day of one car: a line that opens, and shows its drive on the map.
fn day(ui: &mut Ui, ctx: &Ctx<'_>, rounds: &Rounds, which: (Date, usize), visits: &[Visit]) {
    let Some(last) = visits.last() else { return };
    let settings = &rounds.settings;
    let home = drive_km(settings, last.gate, settings.base);
    let km: f64 = visits.iter().map(|visit| visit.km).sum::<f64>() + home;
    let back = last.arrive_min + last.minutes + drive_minutes(settings, home);
    let shown = ctx.view.season.round == Some(which);
    let car = if settings.people > 1 && !settings.together { format!(", car {}", which.1) } else { String::new() };
    let label = format!(
        "{}{car}: {}, {km:.0} km, back {}",
        which.0.strftime("%a %-d %b"),
        units::count(visits.len(), "field"),
        clock(rounds, back)
    );
    if ui.selectable_label(shown, RichText::new(label).size(style::SMALL).color(style::of(ui).ink)).clicked() {
        let mut season = ctx.view.season.clone();
        season.round = (!shown).then_some(which);
        ctx.ask(Request::SetSeason(Box::new(season)));
        if !shown {
            ctx.ask(Request::SelectMany { fields: visits.iter().map(|visit| visit.field).collect(), add: false });
            ctx.ask(Request::Do(Action::ZoomToSelection));
        }
    }
    if !shown {
        return;
    }
    for visit in visits {
        ui.horizontal(|ui| {
            ui.add_space(3.0 * style::STEP);
            let name = ctx.facts.row(visit.field).map_or("a field of another year", |row| row.name.as_str());
            let time = small(ui, clock(rounds, visit.arrive_min));
            ui.label(time);
            ui.label(RichText::new(format!("{} {name}", visit.number)).size(style::SMALL));
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let minutes = small(ui, format!("{:.0} min", visit.minutes));
                ui.label(minutes);
            });
        });
    }
}

/// A time of day, minutes after the start.
fn clock(rounds: &Rounds, minutes: f64) -> String {
    let start = Date::constant(2000, 1, 1).to_datetime(rounds.settings.start);
    let at = start.checked_add(SignedDuration::from_mins(minutes.round() as i64)).unwrap_or(start);
    at.strftime("%H:%M").to_string()
}
