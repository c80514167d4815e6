//! The Scout lens: where the weed stands, and how thick.

use awn_core::density::SurfaceMethod;
use awn_core::model::{Between, Combine, Survey, SurveyKind};
use awn_core::units;
use egui::{Grid, RichText, Ui};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::map::{DensityLayer, figure, latest_surveys};
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::Scouted;
use crate::gui::widgets::{action_button, choice, head, next_step, note, section, small};

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, density: Option<&DensityLayer>) {
    head(ui, "Scout", "Where the weed stands, and how thick. Stops are placed by it.");
    if ctx.records.surveys.is_empty() {
        next_step(ui, ctx, Action::ImportScouting, "Import scouting…");
        note(
            ui,
            "Counts at points, or zones with one value each, as CSV, shapefile, GeoJSON or GeoPackage. You can drop the file on the window.",
        );
        return;
    }
    next_step(ui, ctx, Action::LensWalk, "Plan the walk");
    match ctx.view.single() {
        Some(field) => one(ui, ctx, density, field),
        None => note(ui, "Choose a field to see what its density was worked out from."),
    }
    section(ui, "Surveys on the map");
    let shown: Vec<_> = latest_surveys(ctx.records, ctx.view.year).into_iter().map(|survey| survey.id).collect();
    surveys(ui, ctx, "shown surveys", |survey| shown.contains(&survey.id));
    if ctx.records.surveys.len() > shown.len() {
        section(ui, "Other surveys");
        surveys(ui, ctx, "other surveys", |survey| !shown.contains(&survey.id));
    }
    ui.add_space(2.0 * style::STEP);
    action_button(ui, ctx, Action::ImportScouting);
    settings(ui, ctx);
}

/// How densities are made, for the whole project; and whether the map shows them or their error.
fn settings(ui: &mut Ui, ctx: &Ctx<'_>) {
    section(ui, "On the map");
    for (shown, text, tip) in [
        (Scouted::Density, "Density", "How thick the weed stands."),
        (Scouted::Error, "Standard error of the density", "How sure it is: small near the points that were counted."),
    ] {
        if choice(ui, ctx.view.scout == shown, text).on_hover_text(tip).clicked() {
            ctx.ask(Request::ShowScouted(shown));
        }
    }
    section(ui, "How densities are made");
    let mut density = ctx.records.settings.density;
    let held = density;
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        Grid::new("density settings").num_columns(2).spacing([12.0, 4.0]).show(ui, |ui| {
            let label =
                ui.label(RichText::new("Surveys").size(style::SMALL)).on_hover_text("Which surveys of a field count.");
            let word = |combine| match combine {
                Combine::Latest => "The latest",
                Combine::Mean => "Mean of five years",
                Combine::Maximum => "Greatest of five years",
            };
            let combo = egui::ComboBox::from_id_salt("surveys").selected_text(word(density.combine)).show_ui(ui, |ui| {
                for combine in Combine::ALL {
                    ui.selectable_value(&mut density.combine, *combine, word(*combine));
                }
            });
            combo.response.labelled_by(label.id);
            ui.end_row();
            let label = ui
                .label(RichText::new("Between points").size(style::SMALL))
                .on_hover_text("How values between points are found.");
            let word = |between| match between {
                Between::Automatic => "As the points allow",
                Between::Kriging => "Ordinary kriging",
                Between::InverseDistance => "Inverse distance",
            };
            let combo = egui::ComboBox::from_id_salt("between").selected_text(word(density.between)).show_ui(ui, |ui| {
                for between in Between::ALL {
                    ui.selectable_value(&mut density.between, *between, word(*between));
                }
            });
            combo.response.labelled_by(label.id);
            ui.end_row();
            let label = ui
                .label(RichText::new("Bandwidth, m").size(style::SMALL))
                .on_hover_text("Reach of a bare place without a count. 0: from the places themselves.");
            let mut bandwidth = density.bandwidth_m.unwrap_or(0.0);
            let drag = egui::DragValue::new(&mut bandwidth).range(0.0..=500.0).speed(1.0).max_decimals(0);
            let response = ui.add(drag).labelled_by(label.id);
            // Written when the hand lets go, so that one drag is one step of the history.
            let id = response.id.with("typed");
            let typed: Option<f64> = ui.data(|data| data.get_temp(id)).flatten();
            let done = response.drag_stopped() || response.lost_focus();
            let typed = if response.changed() { Some(bandwidth) } else { typed };
            ui.data_mut(|data| data.insert_temp(id, typed.filter(|_| !done)));
            if let (true, Some(bandwidth)) = (done, typed) {
                density.bandwidth_m = (bandwidth > 0.0).then_some(bandwidth);
            }
            ui.end_row();
        });
    });
    if density != held {
        ctx.ask(Request::SetDensity(density));
    }
}

fn one(ui: &mut Ui, ctx: &Ctx<'_>, density: Option<&DensityLayer>, field: awn_core::model::FieldId) {
    let Some(row) = ctx.facts.row(field) else { return };
    section(ui, &row.name);
    let Some(layer) = density else {
        note(ui, "The density is being worked out.");
        return;
    };
    let Some(known) = layer.fields.get(&field) else {
        let text = if layer.error {
            "No standard error here: nothing was counted, or the way the density was made gives none."
        } else {
            "Nothing was scouted here. Stops will be spread evenly over the field."
        };
        note(ui, text);
        return;
    };
    let unit = known.unit.label();
    Grid::new("density of field").num_columns(2).spacing([16.0, 2.0]).min_row_height(20.0).show(ui, |ui| {
        let names = if layer.error { ["Mean error", "Greatest error"] } else { ["Mean", "Thickest"] };
        for (name, value) in names.into_iter().zip([known.mean, known.greatest]) {
            ui.label(format!("{name}, {unit}"));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| ui.label(figure(value)));
            ui.end_row();
        }
    });
    if let Some(mean) = known.mean_error {
        note(ui, format!("Standard error {} {unit} on average.", figure(mean)));
    }
    note(ui, format!("From {}.", known.source));
    let how = match known.method {
        SurfaceMethod::Zones => "Weighted by the area of the zones.",
        SurfaceMethod::Raster => "The mean of the pixels under each cell, by area.",
        _ => &known.reason,
    };
    note(ui, how);
}

fn surveys(ui: &mut Ui, ctx: &Ctx<'_>, name: &str, wanted: impl Fn(&Survey) -> bool) {
    let mut list: Vec<_> = ctx.records.surveys.values().filter(|survey| wanted(survey)).collect();
    list.sort_by_key(|survey| std::cmp::Reverse(survey.date));
    if list.is_empty() {
        note(ui, "None up to this harvest.");
    }
    for (at, survey) in list.into_iter().enumerate() {
        ui.push_id((name, at), |ui| {
            let what = match survey.kind {
                SurveyKind::Points => units::count(survey.points.len(), "point"),
                SurveyKind::Zones => units::count(survey.zones.len(), "zone"),
                SurveyKind::Places => units::count(survey.points.len(), "place"),
                SurveyKind::Raster => format!("raster over {}", units::count(survey.rasters.len(), "field")),
            };
            let unit = survey.unit.label();
            ui.label(RichText::new(format!("{}, {what}, {unit}", survey.date.strftime("%-d %B %Y"))));
            let source = small(ui, &survey.source);
            ui.add(egui::Label::new(source).truncate());
        });
    }
}
