//! The map: background, fields, scouting, density, plans and furniture, in the order that the user set. The only place that
//! knows the map widget.

mod aiming;
mod backdrop;
mod camera;
mod classes;
mod density;
mod detail;
mod drawn;
mod fields;
mod furniture;
mod hatch;
mod labels;
mod legend;
mod mercator;
mod painted;
mod patterns;
mod pick;
mod plan;
mod preview;
mod rounds;
mod scouting;
mod shapes;
mod toolbar;
mod tools;
mod walked;

use std::collections::BTreeMap;

use awn_core::model::FieldId;
use egui::{DragPanButtons, Painter, Rect, Role, Ui, WidgetInfo};
use walkers::Map;

pub use camera::Camera;
pub use classes::{Class, How, Over, Way, class_of, stage_class};
pub use density::DensityLayer;
pub use drawn::Drawn;
pub use legend::swatch;
pub use plan::Lines;
pub use scouting::{Finds, figure, latest as latest_surveys};
pub use shapes::Shapes;
pub use tools::card as tool_card;

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::aim::Aim;
use crate::gui::view::layers::Layer;
use crate::gui::view::tool::Tool;
use crate::gui::view::{Colouring, Lens};
use mercator::Screen;

/// What is drawn besides the records.
pub struct Layers<'a> {
    /// Counts states of facts, shapes and finds, so that what was made of one is not taken for that of the next.
    pub facts_number: u64,
    /// Fields as outlines.
    pub shapes: &'a Shapes,
    /// Finds of the surveys on show.
    pub finds: &'a Finds,
    /// Density surfaces, once worked out.
    pub density: Option<&'a DensityLayer>,
    /// Tramlines by field.
    pub tramlines: &'a BTreeMap<FieldId, Lines>,
}

/// Shows the map in the space that is left.
pub fn show(ui: &mut Ui, camera: &mut Camera, drawn: &mut Drawn, layers: &Layers<'_>, ctx: &Ctx<'_>) {
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
    let taken = holds || grip.is_some() || held.is_some() || matches!(ctx.view.tool, Tool::Aim(Aim::Rectangle { .. }));
    let buttons = if taken { DragPanButtons::MIDDLE } else { DragPanButtons::PRIMARY | DragPanButtons::MIDDLE };
    let map = Map::new(None, &mut camera.memory, camera::home())
        .zoom_gesture(false)
        .panning(false)
        .double_click_to_zoom(false)
        .drag_pan_buttons(buttons);
    let shown = map.show(ui, |_, _, _, memory| {
        let middle = memory.detached().unwrap_or_else(camera::home);
        Screen::new(rect, geo::Coord { x: middle.x(), y: middle.y() }, memory.zoom())
    });
    let screen = shown.inner;
    camera.screen = Some(screen);
    drawn.painted.refresh(layers, ctx);
    drawn.patterns.refresh(ui.ctx());
    fields::find_in_view(&screen, drawn, layers);
    let legend = legend::show(ui, rect, &drawn.painted, ctx, layers.density);
    let bar = toolbar::show(ui, rect, ctx);
    draw(ui, &screen, drawn, layers, ctx, &[legend, bar]);
    keep_arrows(ui, camera, &shown.response);
    let covered = legend.is_positive().then_some(legend);
    if covered != camera.covered {
        camera.covered = covered;
        ui.ctx().request_repaint();
    }
    let fields = ctx.facts.rows.len();
    let name = format!("Map of {}", awn_core::units::count(fields, "field"));
    shown.response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, &name));
    if aiming::follow(ui, &screen, layers, ctx, &shown.response) {
        return;
    }
    drag_stops(ui, &screen, ctx, grip.as_ref(), &shown.response);
    tools::follow(ui, &screen, ctx, held, &shown.response);
    tools::menu(ui, &screen, ctx, |at| pick::field_at(ctx, drawn, layers, at).cloned(), &shown.response);
    if !tools::click(ui, &screen, ctx, &shown.response) {
        pick::click_and_hover(ui, &screen, drawn, layers, ctx, &shown.response);
    }
}

