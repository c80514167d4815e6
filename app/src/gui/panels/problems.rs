//! What was wrong in the files read, where, and what to do about it. It stays until it is cleared.

use awn_core::problem::Severity;
use egui::{Align, Grid, Layout, RichText, ScrollArea, Ui};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{Icon, icon_button, small};

/// No more than this many of a list are shown at once; the rest are counted.
const MOST: usize = 200;

/// Hints of the core name options of the command line; in the window the form has the same under other words.
fn in_window_words(text: &str) -> String {
    [
        (" (--x-column and --y-column, or --place-column)", " under “Columns”"),
        (" (--x-column and --y-column)", ""),
        (" (--place-column)", ""),
        ("--crs EPSG:27700", "EPSG:27700 under “Coordinate system”"),
        ("(with --crs)", "(with a coordinate system)"),
        ("--crs", "“Coordinate system”"),
        ("--value-column density", "the column of the value"),
        ("--name-column", "the column of the name under “Columns”"),
        (" (--year 2026)", ""),
        (" (--date-column)", " under “Columns”"),
        (" (--date 2026-06-14)", ""),
        (" (--area-unit)", ""),
        ("--density-unit heads/m2, plants/m2 or class", "heads/m2, plants/m2 or class under “Columns”"),
        (" (--crs)", ""),
        ("--map ", "“Other headings in the file”: "),
    ]
    .iter()
    .fold(text.to_owned(), |text, (option, words)| text.replace(option, words))
}

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    ui.horizontal(|ui| {
        ui.label(RichText::new("Problems").font(style::bold_of(style::BODY)));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if icon_button(ui, Icon::Close, "Close the list of problems", true).clicked() {
                ctx.ask(Request::CloseProblems);
            }
            if ui.button("Clear the list").clicked() {
                ctx.ask(Request::ClearProblems);
            }
        });
    });
    ScrollArea::both().id_salt("problems").auto_shrink(false).show(ui, |ui| {
        for (at, list) in ctx.problems.iter().enumerate().rev() {
            ui.label(RichText::new(&list.title).font(style::bold_of(style::SMALL)));
            Grid::new(("problem list", at)).num_columns(4).spacing([16.0, 4.0]).show(ui, |ui| {
                for title in ["", "Where", "What", "What to do"] {
                    let text = small(ui, title);
                    ui.label(text);
                }
                ui.end_row();
                for problem in list.problems.iter().take(MOST) {
                    let tokens = style::of(ui);
                    let (word, colour) = match problem.severity {
                        Severity::Error => ("Error", tokens.bad),
                        Severity::Warning => ("Look", tokens.warn),
                        Severity::Note => ("Note", tokens.muted),
                    };
                    let sized = |text: &str| RichText::new(text).size(style::SMALL);
                    ui.label(sized(word).color(colour));
                    let place = in_window_words(&problem.place);
                    match problem.spot {
                        None => drop(ui.label(sized(&place))),
                        Some(spot) => {
                            if ui.link(sized(&place)).on_hover_text("Show it on the map").clicked() {
                                ctx.ask(Request::ShowPlace(spot.bounds()));
                            }
                        }
                    }
                    ui.label(sized(&problem.what));
                    ui.label(sized(&in_window_words(&problem.hint)));
                    ui.end_row();
                }
            });
            if list.problems.len() > MOST {
                let text = small(ui, format!("and {} more", list.problems.len() - MOST));
                ui.label(text);
            }
        }
    });
}
