//! The coming years of a field under scenarios, and its patches.

mod chart;
mod compare;
mod costs;
mod edit;
mod patches;
mod table;

use awn_core::act::outlook::{self, GivenStart, MOST_SCENARIOS};
use awn_core::model::{DensityClass, FieldId, Scenario, ScenarioId, ScenarioYear};
use awn_core::units::count;
use egui::Ui;

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::outlook::{Figure, OutlookView, OutlookWish};
use crate::gui::widgets::{note, section, small};

/// Asks for a wish.
fn wish(ctx: &Ctx<'_>, wish: OutlookWish) {
    ctx.ask(Request::Outlook(wish));
}

/// Asks for another view.
fn show_view(ctx: &Ctx<'_>, view: OutlookView) {
    wish(ctx, OutlookWish::Show(Box::new(view)));
}

/// A figure with the digits that say something.
fn figure(value: f64) -> String {
    match value.abs() {
        v if v >= 1e6 => format!("{:.1} M", value / 1e6),
        v if v >= 10_000.0 => format!("{:.0} k", value / 1e3),
        v if v >= 10.0 => format!("{value:.0}"),
        v if v >= 1.0 => format!("{value:.1}"),
        v if v >= 0.005 => format!("{value:.2}"),
        _ => "0".to_owned(),
    }
}

/// With a capital at the beginning.
fn first_upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The letter of a scenario in chart and table.
fn letter(index: usize) -> char {
    char::from(b'A' + (index as u8).min(25))
}

/// Shows the coming years.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    let view = &ctx.view.outlook;
    if let Some(scenario) = &view.editing {
        edit::show(ui, ctx, scenario);
        return;
    }
    if let Some(settings) = &view.costs {
        costs::show(ui, ctx, settings);
        return;
    }
    scenarios(ui, ctx);
    if ctx.records.scenarios.is_empty() {
        return;
    }
    let Some(field) = ctx.view.single() else {
        note(ui, "Choose one field to see its coming years under these scenarios.");
        ui.horizontal(|ui| harvests(ui, ctx));
        match ctx.expected {
            Some(found) => compare::over_all(ui, ctx, found),
            None => note(ui, "The coming years of all fields are not drawn yet."),
        }
        note(ui, outlook::CAUTION);
        return;
    };
    let Some(found) = ctx.outlook.filter(|found| found.field == field) else {
        note(ui, "The coming years are being drawn.");
        return;
    };
    start(ui, ctx, field);
    for why in &found.why {
        note(ui, first_upper(why));
    }
    if let Some(found) = &found.found {
        choose_figure(ui, ctx);
        chart::show(ui, ctx, found);
        compare::of_field(ui, ctx, found);
        section(ui, "Harvest by harvest");
        table::show(ui, ctx, found);
        let settings = &ctx.records.settings.outlook;
        let from = format!("From {}, {} heads/m2 on average.", found.start.source, figure(found.heads_at_start.median));
        let from = small(ui, from);
        ui.label(from).on_hover_text(
            "Made into parts of the field that each hold a fifth of the population. Plants and classes become heads by the heads \
             that a plant carries. Seed is taken to stay in its part.",
        );
        for said in &found.start.notes {
            note(ui, said);
        }
        note(ui, format!("Median and 80 % band of {} draws. {}", settings.draws, outlook::CAUTION));
    }
}

/// What the field starts from: its scouting, or a density that is said here.
fn start(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId) {
    let view = &ctx.view.outlook;
    let mut given = view.start_of(field);
    let said = |given: Option<GivenStart>| match given {
        None => "its scouting".to_owned(),
        Some(GivenStart::Class(class)) => format!("class {}", class.label()),
        Some(GivenStart::Heads(_)) => "heads a m2, typed".to_owned(),
    };
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Start from")).id;
        let combo = egui::ComboBox::from_id_salt("outlook start").selected_text(said(given)).width(150.0);
        let shown = combo.show_ui(ui, |ui| {
            let classes = DensityClass::ALL.map(|class| Some(GivenStart::Class(class)));
            for choice in [None].into_iter().chain(classes).chain([Some(GivenStart::Heads(1.0))]) {
                ui.selectable_value(&mut given, choice, said(choice));
            }
        });
        let tip = "Density in the harvest before the first one, all over the field: what it was scouted, a class (its middle), or heads/m2. \
                   It is not kept in the project.";
        shown.response.labelled_by(label).on_hover_text(tip);
        if let Some(GivenStart::Heads(heads)) = &mut given {
            ui.add(egui::DragValue::new(heads).range(0.0..=10_000.0).speed(0.1).max_decimals(2).suffix(" heads/m2"))
                .labelled_by(label);
        }
    });
    if given != view.start_of(field) {
        show_view(ctx, OutlookView { start: given.map(|given| (field, given)), ..view.clone() });
    }
}

/// Shows the patches of the chosen field.
pub fn show_patches(ui: &mut Ui, ctx: &Ctx<'_>) {
    if let Some(settings) = &ctx.view.outlook.costs {
        costs::show(ui, ctx, settings);
        return;
    }
    let Some(field) = ctx.view.single() else {
        note(
            ui,
            "Choose one field to weigh its patches: what they cost to take out, against what they would return to the soil.",
        );
        return;
    };
    match ctx.outlook.filter(|found| found.field == field) {
        Some(found) if !found.no_patches.is_empty() => {
            for why in &found.no_patches {
                note(ui, first_upper(why));
            }
        }
        Some(found) => patches::show(ui, ctx, &found.patches),
        None => note(ui, "The patches are being weighed."),
    }
}

