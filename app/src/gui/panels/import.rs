//! The form that asks what a file does not say itself. It takes the place of the lens panel; the map stays in use.

mod columns;
mod results;

use std::path::Path;

use awn_core::model::{DensityUnit, SurveyKind};
use awn_core::units::count;
use egui::{Button, RichText, Ui};

use crate::gui::ctx::Ctx;
use crate::gui::jobs::kind::JobKind;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::import_form::{ImportForm, ImportKind};
use crate::gui::view::import_preview::Preview;
use crate::gui::widgets::{choice, head, line_to_type as text, note, section};

/// No more layers or repaired outlines than this are listed.
const MOST_CHOICES: usize = 40;
/// So many files that wait are named.
const MOST_WAITING: usize = 4;

fn name_of(file: &Path) -> String {
    file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

/// Shows the form.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, form: &ImportForm) {
    let mut edited = form.clone();
    head(ui, &format!("Import {}", form.kind.noun()), &form.file_name());
    section(ui, "The file holds");
    // Two beside each other, so that what is asked below is in sight on a small screen too.
    egui::Grid::new("kinds of file").num_columns(2).spacing([4.0 * style::STEP, 0.0]).show(ui, |ui| {
        for pair in ImportKind::ALL.chunks(2) {
            for kind in pair {
                if choice(ui, edited.kind == *kind, kind.label()).clicked() {
                    edited.kind = *kind;
                }
            }
            ui.end_row();
        }
    });
    match edited.kind {
        ImportKind::Boundaries => boundaries(ui, &mut edited),
        ImportKind::Tramlines => {
            note(ui, "Lines as they were driven. They take the place of the tramlines that the fields had.");
            text(ui, "Spacing, m", &mut edited.spacing, "measured from line to line");
            of_file(ui, &mut edited);
        }
        ImportKind::Gates | ImportKind::NoGo => {
            let words = match edited.kind {
                ImportKind::Gates => "Points. Each gate goes to the nearest field.",
                _ => "Areas in which no stop is placed and through which no walk leads. Each goes to the fields it lies in.",
            };
            note(ui, words);
            of_file(ui, &mut edited);
            if edited.kind == ImportKind::Gates {
                columns::of_points(ui, &mut edited, false);
            }
        }
        ImportKind::Scouting => scouting(ui, &mut edited),
        ImportKind::Results => results::show(ui, &mut edited),
        ImportKind::Walk => {
            note(
                ui,
                "The receiver's track of the day. It goes to every field it was walked in, and is held against the plan there. Waypoints in it are taken for places where seed was taken.",
            );
            text(ui, "Harvest year", &mut edited.year, "such as 2027");
            text(ui, "Day", &mut edited.date, "what the file says");
            text(ui, "Walked by", &mut edited.person, "name");
        }
    }
    ui.add_space(3.0 * style::STEP);
    let checked = edited.checked();
    if let Err(missing) = &checked {
        ui.label(RichText::new(missing).size(style::SMALL).color(style::of(ui).bad));
    }
    let busy = ctx.jobs.iter().any(|job| job.kind == JobKind::Import);
    if let Some(preview) = &form.preview {
        looked_at(ui, ctx, preview, &mut edited);
    }
    if ui.add_enabled(checked.is_ok() && !busy, Button::new("Look first")).clicked() {
        ctx.ask(Request::LookAtImport);
    }
    ui.horizontal(|ui| {
        let tokens = style::of(ui);
        let label = RichText::new("Import").color(tokens.ground).font(style::bold_of(style::BODY));
        let button = Button::new(label).fill(tokens.accent).min_size(egui::vec2(120.0, 32.0));
        if ui.add_enabled(checked.is_ok() && !busy && ctx.can_write(), button).clicked() {
            ctx.ask(Request::Import);
        }
        if ui.button("Do not import").clicked() {
            ctx.ask(Request::SetForm(None));
        }
    });
    if !ctx.view.waiting.is_empty() {
        let names: Vec<String> = ctx.view.waiting.iter().take(MOST_WAITING).map(|(file, _)| name_of(file)).collect();
        let more = ctx.view.waiting.len() - names.len();
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        ui.horizontal_wrapped(|ui| {
            note(ui, format!("Next: {}{more}.", names.join(", ")));
            if ui.link(RichText::new("Leave them out").size(style::SMALL)).clicked() {
                ctx.ask(Request::LeaveWaiting);
            }
        });
    }
    note(
        ui,
        "An import is one change: undo takes all of it back. If the file has errors, nothing is imported and each is listed.",
    );
    if edited != *form {
        // What was looked at is no longer what would be done.
        edited.preview = None;
        ctx.ask(Request::SetForm(Some(Box::new(edited))));
    }
}

