//! What the next plans are made with.

use awn_core::model::{FieldId, Method, PlanSettings, SampleUnits};
use awn_core::stops::{DEFINITIONS, Target};
use egui::{Align, DragValue, Grid, Layout, RichText, Ui};

use super::figures;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::{HowMany, PlanForm};
use crate::gui::widgets::choice;

/// Figures that a target can be set for.
const TARGETS: [&str; 7] =
    ["balance", "weighted_distance_m", "distance_95_m", "population_within_25_m", "random_stops", "detection", "n_eff"];

/// Shows the settings.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    let mut form = ctx.view.plan.clone();
    one_of(ui, &mut form, HowMany::Given, "Stops in each field", "So many places in each field.", |ui, form, on| {
        if on {
            ui.add(DragValue::new(&mut form.settings.stops).range(1..=40))
                .accessible_name("Stops in each field")
                .on_hover_text("How many places to take seed at in each field.");
        }
    });
    one_of(
        ui,
        &mut form,
        HowMany::Minutes,
        "Minutes in each field",
        "As many stops as fit this time, walking and taking seed.",
        |ui, form, on| {
            if on {
                ui.add(DragValue::new(&mut form.minutes).range(5.0..=480.0).max_decimals(0))
                    .accessible_name("Minutes in each field")
                    .on_hover_text("Time for the whole walk, from the gate and back to it.");
            }
        },
    );
    one_of(
        ui,
        &mut form,
        HowMany::Target,
        "Until a figure is reached",
        "As few stops as reach the figure; the plan says so if no number does.",
        |_, _, _| {},
    );
    if form.how_many == HowMany::Target {
        target(ui, &mut form);
    }
    ui.collapsing("More settings", |ui| more(ui, ctx, &mut form));
    if form != ctx.view.plan {
        ctx.ask(Request::SetPlanForm(form));
    }
}

fn one_of(
    ui: &mut Ui,
    form: &mut PlanForm,
    which: HowMany,
    text: &str,
    tip: &str,
    add: impl FnOnce(&mut Ui, &mut PlanForm, bool),
) {
    ui.horizontal(|ui| {
        if choice(ui, form.how_many == which, text).on_hover_text(tip).clicked() {
            form.how_many = which;
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let on = form.how_many == which;
            add(ui, form, on);
        });
    });
}

fn target(ui: &mut Ui, form: &mut PlanForm) {
    let (mut key, mut wanted) = form.target.parts();
    let known = |key: &str| DEFINITIONS.iter().find(|known| known.key == key);
    let name = |key: &str| known(key).map_or_else(String::new, figures::name);
    ui.horizontal(|ui| {
        ui.add_space(6.0 * style::STEP);
        let label = ui.label(RichText::new("Figure").size(style::SMALL)).id;
        let combo = egui::ComboBox::from_id_salt("target").selected_text(name(key)).width(136.0).truncate();
        let shown = combo.show_ui(ui, |ui| {
            for other in TARGETS {
                let before = key;
                ui.selectable_value(&mut key, other, name(other)).on_hover_text(known(other).map_or("", |known| known.text));
                if key != before {
                    wanted = usual(key);
                }
            }
        });
        shown.response.labelled_by(label);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let share = key.starts_with("population") || key == "detection";
            let mut shown = if share { 100.0 * wanted } else { wanted };
            let most = if share { 100.0 } else { 1000.0 };
            let (speed, decimals) = if key == "balance" { (0.001, 3) } else { (0.5, 0) };
            let drag = DragValue::new(&mut shown).range(0.0..=most).speed(speed).max_decimals(decimals);
            ui.add(drag).accessible_name("Figure to reach").on_hover_text(
                if known(key).is_some_and(|known| known.smaller_is_better == Some(true)) {
                    "No more than this."
                } else {
                    "No less than this."
                },
            );
            wanted = if share { shown / 100.0 } else { shown };
        });
    });
    if let Ok(target) = format!("{key}={wanted}").parse::<Target>() {
        form.target = target;
    }
}

