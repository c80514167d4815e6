//! Everything that is known of one field over the years, and what of it can be changed in place.

use std::collections::{BTreeMap, BTreeSet};

use awn_core::exchange::Treatment;
use awn_core::model::{Crop, CropId, Field, FieldId, Record, SurveyKind, modes_of_action};
use awn_core::rating::Counted;
use awn_core::units;
use egui::{Align2, FontId, RichText, Sense, Stroke, Ui, pos2, vec2};
use geo::Intersects as _;

use super::{act, due, ripe};
use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::request::Request;
use crate::gui::view::samples::SamplesView;
use crate::gui::widgets::{action_button, counted_chip, note, section, small, typed};
use crate::gui::{photos, style};

/// Harvests that the chart of ratings looks back, this one included.
const YEARS: i32 = 12;
/// Height of a line of that chart.
const LINE: f32 = 24.0;
/// Years listed of crops and sprays before "more".
const LISTED: usize = 6;

/// Shows the page.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, row: &Row) {
    let Some(field) = ctx.records.fields.get(&row.id) else { return };
    identity(ui, ctx, field, row);
    for (at, reason) in row.reasons.iter().enumerate() {
        let (text, colour) = if at == 0 && row.due {
            (format!("Due. {reason}"), style::of(ui).warn)
        } else {
            (reason.clone(), style::of(ui).ink)
        };
        ui.label(RichText::new(text).size(style::SMALL).color(colour));
    }
    due::of_field(ui, ctx, row.id);
    latest(ui, ctx, row);
    ripe::show(ui, ctx, row.id, crate::gui::jobs::work::today());
    history(ui, ctx, row.id);
    crops(ui, ctx, field);
    sprays(ui, ctx, field);
    surveys(ui, ctx, field);
    samples(ui, ctx, field.id);
    notes(ui, ctx, field);
    ui.add_space(2.0 * style::STEP);
    ui.horizontal_wrapped(|ui| {
        for action in [Action::ReshapeField, Action::SplitField, Action::AddGate, Action::DrawNoGo, Action::RemoveField] {
            action_button(ui, ctx, action);
        }
    });
}

fn identity(ui: &mut Ui, ctx: &Ctx<'_>, field: &Field, row: &Row) {
    section(ui, &row.name);
    let change = |changed: Field| ctx.ask(Request::EditField(Box::new(changed)));
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        if let Some(name) = typed(ui, field.id, "Name of the field", &field.name, 1, "Name")
            && !name.is_empty()
        {
            change(Field { name, ..field.clone() });
        }
        ui.horizontal(|ui| {
            let label = ui.label(small(ui, "Farm")).id;
            let mut farm = field.farm;
            let shown = egui::ComboBox::from_id_salt("farm of field").selected_text(&row.farm).show_ui(ui, |ui| {
                for other in ctx.records.farms.values() {
                    ui.selectable_value(&mut farm, other.id, &other.name);
                }
            });
            shown.response.labelled_by(label);
            if farm != field.farm {
                change(Field { farm, ..field.clone() });
            }
            ui.label(format!("{} ha", units::ha(row.area_m2)));
        });
    });
    let names: Vec<&str> =
        field.came_from.iter().filter_map(|id| ctx.records.fields.get(id)).map(|from| from.name.as_str()).collect();
    if !names.is_empty() {
        let since = field.from_year.map_or_else(String::new, |year| format!(" for harvest {year}"));
        let how = if names.len() > 1 { "Merged from" } else { "Split from" };
        note(ui, format!("{how} {}{since}.", names.join(" and ")));
    }
    for former in &field.former {
        let area = units::ha(awn_core::geometry::geodesic_area_m2(&former.boundary));
        note(
            ui,
            format!("Until harvest {}: {}, {area} ha. The maps of those years show it so.", former.until_year, former.name),
        );
    }
    if ui.button("Zoom to this field").clicked() {
        ctx.ask(Request::ZoomTo(row.id));
    }
}

