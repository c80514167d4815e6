//! Reading a table of sprays, crops or programmes: a file, or text pasted from a spreadsheet. What each column is read as is shown
//! before anything is kept.

use awn_core::exchange::{TableColumn, Treatment, TreatmentPreview};
use awn_core::problem::Severity;
use awn_core::units::count;
use egui::{ComboBox, Grid, RichText, TextEdit, Ui};

use super::programmes::keep;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::act::{ActRequest, ActView, TableForm};
use crate::gui::widgets::{choice, head, line_to_type, note, section, small};

/// Problems shown before the table is read; the rest is listed with it.
const SHOWN: usize = 6;

/// Shows the form.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, view: &ActView, form: &TableForm) {
    let mut edited = form.clone();
    let name = form.file.as_deref().and_then(|file| file.file_name()).map(|name| name.to_string_lossy().into_owned());
    match &name {
        Some(name) => head(ui, &format!("Import {}s", form.kind.noun()), name),
        None => head(ui, "Paste a table", "Rows as they are copied from a spreadsheet, their headings first."),
    }
    ui.horizontal(|ui| {
        for (kind, text) in
            [(Treatment::Sprays, "Sprays"), (Treatment::Crops, "Crops"), (Treatment::Programmes, "Programmes")]
        {
            if choice(ui, edited.kind == kind, text).clicked() && edited.kind != kind {
                edited.kind = kind;
                edited.columns.clear();
            }
        }
    });
    let headings: Vec<&str> = edited.kind.headings().collect();
    note(
        ui,
        format!(
            "Headings: {}. Other words are understood; needed are {}.",
            headings.join(", "),
            edited.kind.needed().join(", ")
        ),
    );
    if form.file.is_none() {
        let box_ = TextEdit::multiline(&mut edited.text)
            .text_color(style::of(ui).ink)
            .hint_text("field\tyear\tactive\tdose\nLong Acre\t2026\tflufenacet\t240 g/ha")
            .desired_rows(7)
            .desired_width(f32::INFINITY);
        ui.add(box_).widget_info(|| egui::WidgetInfo::labeled(egui::Role::MultilineTextInput, true, "Text to paste"));
    }
    if let Some((_, preview)) = &form.looked_at {
        looked_at(ui, preview, &mut edited);
    }
    section(ui, "For all rows");
    if edited.kind != Treatment::Programmes {
        line_to_type(ui, "Harvest year", &mut edited.year, "what the table says; else such as 2026");
    }
    if edited.kind != Treatment::Crops {
        line_to_type(ui, "Unit of doses", &mut edited.unit, "what the table says; else g/ha or kg/ha of active");
    }
    ui.add_space(2.0 * style::STEP);
    let refused = form.looked_at.as_ref().is_some_and(|(_, preview)| preview.outcome.is_none());
    ui.horizontal(|ui| {
        ui.add_enabled_ui(form.is_filled() && !refused, |ui| {
            if keep(ui, ctx, &format!("Keep {}s", form.kind.noun())) {
                ctx.ask(Request::Act(ActRequest::KeepTable));
            }
        });
        if ui.button("Do not keep").clicked() {
            super::ask(ctx, ActView { table: None, ..view.clone() });
        }
    });
    note(ui, "It is one change: undo takes all of it back. With errors nothing is kept.");
    if edited != *form {
        super::ask(ctx, ActView { table: Some(edited), ..view.clone() });
    }
}

fn looked_at(ui: &mut Ui, preview: &TreatmentPreview, form: &mut TableForm) {
    if !preview.columns.is_empty() {
        note(ui, format!("Headings in row {}, {} below.", preview.heading, count(preview.count, "row")));
        if preview.remembered {
            note(ui, "Columns are read as the last time for a table with these headings.");
        }
        section(ui, "Columns");
        Grid::new("table columns").num_columns(3).spacing([12.0, 4.0]).show(ui, |ui| {
            for title in ["In the table", "Read as", "First row"] {
                let text = small(ui, title);
                ui.label(text);
            }
            ui.end_row();
            for (index, column) in preview.columns.iter().enumerate().filter(|(_, column)| !column.name.is_empty()) {
                super::cell(ui, 116.0, &column.name).on_hover_text(&column.name);
                meaning(ui, index, column, form);
                let first = preview.rows.first().and_then(|row| row.get(index)).cloned().unwrap_or_default();
                let text = small(ui, first);
                super::cell(ui, 120.0, text);
                ui.end_row();
            }
        });
    }
    section(ui, "What would come of it");
    if let Some((added, updated, skipped)) = preview.outcome {
        let said = format!(
            "{} new, {updated} brought up to date, {} left out.",
            count(added, form.kind.noun()),
            count(skipped, "row")
        );
        ui.label(RichText::new(said).size(style::SMALL));
    }
    let tokens = style::of(ui);
    let mut worth: Vec<_> = preview.problems.list.iter().filter(|problem| problem.severity != Severity::Note).collect();
    worth.sort_by_key(|problem| std::cmp::Reverse(problem.severity));
    for problem in worth.iter().take(SHOWN) {
        let colour = if problem.severity == Severity::Error { tokens.bad } else { tokens.warn };
        ui.label(RichText::new(problem.to_string()).size(style::SMALL).color(colour));
    }
    if worth.len() > SHOWN {
        note(ui, format!("And {} more.", worth.len() - SHOWN));
    }
}

fn meaning(ui: &mut Ui, index: usize, column: &TableColumn, form: &mut TableForm) {
    let mut chosen = None;
    let said = column.heading.unwrap_or("not read");
    let shown = ComboBox::from_id_salt(("heading", index)).width(132.0).selected_text(said).show_ui(ui, |ui| {
        for heading in form.kind.headings() {
            if ui.selectable_label(column.heading == Some(heading), heading).clicked() {
                chosen = Some(heading);
            }
        }
    });
    let name = format!("Read {} as", column.name);
    shown.response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ComboBox, true, &name));
    if let Some(heading) = chosen {
        form.columns.retain(|(name, held)| *name != column.name && held != heading);
        form.columns.push((column.name.clone(), heading.to_owned()));
    }
}
