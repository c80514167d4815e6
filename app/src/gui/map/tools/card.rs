//! A card over the map that says what a click does now, with typed distances and places for those who have them.

use awn_core::crs::LocalPlane;
use awn_core::units;
use egui::{Align2, Area, DragValue, Frame, Id, Margin, Order, RichText, Stroke, TextEdit, Ui, vec2};
use geo::Coord;

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::season_view::read_place;
use crate::gui::sketch;
use crate::gui::style;
use crate::gui::tool::{Corner, Sketch, SketchOf, Tool};
use crate::gui::widgets::{action_button, small};

/// Shows the card at the upper edge of the map while a tool is in hand.
pub fn show(ui: &Ui, ctx: &Ctx<'_>, over: egui::Rect) {
    if ctx.view.tool == Tool::Choose {
        return;
    }
    let at = over.center_top() + vec2(0.0, 12.0);
    let area = Area::new(Id::unique("tool")).order(Order::Foreground).pivot(Align2::CENTER_TOP).fixed_pos(at);
    area.show(ui.ctx(), |ui| {
        let tokens = style::of(ui);
        let frame = Frame::new().fill(tokens.raised).stroke(Stroke::new(1.0, tokens.accent)).corner_radius(2.0);
        frame.inner_margin(Margin::symmetric(12, 8)).show(ui, |ui| {
            ui.set_max_width((over.width() - 96.0).clamp(200.0, 440.0));
            match &ctx.view.tool {
                Tool::Choose => {}
                Tool::AddStop(field) => line(ui, &format!("Click where seed shall be taken in {}.", name(ctx, *field))),
                Tool::AddGate(field) => {
                    line(ui, &format!("Click on the boundary of {} where the gate is.", name(ctx, *field)));
                }
                Tool::SetBase => line(ui, "Click where the days of the rounds begin and end."),
                Tool::Sketch(held) => drawing(ui, ctx, held),
                Tool::Reshape(field) => reshaping(ui, ctx, *field),
            }
            ui.horizontal(|ui| {
                if let Tool::Sketch(_) = ctx.view.tool {
                    action_button(ui, ctx, Action::FinishDrawing);
                    action_button(ui, ctx, Action::LastCornerBack);
                }
                let (text, tip) = if let Tool::Reshape(_) = ctx.view.tool {
                    ("Done", "Put the tool away (Escape).")
                } else {
                    ("Stop", "Put the tool away; nothing is changed (Escape).")
                };
                if ui.button(text).on_hover_text(tip).clicked() {
                    ctx.ask(Request::SetTool(Tool::Choose));
                }
            });
        });
    });
}

fn name<'a>(ctx: &'a Ctx<'_>, field: awn_core::model::FieldId) -> &'a str {
    ctx.facts.row(field).map_or("the field", |row| row.name.as_str())
}

fn line(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).size(style::SMALL));
}

fn drawing(ui: &mut Ui, ctx: &Ctx<'_>, held: &Sketch) {
    let text = match held.what {
        SketchOf::NoGo(field) => format!("No-go area in {}: click its corners, then finish.", name(ctx, field)),
        SketchOf::Tramlines(field) => {
            format!("Tramlines of {}: click two places far apart on one of them.", name(ctx, field))
        }
        SketchOf::Boundary => "New field: click its corners, then finish.".to_owned(),
        SketchOf::Split(field) => format!("Split {}: draw a line right across it, then finish.", name(ctx, field)),
    };
    line(ui, &text);
    if let Some(said) = measured(held) {
        let said = small(ui, said);
        ui.label(said);
    }
    let mut typed = held.clone();
    let mut next = None;
    ui.horizontal(|ui| {
        if let Some(last) = held.corners.last() {
            line(ui, "Next corner");
            ui.add(DragValue::new(&mut typed.distance_m).range(0.1..=20_000.0).speed(1.0).suffix(" m").max_decimals(1))
                .on_hover_text("Distance from the last corner, m.");
            ui.add(DragValue::new(&mut typed.bearing_deg).range(0.0..=360.0).speed(1.0).suffix("°").max_decimals(2))
                .on_hover_text("Bearing from the last corner, degrees clockwise from true north.");
            if ui.button("Add").on_hover_text("Add this corner.").clicked() {
                next = step(*last, typed.distance_m, typed.bearing_deg);
            }
        } else {
            line(ui, "First corner");
            let edit = TextEdit::singleline(&mut typed.place).hint_text("52.12345, -0.43210").desired_width(170.0);
            ui.add(edit).on_hover_text("Latitude and longitude in degrees, if you would rather type it.");
            let place = read_place(&typed.place);
            if ui.add_enabled(place.is_some(), egui::Button::new("Add")).on_hover_text("Add this corner.").clicked() {
                next = place;
            }
        }
    });
    if typed != *held {
        ctx.ask(Request::SetTool(Tool::Sketch(typed)));
    }
    if let Some(at) = next {
        ctx.ask(Request::AddCorner(at));
    }
}

