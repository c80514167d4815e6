//! The Report lens: what the client sees of a year's work; its parts, words and paper, and where to put it.

use std::collections::BTreeSet;

use awn_core::report::{Paper, Part, Version};
use egui::{ComboBox, Ui};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::report::{About, MapSheet, PagesFor, ReportView};
use crate::gui::widgets::{action_button, choice, head, next_step, note, section, typed};

/// Resolutions offered for maps, dots per inch.
const RESOLUTIONS: [f64; 4] = [96.0, 150.0, 300.0, 600.0];

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    head(ui, "Report", "What the client sees of a year's work: pages to print or post.");
    next_step(ui, ctx, Action::ExportReport, "Write the report as PDF…");
    let held = &ctx.view.report;
    let mut view = held.clone();
    version(ui, &mut view);
    about(ui, ctx, &mut view);
    words(ui, ctx, &mut view);
    parts(ui, ctx, &mut view);
    section(ui, "Paper");
    ui.horizontal(|ui| {
        for (paper, name) in [(Paper::A4, "A4"), (Paper::Letter, "Letter")] {
            if choice(ui, view.paper == paper, name).clicked() {
                view.paper = paper;
            }
        }
    });
    map(ui, ctx, &mut view);
    section(ui, "Data");
    action_button(ui, ctx, Action::ExportEverything);
    action_button(ui, ctx, Action::ExportShared);
    note(ui, "A copy to share holds what tests found, without names, positions, codes, notes and sources.");
    if view != *held {
        ctx.ask(Request::SetReport(Box::new(view)));
    }
}

fn version(ui: &mut Ui, view: &mut ReportView) {
    section(ui, "For");
    let versions = [
        (Version::Consultant, "Consultant", "With intervals, standards and methods."),
        (Version::Grower, "Grower", "What it means, with few figures."),
    ];
    ui.horizontal(|ui| {
        for (version, name, tip) in versions {
            if choice(ui, view.version == version, name).on_hover_text(tip).clicked() && view.version != version {
                let kept: Vec<Part> = view.parts.intersection(&extras()).copied().collect();
                view.version = version;
                view.parts = version.parts();
                view.parts.extend(kept);
            }
        }
    });
}

/// Parts that neither version has by itself.
fn extras() -> BTreeSet<Part> {
    [Part::Years, Part::Farms].into()
}

fn about(ui: &mut Ui, ctx: &Ctx<'_>, view: &mut ReportView) {
    section(ui, "About");
    let chosen = ctx.view.selected.len();
    for (about, name) in [
        (About::All, "All fields of the harvest".to_owned()),
        (About::Farms, "The farm of the chosen fields".to_owned()),
        (About::Chosen, format!("The {} chosen", awn_core::units::count(chosen, "field"))),
    ] {
        let enabled = about == About::All || chosen > 0;
        if enabled && choice(ui, view.about == about, &name).clicked() {
            view.about = about;
        }
    }
    if chosen == 0 {
        note(ui, "Choose fields in the list or on the map for a report of fewer.");
    }
    section(ui, "Pages of fields");
    ui.add_enabled_ui(view.parts.contains(&Part::Pages), |ui| {
        for (pages, name) in [
            (PagesFor::All, "For each of them"),
            (PagesFor::Resistant, "For those rated RR or RRR"),
            (PagesFor::Due, "For those due a test"),
            (PagesFor::Chosen, "For the chosen ones"),
        ] {
            if choice(ui, view.pages == pages, name).clicked() {
                view.pages = pages;
            }
        }
    });
}

fn words(ui: &mut Ui, ctx: &Ctx<'_>, view: &mut ReportView) {
    section(ui, "Cover");
    let usual = "Herbicide resistance in grass weeds";
    for (name, hint, text) in [("Title", usual, &mut view.title), ("Author", "Who answers for it", &mut view.author)] {
        note(ui, name);
        if let Some(new) = typed(ui, "report", name, text, 1, hint) {
            *text = new;
        }
    }
    ui.horizontal(|ui| {
        action_button(ui, ctx, Action::ChoosePicture);
        if let Some((file, _)) = &view.picture {
            let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            ui.add(egui::Label::new(name).truncate());
        }
    });
    if view.picture.is_some() && ui.button("Without a picture").clicked() {
        view.picture = None;
    }
}

fn parts(ui: &mut Ui, ctx: &Ctx<'_>, view: &mut ReportView) {
    section(ui, "Parts");
    for part in Part::ALL {
        let mut shown = view.parts.contains(&part);
        if ui.checkbox(&mut shown, part.name()).changed() {
            if shown {
                view.parts.insert(part);
                if part == Part::Years {
                    view.beside.get_or_insert(ctx.view.year - 1);
                }
            } else {
                view.parts.remove(&part);
            }
        }
        if part == Part::Years && shown {
            let year = view.beside.unwrap_or(ctx.view.year - 1);
            ui.horizontal(|ui| {
                ui.add_space(6.0 * style::STEP);
                let mut beside = year;
                let label = ui.label("beside harvest");
                ui.add(egui::DragValue::new(&mut beside).range(1950..=2200)).labelled_by(label.id);
                view.beside = Some(beside);
            });
        }
    }
}

fn map(ui: &mut Ui, ctx: &Ctx<'_>, view: &mut ReportView) {
    section(ui, "Map as it is seen");
    ui.horizontal(|ui| {
        let named = |response: &egui::Response, name: &str| {
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ComboBox, true, name));
        };
        let sizes = ComboBox::from_id_salt("map size").width(96.0).selected_text(view.sheet.name);
        let shown = sizes.show_ui(ui, |ui| {
            for sheet in MapSheet::ALL {
                ui.selectable_value(&mut view.sheet, sheet, sheet.name);
            }
        });
        named(&shown.response, "Size of the map");
        let fineness = ComboBox::from_id_salt("map resolution").width(96.0).selected_text(format!("{:.0} dpi", view.dpi));
        let shown = fineness.show_ui(ui, |ui| {
            for dpi in RESOLUTIONS {
                ui.selectable_value(&mut view.dpi, dpi, format!("{dpi:.0} dpi"));
            }
        });
        named(&shown.response, "Dots per inch of the map");
    });
    action_button(ui, ctx, Action::ExportMap);
    note(ui, "With the colours, layers and ground of the lens before; in any other lens from the project's menu.");
}
