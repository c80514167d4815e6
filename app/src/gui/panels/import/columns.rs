//! Which columns of a boundary file hold what: as found, or as the user says.

use awn_core::exchange::{AreaUnit, BoundaryColumns};
use awn_core::model::DensityUnit;
use egui::{ComboBox, Grid, RichText, Ui};

use crate::gui::import_form::ImportForm;
use crate::gui::style;
use crate::gui::widgets::{choice, line_to_type as text, note, section, small};

/// What stands before a column's choice, and what it is for.
const LABELS: [(&str, &str, &str); 6] = [
    ("name", "Field", "The name of the field."),
    ("farm", "Farm", "The name of the farm. A farm given above goes before it."),
    ("crop", "Crop", "What is grown, kept for the harvest year given above or that of the date."),
    ("area", "Area", "The area as the file states it. It is compared with the outline; the outline counts."),
    ("date", "Date", "A harvest year, or a day in it; a day of drilling if the heading says so."),
    ("density", "Density", "How much of the weed stands in the whole field; kept as scouting."),
];
/// Letters of a value shown beside its column.
const SHOWN: usize = 24;

/// Shows the choice.
pub fn show(ui: &mut Ui, form: &mut ImportForm) {
    section(ui, "Columns");
    let Some(preview) = form.seen.clone().filter(|preview| !preview.columns.is_empty()) else {
        note(ui, "“Look first” shows which columns are read as what, and lets you choose others.");
        return;
    };
    Grid::new("columns of a boundary file").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
        for (what, label, help) in LABELS {
            let of = |columns: &BoundaryColumns| {
                columns.each().into_iter().find(|(name, _)| *name == what).and_then(|(_, column)| column.map(str::to_owned))
            };
            let (said, found) = (of(&form.said), of(&preview.read_as));
            let words = small(ui, label);
            let label = ui.label(words).on_hover_text(help).id;
            let by_heading =
                found.as_deref().map_or_else(|| "by heading: none".to_owned(), |name| format!("by heading: {name}"));
            let shown = match said.as_deref() {
                None => by_heading.clone(),
                Some(BoundaryColumns::NOT_READ) => "not read".to_owned(),
                Some(name) => name.to_owned(),
            };
            let mut chosen = said.clone();
            let shown =
                ComboBox::from_id_salt(("column", what)).width(220.0).truncate().selected_text(shown).show_ui(ui, |ui| {
                    ui.selectable_value(&mut chosen, None, if said.is_none() { by_heading.as_str() } else { "by heading" });
                    ui.selectable_value(&mut chosen, Some(BoundaryColumns::NOT_READ.to_owned()), "not read");
                    for (name, first) in &preview.columns {
                        let first: String = first.chars().take(SHOWN).collect();
                        let words = if first.is_empty() { name.clone() } else { format!("{name}  ({first})") };
                        ui.selectable_value(&mut chosen, Some(name.clone()), words);
                    }
                });
            shown.response.labelled_by(label).on_hover_text(help);
            if chosen != said {
                form.said.set(what, chosen);
            }
            ui.end_row();
        }
    });
    let read = |what: &str| {
        let of = |columns: &BoundaryColumns| {
            let found = columns.each().into_iter().find(|(name, _)| *name == what).and_then(|(_, column)| column);
            found.is_some_and(|name| name != BoundaryColumns::NOT_READ)
        };
        of(&form.said) || of(&preview.read_as)
    };
    let (area, density) = (read("area"), read("density"));
    if area {
        note(ui, "The area is in");
        ui.horizontal(|ui| {
            if choice(ui, form.area_unit.is_empty(), "what fits").clicked() {
                form.area_unit.clear();
            }
            for unit in AreaUnit::ALL {
                if choice(ui, form.area_unit == unit.label(), unit.label()).clicked() {
                    unit.label().clone_into(&mut form.area_unit);
                }
            }
        });
    }
    if density {
        note(ui, "The density is in");
        ui.horizontal(|ui| {
            if choice(ui, !form.unit_said, "as its heading says").clicked() {
                form.unit_said = false;
            }
            for unit in [DensityUnit::HeadsPerM2, DensityUnit::PlantsPerM2, DensityUnit::Class] {
                let name = if unit == DensityUnit::Class { "class 0 to 4" } else { unit.label() };
                if choice(ui, form.unit_said && form.unit == unit, name).clicked() {
                    (form.unit_said, form.unit) = (true, unit);
                }
            }
        });
        text(ui, "Seen on", &mut form.date, "the day in the date column");
    }
    if !form.said.is_empty() {
        ui.label(RichText::new("Kept for the next file with the same headings.").size(style::SMALL));
    }
}
