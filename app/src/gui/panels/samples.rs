//! The Samples lens: every envelope of the harvest, what is next with it, and what is late.

mod moving;
mod page;

use awn_core::model::{Sample, Stage};
use awn_core::report::{label_sheet, label_sheets};
use awn_core::samples::Line;
use awn_core::units::count;
use egui::{Align, Button, Checkbox, Label, Layout, Panel, RichText, ScrollArea, TextEdit, Ui};
use egui_extras::{Column, TableBuilder};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::samples::SamplesView;
use crate::gui::widgets::{action_button, choice, head, next_step, note, small, stage_chip};

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    let view = &ctx.view.samples;
    let lines = &ctx.facts.samples;
    head(ui, "Samples", "Every envelope, from the plan to its result.");
    step(ui, ctx, view, lines);
    let mut wanted = view.clone();
    if lines.is_empty() {
        empty(ui, ctx);
        pages(ui, ctx, &mut wanted);
        ask(ctx, wanted);
        return;
    }
    let open = view.open.and_then(|open| lines.iter().find(|line| line.sample.id == open));
    let at_work = open.is_some() || !view.chosen.is_empty();
    // While samples are in hand, the room is theirs.
    if !at_work {
        reminders(ui, ctx, &mut wanted);
    }
    let rows: Vec<&Line> = lines
        .iter()
        .filter(|line| ctx.view.selected.is_empty() || ctx.view.selected.contains(&line.sample.field))
        .filter(|line| shows(ctx, view, line))
        .collect();
    filters(ui, ctx, &mut wanted, &rows);
    pages(ui, ctx, &mut wanted);
    if at_work {
        let height = ui.available_height();
        Panel::bottom("sample detail")
            .resizable(true)
            .default_size((height - 150.0).max(0.62 * height))
            .size_range(120.0..=(height - 80.0).max(121.0))
            .show(ui, |ui| {
                ScrollArea::vertical().id_salt("sample").auto_shrink(false).show(ui, |ui| match open {
                    Some(line) => page::show(ui, ctx, line, &mut wanted),
                    None => moving::show(ui, ctx, lines, &mut wanted),
                });
            });
    }
    if rows.is_empty() {
        note(ui, "No sample passes the filter.");
        if ui.button("Show all samples").clicked() {
            wanted.words.clear();
            wanted.late = false;
            ctx.act(Action::SelectNone);
        }
    } else {
        table(ui, ctx, &rows, &mut wanted);
    }
    ask(ctx, wanted);
}

fn ask(ctx: &Ctx<'_>, mut wanted: SamplesView) {
    if wanted != ctx.view.samples {
        if wanted.wrong == ctx.view.samples.wrong {
            wanted.wrong.clear();
        }
        ctx.ask(Request::SetSamples(Box::new(wanted)));
    }
}

fn shows(ctx: &Ctx<'_>, view: &SamplesView, line: &Line) -> bool {
    let row = ctx.facts.row(line.sample.field);
    let text =
        format!("{} {} {}", line.sample.code, row.map_or("", |r| r.name.as_str()), row.map_or("", |r| r.farm.as_str()));
    let text = text.to_lowercase();
    view.words.to_lowercase().split_whitespace().all(|word| text.contains(word)) && (!view.late || line.status.is_late())
}

/// The one thing to do next.
fn step(ui: &mut Ui, ctx: &Ctx<'_>, view: &SamplesView, lines: &[Line]) {
    let chosen = view.chosen.len();
    if lines.is_empty() {
        let fields = if ctx.view.selected.is_empty() { ctx.facts.plans } else { ctx.view.selected.len() };
        return match fields {
            0 => next_step(ui, ctx, Action::LensWalk, "Propose stops first"),
            fields => next_step(ui, ctx, Action::PlanSamples, &format!("Plan samples for {}", count(fields, "field"))),
        };
    }
    if let (1.., Some(stage)) = (chosen, view.target(lines)) {
        return next_step(ui, ctx, Action::MoveSamples, &format!("Mark {} {}", count(chosen, "sample"), stage.label()));
    }
    let first = SamplesView::first(lines);
    let lead = lines.iter().find(|line| first.first() == Some(&line.sample.id));
    match lead {
        Some(lead) => {
            let late = if lead.status.is_late() { " late" } else { "" };
            let to = lead.status.next.map_or("", Stage::label);
            let text = match first.len() {
                1 => format!("Choose the{late} sample to be {to}"),
                many => format!("Choose the {many}{late} samples to be {to}"),
            };
            next_step(ui, ctx, Action::ChooseFirstSamples, &text);
        }
        None => note(ui, "Nothing is left to do with the samples of this harvest."),
    }
}

