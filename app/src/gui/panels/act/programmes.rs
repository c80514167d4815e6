//! The programmes of the project: their steps, where they are planned, and changing them.

use awn_core::act;
use awn_core::model::{FieldId, Programme};
use awn_core::units;
use egui::{Button, Grid, Panel, RichText, ScrollArea, TextEdit, Ui};

use super::cell;
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::act::{ActRequest, ActView, Draft};
use crate::gui::widgets::{action_button, head, line_to_type, note, section, small, typed};

/// Shows the list.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut ActView) {
    ui.horizontal_wrapped(|ui| {
        action_button(ui, ctx, Action::ImportProgrammes);
        if ctx.can_write() && ui.add(Button::new("New programme")).clicked() {
            wanted.draft = Some(Draft::new());
        }
    });
    if ctx.records.programmes.is_empty() {
        note(ui, "No programme yet. Expected control and cost are your own figures: Awn has none built in.");
        note(
            ui,
            "A table has one step a row: programme, crop, timing, active, dose with its unit, control_low, control_likely, control_high, \
             cost_per_ha.",
        );
    }
    let mut programmes: Vec<&Programme> = ctx.records.programmes.values().map(|programme| &**programme).collect();
    programmes.sort_by_key(|programme| programme.name.to_lowercase());
    for programme in programmes {
        one(ui, ctx, programme, wanted);
    }
    if !ctx.records.programmes.is_empty() {
        section(ui, "Money is written in");
        ui.horizontal(|ui| {
            let held = &ctx.facts.act.currency;
            if let Some(text) = typed(ui, "currency", "Sign or code of the currency", held, 1, "£")
                && !text.trim().is_empty()
                && text.chars().count() <= 4
            {
                ctx.ask(Request::Act(ActRequest::Currency(text.trim().to_owned())));
            }
        });
    }
}

fn one(ui: &mut Ui, ctx: &Ctx<'_>, programme: &Programme, wanted: &mut ActView) {
    let planned: Vec<FieldId> = ctx
        .records
        .field_programmes
        .values()
        .filter(|planned| planned.programme == Some(programme.id) && planned.year == ctx.view.year)
        .map(|planned| planned.field)
        .collect();
    let cost = act::money(&ctx.facts.act.currency, programme.cost_per_ha());
    let title = format!("{}, {cost} a hectare, in {}", programme.name, units::count(planned.len(), "field"));
    let open = (wanted.open == Some(programme.id)).then_some(true);
    let text = RichText::new(title).font(style::bold_of(style::SMALL));
    egui::CollapsingHeader::new(text).id_salt(programme.id.0).default_open(open.unwrap_or(false)).show(ui, |ui| {
        if !programme.crop.is_empty() {
            note(ui, format!("For {}.", programme.crop));
        }
        steps(ui, ctx, programme);
        put(ui, ctx, programme, &planned);
        ui.horizontal_wrapped(|ui| {
            if !ctx.can_write() {
                return;
            }
            if ui.button("Change…").clicked() {
                wanted.draft = Some(Draft::of(programme));
            }
            if ui.button("Copy").clicked() {
                ctx.ask(Request::Act(ActRequest::Copy(programme.id)));
            }
            if ui.button("Remove").on_hover_text("Undo brings it back.").clicked() {
                ctx.ask(Request::Act(ActRequest::Remove(programme.id)));
            }
        });
    });
}

fn steps(ui: &mut Ui, ctx: &Ctx<'_>, programme: &Programme) {
    Grid::new(("steps of", programme.id.0)).num_columns(4).spacing([8.0, 2.0]).show(ui, |ui| {
        for title in ["When", "Active and dose", "Expected", "Cost/ha"] {
            let text = small(ui, title);
            ui.label(text);
        }
        ui.end_row();
        for step in &programme.steps {
            let dose = step.dose_g_per_ha.map_or_else(String::new, |dose| format!(", {dose} g/ha"));
            let cost = act::money(&ctx.facts.act.currency, step.cost_per_ha);
            for (width, text) in [
                (84.0, step.timing.clone()),
                (142.0, format!("{}{dose}", step.active)),
                (82.0, step.control.label()),
                (44.0, cost),
            ] {
                cell(ui, width, RichText::new(&text).size(style::SMALL)).on_hover_text(text);
            }
            ui.end_row();
        }
    });
}

