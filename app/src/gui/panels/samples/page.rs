//! One sample: what became of it, what is known of the seed, when results come, and how its field was walked.

use std::sync::Arc;

use awn_core::model::{AssayKind, Sample, TakenAt, Walked};
use awn_core::samples::{Line, day, species, species_codes, submission};
use awn_core::units::{ha, length};
use egui::{Align, ComboBox, Grid, Layout, RichText, Ui};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::samples::SamplesView;
use crate::gui::widgets::{note, section, small, stage_chip, typed};

/// Shows the sample.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, line: &Line, wanted: &mut SamplesView) {
    let sample = &line.sample;
    let row = ctx.facts.row(sample.field);
    ui.horizontal(|ui| {
        ui.label(RichText::new(&sample.code).font(style::bold_of(style::BODY)));
        ui.label(row.map_or("another year's field", |row| row.name.as_str()));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if ui.button("Close").clicked() {
                wanted.open = None;
            }
            if row.is_some() && ui.button("Find on map").clicked() {
                ctx.ask(Request::Select { field: Some(sample.field), add: false, scroll: true });
                ctx.ask(Request::ZoomTo(sample.field));
            }
        });
    });
    stages(ui, line);
    walks(ui, ctx, sample);
    seed(ui, ctx, sample);
    gaps(ui, ctx, sample);
}

/// What the laboratory's form would lack.
fn gaps(ui: &mut Ui, ctx: &Ctx<'_>, sample: &Arc<Sample>) {
    section(ui, "Not known for the form");
    let told = submission(ctx.records, sample, ctx.records.settings.samples.history_years);
    if told.gaps.is_empty() {
        note(ui, "Nothing is missing.");
    }
    for gap in &told.gaps {
        ui.label(RichText::new(gap).size(style::SMALL).color(style::of(ui).warn));
    }
    if !told.gaps.is_empty() {
        note(ui, "Crops and sprays are added in the Act lens: typed, pasted, or read from a table.");
    }
}

fn stages(ui: &mut Ui, line: &Line) {
    section(ui, "What became of it");
    if line.sample.events.is_empty() {
        note(ui, format!("{}; nobody noted its stages.", line.status.stage.meaning()));
    }
    for event in &line.sample.events {
        ui.horizontal_wrapped(|ui| {
            stage_chip(ui, event.stage);
            let by = if event.person.is_empty() { String::new() } else { format!(", {}", event.person) };
            let on = event.date.map_or_else(|| "day not known".to_owned(), day);
            ui.label(RichText::new(format!("{} {on}{by}", event.stage.label())).size(style::SMALL));
            if !event.note.is_empty() {
                ui.label(small(ui, &event.note));
            }
        });
    }
    if let (Some(next), Some(by)) = (line.status.next, line.status.by) {
        let late = line.status.is_late();
        let text = format!("To be {} by {}{}.", next.label(), day(by), if late { ": late" } else { "" });
        let colour = if late { style::of(ui).bad } else { style::of(ui).ink };
        ui.label(RichText::new(text).size(style::SMALL).color(colour));
    }
    for expected in &line.status.expected {
        let test = match expected.assay {
            AssayKind::Petri => "dish",
            AssayKind::Pot => "pot",
        };
        let text = if expected.there {
            format!("Results of the {test} test are in.")
        } else {
            format!("Results of the {test} test about {}.", day(expected.about))
        };
        note(ui, text);
    }
}

