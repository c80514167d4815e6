//! The due list: what a budget pays for, why each field is due, and how its score is made up.

mod rules;

use awn_core::model::{DueRules, DueSign, FieldId, Mark};
use awn_core::season::{Due, Part};
use awn_core::units;
use egui::{Align, Align2, Button, DragValue, FontId, Layout, RichText, Sense, Stroke, Ui, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{note, section, small};

/// Fields listed before "more".
const LISTED: usize = 60;
/// Width of the bar of a score.
const BAR: f32 = 92.0;

/// The list of all fields that are due, under the budget.
pub fn list(ui: &mut Ui, ctx: &Ctx<'_>) {
    let list: Vec<&Due> = ctx.facts.due.iter().filter(|due| due.due || due.mark.is_some()).collect();
    section(ui, "Due list");
    budget(ui, ctx);
    let spent = match &ctx.facts.spent {
        Ok(spent) => spent,
        Err(text) => {
            ui.label(RichText::new(format!("No budget: {text}.")).size(style::SMALL).color(style::of(ui).bad));
            return;
        }
    };
    if list.is_empty() {
        note(ui, "No field is due a test this harvest.");
    }
    let most = list.iter().map(|due| due.score).fold(1.0, f64::max);
    for (rank, due) in (1..).zip(list.iter().take(LISTED)) {
        line(ui, ctx, due, rank, most, spent.fields.contains(&due.field));
    }
    if list.len() > LISTED {
        note(ui, format!("And {} more; sort the field list by “Due” to see them.", list.len() - LISTED));
    }
    if spent.most.is_some() {
        let cost = spent.cost.map_or_else(String::new, |cost| format!(", {cost:.2} in all"));
        note(
            ui,
            format!(
                "{} for {}{cost}. {}",
                units::count(spent.samples, "sample"),
                units::count(spent.fields.len(), "field"),
                spent.left.words
            ),
        );
        if !spent.left.fields.is_empty() && ui.button("Choose what is left out").clicked() {
            ctx.ask(Request::SelectMany { fields: spent.left.fields.clone(), add: false });
        }
    }
    if let Some(text) = &spent.note {
        ui.label(RichText::new(text).size(style::SMALL).color(style::of(ui).warn));
    }
    ui.collapsing("How the score is made", |ui| rules::show(ui, ctx));
}

/// One field: its place, name, score in parts, pin and veto.
fn line(ui: &mut Ui, ctx: &Ctx<'_>, due: &Due, rank: usize, most: f64, paid: bool) {
    let Some(row) = ctx.facts.row(due.field) else { return };
    let tokens = style::of(ui);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = style::STEP;
        ui.allocate_ui_with_layout(vec2(22.0, style::ROW), Layout::right_to_left(Align::Center), |ui| {
            ui.set_min_width(22.0);
            let rank = if due.due && paid { rank.to_string() } else { "–".to_owned() };
            let rank = small(ui, rank);
            ui.label(rank);
        });
        let colour = if due.due && paid { tokens.ink } else { tokens.muted };
        let name = ui
            .allocate_ui_with_layout(vec2(104.0, style::ROW), Layout::left_to_right(Align::Center), |ui| {
                ui.set_min_width(104.0);
                let text = RichText::new(&row.name).size(style::SMALL).color(colour);
                ui.add(egui::Label::new(text).truncate().sense(Sense::click()))
            })
            .inner;
        name.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, format!("Choose {}", row.name)));
        let tip = if due.due && !paid { "The budget does not reach this far." } else { "" };
        let said = format!("{}\n{tip}", due.reasons.join("\n"));
        if name.on_hover_text(said.trim_end().to_owned()).clicked() {
            ctx.ask(Request::Select { field: Some(due.field), add: false, scroll: true });
        }
        bar(ui, due, most, BAR);
        marks(ui, ctx, due.field, due);
    });
}

/// The score as a bar, one piece for each part; hovering a piece says what it is for.
pub fn bar(ui: &mut Ui, due: &Due, most: f64, width: f32) {
    let tokens = style::of(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(width, 16.0), Sense::hover());
    let name = format!("Score {:.0}: {}", due.score, parts_in_words(&due.parts));
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &name));
    let room = width - 26.0;
    let mut x = rect.left();
    let pointer = response.hover_pos();
    let mut told = None;
    for part in &due.parts {
        let wide = (room * (part.points / most) as f32).max(1.0);
        let piece = egui::Rect::from_min_size(egui::pos2(x, rect.top() + 2.0), vec2(wide, 12.0));
        ui.painter().rect(
            piece,
            0.0,
            tokens.accent.gamma_multiply(0.22),
            Stroke::new(1.0, tokens.ink),
            egui::StrokeKind::Inside,
        );
        if wide >= 12.0 {
            let font = FontId::proportional(11.0);
            ui.painter().text(piece.center(), Align2::CENTER_CENTER, letter(part.sign), font, tokens.ink);
        }
        if pointer.is_some_and(|pos| (x..x + wide).contains(&pos.x)) {
            told = Some(part_in_words(part));
        }
        x += wide;
    }
    let font = FontId::proportional(style::SMALL);
    ui.painter().text(rect.right_center(), Align2::RIGHT_CENTER, format!("{:.0}", due.score), font, tokens.ink);
    let told = told.unwrap_or_else(|| due.parts.iter().map(part_in_words).collect::<Vec<_>>().join("\n"));
    if !told.is_empty() {
        response.on_hover_text(told);
    }
}

