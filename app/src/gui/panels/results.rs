//! The Results lens: what the tests said, our rating beside the laboratory's.

use awn_core::units;
use egui::{Align, Label, Layout, RichText, Ui};
use egui_extras::{Column, TableBuilder};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::facts::ResultRow;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view_state::Colouring;
use crate::gui::widgets::{action_button, choice, head, next_step, note, rating_chip, small};

const HEADINGS: [(&str, &str, bool); 7] = [
    ("Year", "Harvest year of the sample", true),
    ("Field", "The field the seed was taken from", false),
    ("Active", "Active ingredient and HRAC group", false),
    ("Red., %", "Reduction against untreated plants of the same sample", true),
    ("Std, %", "Reduction of the susceptible standard in the same test", true),
    ("Ours", "Rating by limits at 0.90, 0.80 and 0.40 of the standard", false),
    ("Lab", "Rating that the laboratory printed", false),
];

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    head(
        ui,
        "Results",
        "What the tests said of each field and mode of action, rated against the standard of the same test.",
    );
    if ctx.records.results.is_empty() {
        next_step(ui, ctx, Action::ImportResults, "Import results…");
        note(
            ui,
            "The laboratory's table as CSV, with the headings sample, field, year, assay, active, reduction_percent and standard_percent. You can drop the file on the window.",
        );
        return;
    }
    let rows: Vec<&ResultRow> = ctx
        .facts
        .results
        .iter()
        .filter(|row| ctx.view.selected.is_empty() || ctx.view.selected.contains(&row.field))
        .collect();
    next_step(ui, ctx, Action::ImportResults, "Import results…");
    note(
        ui,
        "A rating is a snapshot of one sample, taken from survivors, and no recommendation: the product label and a qualified adviser decide.",
    );
    ui.horizontal_wrapped(|ui| {
        for colouring in Colouring::CHOICE {
            if choice(ui, ctx.view.colouring == colouring, colouring.label()).clicked() {
                ctx.ask(Request::SetColouring(colouring));
            }
        }
    });
    let of = match ctx.view.selected.len() {
        0 => "all fields".to_owned(),
        1 => ctx.view.single().and_then(|id| ctx.facts.row(id)).map_or_else(String::new, |row| row.name.clone()),
        many => units::count(many, "chosen field"),
    };
    let differ = rows.iter().filter(|row| differs(row)).count();
    let said = if differ > 0 {
        format!(
            "{} of {of}; {} where the laboratory's rating differs from the limits.",
            units::count(rows.len(), "result"),
            units::count(differ, "result")
        )
    } else {
        format!("{} of {of}.", units::count(rows.len(), "result"))
    };
    note(ui, said);
    if rows.is_empty() {
        note(ui, "Nothing was tested here up to this harvest.");
        action_button(ui, ctx, Action::SelectNone);
        return;
    }
    table(ui, ctx, &rows);
}

/// The laboratory printed another rating than the limits give.
fn differs(row: &ResultRow) -> bool {
    row.lab.is_some() && row.rating.is_some() && row.lab != row.rating
}

fn table(ui: &mut Ui, ctx: &Ctx<'_>, rows: &[&ResultRow]) {
    ui.spacing_mut().item_spacing = egui::vec2(2.0 * style::STEP, 0.0);
    TableBuilder::new(ui)
        .id_salt("results")
        .sense(egui::Sense::click())
        .cell_layout(Layout::left_to_right(Align::Center))
        .auto_shrink(false)
        .column(Column::exact(38.0))
        .column(Column::remainder().at_least(64.0).clip(true))
        .column(Column::exact(112.0).clip(true))
        .column(Column::exact(48.0))
        .column(Column::exact(44.0))
        .column(Column::exact(34.0))
        .column(Column::exact(40.0))
        .header(style::ROW, |mut header| {
            for (title, tip, numbers) in HEADINGS {
                header.col(|ui| {
                    let text = small(ui, title);
                    aligned(ui, numbers, |ui| {
                        ui.label(text).on_hover_text(tip);
                    });
                });
            }
        })
        .body(|body| {
            body.rows(style::ROW, rows.len(), |mut row| {
                let Some(result) = rows.get(row.index()) else { return };
                let name = format!("{} {}", result.active, result.group);
                let of = format!("Sample {}, {} test", result.sample, result.assay.map_or("unknown", |kind| kind.label()));
                row.col(|ui| aligned(ui, true, |ui| drop(ui.label(result.year.to_string()))));
                row.col(|ui| drop(ui.add(Label::new(&result.field_name).truncate()).on_hover_text(&of)));
                row.col(|ui| {
                    ui.add(Label::new(RichText::new(&result.active).size(style::SMALL)).truncate()).on_hover_text(name);
                });
                row.col(|ui| aligned(ui, true, |ui| drop(ui.label(format!("{:.0}", result.reduction)))));
                row.col(|ui| {
                    aligned(ui, true, |ui| {
                        drop(ui.label(result.standard.map_or("none".to_owned(), |standard| format!("{standard:.0}"))))
                    })
                });
                row.col(|ui| {
                    let chip = rating_chip(ui, result.rating);
                    if let Some(share) = result.share {
                        chip.on_hover_text(format!(
                            "With the given standard error, {:.0} % sure of this class.",
                            100.0 * share
                        ));
                    }
                });
                row.col(|ui| lab(ui, result));
                if row.response().clicked() {
                    ctx.ask(Request::Select { field: Some(result.field), add: false, scroll: true });
                }
            });
        });
}

fn lab(ui: &mut Ui, result: &ResultRow) {
    let Some(rating) = result.lab else { return };
    let tokens = style::of(ui);
    if differs(result) {
        let text = RichText::new(format!("{} !", rating.label())).font(style::bold_of(style::SMALL)).color(tokens.bad);
        ui.label(text).on_hover_text(
            "The laboratory's rating differs from the limits. Neither is changed: ask the laboratory which limits it used.",
        );
    } else {
        ui.label(RichText::new(rating.label()).size(style::SMALL));
    }
}

fn aligned(ui: &mut Ui, numbers: bool, add: impl FnOnce(&mut Ui)) {
    let layout = if numbers { Layout::right_to_left(Align::Center) } else { Layout::left_to_right(Align::Center) };
    ui.with_layout(layout, add);
}
