//! The field list: every column sorts, rows outside the view cost nothing, the choice follows the map and leads it.

use awn_core::rating::Counted;
use awn_core::units;
use egui::{Align, Label, Layout, Response, RichText, Role, Sense, Stroke, Ui, WidgetInfo, vec2};
use egui_extras::{Column as Width, TableBuilder, TableRow};

use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::season::SeasonView;
use crate::gui::view::{Column, Sort};
use crate::gui::widgets::{Icon, LAB, counted_chip, empty, icon_button, small};

/// Heading, what it sorts by, and whether it holds numbers.
const COLUMNS: [(Column, &str, &str, bool); 6] = [
    (Column::Name, "Field", "Sort by field", false),
    (Column::Farm, "Farm", "Sort by farm", false),
    (Column::Area, "ha", "Sort by area in hectares", true),
    (Column::Rating, "Worst", "Sort by worst rating", false),
    (Column::Years, "Years", "Sort by harvest years since the last test", true),
    (Column::Due, "Due", "Sort by how urgent a test is", false),
];

/// Shows the list; a narrow one holds names and letters only.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, narrow: bool) {
    ui.horizontal(|ui| {
        ui.label(RichText::new("Fields").font(style::bold_of(style::BODY)));
        let all = ctx.facts.rows.len();
        let said = if ctx.order.len() == all { format!("{all}") } else { format!("{} of {all}", ctx.order.len()) };
        let said = small(ui, said);
        ui.label(said);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let mut only_due = ctx.view.only_due;
            let text = RichText::new("Due only").color(style::of(ui).ink);
            if ui.checkbox(&mut only_due, text).on_hover_text("Show only fields that are due a test.").changed() {
                ctx.ask(Request::SetOnlyDue(only_due));
            }
        });
    });
    if let Some(week) = &ctx.view.season.week {
        ui.horizontal(|ui| {
            let text = format!("Week from {} only", week.from.strftime("%-d %B"));
            ui.label(RichText::new(text).size(style::SMALL).color(style::of(ui).warn));
            if icon_button(ui, Icon::Close, "Show every week", true).clicked() {
                let season = SeasonView { week: None, ..ctx.view.season.clone() };
                ctx.ask(Request::SetSeason(Box::new(season)));
            }
        });
    }
    if ctx.facts.rows.is_empty() {
        empty(ui, "No field has a boundary in this harvest year. Import boundaries, or choose another harvest above.");
        return;
    }
    let columns: Vec<_> =
        COLUMNS.into_iter().filter(|(column, ..)| !narrow || matches!(column, Column::Name | Column::Rating)).collect();
    ui.spacing_mut().item_spacing = vec2(1.5 * style::STEP, 0.0);
    // A wide list shows the farms' names whole.
    let farm = (ui.available_width() - 304.0).clamp(56.0, 160.0);
    let mut table = TableBuilder::new(ui)
        .id_salt(("field list", narrow))
        .sense(Sense::click())
        .cell_layout(Layout::left_to_right(Align::Center))
        .auto_shrink(false);
    let lab = ctx.facts.rows.iter().any(|row| row.worst_by.is_laboratory());
    for (column, ..) in &columns {
        table = table.column(match column {
            Column::Name => Width::remainder().at_least(72.0).clip(true),
            Column::Farm => Width::exact(farm).clip(true),
            Column::Area => Width::exact(40.0),
            Column::Rating if lab => Width::exact(38.0 + LAB),
            Column::Rating | Column::Years => Width::exact(38.0),
            Column::Due => Width::exact(30.0),
        });
    }
    if let Some(at) = ctx.view.scroll_to.and_then(|id| ctx.order.iter().position(|row| ctx.facts.rows[*row].id == id)) {
        table = table.scroll_to_row(at, None);
    }
    if ctx.view.scroll_to.is_some() {
        ctx.ask(Request::ListScrolled);
    }
    table
        .header(style::ROW, |mut header| {
            for (column, text, tip, numbers) in &columns {
                header.col(|ui| heading(ui, ctx, *column, text, tip, *numbers));
            }
        })
        .body(|body| {
            body.rows(style::ROW, ctx.order.len(), |mut row| {
                let Some(field) = ctx.order.get(row.index()).and_then(|at| ctx.facts.rows.get(*at)) else { return };
                row.set_selected(ctx.view.selected.contains(&field.id));
                for (column, .., numbers) in &columns {
                    cell(&mut row, ctx, field, *column, *numbers);
                }
                choose(&row.response(), ctx, field);
            });
        });
}