fn empty(ui: &mut Ui, ctx: &Ctx<'_>) {
    note(
        ui,
        if ctx.facts.plans > 0 {
            "No samples of this harvest yet. Each field with planned stops gets an envelope with a code of its own; then print cards \
             and labels, and come back with the seed."
        } else {
            "No samples of this harvest yet, and no stops are planned. Propose stops in the Walk lens; then each field gets an \
             envelope with a code of its own."
        },
    );
}

fn reminders(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut SamplesView) {
    for reminder in &ctx.facts.reminders {
        let text = RichText::new(format!("{}.", reminder.text)).size(style::SMALL).color(style::of(ui).warn);
        let year = reminder.year;
        let tip = format!("{} Click to choose them.", reminder.hint);
        let line = ui.add(Label::new(text).wrap().sense(egui::Sense::click()));
        line.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, format!("{}.", reminder.text)));
        if line.on_hover_text(tip).clicked() {
            if year != ctx.view.year {
                ctx.ask(Request::SetYear(year));
            }
            wanted.chosen = reminder.samples.iter().copied().collect();
            wanted.open = None;
        }
    }
}

fn filters(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut SamplesView, rows: &[&Line]) {
    ui.horizontal(|ui| {
        let field = TextEdit::singleline(&mut wanted.words).text_color(style::of(ui).ink).hint_text("Code, field or farm");
        ui.add(field.desired_width(150.0))
            .widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, "Find samples"));
        let late = RichText::new("Late only").color(style::of(ui).ink);
        ui.checkbox(&mut wanted.late, late).on_hover_text("Only samples for which something should have been done by now.");
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let all = rows.iter().all(|line| wanted.chosen.contains(&line.sample.id));
            let words = if all && !rows.is_empty() { "Choose none" } else { "Choose all" };
            if !rows.is_empty() && ui.add(Button::new(words)).clicked() {
                wanted.open = None;
                if all {
                    wanted.chosen.clear();
                } else {
                    wanted.chosen.extend(rows.iter().map(|line| line.sample.id));
                }
            }
        });
    });
    if ctx.view.selected.len() == 1 {
        let name = ctx.view.single().and_then(|id| ctx.facts.row(id)).map_or("", |row| row.name.as_str());
        note(ui, format!("{} of {name}.", count(rows.len(), "sample")));
    }
}

/// What is printed and read in, with its settings.
fn pages(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut SamplesView) {
    ui.horizontal_wrapped(|ui| {
        for action in [Action::PrintCards, Action::PrintLabels, Action::PrintForms, Action::ImportWalk] {
            action_button(ui, ctx, action);
        }
        let button = ui.button("Paper…").on_hover_text("Size of cards, and the sheet of labels.");
        let close = egui::PopupCloseBehavior::CloseOnClickOutside;
        egui::Popup::menu(&button).close_behavior(close).show(|ui| paper(ui, wanted));
        if !ctx.facts.samples.is_empty() {
            action_button(ui, ctx, Action::PlanSamples);
        }
    });
}

/// Size of cards, and the sheet of labels.
fn paper(ui: &mut Ui, wanted: &mut SamplesView) {
    note(ui, "Field cards on");
    ui.horizontal(|ui| {
        for (small_cards, name) in [(false, "A4"), (true, "A5")] {
            if choice(ui, wanted.small_cards == small_cards, name).clicked() {
                wanted.small_cards = small_cards;
            }
        }
    });
    note(ui, "Labels on sheets of");
    for sheet in label_sheets() {
        let (columns, rows) = sheet.count;
        let words = if sheet.places() > 1 {
            format!("{columns} by {rows}, {} x {} mm", sheet.label.0, sheet.label.1)
        } else {
            format!("one on a page, {} x {} mm", sheet.label.0, sheet.label.1)
        };
        if choice(ui, wanted.sheet == sheet.name, &words).clicked() {
            wanted.sheet.clone_from(&sheet.name);
            wanted.from = 1;
        }
    }
    let places = label_sheet(&wanted.sheet).map_or(1, |sheet| sheet.places());
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Begin at label")).id;
        ui.add(egui::DragValue::new(&mut wanted.from).range(1..=places)).labelled_by(label);
    });
}

