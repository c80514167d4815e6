//! The Results lens: what the tests said, our rating beside the laboratory's, and how each was worked out.

mod chart;
mod detail;
mod dose;
mod entry;
mod land;
mod limits;

use awn_core::model::{Rating, mode_of_group};
use awn_core::{rating, units};
use egui::{Align, ComboBox, Label, Layout, Panel, RichText, ScrollArea, TextEdit, Ui};
use egui_extras::{Column, TableBuilder};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::facts::ResultRow;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::results::{Entry, ResultsTab, ResultsView};
use crate::gui::widgets::{action_button, choice, counted_chip, head, next_step, note, rating_chip, small};

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
    let view = &ctx.view.results;
    if let Some(typed) = &view.entry {
        return entry::show(ui, ctx, view, typed);
    }
    head(ui, "Results", "What the tests said, rated against the standard of the same test.");
    next_step(ui, ctx, Action::ImportResults, "Import results…");
    let mut wanted = view.clone();
    if ctx.records.results.is_empty() {
        note(
            ui,
            "The laboratory's table as CSV or XLSX: finished percentages, or counts and weights pot by pot. You can drop the file on the window.",
        );
        type_one(ui, ctx, &mut wanted);
        ask(ctx, wanted);
        return;
    }
    let rows: Vec<&ResultRow> = ctx
        .facts
        .results
        .iter()
        .filter(|row| ctx.view.selected.is_empty() || ctx.view.selected.contains(&row.field))
        .filter(|row| view.shows(row))
        .collect();
    filters(ui, ctx, &mut wanted);
    said(ui, ctx, &rows);
    let open = view.open.and_then(|open| ctx.facts.results.iter().find(|row| row.id == open));
    if let Some(open) = open {
        let height = ui.available_height();
        Panel::bottom("result detail")
            .resizable(true)
            .default_size((height - 120.0).max(0.6 * height))
            .size_range(120.0..=(height - 80.0).max(121.0))
            .show(ui, |ui| {
                ScrollArea::vertical()
                    .id_salt("detail")
                    .auto_shrink(false)
                    .show(ui, |ui| detail::show(ui, ctx, open, &mut wanted));
            });
    }
    if view.tab == ResultsTab::Land {
        land::show(ui, ctx);
    } else if rows.is_empty() {
        note(ui, "No result passes the filter up to this harvest.");
        if view.is_filtered() && ui.button("Show all results").clicked() {
            wanted = ResultsView { tab: view.tab, ..ResultsView::default() };
        }
        if !ctx.view.selected.is_empty() {
            action_button(ui, ctx, Action::SelectNone);
        }
    } else if view.tab == ResultsTab::Chart {
        chart::show(ui, &rows, &mut wanted);
    } else {
        table(ui, ctx, &rows, &mut wanted);
    }
    ask(ctx, wanted);
}

fn ask(ctx: &Ctx<'_>, wanted: ResultsView) {
    if wanted != ctx.view.results {
        ctx.ask(Request::SetResults(wanted));
    }
}

fn type_one(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut ResultsView) {
    if !ctx.can_write() {
        return;
    }
    if ui
        .button("Type a result…")
        .on_hover_text("One result by hand: a percentage, or counts or weights pot by pot.")
        .clicked()
    {
        let field = ctx.view.single().and_then(|id| ctx.facts.row(id)).map(|row| format!("{}/{}", row.farm, row.name));
        wanted.entry = Some(Entry::new(field.as_deref(), ctx.view.year));
    }
}

fn filters(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut ResultsView) {
    ui.horizontal(|ui| {
        let field =
            TextEdit::singleline(&mut wanted.words).text_color(style::of(ui).ink).hint_text("Sample, field or active");
        ui.add(field.desired_width(150.0))
            .widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, "Find results"));
        let named = |response: &egui::Response, name: &'static str| {
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ComboBox, true, name));
        };
        let groups: std::collections::BTreeSet<&str> = ctx.facts.results.iter().map(|row| row.group.as_str()).collect();
        let all = "All groups".to_owned();
        let shown = ComboBox::from_id_salt("group")
            .width(112.0)
            .selected_text(wanted.group.as_deref().map_or(all.clone(), group_name))
            .show_ui(ui, |ui| {
                ui.selectable_value(&mut wanted.group, None, all);
                for group in groups {
                    ui.selectable_value(&mut wanted.group, Some(group.to_owned()), group_name(group));
                }
            });
        named(&shown.response, "HRAC group");
        let any = wanted.rating.map_or("Any", Rating::label);
        let shown = ComboBox::from_id_salt("rating").width(56.0).selected_text(any).show_ui(ui, |ui| {
            ui.selectable_value(&mut wanted.rating, None, "Any rating");
            for rating in Rating::ALL {
                ui.selectable_value(&mut wanted.rating, Some(rating), rating.label());
            }
        });
        named(&shown.response, "Rating");
    });
    ui.horizontal(|ui| {
        for (tab, name) in [(ResultsTab::Table, "Table"), (ResultsTab::Chart, "Chart"), (ResultsTab::Land, "Land")] {
            if choice(ui, wanted.tab == tab, name).clicked() {
                wanted.tab = tab;
            }
        }
        let differs = RichText::new("Laboratory differs").color(style::of(ui).ink);
        ui.checkbox(&mut wanted.disputed, differs).on_hover_text("Only results whose printed rating is not ours.");
    });
    ui.horizontal(|ui| {
        type_one(ui, ctx, wanted);
        action_button(ui, ctx, Action::ExportResults);
        ui.toggle_value(&mut wanted.settings_open, "How they are rated…")
            .on_hover_text("What a laboratory's practice leaves open: test of the difference, and the expected standard.");
    });
    if wanted.settings_open {
        limits::show(ui, ctx);
    }
}

