//! The scenarios beside each other over all their harvests: in one field, or over all. Scenarios across, figures down; each with its
//! band below it, so that the table keeps within the panel.

use awn_core::act::outlook::{Band, FieldOutlook, Overall, figure};
use awn_core::act::{money, percent};
use awn_core::units::M2_PER_HA;
use egui::{Grid, RichText, Ui, vec2};

use super::letter;
use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::view::outlook::Expected;
use crate::gui::widgets::{note, section, small};

/// Widths of the names of figures and of a scenario's column.
const NAMES: f32 = 92.0;
const COLUMN: f32 = 72.0;

/// A figure of every scenario: its name, what it means, and how it is written.
struct Line {
    name: String,
    tip: String,
    bands: Vec<Option<Band>>,
    write: fn(f64) -> String,
}

impl Line {
    fn new(name: impl Into<String>, tip: impl Into<String>, write: fn(f64) -> String, bands: Vec<Option<Band>>) -> Self {
        Self { name: name.into(), tip: tip.into(), bands, write }
    }
}

/// Shows the scenarios of a field.
pub fn of_field(ui: &mut Ui, ctx: &Ctx<'_>, found: &FieldOutlook) {
    section(ui, "Over all harvests, a year");
    let currency = &ctx.records.settings.act.currency;
    let all = &found.scenarios;
    let lines = [
        Line::new("Stand still, %", super::table::HOLD, percent, all.iter().map(|one| Some(one.hold)).collect()),
        Line::new(
            "Yield lost, %",
            "What the weed takes, mean of the harvests with a crop to sell; hyperbola of Cousens (1985) on plants.",
            figure,
            all.iter().map(|one| Some(one.mean.loss)).collect(),
        ),
        Line::new(
            format!("Lost, {currency}/ha"),
            "What the weed takes and late drilling gives up, money a hectare a year.",
            whole,
            all.iter().map(|one| Some(one.mean.money?.lost)).collect(),
        ),
        Line::new(
            format!("Spent, {currency}/ha"),
            "Programmes, measures and cultivation, money a hectare a year: your own figures.",
            whole,
            all.iter().map(|one| one.mean.money.map(|money| exact(money.cost))).collect(),
        ),
        Line::new(
            format!("Left, {currency}/ha"),
            "What the crops bring less what is spent and lost, money a hectare a year.",
            whole,
            all.iter().map(|one| Some(one.mean.money?.left)).collect(),
        ),
    ];
    table(ui, &all.iter().map(|one| one.name.as_str()).collect::<Vec<_>>(), &lines);
    if all.iter().any(|one| one.mean.money.is_none()) {
        note(ui, "–: a price, yield or cost was not given; the harvests below say on hover which.");
    }
}

/// Shows the scenarios over all fields.
pub fn over_all(ui: &mut Ui, ctx: &Ctx<'_>, found: &Expected) {
    let currency = &ctx.records.settings.act.currency;
    section(ui, &format!("All fields with a density, to harvest {}", found.harvest));
    let all = &found.all;
    let by_area = |band: Band, one: &Overall| {
        let ha = (one.area_m2 / M2_PER_HA).max(f64::MIN_POSITIVE);
        Band { low: band.low / ha, median: band.median / ha, high: band.high / ha }
    };
    let sums = |what: &str, of: &dyn Fn(&Overall) -> Option<f64>| {
        let sums =
            all.iter().enumerate().filter_map(|(at, one)| Some(format!("{} {currency}{}", letter(at), whole(of(one)?))));
        format!("{what} a hectare a year. On all of them: {}.", sums.collect::<Vec<_>>().join(", "))
    };
    let lines = [
        Line::new("Heads/m2", "In the last harvest, mean by area.", figure, all.iter().map(|one| Some(one.heads)).collect()),
        Line::new(
            "Stand still, %",
            format!("Mean by area of the fields with weed. {}", super::table::HOLD),
            percent,
            all.iter().map(|one| Some(one.hold)).collect(),
        ),
        Line::new(
            "Yield lost, %",
            "What the weed takes, mean by area and harvest.",
            figure,
            all.iter().map(|one| Some(one.loss)).collect(),
        ),
        Line::new(
            format!("Weed takes, {currency}/ha"),
            sums("What the weed takes", &|one| Some(one.weed?.median)),
            whole,
            all.iter().map(|one| one.weed.map(|band| by_area(band, one))).collect(),
        ),
        Line::new(
            format!("Spent, {currency}/ha"),
            sums("Programmes, measures and cultivation", &|one| one.cost),
            whole,
            all.iter().map(|one| one.cost.map(|cost| by_area(exact(cost), one))).collect(),
        ),
    ];
    table(ui, &all.iter().map(|one| one.name.as_str()).collect::<Vec<_>>(), &lines);
    let fields = awn_core::units::count(found.heads.len(), "field");
    let without = ctx.facts.rows.len().saturating_sub(found.heads.len());
    let rest = if without > 0 { format!("; {without} without a density are left out") } else { String::new() };
    note(
        ui,
        format!("{fields} together{rest}. Bands are the fields' bands put together: fields of a farm often share a fate."),
    );
}

fn whole(value: f64) -> String {
    money("", value.round())
}

fn exact(value: f64) -> Band {
    Band { low: value, median: value, high: value }
}

fn table(ui: &mut Ui, names: &[&str], lines: &[Line]) {
    let colours = style::series(ui);
    Grid::new("compare scenarios").num_columns(names.len() + 1).spacing(vec2(4.0, 4.0)).show(ui, |ui| {
        super::super::cell(ui, NAMES, "");
        for (at, name) in names.iter().enumerate() {
            let text = RichText::new(format!("{} {name}", letter(at))).font(style::bold_of(style::SMALL));
            super::super::cell(ui, COLUMN, text.color(colours[at % colours.len()])).on_hover_text(*name);
        }
        ui.end_row();
        for line in lines {
            let name = small(ui, line.name.as_str());
            super::super::cell(ui, NAMES, name).on_hover_text(&line.tip);
            for (name, band) in names.iter().zip(&line.bands) {
                one(ui, name, line, *band);
            }
            ui.end_row();
        }
    });
}

/// A figure with its band below it.
fn one(ui: &mut Ui, name: &str, line: &Line, band: Option<Band>) {
    let write = line.write;
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        let Some(band) = band else {
            ui.label("–").on_hover_text(format!("{name}: a price, yield or cost was not given."));
            return;
        };
        let (low, median, high) = (write(band.low), write(band.median), write(band.high));
        let range = if low == high { String::new() } else { format!("{low} to {high}") };
        let said = format!("{name}, {}: {median}. {} {range}: 80 % of the draws.", line.name, line.tip);
        ui.label(RichText::new(median).size(style::SMALL)).on_hover_text(&said);
        if !range.is_empty() {
            let text = RichText::new(range).size(11.0).color(style::of(ui).muted);
            ui.label(text).on_hover_text(said);
        }
    });
}
