//! The map: fields, scouting, density, plans and furniture, drawn on a plain ground. The only place that knows the map widget.

mod camera;
mod classes;
mod density;
mod fields;
mod furniture;
mod hatch;
mod labels;
mod legend;
mod mercator;
mod pick;
mod plan;
mod scouting;
mod shapes;
mod tools;

use std::collections::BTreeMap;

use awn_core::model::FieldId;
use egui::{DragPanButtons, Role, Ui, WidgetInfo};
use walkers::Map;

pub use camera::Camera;
pub use classes::{Class, Over, class_of};
pub use density::{DensityLayer, DensityPictures};
pub use legend::swatch;
pub use plan::Lines;
pub use scouting::{figure, latest as latest_surveys};
pub use shapes::Shapes;
pub use tools::card as tool_card;

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view_state::Lens;
use mercator::Screen;

/// What is drawn besides the records.
pub struct Layers<'a> {
    /// Fields as triangles and outlines.
    pub shapes: &'a Shapes,
    /// Density surfaces, once worked out.
    pub density: Option<&'a DensityLayer>,
    /// Tramlines by field.
    pub tramlines: &'a BTreeMap<FieldId, Lines>,
}

/// Shows the map in the space that is left.
pub fn show(ui: &mut Ui, camera: &mut Camera, pictures: &mut DensityPictures, layers: &Layers<'_>, ctx: &Ctx<'_>) {
    let tokens = style::of(ui);
    let rect = ui.available_rect_before_wrap();
    ui.painter().rect_filled(rect, 0.0, tokens.ground);
    camera.prepare(ui, rect);
    let before = camera.screen_in(rect);
    // A stop is taken hold of where the button went down, not where the pointer is once the drag is noticed.
    let pointer =
        ui.input(|input| input.pointer.press_origin().or(input.pointer.hover_pos())).filter(|pos| rect.contains(*pos));
    let idle = !tools::takes_clicks(ctx) && ctx.view.grab.is_none();
    let over_stop = idle && ctx.view.lens == Lens::Walk && ctx.view.drag.is_none() && ctx.can_write();
    let grip = pointer.filter(|_| over_stop).and_then(|pos| plan::stop_at(&before, ctx, pos));
    let held = pointer.filter(|_| grip.is_none()).and_then(|pos| tools::held_at(&before, ctx, pos));
    let holds = ctx.view.drag.as_ref().is_some_and(|drag| !drag.released) || ctx.view.grab.is_some();
    let buttons = if holds || grip.is_some() || held.is_some() {
        DragPanButtons::MIDDLE
    } else {
        DragPanButtons::PRIMARY | DragPanButtons::MIDDLE
    };
    let map =
        Map::new(None, &mut camera.memory, camera::home()).zoom_gesture(false).panning(false).drag_pan_buttons(buttons);
    let shown = map.show(ui, |ui, _, _, memory| {
        let middle = memory.detached().unwrap_or_else(camera::home);
        let screen = Screen::new(rect, geo::Coord { x: middle.x(), y: middle.y() }, memory.zoom());
        (screen, draw(ui, &screen, pictures, layers, ctx))
    });
    let (screen, legend) = shown.inner;
    camera.screen = Some(screen);
    let covered = legend.is_positive().then_some(legend);
    if covered != camera.covered {
        camera.covered = covered;
        ui.ctx().request_repaint();
    }
    let fields = ctx.facts.rows.len();
    let name = format!("Map of {}", awn_core::units::count(fields, "field"));
    shown.response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, &name));
    drag_stops(ui, &screen, ctx, grip.as_ref(), &shown.response);
    tools::follow(ui, &screen, ctx, held, &shown.response);
    tools::menu(ui, &screen, ctx, |at| pick::field_at(ctx, at).cloned(), &shown.response);
    if !tools::click(ui, &screen, ctx, &shown.response) {
        pick::click_and_hover(ui, &screen, layers, ctx, &shown.response);
    }
}

fn draw(ui: &Ui, screen: &Screen, pictures: &mut DensityPictures, layers: &Layers<'_>, ctx: &Ctx<'_>) -> egui::Rect {
    let tokens = style::of(ui);
    let painter = ui.painter().with_clip_rect(screen.rect);
    let lens = ctx.view.lens;
    if let Some(density) = layers.density.filter(|_| matches!(lens, Lens::Scout | Lens::Walk)) {
        pictures.draw(&painter, screen, density);
    }
    fields::draw(&painter, screen, layers, ctx, tokens);
    if lens == Lens::Scout {
        scouting::draw(&painter, screen, ctx.records, ctx.view.year, tokens);
    }
    plan::draw_ground(&painter, screen, ctx.records, tokens);
    if lens == Lens::Walk {
        plan::draw_tramlines(&painter, screen, layers.tramlines, tokens);
        plan::draw_plans(&painter, screen, ctx, tokens);
    }
    let pointer = ui.ctx().pointer_hover_pos().filter(|pos| screen.rect.contains(*pos));
    tools::draw(&painter, screen, ctx, pointer, tokens);
    let legend = legend::draw(&painter, screen.rect, ctx, layers.density, tokens);
    let mut taken = vec![legend];
    labels::draw(&painter, screen, layers.shapes, ctx, tokens, &mut taken);
    furniture::draw(&painter, screen, pointer.map(|pos| screen.lonlat(pos)), tokens);
    legend
}

/// Follows a stop from press to release.
fn drag_stops(
    ui: &Ui,
    screen: &Screen,
    ctx: &Ctx<'_>,
    grip: Option<&(std::sync::Arc<awn_core::model::Plan>, usize)>,
    response: &egui::Response,
) {
    let pointer = response.interact_pointer_pos().map(|pos| screen.lonlat(pos));
    if let (Some((plan, stop)), true, Some(at)) = (grip, response.drag_started_by(egui::PointerButton::Primary), pointer) {
        ctx.ask(Request::DragStop { plan: plan.id, stop: *stop, at });
    } else if let (Some(drag), Some(at)) = (ctx.view.drag.as_ref().filter(|drag| !drag.released), pointer)
        && at != drag.at
    {
        ctx.ask(Request::DragStop { plan: drag.plan.id, stop: drag.stop, at });
    }
    let holds = ctx.view.drag.as_ref().is_some_and(|drag| !drag.released);
    if holds && (response.drag_stopped() || !ui.input(|input| input.pointer.any_down())) {
        ctx.ask(Request::DropStop);
    }
    if holds {
        ui.ctx().set_cursor_icon(egui::CursorIcon::Grabbing);
    } else if grip.is_some() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::Grab);
    }
}