fn walks(ui: &mut Ui, ctx: &Ctx<'_>, sample: &Sample) {
    let walks: Vec<&Arc<Walked>> = ctx.records.walked_in(sample.field, sample.year).collect();
    section(ui, "As walked");
    if walks.is_empty() {
        note(ui, "No track of the day is kept. Read the receiver's GPX to see whether the seed stands for the field.");
    }
    for walk in walks {
        let found = &walk.figures;
        let on = walk.date.map_or_else(|| "day not known".to_owned(), day);
        let by = if walk.person.is_empty() { String::new() } else { format!(", {}", walk.person) };
        ui.label(RichText::new(format!("{on}{by} ({})", walk.source)).size(style::SMALL));
        for warning in &found.warnings {
            ui.label(RichText::new(warning).size(style::SMALL).color(style::of(ui).warn));
        }
        let (was, plan) = (found.visited.as_ref(), found.planned.as_ref());
        let dash = || "–".to_owned();
        let of = |figures: Option<&awn_core::model::Figures>, value: fn(&awn_core::model::Figures) -> String| {
            figures.map_or_else(dash, value)
        };
        let percent = |share: f64| format!("{:.0}", 100.0 * share);
        let rows = [
            ("Stops reached", found.reached().to_string(), found.away_m.len().to_string()),
            ("Balance B", of(was, |f| format!("{:.2}", f.balance)), of(plan, |f| format!("{:.2}", f.balance))),
            (
                "Mean distance to a place, m",
                of(was, |f| format!("{:.0}", f.weighted_distance_m)),
                of(plan, |f| format!("{:.0}", f.weighted_distance_m)),
            ),
            (
                "Population within 25 m of a place, %",
                was.map_or_else(dash, |f| percent(f.population_within_25_m)),
                plan.map_or_else(dash, |f| percent(f.population_within_25_m)),
            ),
            ("Population within 25 m of the track, %", percent(found.population_within_25_m), dash()),
            ("Tramlines with a place", of(was, |f| f.tramlines.to_string()), of(plan, |f| f.tramlines.to_string())),
            ("Tramlines walked or crossed", found.tramlines.to_string(), dash()),
            ("Extent, m", of(was, |f| format!("{:.0}", f.extent_m)), of(plan, |f| format!("{:.0}", f.extent_m))),
            ("Ground within 25 m of the track, ha", ha(found.area_m2), dash()),
        ];
        Grid::new(("walked", walk.id.0)).num_columns(3).spacing([16.0, 2.0]).min_row_height(20.0).show(ui, |ui| {
            ui.label("");
            for title in ["Walked", "Planned"] {
                let text = small(ui, title);
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
            }
            ui.end_row();
            for (name, was, planned) in rows {
                ui.label(RichText::new(name).size(style::SMALL));
                for value in [was, planned] {
                    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                        ui.label(RichText::new(value).size(style::SMALL))
                    });
                }
                ui.end_row();
            }
        });
        let taken = match found.taken_at {
            TakenAt::Marks => "The places are those marked in the file.",
            TakenAt::Stops => "The places are the stops that the track reached, within 15 m.",
            TakenAt::Track => "No stop was reached and no place marked: places stand evenly along the track.",
        };
        note(ui, format!("{taken} Walked in the field: {}.", length(found.length_m)));
        note(ui, "On the map: the track dashed, stops in rings, those that were missed struck out.");
    }
}

/// What is known of the seed, changed in place.
fn seed(ui: &mut Ui, ctx: &Ctx<'_>, sample: &Arc<Sample>) {
    section(ui, "The seed");
    let change = |changed: Sample| ctx.ask(Request::ChangeSample(Box::new(changed)));
    let held = || (**sample).clone();
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        ui.horizontal(|ui| {
            let label = ui.label(small(ui, "Weed")).id;
            let shown = ComboBox::from_id_salt(("weed", sample.id.0)).width(220.0);
            let shown = shown.selected_text(species(&sample.species).words()).show_ui(ui, |ui| {
                for code in species_codes() {
                    if ui.selectable_label(sample.species == code, species(code).words()).clicked() && sample.species != code
                    {
                        change(Sample { species: code.to_owned(), ..held() });
                    }
                }
            });
            shown.response.labelled_by(label);
        });
    });
    let shown = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        Grid::new(("seed", sample.id.0)).num_columns(2).spacing([12.0, 4.0]).show(ui, |ui| {
            let mut line = |name: &str, value: &str, hint: &str| {
                ui.label(small(ui, name));
                let typed = typed(ui, sample.id, name, value, 1, hint);
                ui.end_row();
                typed
            };
            if let Some(code) = line("Code", &sample.code, "as on the envelope") {
                change(Sample { code, ..held() });
            }
            for (name, value, hint, set) in [
                ("Seed, mugs", sample.mugs, "1", (|s, v| s.mugs = v) as fn(&mut Sample, Option<f64>)),
                ("Shed, %", sample.shed_percent, "10 to 20 is best", |s, v| s.shed_percent = v),
                ("Stands for, % of the field", sample.stands_for_percent, "share", |s, v| s.stands_for_percent = v),
            ] {
                let Some(text) = line(name, &shown(value), hint) else { continue };
                let text = text.trim().replace(',', ".");
                let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
                // What is no number is taken for NaN, which the checks of the sample refuse with a sentence.
                let number = if text.is_empty() { None } else { Some(number.unwrap_or(f64::NAN)) };
                let mut changed = held();
                set(&mut changed, number);
                change(changed);
            }
            for (name, value, hint, set) in [
                ("Taken from", &sample.patches, "patches 1 and 3", (|s, v| s.patches = v) as fn(&mut Sample, String)),
                ("Weather", &sample.weather, "dry, light wind", |s, v| s.weather = v),
                ("Actives wanted", &sample.actives, "as agreed with the laboratory", |s, v| s.actives = v),
                ("Note", &sample.note, "", |s, v| s.note = v),
            ] {
                if let Some(text) = line(name, value, hint) {
                    let mut changed = held();
                    set(&mut changed, text);
                    change(changed);
                }
            }
        });
        ui.horizontal(|ui| {
            ui.label(small(ui, "Tests wanted"));
            for (assay, name) in [(AssayKind::Petri, "dish"), (AssayKind::Pot, "pot")] {
                let mut on = sample.tests.contains(&assay);
                if ui.checkbox(&mut on, RichText::new(name).color(style::of(ui).ink)).changed() {
                    let mut tests: Vec<AssayKind> = sample.tests.iter().copied().filter(|test| *test != assay).collect();
                    tests.extend(on.then_some(assay));
                    tests.sort_unstable();
                    change(Sample { tests, ..held() });
                }
            }
        });
    });
}
