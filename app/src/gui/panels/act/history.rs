//! What was grown and sprayed: uses of each mode of action, field by year, and what was used again and again.

use awn_core::act::{self, Run, Uses};
use awn_core::exchange::Treatment;
use awn_core::model::{Record, mode_of_group};
use awn_core::units;
use egui::{Align, Button, ComboBox, Label, Layout, RichText, ScrollArea, Ui, vec2};
use egui_extras::{Column, TableBuilder};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::act::{ActRequest, ActView, Entry};
use crate::gui::widgets::{action_button, note, section, small};

/// Shows the part of the lens.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut ActView) {
    ui.horizontal_wrapped(|ui| {
        for action in [Action::ImportSprays, Action::ImportCrops] {
            action_button(ui, ctx, action);
        }
        if ctx.can_write() && ui.button("Paste…").on_hover_text(Action::PasteTable.tooltip()).clicked() {
            ctx.act(Action::PasteTable);
        }
        let field = ctx.view.single().and_then(|id| ctx.facts.row(id)).map(|row| format!("{}/{}", row.farm, row.name));
        for (text, kind) in [("Type a spray…", Treatment::Sprays), ("Type a crop…", Treatment::Crops)] {
            if ctx.can_write() && ui.add(Button::new(text)).clicked() {
                wanted.entry = Some(Entry::new(kind, field.as_deref(), ctx.view.year));
            }
        }
    });
    let facts = &ctx.facts.act;
    if facts.uses.values().all(|uses| uses.years.is_empty()) {
        note(
            ui,
            "No crop and no spray is known up to this harvest. Records of 10 to 20 years are worth far more than those of 2 or 3. You can \
             paste rows from a spreadsheet.",
        );
        return;
    }
    if let Some((row, uses)) =
        ctx.view.single().and_then(|id| ctx.facts.row(id)).and_then(|row| Some((row, facts.uses.get(&row.id)?)))
    {
        note(ui, format!("{}, {}", row.name, row.farm));
        runs(ui, uses);
        let height = (0.6 * ui.available_height()).max(100.0);
        ScrollArea::vertical().id_salt("records of field").max_height(height).auto_shrink([false, true]).show(ui, |ui| {
            records_of(ui, ctx, row, wanted);
        });
    } else {
        note(ui, "HRAC groups used in each harvest. Choose a field to see what was used there again and again.");
    }
    choose_mode(ui, ctx, wanted);
    grid(ui, ctx);
}

/// All modes of action in the grid, or one with the number of its uses.
fn choose_mode(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut ActView) {
    let mut groups: Vec<String> = ctx.facts.act.uses.values().flat_map(Uses::groups).collect();
    groups.sort_by_key(|group| (group.parse::<u32>().unwrap_or(u32::MAX), group.clone()));
    groups.dedup();
    let name = |group: &str| format!("{group} {}", mode_of_group(group).map_or("", |mode| mode.name));
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "Uses of")).id;
        let chosen = wanted.mode.as_deref().map_or_else(|| "every mode of action (HRAC groups)".to_owned(), name);
        let shown = ComboBox::from_id_salt("mode of uses").width(260.0).selected_text(chosen).show_ui(ui, |ui| {
            ui.selectable_value(&mut wanted.mode, None, "every mode of action (HRAC groups)");
            for group in &groups {
                ui.selectable_value(&mut wanted.mode, Some(group.clone()), name(group));
            }
        });
        shown.response.labelled_by(label);
    });
}

fn runs(ui: &mut Ui, uses: &Uses) {
    for run in &uses.runs {
        let text = RichText::new(first_upper(&run.said())).size(style::SMALL).color(style::of(ui).warn);
        ui.label(text).on_hover_text("Several actives of one mode of action on one day are one use.");
    }
    if let Some(gaps) = uses.gaps_said() {
        note(ui, format!("{}.", first_upper(&gaps)));
    }
    if uses.runs.is_empty() {
        note(ui, "No mode of action was used in more than half of three or more crops.");
    }
}