/// "2 B ALS", short.
fn group_name(group: &str) -> String {
    mode_of_group(group).map_or_else(|| group.to_owned(), |mode| format!("{group} ({}) {}", mode.legacy, mode.name))
}

fn said(ui: &mut Ui, ctx: &Ctx<'_>, rows: &[&ResultRow]) {
    let of = match ctx.view.selected.len() {
        0 => "all fields".to_owned(),
        1 => ctx.view.single().and_then(|id| ctx.facts.row(id)).map_or_else(String::new, |row| row.name.clone()),
        many => units::count(many, "chosen field"),
    };
    let differ = rows.iter().filter(|row| row.found.agrees() == Some(false)).count();
    let doubtful = rows.iter().filter(|row| row.found.standard.is_none() || row.found.rating.is_none()).count();
    let mut said = format!("{} of {of}", units::count(rows.len(), "result"));
    if differ > 0 {
        said.push_str(&format!("; the laboratory differs in {differ}"));
    }
    if doubtful > 0 {
        said.push_str(&format!("; {doubtful} without a working standard"));
    }
    let cautions = small(
        ui,
        format!("{said}. A rating is no recommendation: the label and a qualified adviser decide (more on hover)."),
    );
    ui.label(cautions).on_hover_text(rating::CAUTIONS.join("\n"));
}

fn table(ui: &mut Ui, ctx: &Ctx<'_>, rows: &[&ResultRow], wanted: &mut ResultsView) {
    ui.spacing_mut().item_spacing = egui::vec2(2.0 * style::STEP, 0.0);
    let mut clicked = None;
    TableBuilder::new(ui)
        .id_salt("results")
        .sense(egui::Sense::click())
        .cell_layout(Layout::left_to_right(Align::Center))
        .auto_shrink(false)
        // An opened result leaves little room: the table scrolls in what there is, it does not grow over the detail.
        .min_scrolled_height(0.0)
        .column(Column::exact(38.0))
        .column(Column::remainder().at_least(64.0).clip(true))
        .column(Column::exact(112.0).clip(true))
        .column(Column::exact(48.0))
        .column(Column::exact(44.0))
        .column(Column::exact(34.0))
        .column(Column::exact(54.0))
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
                row.set_selected(wanted.open == Some(result.id));
                cells(&mut row, result);
                if row.response().clicked() {
                    clicked = Some((result.id, result.field));
                }
            });
        });
    if let Some((id, field)) = clicked {
        wanted.open = if wanted.open == Some(id) { None } else { Some(id) };
        // Clicking a row of a field that is chosen already changes nothing on the map.
        if !ctx.view.selected.is_empty() && !ctx.view.selected.contains(&field) {
            ctx.ask(Request::Select { field: Some(field), add: false, scroll: true });
        }
    }
}

fn cells(row: &mut egui_extras::TableRow<'_, '_>, result: &ResultRow) {
    let name = format!("{}, HRAC group {}", result.active, group_name(&result.group));
    let of = format!("Sample {}, {} test", result.sample, result.assay.map_or("unknown", |kind| kind.label()));
    let standard = result.found.standard.map_or("none".to_owned(), |standard| format!("{standard:.0}"));
    let reduction = result.found.reduction.map_or("–".to_owned(), |reduction| format!("{reduction:.0}"));
    row.col(|ui| aligned(ui, true, |ui| drop(ui.label(result.year.to_string()))));
    row.col(|ui| drop(ui.add(Label::new(&result.field_name).selectable(false).truncate()).on_hover_text(&of)));
    row.col(|ui| {
        let text = RichText::new(&result.active).size(style::SMALL);
        ui.add(Label::new(text).selectable(false).truncate()).on_hover_text(name);
    });
    row.col(|ui| aligned(ui, true, |ui| drop(ui.label(reduction))));
    row.col(|ui| aligned(ui, true, |ui| drop(ui.label(standard))));
    row.col(|ui| {
        if result.found.rating.is_none() {
            let why = match result.found.reduction {
                None => "Not worked out by us: the laboratory gave its rating without a percentage.",
                Some(_) => "No rating of ours: the test has no working susceptible standard.",
            };
            ui.label(small(ui, "–")).on_hover_text(why);
            return;
        }
        let chip = rating_chip(ui, result.found.rating);
        if let Some(share) = result.found.rating.and_then(|rating| result.found.sureness?.share(rating)) {
            chip.on_hover_text(format!("Given the spread of the test, this class has a chance of {:.0} %.", 100.0 * share));
        }
    });
    row.col(|ui| lab(ui, result));
}

fn lab(ui: &mut Ui, result: &ResultRow) {
    let Some(rating) = result.found.lab else { return };
    let tokens = style::of(ui);
    if result.found.is_laboratory_only() {
        counted_chip(ui, result.found.counted);
        return;
    }
    if result.found.agrees() == Some(false) {
        let text = RichText::new(format!("{} !", rating.label())).font(style::bold_of(style::SMALL)).color(tokens.bad);
        ui.label(text).on_hover_text("The laboratory's rating differs from ours. Click the row to see why; both are kept.");
    } else {
        ui.label(RichText::new(rating.label()).size(style::SMALL));
    }
}

fn aligned(ui: &mut Ui, numbers: bool, add: impl FnOnce(&mut Ui)) {
    let layout = if numbers { Layout::right_to_left(Align::Center) } else { Layout::left_to_right(Align::Center) };
    ui.with_layout(layout, add);
}