fn latest(ui: &mut Ui, ctx: &Ctx<'_>, row: &Row) {
    section(ui, "Latest ratings");
    let Some(known) = ctx.facts.ratings.get(&row.id).filter(|known| !known.groups.is_empty()) else {
        note(ui, "Never tested: nothing is known. Plan a walk, take seed and send it in.");
        return;
    };
    for (group, rating) in &known.groups {
        ui.horizontal(|ui| {
            counted_chip(ui, Some(rating.counted()));
            ui.label(format!("{group} {}", hits(group))).on_hover_text("HRAC group and what it hits.");
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| ui.label(rating.year.to_string()));
        });
        ui.horizontal(|ui| {
            ui.add_space(34.0 + 2.0 * style::STEP);
            note(ui, format!("worst with {}", rating.active));
        });
    }
    note(ui, "A test is a snapshot of the plants that set seed. The label and a qualified adviser decide.");
}

fn hits(group: &str) -> &'static str {
    modes_of_action().iter().find(|mode| mode.group == group).map_or("", |mode| mode.name)
}

/// The worst rating of each mode of action, year by year.
fn history(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId) {
    let mut worst: BTreeMap<&str, BTreeMap<i32, Counted>> = BTreeMap::new();
    let earliest = ctx.view.year - YEARS + 1;
    for result in ctx.facts.results.iter().filter(|result| result.field == field && result.year >= earliest) {
        if let Some(rating) = result.found.counted {
            let held = worst.entry(result.group.as_str()).or_default().entry(result.year).or_insert(rating);
            *held = (*held).max(rating);
        }
    }
    if worst.is_empty() {
        return;
    }
    section(ui, "Ratings over the years");
    let tokens = style::of(ui);
    let name_width = 52.0;
    let size = vec2(ui.available_width(), LINE * (worst.len() as f32 + 1.0));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let step = (rect.width() - name_width) / YEARS as f32;
    let x = |year: i32| rect.left() + name_width + step * ((year - earliest) as f32 + 0.5);
    let painter = ui.painter_at(rect);
    let font = FontId::proportional(style::SMALL);
    for year in (earliest..=ctx.view.year).filter(|year| (ctx.view.year - year) % 3 == 0) {
        painter.text(
            pos2(x(year), rect.bottom()),
            Align2::CENTER_BOTTOM,
            format!("’{:02}", year.rem_euclid(100)),
            font.clone(),
            tokens.muted,
        );
    }
    let mut said = Vec::new();
    for (at, (group, years)) in worst.iter().enumerate() {
        let y = rect.top() + LINE * (at as f32 + 0.5);
        painter.text(pos2(rect.left(), y), Align2::LEFT_CENTER, format!("HRAC {group}"), font.clone(), tokens.ink);
        painter.hline(x(earliest)..=x(ctx.view.year), y, Stroke::new(1.0, tokens.line));
        for (year, rating) in years {
            let fill = style::rating_colour(rating.rating);
            let galley = painter.layout_no_wrap(rating.words(), style::bold_of(11.0), style::text_on(fill));
            let chip = egui::Rect::from_center_size(pos2(x(*year), y), vec2(galley.size().x.max(12.0) + 6.0, 17.0));
            painter.rect(chip, 1.0, fill, Stroke::new(1.0, tokens.ink), egui::StrokeKind::Inside);
            painter.galley(chip.center() - galley.size() / 2.0, galley, style::text_on(fill));
        }
        let list: Vec<_> = years.iter().map(|(year, rating)| format!("{year} {}", rating.words())).collect();
        said.push(format!("HRAC {group} {}: {}", hits(group), list.join(", ")));
    }
    let said = said.join("\n");
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &said));
    response.on_hover_text(said);
}