/// A value to start from (our choice, no source).
fn usual(key: &str) -> f64 {
    match key {
        "balance" => 0.01,
        "weighted_distance_m" => 40.0,
        "distance_95_m" => 80.0,
        "population_within_25_m" => 0.5,
        "random_stops" => 12.0,
        "detection" => 0.9,
        _ => 50.0,
    }
}

fn more(ui: &mut Ui, ctx: &Ctx<'_>, form: &mut PlanForm) {
    let s = &mut form.settings;
    Grid::new("more settings").num_columns(2).spacing([12.0, 4.0]).show(ui, |ui| {
        pick(
            ui,
            "How stops are chosen",
            "The last three are what people commonly do, to compare with.",
            &mut s.method,
            Method::ALL,
            Method::name,
        );
        number(
            ui,
            "Pull of the density",
            &mut s.exponent,
            0.0..=4.0,
            "0: even over the ground. 2: stops in proportion to the density. 1: half way.",
        );
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
        count(ui, "Tramlines to span", &mut s.min_tramlines, 1..=20, "At least so many tramlines, where the patches reach over as many.");
        number(ui, "Extent to span, m", &mut s.min_extent_m, 0.0..=1000.0, "At least this far from stop to stop, where the patches reach so far.");
        count(ui, "Least stops in each patch", &mut s.per_patch, 0..=10, "0: as the density has it.");
        limit(ui, s);
        number(ui, "Smallest patch, m²", &mut s.patch_min_m2, 0.0..=10_000.0, "Smaller ones are left out.");
        pick(
            ui,
            "What goes into one envelope",
            "One composite sample stands for the field; a sample for each group of patches tells them apart and costs as many tests.",
            &mut s.units,
            &[SampleUnits::Composite, SampleUnits::PatchGroups],
            |units| match units {
                SampleUnits::Composite => "The whole field",
                SampleUnits::PatchGroups => "Each group of patches",
            },
        );
        number(ui, "Patches nearer than this are one group, m", &mut s.group_gap_m, 0.0..=1000.0, "Between their edges.");
        number(ui, "Walking speed, km/h", &mut s.walking_km_per_h, 0.5..=8.0, "In a standing crop.");
        number(ui, "Minutes at a stop", &mut s.minutes_a_stop, 0.0..=60.0, "Taking seed, writing it down.");
        count(ui, "People who share the walk", &mut s.people, 1..=2, "Two people part the stops so that the last one is back soonest.");
        if let Some(field) = ctx.view.single() {
            gate(ui, ctx, field, "Walk starts at", &mut s.start_gate, "The gate from which the walk is shortest");
            gate(ui, ctx, field, "Walk ends at", &mut s.end_gate, "Where it starts");
        }
        count(ui, "Seeds tested", &mut s.seeds_tested, 1..=10_000, "In all, for the chance to find a biotype.");
        let mut percent = 100.0 * s.frequency;
        number(ui, "Biotype to find, % of plants", &mut percent, 0.01..=100.0, "For the chance to find it.");
        s.frequency = percent / 100.0;
        let mut alike = 100.0 * s.rho;
        number(ui, "Likeness of seeds from one stop, %", &mut alike, 0.0..=100.0, "Intraclass correlation: 0 as if taken singly, 100 all alike.");
        s.rho = alike / 100.0;
        let little = "Plants further apart than this have little in common: for what the stops are worth in random stops.";
        number(ui, "Plants are alike within, m", &mut s.alike_m, 0.0..=1000.0, little);
        ui.label(RichText::new("Start of the random search").size(style::SMALL)).on_hover_text("The same number gives the same stops.");
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.add(DragValue::new(&mut s.seed)).accessible_name("Start of the random search");
        });
        ui.end_row();
    });
    let usual = PlanSettings { stops: s.stops, ..ctx.records.settings.plan.clone() };
    if *s != usual && ui.button("Back to the usual settings").on_hover_text("As the project has them.").clicked() {
        *s = usual;
    }
}

