//! The Scout lens: where the weed stands, and how thick.

use awn_core::density::SurfaceMethod;
use awn_core::model::{Survey, SurveyKind};
use awn_core::units;
use egui::{Grid, RichText, Ui};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::map::{DensityLayer, figure, latest_surveys};
use crate::gui::style;
use crate::gui::widgets::{action_button, head, next_step, note, section, small};

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
}

fn one(ui: &mut Ui, ctx: &Ctx<'_>, density: Option<&DensityLayer>, field: awn_core::model::FieldId) {
    let Some(row) = ctx.facts.row(field) else { return };
    section(ui, &row.name);
    let Some(layer) = density else {
        note(ui, "The density is being worked out.");
        return;
    };
    let Some(known) = layer.fields.get(&field) else {
        note(ui, "Nothing was scouted here. Stops will be spread evenly over the field.");
        return;
    };
    let unit = known.surface.unit.label();
    Grid::new("density of field").num_columns(2).spacing([16.0, 2.0]).min_row_height(20.0).show(ui, |ui| {
        for (name, value) in [("Mean", known.mean), ("Thickest", known.greatest)] {
            ui.label(format!("{name}, {unit}"));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| ui.label(figure(value)));
            ui.end_row();
        }
    });
    if let Some(errors) = &known.surface.uncertainty {
        let known: Vec<f64> = errors.iter().copied().filter(|error| !error.is_nan()).collect();
        if !known.is_empty() {
            let mean = known.iter().sum::<f64>() / known.len() as f64;
            note(ui, format!("Standard error {} {unit} on average.", figure(mean)));
        }
    }
    note(ui, format!("From {}.", known.surface.source));
    let how = match known.surface.method {
        SurfaceMethod::Zones => "Weighted by the area of the zones.",
        SurfaceMethod::Raster => "The mean of the pixels under each cell, by area.",
        _ => &known.surface.reason,
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