/// Crops and sprays of a field, the newest first, each to be changed or removed.
fn records_of(ui: &mut Ui, ctx: &Ctx<'_>, row: &Row, wanted: &mut ActView) {
    type When = (i32, bool, Option<jiff::civil::Date>);
    let mut list: Vec<(When, Record, String)> = Vec::new();
    for crop in ctx.records.crops.values().filter(|crop| crop.field == row.id) {
        let drilled = crop.drilled.map_or_else(String::new, |day| format!(", drilled {}", day.strftime("%-d %B")));
        let cultivation = if crop.cultivation.is_empty() { String::new() } else { format!(", {}", crop.cultivation) };
        let text = format!("{} {}{drilled}{cultivation}", crop.year, crop.crop);
        list.push(((crop.year, true, None), Record::Crop((**crop).clone()), text));
    }
    for spray in ctx.records.sprays.values().filter(|spray| spray.field == row.id) {
        let dose = spray.dose_g_per_ha.map_or_else(String::new, |dose| format!(", {dose} g/ha"));
        let day = spray.date.map_or_else(String::new, |day| format!(", {}", day.strftime("%-d %B")));
        let cost =
            spray.cost_per_ha.map_or_else(String::new, |cost| format!(", {}", act::money(&ctx.facts.act.currency, cost)));
        let more = [&spray.growth_stage, &spray.effect].into_iter().filter(|text| !text.is_empty());
        let more: String = more.map(|text| format!(", {text}")).collect();
        let text = format!("    {} (HRAC {}){dose}{day}{cost}{more}", spray.active, spray.group);
        list.push(((spray.year, false, spray.date), Record::Spray((**spray).clone()), text));
    }
    list.sort_by_key(|(when, ..)| std::cmp::Reverse(*when));
    let field = format!("{}/{}", row.farm, row.name);
    for (_, record, text) in list {
        // Buttons first, from the right, so that the text takes what room is left.
        let line = vec2(ui.available_width(), 22.0);
        ui.allocate_ui_with_layout(line, Layout::right_to_left(Align::Center), |ui| {
            let button = |text: &str| Button::new(RichText::new(text).size(style::SMALL)).small();
            let remove = ui.add_enabled(ctx.can_write(), button("×")).on_hover_text("Remove it; undo brings it back.");
            if ctx.can_write() && ui.add(button("Change…")).clicked() {
                wanted.entry = Entry::of(&record, &field);
            }
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let label = Label::new(RichText::new(&text).size(style::SMALL)).truncate();
                ui.add(label).on_hover_text(text.trim());
            });
            if remove.clicked() {
                ctx.ask(Request::Act(ActRequest::Forget(Box::new(record))));
            }
        });
    }
}

/// The field by year grid.
fn grid(ui: &mut Ui, ctx: &Ctx<'_>) {
    let facts = &ctx.facts.act;
    let rows: Vec<&Row> = ctx
        .order
        .iter()
        .filter_map(|at| ctx.facts.rows.get(*at))
        .filter(|row| ctx.view.selected.is_empty() || ctx.view.selected.contains(&row.id))
        .collect();
    let years: Vec<i32> = (facts.uses_from..=ctx.view.year).collect();
    let mode = ctx.view.act.mode.as_ref();
    let mut clicked = None;
    ui.spacing_mut().item_spacing = egui::vec2(style::STEP, 0.0);
    TableBuilder::new(ui)
        .id_salt("uses")
        .sense(egui::Sense::click())
        .cell_layout(Layout::left_to_right(Align::Center))
        .auto_shrink(false)
        .min_scrolled_height(0.0)
        .column(Column::exact(84.0).clip(true))
        .columns(Column::remainder().at_least(30.0).clip(true), years.len())
        .header(style::ROW, |mut header| {
            let name = |ui: &mut Ui, text: String| {
                let text = small(ui, text);
                ui.label(text);
            };
            header.col(|ui| name(ui, "Field".to_owned()));
            for year in &years {
                header.col(|ui| name(ui, format!("’{:02}", year.rem_euclid(100))));
            }
        })
        .body(|body| {
            body.rows(style::ROW, rows.len(), |mut line| {
                let Some(row) = rows.get(line.index()) else { return };
                line.col(|ui| {
                    drop(ui.add(Label::new(RichText::new(&row.name).size(style::SMALL)).selectable(false).truncate()));
                });
                for year in &years {
                    line.col(|ui| cell(ui, facts.uses.get(&row.id), *year, mode));
                }
                if line.response().clicked() {
                    clicked = Some(row.id);
                }
            });
        });
    if let Some(field) = clicked {
        ctx.ask(Request::Select { field: Some(field), add: false, scroll: true });
    }
}