/// How patches are told from the rest.
fn limit(ui: &mut Ui, s: &mut PlanSettings) {
    let label = ui.label(RichText::new("Patches are").size(style::SMALL)).on_hover_text("Which ground counts as a patch.");
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let kind = usize::from(s.patch_limit.is_some()) + 2 * usize::from(s.patch_share.is_some());
        let words = ["over a tenth of the thickest", "over a density", "a share of the plants"];
        let mut chosen = kind.min(2);
        let combo = egui::ComboBox::from_id_salt("patch limit").selected_text(words[chosen]).width(124.0).truncate();
        let shown = combo.show_ui(ui, |ui| {
            for (at, text) in words.iter().enumerate() {
                ui.selectable_value(&mut chosen, at, *text);
            }
        });
        shown.response.labelled_by(label.id);
        if chosen != kind.min(2) {
            s.patch_limit = (chosen == 1).then_some(1.0);
            s.patch_share = (chosen == 2).then_some(0.8);
        }
    });
    ui.end_row();
    if let Some(limit) = &mut s.patch_limit {
        number(
            ui,
            "Patches from, in the survey's unit",
            limit,
            0.0..=10_000.0,
            "A cell at or above this belongs to a patch.",
        );
    }
    if let Some(share) = &mut s.patch_share {
        let mut percent = 100.0 * *share;
        number(ui, "Share of the plants, %", &mut percent, 1.0..=100.0, "The thickest ground that holds this share.");
        *share = percent / 100.0;
    }
}

fn pick<T: Copy + PartialEq>(
    ui: &mut Ui,
    name: &str,
    tip: &str,
    value: &mut T,
    all: &[T],
    word: impl Fn(T) -> &'static str,
) {
    let label = ui.label(RichText::new(name).size(style::SMALL)).on_hover_text(tip);
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let combo = egui::ComboBox::from_id_salt(name).selected_text(word(*value)).width(124.0).truncate();
        let shown = combo.show_ui(ui, |ui| {
            for other in all {
                ui.selectable_value(value, *other, word(*other));
            }
        });
        shown.response.labelled_by(label.id);
    });
    ui.end_row();
}

fn gate(
    ui: &mut Ui,
    ctx: &Ctx<'_>,
    field: FieldId,
    name: &str,
    value: &mut Option<awn_core::model::GateId>,
    otherwise: &str,
) {
    let gates: Vec<_> = ctx.records.gates_of(field).collect();
    // A gate of another field means nothing here.
    let held = value.filter(|id| gates.iter().any(|gate| gate.id == *id));
    if gates.len() < 2 {
        return;
    }
    let title = |at: usize| {
        gates.get(at).filter(|gate| !gate.name.is_empty()).map_or(format!("Gate {}", at + 1), |gate| gate.name.clone())
    };
    let at = held.and_then(|id| gates.iter().position(|gate| gate.id == id));
    let label = ui.label(RichText::new(name).size(style::SMALL));
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let shown = at.map_or(otherwise.to_owned(), title);
        let combo = egui::ComboBox::from_id_salt(name).selected_text(shown).width(124.0).truncate();
        let shown = combo.show_ui(ui, |ui| {
            ui.selectable_value(value, None, otherwise);
            for (at, gate) in gates.iter().enumerate() {
                ui.selectable_value(value, Some(gate.id), title(at));
            }
        });
        shown.response.labelled_by(label.id);
    });
    ui.end_row();
}

fn count(ui: &mut Ui, name: &str, value: &mut usize, range: std::ops::RangeInclusive<usize>, tip: &str) {
    ui.label(RichText::new(name).size(style::SMALL)).on_hover_text(tip);
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.add(DragValue::new(value).range(range)).accessible_name(name);
    });
    ui.end_row();
}

fn number(ui: &mut Ui, name: &str, value: &mut f64, range: std::ops::RangeInclusive<f64>, tip: &str) {
    ui.label(RichText::new(name).size(style::SMALL)).on_hover_text(tip);
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.add(DragValue::new(value).range(range).speed(0.5).max_decimals(1)).accessible_name(name);
    });
    ui.end_row();
}