fn draw(ui: &Ui, screen: &Screen, drawn: &mut Drawn, layers: &Layers<'_>, ctx: &Ctx<'_>, covered: &[Rect]) {
    let tokens = style::of(ui);
    let mut painter = ui.painter().with_clip_rect(screen.rect);
    let mut taken = covered.to_vec();
    let mut credit = None;
    let list = &ctx.view.layers;
    let mut selected = false;
    for layer in list.order.iter().filter(|layer| list.shows(ctx.view.lens, **layer)) {
        // The outline of what is chosen lies under stops and names, and over all else.
        if matches!(layer, Layer::Plans | Layer::Rounds | Layer::Labels) && !std::mem::replace(&mut selected, true) {
            painter.set_opacity(1.0);
            fields::draw_selection(&painter, screen, drawn, layers, ctx);
        }
        painter.set_opacity(list.opacity(*layer));
        credit = credit.or(draw_layer(&painter, screen, drawn, layers, ctx, *layer, &mut taken));
    }
    painter.set_opacity(1.0);
    if !selected {
        fields::draw_selection(&painter, screen, drawn, layers, ctx);
    }
    let pointer = ui.ctx().pointer_hover_pos().filter(|pos| screen.rect.contains(*pos));
    if let Some(found) = ctx.view.form.as_ref().and_then(|form| form.preview.as_deref()) {
        preview::draw(&painter, screen, found, tokens);
    }
    if let Tool::Aim(aim) = &ctx.view.tool {
        aiming::draw(&painter, screen, aim, pointer, tokens);
    }
    tools::draw(&painter, screen, ctx, pointer, tokens);
    let place = pointer.map(|pos| screen.lonlat(pos));
    furniture::draw(&painter, screen, &mut drawn.names, place, credit.as_deref(), tokens);
}

/// Draws one layer; gives the line that its source asks to be shown.
fn draw_layer(
    painter: &Painter,
    screen: &Screen,
    drawn: &mut Drawn,
    layers: &Layers<'_>,
    ctx: &Ctx<'_>,
    layer: Layer,
    taken: &mut Vec<Rect>,
) -> Option<String> {
    let tokens = style::tokens(painter.ctx().theme());
    match layer {
        Layer::Background => return drawn.backdrop.draw(painter, screen, &ctx.view.background),
        Layer::Fills => fields::draw_fills(painter, screen, drawn, layers, ctx),
        Layer::Density => {
            let wanted = ctx.view.lens == Lens::Walk || ctx.view.shown_colouring() == Colouring::Density;
            if let Some(density) = layers.density.filter(|_| wanted) {
                drawn.pictures.draw(painter, screen, density);
            }
        }
        Layer::Outlines => fields::draw_outlines(painter, screen, drawn, layers),
        Layer::NoGo => plan::draw_no_go(painter, screen, ctx.records, tokens),
        Layer::Scouting => layers.finds.draw(painter, screen, tokens),
        Layer::Tramlines => plan::draw_tramlines(painter, screen, layers.tramlines, tokens),
        Layer::Gates => plan::draw_gates(painter, screen, ctx.records, tokens),
        Layer::Plans => plan::draw_plans(painter, screen, ctx, tokens),
        Layer::Rounds => rounds::draw(painter, screen, ctx, tokens),
        Layer::Walked => walked::draw(painter, screen, ctx, tokens),
        Layer::Labels => labels::draw(painter, screen, drawn, layers, ctx, taken),
    }
    None
}

/// With the keyboard on the map, arrows move it instead of going to the next button; a frame shows where the keyboard is.
fn keep_arrows(ui: &Ui, camera: &mut Camera, map: &egui::Response) {
    camera.widget = Some(map.id);
    if map.has_focus() {
        let filter = egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(map.id, filter));
        let stroke = egui::Stroke::new(2.0, style::of(ui).accent);
        ui.painter().rect_stroke(map.rect.shrink(1.0), 0.0, stroke, egui::StrokeKind::Inside);
    }
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
