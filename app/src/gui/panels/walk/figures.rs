//! Figures of plans side by side, each with its definition on hover.

use awn_core::model::{Figures, Plan};
use awn_core::stops::{DEFINITIONS, Definition};
use egui::{Align, Layout, RichText, ScrollArea, Ui};

use crate::gui::style;
use crate::gui::widgets::small;

/// A plan or a set of stops, as a column of the table.
pub struct Column<'a> {
    /// Heading.
    pub title: String,
    /// What the heading stands for.
    pub tip: String,
    /// The figures.
    pub figures: &'a Figures,
    /// Stops, metres and minutes on foot, if there is a walk.
    pub walk: Option<(usize, f64, f64)>,
}

impl<'a> Column<'a> {
    /// The column of a plan.
    pub fn of(plan: &'a Plan, title: String, tip: String) -> Self {
        Self { title, tip, figures: &plan.figures, walk: Some((plan.stops.len(), plan.length_m(), plan.minutes())) }
    }
}

/// The figure with a key; none where it does not apply.
pub fn value(figures: &Figures, key: &str) -> Option<f64> {
    Some(match key {
        "balance" => figures.balance,
        "weighted_distance_m" => figures.weighted_distance_m,
        "distance_95_m" => figures.distance_95_m,
        "population_within_25_m" => figures.population_within_25_m,
        "population_in_sampled_patches" => return figures.population_in_sampled_patches,
        "population_reached" => figures.population_reached,
        "tramlines" => figures.tramlines as f64,
        "extent_m" => figures.extent_m,
        "gate_distance_m" => return figures.gate_distance_m,
        "detection" => figures.detection,
        "n_eff" => figures.n_eff,
        "random_stops" => return figures.random_stops,
        _ => return None,
    })
}

/// Whether a figure is a share, written in per cent.
fn is_share(key: &str) -> bool {
    key.starts_with("population_") || key == "detection"
}

/// How a figure is written.
pub fn written(key: &str, value: f64) -> String {
    match key {
        "balance" => format!("{value:.3}"),
        _ if is_share(key) => format!("{:.0}", 100.0 * value),
        _ => format!("{value:.0}"),
    }
}

/// What a figure is called, with its unit.
pub fn name(known: &Definition) -> String {
    if is_share(known.key) { format!("{}, %", known.name) } else { known.name.to_owned() }
}

/// Widths of the names and of a column of figures: one for a table of two columns, one for more.
const NAME_WIDTH: f32 = 222.0;
const COLUMN_WIDTH: [f32; 2] = [48.0, 60.0];
const GAP: f32 = 4.0;
const ROW: f32 = 20.0;

/// The table. A wide one scrolls sideways.
pub fn table(ui: &mut Ui, id: &str, columns: &[Column<'_>]) {
    ScrollArea::horizontal().id_salt(id).auto_shrink([false, true]).show(ui, |ui| {
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            row(ui, ("", ""), columns, true, |column| (column.title.clone(), Some(column.tip.clone())));
            if columns.iter().filter(|column| column.walk.is_some()).count() > 1 {
                let of = |part: fn((usize, f64, f64)) -> String| {
                    move |column: &Column<'_>| (column.walk.map_or("–".to_owned(), part), None)
                };
                row(ui, ("Stops", "Places where seed is taken."), columns, false, of(|walk| walk.0.to_string()));
                row(
                    ui,
                    ("Walk, m", "Length of the walk, of all people together."),
                    columns,
                    false,
                    of(|walk| format!("{:.0}", walk.1)),
                );
                row(
                    ui,
                    ("Time, minutes", "Until the last one is back."),
                    columns,
                    false,
                    of(|walk| format!("{:.0}", walk.2)),
                );
            }
            for known in DEFINITIONS {
                let here = |column: &Column<'_>| {
                    (value(column.figures, known.key).map_or("–".to_owned(), |value| written(known.key, value)), None)
                };
                row(ui, (&name(known), known.text), columns, false, here);
            }
        });
    });
}

fn row(
    ui: &mut Ui,
    (name, tip): (&str, &str),
    columns: &[Column<'_>],
    heading: bool,
    cell: impl Fn(&Column<'_>) -> (String, Option<String>),
) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = GAP;
        let width = COLUMN_WIDTH[usize::from(columns.len() > 2)];
        ui.allocate_ui_with_layout(egui::vec2(NAME_WIDTH, ROW), Layout::left_to_right(Align::Center), |ui| {
            ui.set_min_width(NAME_WIDTH);
            let label = ui.add(egui::Label::new(RichText::new(name).size(style::SMALL)).truncate());
            if !tip.is_empty() {
                label.on_hover_text(tip);
            }
        });
        for column in columns {
            ui.allocate_ui_with_layout(egui::vec2(width, ROW), Layout::right_to_left(Align::Center), |ui| {
                ui.set_min_width(width);
                let (text, tip) = cell(column);
                let text = if heading { small(ui, text) } else { RichText::new(text) };
                let label = ui.add(egui::Label::new(text).truncate());
                if let Some(tip) = tip {
                    label.on_hover_text(tip);
                }
            });
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_defined_figure_is_shown() {
        let figures = Figures {
            balance: 0.1,
            weighted_distance_m: 1.0,
            distance_95_m: 2.0,
            tramlines: 3,
            extent_m: 4.0,
            gate_distance_m: Some(5.0),
            population_within_25_m: 0.5,
            population_in_sampled_patches: Some(0.25),
            population_reached: 0.9,
            detection: 0.4,
            n_eff: 6.0,
            random_stops: Some(7.0),
        };
        for known in DEFINITIONS {
            let value = value(&figures, known.key);
            assert!(value.is_some(), "{} is defined but not shown", known.key);
        }
        assert_eq!(written("detection", 0.4), "40");
    }
}