/// A letter for each sign, for pieces of a bar.
fn letter(sign: DueSign) -> &'static str {
    match sign {
        DueSign::Never => "N",
        DueSign::Age => "A",
        DueSign::Doubtful => "?",
        DueSign::Failed => "F",
        DueSign::Repeated => "M",
        DueSign::Rising => "D",
        DueSign::Neighbour => "B",
    }
}

fn part_in_words(part: &Part) -> String {
    format!("{}: {:.0} of {:.0} points. {}", part.sign.name(), part.points, part.most, part.reason)
}

fn parts_in_words(parts: &[Part]) -> String {
    let all: Vec<String> = parts.iter().map(|part| format!("{} {:.0}", part.sign.name(), part.points)).collect();
    all.join(", ")
}

/// Pin and veto of a field.
pub fn marks(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId, due: &Due) {
    let name = ctx.facts.row(field).map_or("", |row| row.name.as_str());
    for (mark, on, text, tip) in [
        (Mark::Pinned, due.is_pinned(), "Pin", "Test it this harvest whatever the rules say."),
        (Mark::Vetoed, due.is_vetoed(), "Veto", "Do not test it this harvest whatever the rules say."),
    ] {
        let label = RichText::new(text).size(style::SMALL);
        let label = if on { label.font(style::bold_of(style::SMALL)).color(style::of(ui).ink) } else { label };
        let response = ui.add_enabled(ctx.can_write(), Button::new(label).small().selected(on));
        response.widget_info(|| {
            let said = format!("{text} {name}");
            egui::WidgetInfo::selected(egui::Role::Button, ctx.can_write(), on, said)
        });
        if response.on_hover_text(tip).clicked() {
            ctx.ask(Request::MarkField { field, mark: (!on).then_some(mark), reason: String::new() });
        }
    }
}

/// The score of one field, part by part, on its page.
pub fn of_field(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId) {
    let Some(due) = ctx.facts.due.iter().find(|due| due.field == field) else { return };
    ui.horizontal(|ui| {
        let score = small(ui, "Score");
        ui.label(score);
        bar(ui, due, due.score.max(1.0), 150.0);
        marks(ui, ctx, field, due);
    });
    if let Some(mark) = &due.mark {
        ui.add_enabled_ui(ctx.can_write(), |ui| {
            let typed = crate::gui::widgets::typed(ui, (field, mark.year), "Why", &mark.reason, 1, "Why, in a few words");
            if let Some(reason) = typed {
                ctx.ask(Request::MarkField { field, mark: Some(mark.mark), reason });
            }
        });
    }
}

/// Rules while a figure is being dragged or typed live in the window's memory; they are written when the hand lets go.
fn held_rules(ui: &mut Ui, ctx: &Ctx<'_>, id: &str, edit: impl FnOnce(&mut Ui, &mut DueRules) -> bool) {
    let id = egui::Id::unique(id);
    let before = &ctx.records.settings.due;
    let held: Option<DueRules> = ui.data(|data| data.get_temp(id)).flatten();
    let mut rules = held.unwrap_or_else(|| before.clone());
    let mut done = false;
    ui.add_enabled_ui(ctx.can_write(), |ui| done = edit(ui, &mut rules));
    let kept = (rules != *before && !done).then(|| rules.clone());
    ui.data_mut(|data| data.insert_temp(id, kept));
    if done && rules != *before {
        ctx.ask(Request::SetDueRules(Box::new(rules)));
    }
}

fn budget(ui: &mut Ui, ctx: &Ctx<'_>) {
    held_rules(ui, ctx, "budget", |ui, rules| {
        let mut done = false;
        let mut let_go = |response: &egui::Response| done |= response.drag_stopped() || response.lost_focus();
        let (mut by_samples, mut by_money) = (rules.samples.is_some(), rules.money.is_some());
        let mut switched = false;
        ui.horizontal(|ui| {
            let words = if by_samples { "At most" } else { "At most so many samples" };
            let text = RichText::new(words).color(style::of(ui).ink);
            switched |= ui.checkbox(&mut by_samples, text).on_hover_text("Pay for so many samples and no more.").changed();
            let mut samples = rules.samples.unwrap_or(10);
            if by_samples {
                let drag = DragValue::new(&mut samples).range(0..=9999).suffix(" samples");
                let_go(&ui.add(drag).accessible_name("Samples that are paid for"));
            }
            rules.samples = by_samples.then_some(samples);
        });
        ui.horizontal(|ui| {
            let words = if by_money { "Spend" } else { "Spend no more than so much" };
            let text = RichText::new(words).color(style::of(ui).ink);
            switched |= ui.checkbox(&mut by_money, text).on_hover_text("Spend so much and no more.").changed();
            let mut money = rules.money.unwrap_or(1000.0);
            if by_money {
                let drag = DragValue::new(&mut money).range(0.0..=1e7).speed(10.0).max_decimals(2);
                let_go(&ui.add(drag).accessible_name("Money to spend, in your currency"));
            }
            rules.money = by_money.then_some(money);
            if !by_money {
                return;
            }
            let at = small(ui, "at");
            ui.label(at);
            let drag = DragValue::new(&mut rules.price).range(0.0..=1e6).speed(1.0).max_decimals(2);
            let response = ui.add(drag).accessible_name("Price of the tests of one sample");
            let_go(&response);
            let each = small(ui, "a sample");
            ui.label(each);
        });
        done || switched
    });
}