fn table(ui: &mut Ui, ctx: &Ctx<'_>, rows: &[&Line], wanted: &mut SamplesView) {
    ui.spacing_mut().item_spacing = egui::vec2(2.0 * style::STEP, 0.0);
    let mut clicked = None;
    TableBuilder::new(ui)
        .id_salt("samples")
        .sense(egui::Sense::click())
        .cell_layout(Layout::left_to_right(Align::Center))
        .auto_shrink(false)
        .min_scrolled_height(0.0)
        .column(Column::exact(22.0))
        .column(Column::exact(96.0).clip(true))
        .column(Column::remainder().at_least(64.0).clip(true))
        .column(Column::exact(104.0).clip(true))
        .column(Column::exact(104.0).clip(true))
        .header(style::ROW, |mut header| {
            for (title, tip) in [
                ("", "Choose"),
                ("Sample", "The code on the envelope"),
                ("Field", "The field the seed is from"),
                ("Stage", "Where it is on its way"),
                ("Next", "What is to be done, and by when"),
            ] {
                header.col(|ui| {
                    let text = small(ui, title);
                    ui.label(text).on_hover_text(tip);
                });
            }
        })
        .body(|body| {
            body.rows(style::ROW, rows.len(), |mut row| {
                let Some(line) = rows.get(row.index()) else { return };
                row.set_selected(wanted.open == Some(line.sample.id));
                cells(&mut row, ctx, line, wanted);
                if row.response().clicked() {
                    clicked = Some((line.sample.id, line.sample.field));
                }
            });
        });
    if let Some((id, field)) = clicked {
        wanted.open = if wanted.open == Some(id) { None } else { Some(id) };
        if !ctx.view.selected.is_empty() && !ctx.view.selected.contains(&field) {
            ctx.ask(Request::Select { field: Some(field), add: false, scroll: true });
        }
    }
}

fn cells(row: &mut egui_extras::TableRow<'_, '_>, ctx: &Ctx<'_>, line: &Line, wanted: &mut SamplesView) {
    let sample: &Sample = &line.sample;
    let name = ctx.facts.row(sample.field).map_or("another year's field", |row| row.name.as_str());
    row.col(|ui| {
        let mut chosen = wanted.chosen.contains(&sample.id);
        let tick = ui.add(Checkbox::without_text(&mut chosen));
        tick.widget_info(|| {
            egui::WidgetInfo::selected(egui::Role::CheckBox, true, chosen, format!("Choose {}", sample.code))
        });
        if tick.changed() {
            if chosen {
                wanted.chosen.insert(sample.id);
                wanted.open = None;
            } else {
                wanted.chosen.remove(&sample.id);
            }
        }
    });
    row.col(|ui| drop(ui.add(Label::new(&sample.code).selectable(false).truncate()).on_hover_text(&sample.code)));
    row.col(|ui| drop(ui.add(Label::new(name).selectable(false).truncate()).on_hover_text(name)));
    row.col(|ui| {
        stage_chip(ui, line.status.stage);
        let since = line.status.since.map_or_else(String::new, |day| day.strftime(" since %-d %B").to_string());
        let text = RichText::new(line.status.stage.label()).size(style::SMALL);
        ui.add(Label::new(text).selectable(false).truncate())
            .on_hover_text(format!("{}{since}", line.status.stage.meaning()));
    });
    row.col(|ui| next(ui, line));
}

fn next(ui: &mut Ui, line: &Line) {
    let tokens = style::of(ui);
    let Some(stage) = line.status.next else { return };
    let by = line.status.by.map_or_else(String::new, |day| day.strftime(" by %-d %b").to_string());
    let colour = if line.status.is_late() { tokens.bad } else { tokens.ink };
    let verb = verb(stage);
    let text = RichText::new(format!("{verb}{by}")).size(style::SMALL).color(colour);
    let shown = ui.add(Label::new(text).selectable(false).truncate());
    if line.status.is_late() {
        shown.on_hover_text(format!("{} late", count(line.status.late_days as usize, "day")));
    } else {
        shown.on_hover_text(format!("{verb}{by}"));
    }
}

/// What to do so that a sample comes to a stage.
fn verb(stage: Stage) -> &'static str {
    match stage {
        Stage::Planned => "plan",
        Stage::Collected => "collect",
        Stage::Dried => "dry",
        Stage::Sealed => "seal",
        Stage::Posted => "post",
        Stage::Received => "arrives",
        Stage::Reported => "results",
        Stage::Lost | Stage::Withdrawn => "",
    }
}