/// Which scenarios are compared, and buttons to change them.
fn scenarios(ui: &mut Ui, ctx: &Ctx<'_>) {
    let view = &ctx.view.outlook;
    let shown = view.scenarios(ctx.records);
    if ctx.records.scenarios.is_empty() {
        note(
            ui,
            "A scenario is what might be done year by year: crop, cultivation, day of drilling, control you expect, cost. Make one \
             here, or read a table with awn add scenarios.",
        );
    }
    for (id, scenario) in &ctx.records.scenarios {
        ui.horizontal(|ui| {
            let mut on = shown.contains(id);
            let place = shown.iter().position(|held| held == id);
            let name = place.map_or_else(|| scenario.name.clone(), |at| format!("{}  {}", letter(at), scenario.name));
            let full = shown.len() >= MOST_SCENARIOS && !on;
            let tip = if full { "Four are compared already; take one off first.".to_owned() } else { words(scenario) };
            let response =
                ui.add_enabled(!full, egui::Checkbox::new(&mut on, name)).on_hover_text(&tip).on_disabled_hover_text(tip);
            if response.changed() {
                let mut chosen = shown.clone();
                if on {
                    chosen.push(*id);
                } else {
                    chosen.retain(|held| held != id);
                }
                show_view(ctx, OutlookView { chosen, ..view.clone() });
            }
            if ctx.can_write() {
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    let button = egui::Button::new(small(ui, "Change")).small();
                    let button = ui.add(button).on_hover_text(format!("Change the crop years of {}.", scenario.name));
                    if button.clicked() {
                        let editing = Some((**scenario).clone());
                        show_view(ctx, OutlookView { editing, wrong: Vec::new(), ..view.clone() });
                    }
                });
            }
        });
    }
    if !ctx.can_write() {
        return;
    }
    ui.horizontal(|ui| {
        if ui.button("New scenario").on_hover_text("Begin a scenario with one crop year.").clicked() {
            let number = ctx.records.scenarios.len() + 1;
            let year =
                ScenarioYear { crop: "winter wheat".into(), drilled: Some("10-01".into()), ..ScenarioYear::default() };
            let name = format!("Scenario {number}");
            let scenario = Scenario { id: ScenarioId::new(), name, note: String::new(), years: vec![year] };
            show_view(ctx, OutlookView { editing: Some(scenario), wrong: Vec::new(), ..view.clone() });
        }
        costs_button(ui, ctx);
    });
}

/// The button that opens prices and costs.
fn costs_button(ui: &mut Ui, ctx: &Ctx<'_>) {
    let tip = "Prices and yields of crops, costs of cultivation, of spraying off and of pulling: your own figures.";
    if ui.button("Prices and costs").on_hover_text(tip).clicked() {
        let costs = Some(ctx.records.settings.outlook.clone());
        show_view(ctx, OutlookView { costs, wrong: Vec::new(), ..ctx.view.outlook.clone() });
    }
}

/// A scenario in words.
fn words(scenario: &Scenario) -> String {
    let years: Vec<_> = scenario
        .years
        .iter()
        .map(|year| {
            let drilled = year.drilled.as_ref().map_or(String::new(), |day| format!(", drilled {day}"));
            let control = year.programme.clone().unwrap_or_else(|| format!("control {} %", figure(year.control.likely)));
            format!("{}, {}{drilled}, {control}", year.crop, year.cultivation.label())
        })
        .collect();
    format!("{}, gone through again and again: {}. {}", count(years.len(), "crop year"), years.join("; "), scenario.note)
}

fn choose_figure(ui: &mut Ui, ctx: &Ctx<'_>) {
    let view = &ctx.view.outlook;
    let mut chosen = view.figure;
    ui.add_space(style::STEP);
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Show")).id;
        let combo = egui::ComboBox::from_id_salt("outlook figure").selected_text(chosen.label()).width(180.0);
        let combo = combo.show_ui(ui, |ui| {
            for figure in Figure::ALL {
                ui.selectable_value(&mut chosen, figure, figure.label()).on_hover_text(figure.meaning());
            }
        });
        combo.response.labelled_by(label).on_hover_text(chosen.meaning());
        harvests(ui, ctx);
    });
    if chosen != view.figure {
        show_view(ctx, OutlookView { figure: chosen, ..view.clone() });
    }
}

/// How many harvests are looked ahead.
fn harvests(ui: &mut Ui, ctx: &Ctx<'_>) {
    let view = &ctx.view.outlook;
    let mut years = view.years;
    let label = ui.label(small(ui, "harvests")).id;
    let drag = egui::DragValue::new(&mut years).range(1..=outlook::MOST_YEARS).speed(0.1);
    ui.add(drag).labelled_by(label).on_hover_text("How many harvests ahead, here and on the map of heads expected.");
    if years != view.years {
        show_view(ctx, OutlookView { years, ..view.clone() });
    }
}
