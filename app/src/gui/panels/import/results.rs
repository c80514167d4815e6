//! The part of the import form that is for results: what each column would be read as, and what would come of it.

use awn_core::exchange::{Column, Meaning, Preview};
use awn_core::problem::Severity;
use awn_core::units::count;
use egui::{ComboBox, Grid, Label, RichText, Ui};

use crate::gui::style;
use crate::gui::view::import_form::ImportForm;
use crate::gui::widgets::{choice, line_to_type as text, note, section, small};

/// Codes that are offered at once.
const CODES: usize = 12;
/// Problems shown before the import; the rest is listed with it.
const SHOWN: usize = 4;

/// Shows what the file would be read as.
pub fn show(ui: &mut Ui, form: &mut ImportForm) {
    let Some((_, preview)) = form.looked_at.clone() else {
        let what = if form.looking.is_some() { "Looking at the file…" } else { "The file was not looked at." };
        note(ui, format!("CSV, XLSX, ODS or XLS. Columns are found by their headings. {what}"));
        text(ui, "Other headings in the file", &mut form.renamed, "their heading = ours, such as Ref = sample");
        return;
    };
    sheets(ui, form, &preview);
    let rows = count(preview.count, "row");
    note(ui, format!("Heading in row {}, {rows} below it. Change a column if it is read wrongly.", preview.heading));
    if preview.remembered {
        note(ui, "Columns are read as the last time for a table with these headings.");
    }
    section(ui, "Columns");
    Grid::new("columns").num_columns(3).spacing([12.0, 4.0]).show(ui, |ui| {
        for title in ["In the file", "Read as", "First row"] {
            ui.label(small(ui, title));
        }
        ui.end_row();
        for (index, column) in preview.columns.iter().enumerate().filter(|(_, column)| !column.name.is_empty()) {
            ui.add_sized([116.0, 20.0], Label::new(&column.name).truncate()).on_hover_text(&column.name);
            meaning(ui, index, column, form);
            let first = preview.rows.first().and_then(|row| row.get(index)).cloned().unwrap_or_default();
            ui.add(Label::new(small(ui, first)).truncate());
            ui.end_row();
        }
    });
    section(ui, "For all rows");
    text(ui, "Kind of test", &mut form.assay, "what the file says; else petri or pot");
    text(ui, "Harvest year", &mut form.year, "what the file says; else such as 2026");
    codes(ui, form, &preview);
    outcome(ui, &preview);
    if form.looking.is_some() {
        note(ui, "Looking at the file again…");
    }
}

/// The sheets of a workbook to choose from.
fn sheets(ui: &mut Ui, form: &mut ImportForm, preview: &Preview) {
    if preview.sheets.len() < 2 {
        return;
    }
    note(ui, "Sheet");
    ui.horizontal_wrapped(|ui| {
        for name in &preview.sheets {
            if choice(ui, *name == preview.sheet, name).clicked() {
                form.sheet.clone_from(name);
                form.columns.clear();
            }
        }
    });
}

/// Codes that nearly match known ones: offered, and taken for the same only when told so.
fn codes(ui: &mut Ui, form: &mut ImportForm, preview: &Preview) {
    if preview.near.is_empty() && preview.unknown.is_empty() && form.same.is_empty() {
        return;
    }
    section(ui, "Codes that are not known");
    for (code, known) in form.same.clone() {
        let mut same = true;
        ui.checkbox(&mut same, format!("{code} is {known}"));
        if !same {
            form.same.retain(|(held, _)| *held != code);
        }
    }
    let known_by_now: Vec<String> = form.same.iter().map(|(code, _)| code.clone()).collect();
    for (code, known) in preview.near.iter().filter(|(code, _)| !known_by_now.contains(code)).take(CODES) {
        let mut same = false;
        ui.checkbox(&mut same, format!("{code} is {known}")).on_hover_text("Take both for the same envelope.");
        if same {
            form.same.push((code.clone(), known.clone()));
        }
    }
    // Rows of no field and no known sample may be standards under names of their own.
    for code in preview.unknown.iter().filter(|code| !known_by_now.contains(code)).take(CODES) {
        for standard in ["S standard", "R standard"] {
            let mut same = false;
            ui.checkbox(&mut same, format!("{code} is the {standard}"))
                .on_hover_text("A reference population: susceptible (S) or resistant (R).");
            if same {
                form.same.push((code.clone(), standard.to_owned()));
            }
        }
    }
}

fn meaning(ui: &mut Ui, index: usize, column: &Column, form: &mut ImportForm) {
    let said = match (&column.active, column.meaning) {
        (Some(active), Some(meaning)) => format!("{} of {active}", meaning.heading()),
        (None, Some(meaning)) => meaning.heading().to_owned(),
        (_, None) => "not read".to_owned(),
    };
    let mut chosen = None;
    let shown = ComboBox::from_id_salt(("meaning", index)).width(132.0).selected_text(said).show_ui(ui, |ui| {
        for meaning in Meaning::all() {
            if ui.selectable_label(column.meaning == Some(meaning), meaning.heading()).clicked() {
                chosen = Some(meaning);
            }
        }
    });
    let name = format!("Read {} as", column.name);
    shown.response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ComboBox, true, &name));
    if let Some(meaning) = chosen {
        form.columns.retain(|(name, heading)| *name != column.name && heading != meaning.heading());
        form.columns.push((column.name.clone(), meaning.heading().to_owned()));
    }
}

fn outcome(ui: &mut Ui, preview: &Preview) {
    section(ui, "What would come of it");
    if let Some((added, updated, skipped)) = preview.outcome {
        let said = format!("{} new, {updated} replaced, {} left out.", count(added, "result"), count(skipped, "row"));
        ui.label(RichText::new(said).size(style::SMALL));
    }
    let tokens = style::of(ui);
    let worth = preview.problems.list.iter().filter(|problem| problem.severity != Severity::Note);
    let mut worth: Vec<_> = worth.collect();
    worth.sort_by_key(|problem| std::cmp::Reverse(problem.severity));
    for problem in worth.iter().take(SHOWN) {
        let colour = if problem.severity == Severity::Error { tokens.bad } else { tokens.warn };
        ui.label(RichText::new(problem.to_string()).size(style::SMALL).color(colour));
    }
    if worth.len() > SHOWN {
        note(ui, format!("And {} more, listed with the import.", worth.len() - SHOWN));
    }
}