fn crops(ui: &mut Ui, ctx: &Ctx<'_>, field: &Field) {
    section(ui, "Crops");
    let here: Vec<_> = ctx.records.crops.values().filter(|crop| crop.field == field.id).collect();
    let now = here.iter().find(|crop| crop.year == ctx.view.year);
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        let label = format!("Crop of harvest {}", ctx.view.year);
        let held = now.map_or("", |crop| crop.crop.as_str());
        ui.label(small(ui, &label));
        if let Some(crop) = typed(ui, (field.id, ctx.view.year), &label, held, 1, "winter wheat") {
            let (id, year) = (CropId::new(), ctx.view.year);
            let (crop_name, cultivation) = (String::new(), String::new());
            let made = Crop { id, field: field.id, year, crop: crop_name, drilled: None, cultivation };
            let before = now.map_or(made, |crop| (***crop).clone());
            ctx.ask(Request::EditCrop(Box::new(Crop { crop, ..before })));
        }
    });
    let mut years: Vec<Line> = here
        .iter()
        .filter(|crop| crop.year != ctx.view.year)
        .map(|crop| {
            let drilled = crop.drilled.map_or_else(String::new, |day| format!(", drilled {}", day.strftime("%-d %B %Y")));
            let cultivation = if crop.cultivation.is_empty() { String::new() } else { format!(", {}", crop.cultivation) };
            let text = format!("{}{drilled}{cultivation}", crop.crop);
            Line { year: crop.year, text, record: Record::Crop((***crop).clone()) }
        })
        .collect();
    years.sort_by_key(|line| -line.year);
    by_year(ui, ctx, "crops", &years);
    type_one(ui, ctx, field, Treatment::Crops, "Type a crop…");
}

/// A crop or spray of a harvest in words.
struct Line {
    year: i32,
    text: String,
    record: Record,
}

fn sprays(ui: &mut Ui, ctx: &Ctx<'_>, field: &Field) {
    let mut list: Vec<Line> = ctx
        .records
        .sprays
        .values()
        .filter(|spray| spray.field == field.id)
        .map(|spray| {
            let date = spray.date.map_or_else(String::new, |day| format!(", {}", day.strftime("%-d %B")));
            let dose = spray.dose_g_per_ha.map_or_else(String::new, |dose| format!(", {dose} g/ha"));
            let effect = if spray.effect.is_empty() { String::new() } else { format!(": {}", spray.effect) };
            let stage = if spray.growth_stage.is_empty() { String::new() } else { format!(", {}", spray.growth_stage) };
            let text = format!("{} (HRAC {}){dose}{date}{stage}{effect}", spray.active, spray.group);
            Line { year: spray.year, text, record: Record::Spray((**spray).clone()) }
        })
        .collect();
    section(ui, "Sprays");
    if list.is_empty() {
        note(ui, "None is known. What was sprayed in the years before says much about what is resistant.");
    }
    list.sort_by(|a, b| (b.year, &b.text).cmp(&(a.year, &a.text)));
    by_year(ui, ctx, "sprays", &list);
    type_one(ui, ctx, field, Treatment::Sprays, "Type a spray…");
}

/// Lines under their years, the newest first; older ones fold away.
fn by_year(ui: &mut Ui, ctx: &Ctx<'_>, name: &str, lines: &[Line]) {
    let years: BTreeSet<i32> = lines.iter().map(|line| line.year).collect();
    let Some(limit) = years.iter().rev().nth(LISTED).copied() else { return some(ui, ctx, lines.iter()) };
    some(ui, ctx, lines.iter().filter(|line| line.year > limit));
    ui.collapsing(format!("Earlier {name}"), |ui| some(ui, ctx, lines.iter().filter(|line| line.year <= limit)));
}

fn some<'a>(ui: &mut Ui, ctx: &Ctx<'_>, lines: impl Iterator<Item = &'a Line>) {
    for line in lines {
        ui.horizontal(|ui| {
            let year = small(ui, line.year.to_string());
            ui.label(year);
            let text = RichText::new(&line.text).size(style::SMALL);
            if !ctx.can_write() {
                ui.add(egui::Label::new(text).wrap());
                return;
            }
            // What can be changed is a link, so that a line is no longer than its words.
            let link = ui.add(egui::Label::new(text).wrap().sense(Sense::click()));
            link.widget_info(|| {
                egui::WidgetInfo::labeled(egui::Role::Button, true, format!("Change {} {}", line.year, line.text))
            });
            if link.on_hover_text("Change it, or take it away.").clicked() {
                act::change(ctx, &line.record);
            }
        });
    }
}

fn type_one(ui: &mut Ui, ctx: &Ctx<'_>, field: &Field, kind: Treatment, text: &str) {
    if ctx.can_write() && ui.button(text).clicked() {
        act::type_one(ctx, kind, Some(field.id));
    }
}

