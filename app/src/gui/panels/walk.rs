//! The Walk lens: where to take seed, how to walk there, and how good the plan is beside the same number of stops at the gate.

use awn_core::model::{Figures, Method, Plan};
use awn_core::units;
use egui::{Align, DragValue, Grid, Layout, RichText, Ui};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view_state::PlanForm;
use crate::gui::widgets::{action_button, choice, head, next_step, note, section, small};

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    head(ui, "Walk", "Where to take seed, so that the sample stands for the field, and the shortest walk from the gate.");
    if ctx.records.fields.is_empty() {
        next_step(ui, ctx, Action::ImportBoundaries, "Import boundaries…");
        return;
    }
    let fields = ctx.fields_to_plan();
    let text = match (fields.as_slice(), ctx.view.selected.is_empty()) {
        ([], _) => "No field is due; choose one".to_owned(),
        ([one], _) => format!("Propose stops for {}", ctx.facts.row(*one).map_or("the field", |row| row.name.as_str())),
        (many, true) => format!("Propose stops for the {} that are due", units::count(many.len(), "field")),
        (many, false) => format!("Propose stops for {}", units::count(many.len(), "field")),
    };
    next_step(ui, ctx, Action::ProposeStops, &text);
    settings(ui, ctx);
    match ctx.view.single() {
        Some(field) => match ctx.plan(field) {
            Some(plan) => one(ui, ctx, plan),
            None => note(ui, "No stops are planned in this field for this harvest."),
        },
        None => many(ui, ctx),
    }
}

fn settings(ui: &mut Ui, ctx: &Ctx<'_>) {
    let mut form = ctx.view.plan.clone();
    ui.horizontal(|ui| {
        if choice(ui, !form.by_time, "Stops in each field").clicked() {
            form.by_time = false;
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.add_enabled(!form.by_time, DragValue::new(&mut form.settings.stops).range(1..=40))
                .on_hover_text("How many places to take seed at in each field.");
        });
    });
    ui.horizontal(|ui| {
        let by_time = choice(ui, form.by_time, "Minutes in each field");
        if by_time.on_hover_text("As many stops as fit this time, walking and taking seed.").clicked() {
            form.by_time = true;
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.add_enabled(form.by_time, DragValue::new(&mut form.minutes).range(5.0..=480.0).max_decimals(0))
                .on_hover_text("Time for the whole walk, from the gate and back to it.");
        });
    });
    ui.collapsing("More settings", |ui| more(ui, &mut form));
    if form != ctx.view.plan {
        ctx.ask(Request::SetPlanForm(form));
    }
}

fn more(ui: &mut Ui, form: &mut PlanForm) {
    let s = &mut form.settings;
    Grid::new("more settings").num_columns(2).spacing([12.0, 4.0]).show(ui, |ui| {
        number(
            ui,
            "No stop nearer to a gate than, m",
            &mut s.gate_exclusion_m,
            0.0..=500.0,
            "Seed near the gate comes in on machines and does not stand for the field.",
        );
        number(
            ui,
            "Least distance between stops, m",
            &mut s.min_spacing_m,
            0.0..=200.0,
            "Two stops closer than this say the same.",
        );
        number(ui, "Walking speed, km/h", &mut s.walking_km_per_h, 0.5..=8.0, "In a standing crop.");
        number(ui, "Minutes at a stop", &mut s.minutes_a_stop, 0.0..=60.0, "Taking seed, writing it down.");
        ui.label(RichText::new("How stops are chosen").size(style::SMALL))
            .on_hover_text("The last three are what people commonly do, to compare with.");
        egui::ComboBox::from_id_salt("method").selected_text(s.method.name()).show_ui(ui, |ui| {
            for method in Method::ALL {
                ui.selectable_value(&mut s.method, *method, method.name());
            }
        });
        ui.end_row();
        ui.label(RichText::new("People who share the walk").size(style::SMALL))
            .on_hover_text("Two people part the stops so that the last one is back soonest.");
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.add(DragValue::new(&mut s.people).range(1..=2)).on_hover_text("People who share the walk");
        });
        ui.end_row();
        ui.label("Start of the random search").on_hover_text("The same number gives the same stops.");
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.add(DragValue::new(&mut s.seed)).on_hover_text("Start of the random search");
        });
        ui.end_row();
    });
}

fn number(ui: &mut Ui, name: &str, value: &mut f64, range: std::ops::RangeInclusive<f64>, tip: &str) {
    ui.label(RichText::new(name).size(style::SMALL)).on_hover_text(tip);
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.add(DragValue::new(value).range(range).speed(0.5).max_decimals(1)).on_hover_text(name);
    });
    ui.end_row();
}

