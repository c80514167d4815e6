//! One result opened: the arithmetic step by step, what speaks against it, why the laboratory may differ, the years before, what
//! the pattern suggests.

use awn_core::model::{Rating, TestResult, mode_of_group};
use awn_core::rating::{self, Counted};
use egui::{RichText, Sense, Ui, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::facts::ResultRow;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::results::ResultsView;
use crate::gui::widgets::{note, rating_chip, section, small};

/// Shows the result.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, row: &ResultRow, wanted: &mut ResultsView) {
    let Some(result) = ctx.records.results.get(&row.id) else { return };
    ui.horizontal(|ui| {
        ui.label(RichText::new(format!("{} in {}", row.active, row.field_name)).font(style::bold_of(style::BODY)));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if ui.button("Close").clicked() {
                wanted.open = None;
            }
            if ui.button("Find on map").clicked() {
                ctx.ask(Request::Select { field: Some(row.field), add: false, scroll: true });
                ctx.ask(Request::ZoomTo(row.field));
            }
        });
    });
    note(ui, origin(ctx, row, result));
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 30.0), Sense::hover());
    super::chart::row(ui, rect, row, false);
    ratings(ui, ctx, row, result);
    section(ui, "Step by step");
    for (number, step) in (1..).zip(rating::steps(result, &row.found)) {
        ui.label(RichText::new(format!("{number}. {step}")).size(style::SMALL));
    }
    if !row.found.doubts.is_empty() {
        section(ui, "What speaks against it");
        for doubt in &row.found.doubts {
            ui.label(RichText::new(&doubt.what).size(style::SMALL).color(style::of(ui).warn));
            note(ui, &doubt.so);
        }
    }
    if !result.comment.is_empty() {
        note(ui, format!("The laboratory says: {}", result.comment));
    }
    super::dose::show(ui, ctx, result.sample, &row.active);
    over_time(ui, ctx, row);
    pattern(ui, ctx, row);
    section(ui, "Bear in mind");
    for caution in rating::CAUTIONS {
        note(ui, caution);
    }
}

/// Where the figure comes from.
fn origin(ctx: &Ctx<'_>, row: &ResultRow, result: &TestResult) -> String {
    let mode = mode_of_group(&row.group).map_or(String::new(), |mode| format!(" ({}) {}", mode.legacy, mode.name));
    let mut parts = vec![
        format!("Sample {}, harvest {}", row.sample, row.year),
        format!("HRAC {}{mode}, table of {}", row.group, result.hrac_table),
    ];
    if let Some(assay) = ctx.records.assays.get(&result.assay) {
        let date = assay.date.map_or(String::new(), |date| format!(" of {date}"));
        parts.push(format!("{} test{date}, {}", assay.kind.label(), assay.source));
        if !assay.laboratory.is_empty() {
            parts.push(assay.laboratory.clone());
        }
    }
    parts.extend(result.dose.clone());
    parts.extend(result.measure.map(|measure| format!("by {}", measure.label())));
    parts.join("; ")
}

fn ratings(ui: &mut Ui, ctx: &Ctx<'_>, row: &ResultRow, result: &TestResult) {
    ui.horizontal(|ui| {
        ui.label(small(ui, "Ours"));
        if row.found.rating.is_some() {
            rating_chip(ui, row.found.rating);
        } else {
            ui.label("not worked out by us");
        }
        if let Some(lab) = row.found.lab {
            ui.add_space(2.0 * style::STEP);
            ui.label(small(ui, "Laboratory"));
            rating_chip(ui, Some(lab));
            if row.found.is_laboratory_only() {
                ui.label(small(ui, "counts for the field, as the laboratory's"));
            }
        }
        if let Some(shares) = row.found.sureness.and_then(|sure| sure.class_shares) {
            let words: Vec<String> = Rating::ALL
                .iter()
                .zip(shares)
                .filter(|(_, share)| *share >= 0.005)
                .map(|(rating, share)| format!("{} {:.0} %", rating.label(), 100.0 * share))
                .collect();
            ui.label(small(ui, format!("Chances: {}", words.join(", "))));
        }
    });
    let reasons = rating::disagreement(ctx.records, result, &row.found);
    if reasons.is_empty() {
        return;
    }
    let (lab, ours) = (row.found.lab.map_or("", Rating::label), row.found.rating.map_or("", Rating::label));
    let text = format!("Disputed: the laboratory printed {lab}, by the limits it is {ours}. Both are kept.");
    ui.label(RichText::new(text).size(style::SMALL).color(style::of(ui).bad));
    note(ui, "What would explain the laboratory's rating:");
    for reason in reasons {
        ui.label(RichText::new(format!("– {reason}")).size(style::SMALL));
    }
}

fn over_time(ui: &mut Ui, ctx: &Ctx<'_>, row: &ResultRow) {
    let trends = rating::trends(ctx.records, row.field, ctx.view.year);
    let Some(trend) = trends.get(&row.active) else { return };
    section(ui, "Over the years in this field");
    if let Some(change) = trend.change() {
        ui.label(RichText::new(change).size(style::SMALL));
    }
    if let Some(words) = trend.slope_words() {
        note(ui, format!("Reduction as % of the standard's: {words}."));
    }
    if trend.mixed() {
        note(ui, "The tests differ in kind or measure, which alone can change the class.");
    }
    let same_year: Vec<String> = trend
        .tests
        .iter()
        .filter(|test| test.year == row.year && test.result != row.id)
        .filter_map(|test| {
            Some(format!(
                "{} {}",
                ctx.records.samples.get(&test.sample)?.code,
                Counted { rating: test.rating, by: test.by }.words()
            ))
        })
        .collect();
    if !same_year.is_empty() {
        note(ui, format!("Other results of {}: {}. The field is coloured by the worst.", row.year, same_year.join(", ")));
    }
}

fn pattern(ui: &mut Ui, ctx: &Ctx<'_>, row: &ResultRow) {
    let Some(known) = ctx.facts.ratings.get(&row.field) else { return };
    let suggestion = rating::suggest_for(known);
    section(ui, "Modes of action in this field");
    for mode in rating::modes(known, &suggestion, ctx.view.year) {
        let text = format!("{} {}: {} ({})", mode.group, mode.name, mode.standing.label(), mode.reason);
        ui.label(RichText::new(text).size(style::SMALL));
    }
    if suggestion.readings.is_empty() {
        return;
    }
    section(ui, "What the pattern suggests");
    ui.label(RichText::new(first_upper(&suggestion.headline())).size(style::SMALL));
    for reason in &suggestion.reasons {
        note(ui, reason);
    }
    for settle in &suggestion.settle {
        note(ui, format!("To settle it: {settle}"));
    }
    note(ui, "A suggestion from ratings, no finding.");
}

fn first_upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
