//! Typing one result: a finished percentage, or counts or weights pot by pot.

use awn_core::exchange::Meaning;
use egui::{Button, Panel, RichText, ScrollArea, Ui};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::results::{Entry, ResultsView};
use crate::gui::widgets::{choice, head, line_to_type as text, note};

/// Shows the form.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, view: &ResultsView, entry: &Entry) {
    let mut edited = entry.clone();
    head(ui, "Type a result", "The same checks as for a file. A result that is there already is replaced.");
    ui.horizontal(|ui| {
        for (pots, name) in [(false, "A percentage"), (true, "Pots or dishes")] {
            if choice(ui, edited.pots == pots, name).clicked() && edited.pots != pots {
                edited.set_pots(pots);
            }
        }
    });
    if edited.pots {
        note(ui, "Counts as 2/6, 3/6: alive or with a shoot, of how many. Weights in g as 4.1, 3.8. Fill in one kind.");
    }
    // What is wrong and the buttons stay in sight below the lines.
    Panel::bottom("keep result").show(ui, |ui| {
        ui.add_space(style::STEP);
        for wrong in &edited.wrong {
            ui.label(RichText::new(wrong).size(style::SMALL).color(style::of(ui).bad));
        }
        buttons(ui, ctx, view);
    });
    ScrollArea::vertical().id_salt("entry").auto_shrink(false).show(ui, |ui| {
        for (meaning, typed) in &mut edited.lines {
            let (name, hint) = asked(*meaning);
            text(ui, name, typed, hint);
        }
    });
    if edited != *entry {
        edited.wrong.clear();
        ctx.ask(Request::SetResults(ResultsView { entry: Some(edited), ..view.clone() }));
    }
}

fn buttons(ui: &mut Ui, ctx: &Ctx<'_>, view: &ResultsView) {
    ui.horizontal(|ui| {
        let tokens = style::of(ui);
        let label = RichText::new("Keep result").color(tokens.ground).font(style::bold_of(style::BODY));
        let button = Button::new(label).fill(tokens.accent).min_size(egui::vec2(120.0, 32.0));
        if ctx.can_write() && ui.add(button).clicked() {
            ctx.ask(Request::KeepTyped);
        }
        if ui.button("Do not keep").clicked() {
            ctx.ask(Request::SetResults(ResultsView { entry: None, ..view.clone() }));
        }
    });
}

/// What a line is called, and what stands in it while it is empty.
fn asked(meaning: Meaning) -> (&'static str, &'static str) {
    match meaning {
        Meaning::Sample => ("Sample", "the code on the envelope"),
        Meaning::Field => ("Field", "its name, or farm/field; may stay empty for a known sample"),
        Meaning::Year => ("Harvest year", "such as 2026"),
        Meaning::Assay => ("Kind of test", "petri or pot"),
        Meaning::Active => ("Active", "such as cycloxydim, or two joined by +"),
        Meaning::Reduction => ("Reduction, %", "against untreated plants of the same sample"),
        Meaning::StandardReduction => ("Susceptible standard, %", "its reduction in the same test"),
        Meaning::StandardError => ("Standard error, points", "if known"),
        Meaning::Number => ("Plants or seeds tested", "if known"),
        Meaning::Alive => ("Plants alive, treated pots", "2/6, 3/6"),
        Meaning::UntreatedAlive => ("Plants alive, untreated pots", "6/6, 5/6"),
        Meaning::Shoots => ("Seeds with a shoot, treated dishes", "12/50, 9/50"),
        Meaning::UntreatedShoots => ("Seeds with a shoot, untreated dishes", "44/50, 46/50"),
        Meaning::Weight => ("Weight of treated pots, g", "1.2, 0.9, 1.4"),
        Meaning::UntreatedWeight => ("Weight of untreated pots, g", "9.8, 10.4, 9.1"),
        Meaning::Dose => ("Dose", "such as 240 g/ha"),
        Meaning::Date => ("Day of the test", "such as 2026-10-30, if known"),
        Meaning::Laboratory => ("Laboratory", "if known"),
        Meaning::LabRating => ("Laboratory's rating", "S, R?, RR or RRR"),
        Meaning::Comment => ("Remark", ""),
        other => (other.heading(), ""),
    }
}