fn many(ui: &mut Ui, ctx: &Ctx<'_>) {
    section(ui, "Plans of this harvest");
    let plans: Vec<&Plan> = ctx.facts.rows.iter().filter(|row| row.planned).filter_map(|row| ctx.plan(row.id)).collect();
    if plans.is_empty() {
        note(ui, "None yet. Choose fields in the list or on the map, or propose stops for all that are due.");
        return;
    }
    let stops: usize = plans.iter().map(|plan| plan.stops.len()).sum();
    let length: f64 = plans.iter().map(|plan| plan.length_m()).sum();
    let minutes: f64 = plans.iter().map(|plan| plan.minutes()).sum();
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
    note(ui, "Choose one field to see its figures and to drag its stops.");
    action_button(ui, ctx, Action::ExportWalks);
}

fn one(ui: &mut Ui, ctx: &Ctx<'_>, plan: &Plan) {
    let name = ctx.facts.row(plan.field).map_or("", |row| row.name.as_str());
    section(ui, &format!("Walk of {name}"));
    ui.label(format!(
        "{}, {}, about {:.0} minutes",
        units::count(plan.stops.len(), "stop"),
        units::length(plan.length_m()),
        plan.minutes()
    ));
    ui.add_space(style::STEP);
    figures(ui, plan);
    note(ui, &plan.advice);
    for text in &plan.notes {
        ui.label(RichText::new(text).size(style::SMALL).color(style::of(ui).warn));
    }
    note(
        ui,
        if ctx.can_write() {
            "Drag a stop on the map to move it."
        } else {
            "The project is read-only here; stops cannot be moved."
        },
    );
    action_button(ui, ctx, Action::ExportWalks);
    note(
        ui,
        "Before you walk: ask leave, check what was sprayed and how long its label keeps people out, tell someone where you are. Clean boots between fields; gloves against ergot.",
    );
    section(ui, "Stops in walking order");
    Grid::new("stops").num_columns(3).spacing([24.0, 2.0]).min_row_height(18.0).show(ui, |ui| {
        for title in ["Stop", "Seed, %", "Tramline"] {
            let text = small(ui, title);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
        }
        ui.end_row();
        for (number, stop) in plan.stops.iter().enumerate() {
            right(ui, &(number + 1).to_string());
            right(ui, &format!("{:.0}", 100.0 * stop.share));
            right(ui, &stop.tramline.map_or("–".to_owned(), |line| line.to_string()));
            ui.end_row();
        }
    });
}

/// A figure of a plan: what it is, how it is written, and what it means.
struct Line {
    name: &'static str,
    value: fn(&Figures) -> String,
    tip: &'static str,
}

const LINES: [Line; 9] = [
    Line {
        name: "Balance",
        value: |f| format!("{:.3}", f.balance),
        tip: "How evenly the stops share the population: 0 is perfect (Stevens and Olsen 2004).",
    },
    Line {
        name: "Plants to the nearest stop, m",
        value: |f| format!("{:.0}", f.weighted_distance_m),
        tip: "Mean distance from a plant to the nearest stop.",
    },
    Line { name: "95 % of plants within, m", value: |f| format!("{:.0}", f.distance_95_m), tip: "Of a stop." },
    Line {
        name: "Plants within 25 m, %",
        value: |f| format!("{:.0}", 100.0 * f.population_within_25_m),
        tip: "Share of the field's plants that stand within 25 m of a stop.",
    },
    Line {
        name: "Detection, %",
        value: |f| format!("{:.0}", 100.0 * f.detection),
        tip: "Chance that the sample holds a type that makes up the set share of the plants, when seeds of one stop are alike.",
    },
    Line {
        name: "Seeds worth, of those tested",
        value: |f| format!("{:.0}", f.n_eff),
        tip: "Seeds of one stop are alike; the sample says as much as this many seeds taken singly.",
    },
    Line { name: "Tramlines", value: |f| f.tramlines.to_string(), tip: "Different tramlines with a stop." },
    Line { name: "Across, m", value: |f| format!("{:.0}", f.extent_m), tip: "Largest distance between two stops." },
    Line {
        name: "Nearest to a gate, m",
        value: |f| f.gate_distance_m.map_or("–".to_owned(), |m| format!("{m:.0}")),
        tip: "Distance from the nearest gate to the nearest stop.",
    },
];

fn figures(ui: &mut Ui, plan: &Plan) {
    Grid::new("figures of plan").num_columns(3).spacing([16.0, 2.0]).min_row_height(18.0).show(ui, |ui| {
        ui.label("");
        for title in ["Here", "At gate"] {
            let text = small(ui, title);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.label(text).on_hover_text("The figures of this plan, and of the same number of stops taken at the gate.")
            });
        }
        ui.end_row();
        for line in &LINES {
            ui.label(RichText::new(line.name).size(style::SMALL)).on_hover_text(line.tip);
            right(ui, &(line.value)(&plan.figures));
            right(ui, &plan.gate_figures.as_ref().map_or("–".to_owned(), line.value));
            ui.end_row();
        }
    });
}

fn right(ui: &mut Ui, text: &str) {
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
}