/// Buttons that put the programme on fields.
fn put(ui: &mut Ui, ctx: &Ctx<'_>, programme: &Programme, planned: &[FieldId]) {
    let ask = |fields: Vec<FieldId>| {
        ctx.ask(Request::Act(ActRequest::Put { fields, programme: Some(programme.id), measures: None }));
    };
    let open = |field: &FieldId| ctx.facts.row(*field).is_some() && !planned.contains(field);
    let chosen: Vec<FieldId> = ctx.view.selected.iter().copied().filter(open).collect();
    let of_crop = ctx.records.crops.values().filter(|crop| {
        crop.year == ctx.view.year && !programme.crop.is_empty() && awn_core::model::same_name(&crop.crop, &programme.crop)
    });
    let of_crop: Vec<FieldId> = of_crop.map(|crop| crop.field).filter(open).collect();
    let without: Vec<FieldId> = ctx.facts.act.checks.without.iter().copied().filter(open).collect();
    ui.horizontal_wrapped(|ui| {
        let choices = [
            (chosen, "Put on the chosen", ""),
            (of_crop, "Put on all", " with this crop"),
            (without, "Put on all", " without a programme"),
        ];
        for (fields, before, after) in choices {
            if fields.is_empty() {
                continue;
            }
            let text = format!("{before} {}{after}", units::count(fields.len(), "field"));
            if ctx.can_write() && ui.add(Button::new(RichText::new(text).size(style::SMALL))).clicked() {
                ask(fields);
            }
        }
    });
}

/// What is asked of a step: name, hint, width.
const ASKED: [(&str, &str, f32); 5] = [
    ("When", "pre-emergence", 80.0),
    ("Active", "flufenacet+diflufenican", 104.0),
    ("Dose", "240+60 g/ha", 76.0),
    ("Control, %", "60-72-82", 74.0),
    ("Cost/ha", "30.50", 48.0),
];

/// Shows the form for a programme.
pub fn draft(ui: &mut Ui, ctx: &Ctx<'_>, view: &ActView, draft: &Draft) {
    let mut edited = draft.clone();
    let title = if draft.id.is_some() { "Change a programme" } else { "A new programme" };
    head(ui, title, "A change holds for every field in which it is planned.");
    Panel::bottom("keep programme").show(ui, |ui| {
        ui.add_space(style::STEP);
        for wrong in &edited.wrong {
            ui.label(RichText::new(wrong).size(style::SMALL).color(style::of(ui).bad));
        }
        if keep(ui, ctx, "Keep programme") {
            ctx.ask(Request::Act(ActRequest::KeepDraft));
        }
        if ui.button("Do not keep").clicked() {
            super::ask(ctx, ActView { draft: None, ..view.clone() });
        }
    });
    ScrollArea::vertical().id_salt("draft").auto_shrink(false).show(ui, |ui| {
        line_to_type(ui, "Name", &mut edited.name, "such as Wheat, autumn stack");
        line_to_type(ui, "Crop", &mut edited.crop, "such as winter wheat");
        section(ui, "Steps");
        note(
            ui,
            "Control of susceptible plants that you expect: one figure, or low-likely-high. Dose in g/ha or kg/ha of active. Steps of \
             one pass have the same words under When.",
        );
        steps_to_type(ui, &mut edited);
        if ui.button("Add a step").clicked() {
            let timing = edited.steps.last().map(|step| step[0].clone()).unwrap_or_default();
            edited.steps.push([timing, String::new(), String::new(), String::new(), String::new()]);
        }
        line_to_type(ui, "Notes", &mut edited.note, "");
    });
    if edited != *draft {
        edited.wrong.clear();
        super::ask(ctx, ActView { draft: Some(edited), ..view.clone() });
    }
}

fn steps_to_type(ui: &mut Ui, edited: &mut Draft) {
    let mut removed = None;
    Grid::new("steps to type").num_columns(6).spacing([4.0, 4.0]).show(ui, |ui| {
        for (name, ..) in ASKED {
            let text = small(ui, name);
            ui.label(text);
        }
        ui.end_row();
        let ink = style::of(ui).ink;
        for (number, step) in edited.steps.iter_mut().enumerate() {
            for ((name, hint, width), text) in ASKED.into_iter().zip(step.iter_mut()) {
                let line = TextEdit::singleline(text)
                    .text_color(ink)
                    .hint_text(hint)
                    .font(egui::FontId::proportional(style::SMALL));
                let said = format!("{name} of step {}", number + 1);
                ui.add_sized([width, 24.0], line.margin(egui::Margin::symmetric(4, 2)))
                    .widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, &said));
            }
            let button = ui.small_button("×").on_hover_text("Take the step out");
            button.widget_info(|| {
                egui::WidgetInfo::labeled(egui::Role::Button, true, format!("Take step {} out", number + 1))
            });
            if button.clicked() {
                removed = Some(number);
            }
            ui.end_row();
        }
    });
    if let Some(number) = removed {
        edited.steps.remove(number);
    }
}

/// The button that keeps what was typed.
pub fn keep(ui: &mut Ui, ctx: &Ctx<'_>, text: &str) -> bool {
    let tokens = style::of(ui);
    let label = RichText::new(text).color(tokens.ground).font(style::bold_of(style::BODY));
    let button = Button::new(label).fill(tokens.accent).min_size(egui::vec2(120.0, 32.0));
    ui.add_enabled(ctx.can_write(), button).clicked()
}
