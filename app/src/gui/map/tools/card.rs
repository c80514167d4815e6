//! A card over the map that says what a click does now, with typed distances and places for those who have them.

use awn_core::crs::LocalPlane;
use awn_core::exchange::place_of_text;
use awn_core::units;
use egui::{Align2, Area, DragValue, Frame, Id, Margin, Order, RichText, Stroke, TextEdit, Ui, vec2};
use geo::Coord;

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::sketch;
use crate::gui::view::tool::{Corner, Sketch, SketchOf, Tool};
use crate::gui::widgets::{Icon, action_button, icon_button, small};

use super::grab;

/// Shows the card at the upper edge of the map while a tool is in hand.
pub fn show(ui: &Ui, ctx: &Ctx<'_>, over: egui::Rect) {
    if matches!(ctx.view.tool, Tool::Choose | Tool::Aim(_)) {
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
                Tool::Choose | Tool::Aim(_) => {}
                Tool::AddStop(field) => {
                    line(ui, &format!("Click where seed shall be taken in {}, or type the place.", name(ctx, *field)));
                    if let Some(at) = place(ui, "Place of the stop", "Add") {
                        ctx.ask(Request::AddStopAt(*field, at));
                        ctx.ask(Request::SetTool(Tool::Choose));
                    }
                }
                Tool::AddGate(field) => {
                    let text =
                        format!("Click on the boundary of {} where the gate is, or type the place.", name(ctx, *field));
                    line(ui, &text);
                    if let Some(at) = place(ui, "Place of the gate", "Add") {
                        super::add_gate(ctx, *field, at);
                    }
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
    let name = if held.corners.is_empty() { "First corner" } else { "Next corner" };
    let mut next = place(ui, name, "Add");
    if let Some(last) = held.corners.last() {
        ui.horizontal(|ui| {
            line(ui, "or from the last");
            ui.add(DragValue::new(&mut typed.distance_m).range(0.1..=20_000.0).speed(1.0).suffix(" m").max_decimals(1))
                .accessible_name("Distance from the last corner, m")
                .on_hover_text("Distance from the last corner, m.");
            ui.add(DragValue::new(&mut typed.bearing_deg).range(0.0..=360.0).speed(1.0).suffix("°").max_decimals(2))
                .accessible_name("Bearing from the last corner, degrees")
                .on_hover_text("Bearing from the last corner, degrees clockwise from true north.");
            if ui.button("Step").on_hover_text("Add the corner at this distance and bearing.").clicked() {
                next = step(*last, typed.distance_m, typed.bearing_deg);
            }
        });
    }
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

/// A line to type a place in, degrees or grid reference; gives it when Enter or the button is pressed.
fn place(ui: &mut Ui, name: &str, button: &str) -> Option<Coord<f64>> {
    let id = ui.scope_id().with(("place", name));
    let mut text = ui.data(|data| data.get_temp::<String>(id)).unwrap_or_default();
    let read = place_of_text(&text);
    let mut given = None;
    ui.horizontal(|ui| {
        let label = ui.label(RichText::new(name).size(style::SMALL)).id;
        let edit =
            TextEdit::singleline(&mut text).text_color(style::of(ui).ink).hint_text("52.12345, -0.43210 or TL 12345 67890");
        let typed = ui.add(edit.desired_width(210.0)).labelled_by(label);
        let entered = typed.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
        let pressed = ui.add_enabled(read.is_ok(), egui::Button::new(button)).clicked();
        given = read.clone().ok().filter(|_| entered || pressed);
    });
    if let Some(why) = read.as_ref().err().filter(|_| !text.trim().is_empty()) {
        ui.label(RichText::new(why).size(style::SMALL).color(style::of(ui).bad));
    }
    if given.is_some() {
        text.clear();
    }
    ui.data_mut(|data| data.insert_temp(id, text));
    given
}

fn reshaping(ui: &mut Ui, ctx: &Ctx<'_>, field: awn_core::model::FieldId) {
    line(
        ui,
        &format!(
            "{}: drag a corner, or the middle of a side to add one. Corners go to boundaries near them; hold Alt to place them \
             freely. Click a corner to choose it.",
            name(ctx, field)
        ),
    );
    let all = grab::corners(ctx, field);
    let now = ctx.view.corner.and_then(|corner| all.iter().position(|other| *other == corner));
    ui.horizontal(|ui| {
        let step = |by: usize| now.map_or(0, |now| (now + by) % all.len().max(1));
        let before = icon_button(ui, Icon::Back, "Choose the corner before", !all.is_empty()).clicked();
        let after = icon_button(ui, Icon::Forward, "Choose the next corner", !all.is_empty()).clicked();
        let wanted = if before { all.get(step(all.len().saturating_sub(1))) } else { all.get(step(1)).filter(|_| after) };
        if let Some(corner) = wanted {
            ctx.ask(Request::ChooseCorner(Some(*corner)));
        }
        match now.and_then(|now| Some((now, place_of(ctx, field, *all.get(now)?)?))) {
            Some((now, at)) => line(ui, &format!("Corner {} of {}: {:.6}, {:.6}", now + 1, all.len(), at.y, at.x)),
            None => line(ui, &format!("{}, none chosen", units::count(all.len(), "corner"))),
        }
    });
    let Some(corner) = now.and_then(|now| all.get(now).copied()) else { return };
    let mut ground = None;
    ui.horizontal(|ui| {
        if ui.button("Remove").on_hover_text("Take this corner away (Delete).").clicked() {
            ctx.act(Action::RemoveStop);
        }
        let tip = "Add a corner in the middle of the side that begins here.";
        if ui.button("Add one after it").on_hover_text(tip).clicked()
            && let (Some(from), Some(to)) = (place_of(ctx, field, corner), end_of(ctx, field, corner))
        {
            ground = Some(sketch::with_corner(ctx.records, field, corner, true, (from + to) / 2.0));
        }
    });
    if let Some(typed) = place(ui, "Put it to", "Move") {
        ground = Some(sketch::with_corner(ctx.records, field, corner, false, typed));
    }
    match ground {
        Some(Ok(ground)) => ctx.ask(Request::ChangeGround(field, ground)),
        Some(Err(why)) => ctx.ask(Request::Say(why)),
        None => {}
    }
}

/// Where the side that begins at a corner ends.
fn end_of(ctx: &Ctx<'_>, field: awn_core::model::FieldId, corner: Corner) -> Option<Coord<f64>> {
    // Rings end with their first corner once more.
    place_of(ctx, field, Corner { index: corner.index + 1, ..corner })
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
    fn a_step_north_and_east() {
        // A minute of latitude is a nautical mile, 1852 m, within half of one per cent (1855.4 m at 52 N on WGS 84, from memory).
        let north = step(Coord { x: 0.0, y: 52.0 }, 1855.0, 0.0).unwrap();
        assert!((north.y - 52.0 - 1.0 / 60.0).abs() < 1e-4 && north.x.abs() < 1e-9, "{north:?}");
        let east = step(Coord { x: 0.0, y: 52.0 }, 100.0, 90.0).unwrap();
        assert!(east.x > 0.0 && (east.y - 52.0).abs() < 1e-6);
    }
}