/// Groups of one field and year.
fn cell(ui: &mut Ui, uses: Option<&Uses>, year: i32, mode: Option<&String>) {
    let groups = uses.and_then(|uses| uses.years.get(&year));
    let crop = uses.and_then(|uses| uses.crops.get(&year)).map_or("crop not known", String::as_str);
    let (text, tip) = match groups {
        None => ("·".to_owned(), format!("{year}: nothing is known.")),
        Some(groups) if groups.is_empty() => ("–".to_owned(), format!("{year}, {crop}: no record of sprays.")),
        Some(groups) => {
            let mut sorted: Vec<(&String, &usize)> = groups.iter().collect();
            sorted.sort_by_key(|(group, _)| (group.parse::<u32>().unwrap_or(u32::MAX), group.as_str()));
            let text = match mode {
                Some(mode) => groups.get(mode).map_or_else(String::new, ToString::to_string),
                None => sorted.iter().map(|(group, _)| group.as_str()).collect::<Vec<_>>().join(" "),
            };
            let said: Vec<String> = sorted.into_iter().map(|(group, times)| said(group, *times)).collect();
            (text, format!("{year}, {crop}:\n{}", said.join("\n")))
        }
    };
    let label = Label::new(RichText::new(text).size(11.0)).selectable(false).truncate();
    ui.add(label).on_hover_text(tip);
}

fn said(group: &str, times: usize) -> String {
    let name = mode_of_group(group).map_or("", |mode| mode.name);
    let times = if times > 1 { format!(", {times} times") } else { String::new() };
    format!("HRAC {group} {name}{times}")
}

/// The uses of one field, a mode of action a line.
pub fn of_field(ui: &mut Ui, ctx: &Ctx<'_>, uses: &Uses) {
    let groups = uses.groups();
    if groups.is_empty() {
        return;
    }
    section(ui, "Uses of each mode of action");
    let years: Vec<i32> = (ctx.facts.act.uses_from..=ctx.view.year).collect();
    egui::Grid::new("uses of field").num_columns(years.len() + 1).min_col_width(18.0).spacing([8.0, 2.0]).show(ui, |ui| {
        ui.label("");
        for year in &years {
            let crop = uses.crops.get(year).map_or("crop not known", String::as_str);
            let text = small(ui, format!("’{:02}", year.rem_euclid(100)));
            ui.label(text).on_hover_text(format!("{year}: {crop}"));
        }
        ui.end_row();
        for group in &groups {
            let name = mode_of_group(group).map_or("", |mode| mode.name);
            let text = RichText::new(format!("{group} {name}")).size(style::SMALL);
            super::cell(ui, 124.0, text).on_hover_text(format!("HRAC {group} {name}"));
            for year in &years {
                let crop = uses.crops.get(year).map_or("crop not known", String::as_str);
                let (text, tip) = match uses.years.get(year) {
                    None => ("·".to_owned(), format!("{year}: nothing is known.")),
                    Some(groups) => {
                        let times = groups.get(group).map_or_else(String::new, ToString::to_string);
                        let tip = format!(
                            "{year}, {crop}: {} of {name}.",
                            units::count(groups.get(group).copied().unwrap_or(0), "use")
                        );
                        (times, tip)
                    }
                };
                ui.label(RichText::new(text).size(style::SMALL)).on_hover_text(tip);
            }
            ui.end_row();
        }
    });
    let said: Vec<String> = uses.runs.iter().map(Run::said).collect();
    if !said.is_empty() {
        note(ui, format!("Used again and again: {}.", said.join("; ")));
    }
}

fn first_upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
