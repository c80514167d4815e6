//! Typing one spray or crop.

use egui::{Panel, RichText, ScrollArea, Ui};

use super::programmes::keep;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::act::{ActRequest, ActView, Entry};
use crate::gui::widgets::{head, line_to_type};

/// Shows the form.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, view: &ActView, entry: &Entry) {
    let mut edited = entry.clone();
    let verb = if entry.instead.is_some() { "Change" } else { "Type" };
    let title = format!("{verb} a {}", entry.kind.noun());
    head(ui, &title, "The same checks as for a file. What is there already is brought up to date.");
    Panel::bottom("keep entry").show(ui, |ui| {
        ui.add_space(style::STEP);
        for wrong in &edited.wrong {
            ui.label(RichText::new(wrong).size(style::SMALL).color(style::of(ui).bad));
        }
        ui.horizontal_wrapped(|ui| {
            if keep(ui, ctx, &format!("Keep {}", entry.kind.noun())) {
                ctx.ask(Request::Act(ActRequest::KeepEntry));
            }
            if ui.button("Do not keep").clicked() {
                super::ask(ctx, ActView { entry: None, ..view.clone() });
            }
            if let Some(record) = entry.instead.as_ref().filter(|_| ctx.can_write())
                && ui.button("Take it away").on_hover_text("Remove it; undo brings it back.").clicked()
            {
                ctx.ask(Request::Act(ActRequest::Forget(Box::new(record.clone()))));
                super::ask(ctx, ActView { entry: None, ..view.clone() });
            }
        });
    });
    ScrollArea::vertical().id_salt("spray or crop").auto_shrink(false).show(ui, |ui| {
        for (heading, typed) in &mut edited.lines {
            let (name, hint) = asked(heading);
            line_to_type(ui, name, typed, hint);
        }
    });
    if edited != *entry {
        edited.wrong.clear();
        super::ask(ctx, ActView { entry: Some(edited), ..view.clone() });
    }
}

/// What a line is called, and what stands in it while it is empty.
fn asked(heading: &'static str) -> (&'static str, &'static str) {
    match heading {
        "field" => ("Field", "its name, or farm/field"),
        "year" => ("Harvest year", "such as 2027"),
        "date" => ("Day", "such as 2026-10-18"),
        "active" => ("Active", "such as flufenacet, several joined by +"),
        "hrac_group" => ("HRAC group", "if the active is not known"),
        "dose" => ("Dose of active", "such as 240 g/ha, or 240+60 g/ha"),
        "growth_stage" => ("Growth stage", "such as pre-emergence or GS 12"),
        "cost_per_ha" => ("Cost a hectare", "such as 31.50"),
        "effect" => ("Seen result", "in your words"),
        "crop" => ("Crop", "such as winter wheat"),
        "drilled" => ("Drilled on", "such as 2026-10-14"),
        "cultivation" => ("Cultivation", "such as ploughed"),
        other => (other, ""),
    }
}