/// The length of a line, or the area, so far.
fn measured(held: &Sketch) -> Option<String> {
    let first = *held.corners.first()?;
    if held.what.is_area() {
        let ring = geo::Polygon::new(geo::LineString(held.corners.clone()), vec![]);
        let area = awn_core::geometry::geodesic_area_m2(&geo::MultiPolygon(vec![ring]));
        return (held.corners.len() > 2).then(|| format!("{} ha so far", units::ha(area)));
    }
    let plane = LocalPlane::at(first).ok()?;
    let on: Vec<Coord<f64>> = held.corners.iter().map(|corner| plane.metres(*corner)).collect();
    let length: f64 = on.windows(2).map(|pair| (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y)).sum();
    (on.len() > 1).then(|| format!("{} so far", units::length(length)))
}

/// The place at a distance and bearing from another.
fn step(from: Coord<f64>, distance_m: f64, bearing_deg: f64) -> Option<Coord<f64>> {
    let plane = LocalPlane::at(from).ok()?;
    let (sin, cos) = bearing_deg.to_radians().sin_cos();
    Some(plane.degrees(plane.metres(from) + Coord { x: sin, y: cos } * distance_m))
}

fn reshaping(ui: &mut Ui, ctx: &Ctx<'_>, field: awn_core::model::FieldId) {
    line(
        ui,
        &format!("{}: drag a corner, or the middle of a side to add one. Click a corner to choose it.", name(ctx, field)),
    );
    let Some(corner) = ctx.view.corner else { return };
    let Some(at) = place_of(ctx, field, corner) else { return };
    let mut typed = at;
    let mut remove = false;
    ui.horizontal(|ui| {
        line(ui, "Chosen corner");
        for (value, tip) in [(&mut typed.y, "Latitude, degrees."), (&mut typed.x, "Longitude, degrees.")] {
            ui.add(DragValue::new(value).speed(0.000_01).fixed_decimals(6).suffix("°")).on_hover_text(tip);
        }
        remove = ui.button("Remove").on_hover_text("Take this corner away.").clicked();
    });
    let ground = if remove {
        Some(sketch::without_corner(ctx.records, field, corner))
    } else {
        (typed != at && ctx.jobs.is_empty()).then(|| sketch::with_corner(ctx.records, field, corner, false, typed))
    };
    if let Some(Ok(ground)) = ground {
        ctx.ask(Request::ChangeGround(field, ground));
        if remove {
            ctx.ask(Request::ChooseCorner(None));
        }
    }
}

fn place_of(ctx: &Ctx<'_>, field: awn_core::model::FieldId, corner: Corner) -> Option<Coord<f64>> {
    let shape = sketch::shape_of(ctx.records, field, corner)?;
    let part = shape.0.get(corner.part)?;
    let ring = if corner.ring == 0 { part.exterior() } else { part.interiors().get(corner.ring - 1)? };
    ring.0.get(corner.index).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_as_people_write_them() {
        for text in ["52.5, -0.25", "52.5 -0.25", " 52.5;-0.25 "] {
            assert_eq!(read_place(text), Some(Coord { x: -0.25, y: 52.5 }), "{text}");
        }
        for text in ["", "52.5", "95, 0", "52.5, -0.25, 3", "north"] {
            assert_eq!(read_place(text), None, "{text}");
        }
    }

    #[test]
    fn a_step_north_and_east() {
        // A minute of latitude is a nautical mile, 1852 m, within half of one per cent (1855.4 m at 52 N on WGS 84, from memory).
        let north = step(Coord { x: 0.0, y: 52.0 }, 1855.0, 0.0).unwrap();
        assert!((north.y - 52.0 - 1.0 / 60.0).abs() < 1e-4 && north.x.abs() < 1e-9, "{north:?}");
        let east = step(Coord { x: 0.0, y: 52.0 }, 100.0, 90.0).unwrap();
        assert!(east.x > 0.0 && (east.y - 52.0).abs() < 1e-6);
    }
}