fn surveys(ui: &mut Ui, ctx: &Ctx<'_>, field: &Field) {
    let mut list: Vec<(jiff::civil::Date, String)> = Vec::new();
    for survey in ctx.records.surveys.values() {
        let points = survey.points.iter().filter(|point| field.boundary.intersects(&point.position)).count();
        let zones = survey.zones.iter().filter(|zone| field.boundary.intersects(&zone.area)).count();
        let covers = |[top_left, top_right, bottom_left]: &[geo::Coord<f64>; 3]| {
            let ring = vec![*top_left, *top_right, *top_right + *bottom_left - *top_left, *bottom_left];
            field.boundary.intersects(&geo::Polygon::new(geo::LineString(ring), vec![]))
        };
        let rasters = survey.rasters.iter().filter(|raster| covers(&raster.corners)).count();
        let what = match survey.kind {
            SurveyKind::Points if points > 0 => units::count(points, "point"),
            SurveyKind::Places if points > 0 => units::count(points, "place"),
            SurveyKind::Zones if zones > 0 => units::count(zones, "zone"),
            SurveyKind::Raster if rasters > 0 => "raster".to_owned(),
            _ => continue,
        };
        list.push((survey.date, format!("{}, {what}, {}", survey.date.strftime("%-d %B %Y"), survey.unit.label())));
    }
    if list.is_empty() {
        return;
    }
    section(ui, "Surveys");
    list.sort_by_key(|(date, _)| std::cmp::Reverse(*date));
    for (_, text) in list {
        ui.label(RichText::new(text).size(style::SMALL));
    }
}

fn samples(ui: &mut Ui, ctx: &Ctx<'_>, field: FieldId) {
    let mut list: Vec<_> = ctx.records.samples.values().filter(|sample| sample.field == field).collect();
    if list.is_empty() {
        return;
    }
    section(ui, "Samples");
    list.sort_by_key(|sample| std::cmp::Reverse((sample.year, sample.taken)));
    for sample in list {
        let taken = sample.taken.map_or_else(String::new, |day| format!(", taken {}", day.strftime("%-d %B")));
        let stage = awn_core::samples::stage_of(ctx.records, sample).meaning();
        let note = if sample.note.is_empty() { String::new() } else { format!(". {}", sample.note) };
        let text = format!("{}, harvest {}{taken}: {stage}{note}", sample.code, sample.year);
        let link = ui.add(egui::Label::new(RichText::new(&text).size(style::SMALL)).wrap().sense(Sense::click()));
        link.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, format!("Open sample {text}")));
        if link.on_hover_text("Open its page.").clicked() {
            let view = SamplesView { open: Some(sample.id), ..ctx.view.samples.clone() };
            if sample.year != ctx.view.year {
                ctx.ask(Request::SetYear(sample.year));
            }
            ctx.ask(Request::SetSamples(Box::new(view)));
            ctx.act(Action::LensSamples);
        }
    }
}

fn notes(ui: &mut Ui, ctx: &Ctx<'_>, field: &Field) {
    section(ui, "Notes");
    let hint = "What you want to remember.";
    let (words, pictures) = (photos::words(&field.note), photos::of(&field.note));
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        if let Some(text) = typed(ui, field.id, "Notes on the field", &words, 3, hint) {
            let note = photos::note(&text, &pictures);
            ctx.ask(Request::EditField(Box::new(Field { note, ..field.clone() })));
        }
    });
    for link in words.split_whitespace().filter(|word| word.starts_with("https://")) {
        ui.hyperlink(link);
    }
    section(ui, "Photos");
    for picture in &pictures {
        ui.horizontal(|ui| {
            let name = picture.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
            if ui.link(&name).on_hover_text(format!("Open {}", picture.display())).clicked() {
                ctx.ask(Request::OpenPhoto(picture.clone()));
            }
            let tip = format!("Take {name} off this page; the file stays.");
            if ctx.can_write() && ui.small_button("Take off").on_hover_text(tip).clicked() {
                let kept: Vec<_> = pictures.iter().filter(|held| *held != picture).cloned().collect();
                ctx.ask(Request::EditField(Box::new(Field { note: photos::note(&words, &kept), ..field.clone() })));
            }
        });
    }
    if !ctx.can_write() {
        return;
    }
    if ui.button("Add a photo…").on_hover_text("The picture stays where it is; the page keeps its place.").clicked() {
        ctx.ask(Request::AddPhoto(field.id));
    }
}