fn heading(ui: &mut Ui, ctx: &Ctx<'_>, column: Column, text: &str, tip: &str, numbers: bool) {
    let tokens = style::of(ui);
    let sort = ctx.view.sort;
    let layout = if numbers { Layout::right_to_left(Align::Center) } else { Layout::left_to_right(Align::Center) };
    ui.with_layout(layout, |ui| {
        let colour = if sort.column == column { tokens.ink } else { tokens.accent };
        let label = RichText::new(text).size(style::SMALL).color(colour);
        let response = ui.add(Label::new(label).sense(Sense::click()));
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, tip));
        if sort.column == column {
            let line = response.rect.expand2(vec2(1.0, 2.0));
            let y = if sort.descending { line.bottom() } else { line.top() };
            ui.painter().hline(line.x_range(), y, Stroke::new(1.6, tokens.ink));
        }
        if response.clicked() {
            let descending = if sort.column == column { !sort.descending } else { first_descending(column) };
            ctx.ask(Request::SetSort(Sort { column, descending }));
        }
        response.on_hover_text(format!("{tip}. The line lies under the heading when the greatest comes first."));
    });
}

/// Letters start at A; figures start at the worst.
fn first_descending(column: Column) -> bool {
    !matches!(column, Column::Name | Column::Farm)
}

fn cell(row: &mut TableRow<'_, '_>, ctx: &Ctx<'_>, field: &Row, column: Column, numbers: bool) {
    row.col(|ui| {
        let tokens = style::of(ui);
        let layout = if numbers { Layout::right_to_left(Align::Center) } else { Layout::left_to_right(Align::Center) };
        ui.with_layout(layout, |ui| match column {
            Column::Name => {
                let name = RichText::new(&field.name).color(tokens.ink);
                let response = ui.add(Label::new(name).truncate().sense(Sense::click()));
                let chosen = ctx.view.selected.contains(&field.id);
                response.widget_info(|| WidgetInfo::selected(Role::ListBoxOption, true, chosen, &field.name));
                choose(&response, ctx, field);
            }
            Column::Farm => {
                let farm = RichText::new(&field.farm).size(style::SMALL).color(tokens.muted);
                ui.add(Label::new(farm).truncate()).on_hover_text(&field.farm);
            }
            Column::Area => {
                ui.label(format!("{:.1}", field.area_m2 / units::M2_PER_HA));
            }
            Column::Rating => {
                counted_chip(ui, field.worst.map(|rating| Counted { rating, by: field.worst_by }));
            }
            Column::Years => {
                let text = field.years.map_or("never".to_owned(), |years| years.to_string());
                let text = if field.years.is_some() { RichText::new(text) } else { small(ui, text) };
                ui.label(text);
            }
            Column::Due => {
                if field.due {
                    ui.label(RichText::new("due").size(style::SMALL).color(tokens.warn))
                        .on_hover_text(field.reasons.join(" "));
                }
            }
        });
    });
}

fn choose(response: &Response, ctx: &Ctx<'_>, field: &Row) {
    if response.double_clicked() {
        ctx.ask(Request::ZoomTo(field.id));
    } else if response.clicked() {
        let add = response.ctx.input(|input| input.modifiers.command || input.modifiers.shift);
        ctx.ask(Request::Select { field: Some(field.id), add, scroll: false });
    }
}