/// What the file would bring, what was repaired, and its layers to choose from.
fn looked_at(ui: &mut Ui, ctx: &Ctx<'_>, preview: &Preview, edited: &mut ImportForm) {
    section(ui, if preview.refused { "It would be refused" } else { "It would bring" });
    for line in &preview.said {
        note(ui, line);
    }
    if preview.problems > 0 {
        note(ui, format!("{} in the list of problems.", count(preview.problems, "line")));
    }
    if !preview.refused {
        note(ui, "On the map: the dashed shapes.");
    }
    if !preview.repaired.is_empty() {
        section(ui, "Repaired outlines");
        note(ui, "On the map: wide, as the file has them; dashed over that, as they are read. Click one to see it.");
        for (words, bounds) in preview.repaired.iter().take(MOST_CHOICES) {
            if ui.link(RichText::new(words).size(style::SMALL)).clicked() {
                ctx.ask(Request::ShowPlace(*bounds));
            }
        }
        if preview.repaired.len() > MOST_CHOICES {
            note(ui, format!("and {} more, in the list of problems.", preview.repaired.len() - MOST_CHOICES));
        }
    }
    if !preview.layers.is_empty() {
        note(ui, "Layers");
        ui.horizontal_wrapped(|ui| {
            for name in preview.layers.iter().take(MOST_CHOICES) {
                if choice(ui, edited.layer == *name, name).clicked() {
                    edited.layer.clone_from(name);
                }
            }
        });
    }
}

fn boundaries(ui: &mut Ui, form: &mut ImportForm) {
    text(ui, "Farm", &mut form.farm, "a farm column, or the file's name");
    text(ui, "Layer", &mut form.layer, "the first with areas");
    text(ui, "Harvest year from which they hold", &mut form.year, "matched by name, not by land");
    if !form.year.trim().is_empty() {
        note(ui, "Fields are matched to those there by the land they lie on. Split and merged land keeps its history.");
        ui.checkbox(&mut form.close_missing, "Fields of the farm that are not in the file end the year before");
    }
    of_file(ui, form);
    columns::show(ui, form);
    section(ui, "Tramlines");
    text(ui, "Spacing, m (the sprayer's width)", &mut form.spacing, "no tramlines");
    text(ui, "Bearing, degrees from north", &mut form.bearing, "along each field's longest edge");
}

fn scouting(ui: &mut Ui, form: &mut ImportForm) {
    text(ui, "Day of the survey", &mut form.date, "such as 2026-06-12");
    text(ui, "Or the column with the day", &mut form.date_column, "all rows are of one day");
    ui.horizontal(|ui| {
        for (kind, name) in [
            (SurveyKind::Points, "Points"),
            (SurveyKind::Zones, "Zones"),
            (SurveyKind::Places, "Bare places"),
            (SurveyKind::Raster, "Raster"),
        ] {
            if choice(ui, form.survey == kind, name).clicked() {
                form.survey = kind;
            }
        }
    });
    note(ui, "The values are");
    ui.horizontal(|ui| {
        for unit in [DensityUnit::HeadsPerM2, DensityUnit::PlantsPerM2, DensityUnit::Class] {
            let name = if unit == DensityUnit::Class { "class 0 to 4" } else { unit.label() };
            if choice(ui, form.unit == unit, name).clicked() {
                form.unit = unit;
            }
        }
    });
    if matches!(form.survey, SurveyKind::Points | SurveyKind::Zones) {
        if form.survey == SurveyKind::Zones {
            text(ui, "Column with the value", &mut form.value_column, "found by its heading");
        }
        if form.unit != DensityUnit::Class {
            text(ui, "Counted in a frame of, m2", &mut form.frame, "the values are per m2 already");
        }
    }
    of_file(ui, form);
    if matches!(form.survey, SurveyKind::Points | SurveyKind::Places) {
        columns::of_points(ui, form, form.survey == SurveyKind::Points);
    }
}

/// What can be said of any file.
fn of_file(ui: &mut Ui, form: &mut ImportForm) {
    text(ui, "Coordinate system", &mut form.crs, "what the file says, or EPSG:27700");
    text(ui, "Encoding of its texts", &mut form.encoding, "what the file says, or UTF-8, 1252, 850");
}
