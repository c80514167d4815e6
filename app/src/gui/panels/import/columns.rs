//! Which columns of a boundary file hold what: as found, or as the user says.

use awn_core::exchange::{AreaUnit, BoundaryColumns};
use awn_core::model::DensityUnit;
use egui::{ComboBox, Grid, RichText, Ui};

use crate::gui::style;
use crate::gui::view::import_form::ImportForm;
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

/// What stands beside the choice of a column.
#[derive(Clone, Copy)]
struct Words<'a> {
    label: &'a str,
    help: &'a str,
    /// Whether it may be said that no column holds it.
    may_be_none: bool,
}

/// One row of a grid: what a column may hold, and which does by hand; gives what is chosen now (none: by heading).
fn one(
    ui: &mut Ui,
    columns: &[(String, String)],
    words: Words<'_>,
    said: Option<&str>,
    found: Option<&str>,
) -> Option<String> {
    let Words { label, help, may_be_none } = words;
    let text = small(ui, label);
    let labelled = ui.label(text).on_hover_text(help).id;
    let by_heading = found.map_or_else(|| "by heading: none".to_owned(), |name| format!("by heading: {name}"));
    let shown = match said {
        None => by_heading.clone(),
        Some(BoundaryColumns::NOT_READ) => "not read".to_owned(),
        Some(name) => name.to_owned(),
    };
    let mut chosen = said.map(str::to_owned);
    let shown = ComboBox::from_id_salt(("column", label)).width(220.0).truncate().selected_text(shown).show_ui(ui, |ui| {
        ui.selectable_value(&mut chosen, None, if said.is_none() { by_heading.as_str() } else { "by heading" });
        if may_be_none {
            ui.selectable_value(&mut chosen, Some(BoundaryColumns::NOT_READ.to_owned()), "not read");
        }
        for (name, first) in columns {
            let first: String = first.chars().take(SHOWN).collect();
            let words = if first.is_empty() { name.clone() } else { format!("{name}  ({first})") };
            ui.selectable_value(&mut chosen, Some(name.clone()), words);
        }
    });
    shown.response.labelled_by(labelled).on_hover_text(help);
    ui.end_row();
    chosen
}

/// What stands before the columns of a position.
const PLACES: [(&str, &str); 3] = [
    ("Easting or longitude", "Metres of the coordinate system, or degrees, also with minutes: 0°24'W."),
    ("Northing or latitude", "Metres of the coordinate system, or degrees, also with minutes: 52°30'N."),
    ("Or both in one", "Letters of a national grid, such as TF 123 456, or latitude and longitude."),
];

/// Shows which columns of a table of points hold their positions, and with `values` which holds the density.
pub fn of_points(ui: &mut Ui, form: &mut ImportForm, values: bool) {
    section(ui, "Columns");
    let Some(preview) = form.seen.clone().filter(|preview| !preview.columns.is_empty()) else {
        note(ui, "“Look first” shows which columns are read as what, and lets you choose others.");
        return;
    };
    Grid::new("columns of a table of points").num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
        let kept = form.place.clone();
        for ((what, said), (label, help)) in kept.each().into_iter().zip(PLACES) {
            let found = preview.place.each().into_iter().find(|(name, _)| *name == what).and_then(|(_, column)| column);
            let words = Words { label, help, may_be_none: false };
            let chosen = one(ui, &preview.columns, words, said, found);
            if chosen.as_deref() != said {
                // One way or the other: what stands in one text has no two columns.
                let whole = kept.each().iter().position(|(name, _)| *name == what) == Some(2);
                for (index, (other, _)) in kept.each().into_iter().enumerate() {
                    if chosen.is_some() && whole != (index == 2) {
                        form.place.set(other, None);
                    }
                }
                form.place.set(what, chosen);
            }
        }
        if values {
            let said = form.value_column.trim().to_owned();
            let said = Some(said.as_str()).filter(|name| !name.is_empty());
            let words = Words { label: "Value", help: "What was counted or classed there.", may_be_none: false };
            let chosen = one(ui, &preview.columns, words, said, None);
            if chosen.as_deref() != said {
                form.value_column = chosen.unwrap_or_default();
            }
        }
    });
    if !form.place.is_empty() {
        ui.label(RichText::new("Kept for the next file with the same headings.").size(style::SMALL));
    }
}

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
            let words = Words { label, help, may_be_none: true };
            let chosen = one(ui, &preview.columns, words, said.as_deref(), found.as_deref());
            if chosen != said {
                form.said.set(what, chosen);
            }
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
