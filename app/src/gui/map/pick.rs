//! What lies under the pointer: choosing by click, and a few words on hover.

use awn_core::units;
use egui::{Pos2, Response, Ui};
use geo::{Coord, Intersects as _};

use super::drawn::Drawn;
use super::mercator::{Screen, world};
use super::plan::stop_at;
use super::{Layers, figure};
use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view::layers::Layer;
use crate::gui::view::{Colouring, Lens};

/// A thin thing counts as under the pointer up to this far away, points.
const REACH: f32 = 6.0;

/// Chooses the field that was clicked; tells what lies under the pointer.
pub fn click_and_hover(ui: &Ui, screen: &Screen, drawn: &Drawn, layers: &Layers<'_>, ctx: &Ctx<'_>, response: &Response) {
    let Some(pos) = response.hover_pos() else { return };
    let at = screen.lonlat(pos);
    let row = field_at(ctx, drawn, layers, at);
    if response.clicked() {
        let add = ui.input(|input| input.modifiers.command || input.modifiers.shift);
        let stop = if ctx.view.lens == Lens::Walk { stop_at(screen, ctx, pos) } else { None };
        if let Some((plan, stop)) = stop {
            ctx.ask(Request::Select { field: Some(plan.field), add: false, scroll: true });
            return ctx.ask(Request::ChooseStop(Some(stop)));
        }
        ctx.ask(Request::Select { field: row.map(|row| row.id), add, scroll: true });
    }
    if response.double_clicked()
        && let Some(row) = row
    {
        ctx.ask(Request::ZoomTo(row.id));
    }
    if ctx.view.drag.is_some() || response.dragged() {
        return;
    }
    let things = things_at(screen, layers, ctx, row, pos, at);
    if row.is_some() || !things.is_empty() {
        response.clone().on_hover_ui_at_pointer(|ui| hover(ui, row, &things));
    }
}

/// What is known of a field, and then what else lies at the place.
fn hover(ui: &mut Ui, row: Option<&Row>, things: &[String]) {
    let mut lines = Vec::new();
    if let Some(row) = row {
        ui.label(egui::RichText::new(&row.name).font(style::bold_of(style::BODY)));
        lines.push(format!("{}, {} ha", row.farm, units::ha(row.area_m2)));
        lines.push(match (row.worst, row.worst_year, row.last_test) {
            (Some(rating), Some(found), Some(last)) if found == last => {
                format!("Worst rating {}{}, tested {last}", rating.label(), row.worst_by.mark())
            }
            (Some(rating), Some(found), Some(last)) => {
                format!("Worst rating {}{}, found {found}; last tested {last}", rating.label(), row.worst_by.mark())
            }
            _ => "Never tested".into(),
        });
        if row.due {
            lines.extend(row.reasons.first().map(|reason| format!("Due. {reason}")));
        }
    }
    lines.extend_from_slice(things);
    for line in lines {
        ui.label(egui::RichText::new(line).size(style::SMALL));
    }
}

/// What is drawn at a place besides the field, in words.
fn things_at(
    screen: &Screen,
    layers: &Layers<'_>,
    ctx: &Ctx<'_>,
    row: Option<&Row>,
    pos: Pos2,
    at: Coord<f64>,
) -> Vec<String> {
    let shows = |layer| ctx.view.layers.shows(ctx.view.lens, layer);
    let mut lines = Vec::new();
    if shows(Layer::Plans)
        && let Some((plan, stop)) = stop_at(screen, ctx, pos)
        && let Some(place) = plan.stops.get(stop)
    {
        lines.push(format!("Stop {}: {:.0} % of the seed", stop + 1, 100.0 * place.share));
        if ctx.can_write() {
            lines.push("Drag it to another tramline place".into());
        }
    }
    if shows(Layer::Gates) {
        let gate = ctx.records.gates.values().find(|gate| screen.pos(gate.position).distance(pos) <= 2.0 * REACH);
        if let Some(gate) = gate {
            let field = ctx.records.fields.get(&gate.field).map_or("", |field| field.name.as_str());
            lines.push(format!("Gate of {field}"));
        }
    }
    if shows(Layer::NoGo) && ctx.records.no_go.values().any(|area| area.area.intersects(&at)) {
        lines.push("No-go area: no stops, and walks go round it".into());
    }
    if shows(Layer::Scouting)
        && let Some((value, unit)) = layers.finds.value_at(screen, pos)
    {
        lines.push(if value > 0.0 { format!("Scouted: {} {unit}", figure(value)) } else { "Scouted: none found".into() });
    }
    let Some(row) = row else { return lines };
    let coloured = ctx.view.shown_colouring() == Colouring::Density;
    if coloured
        && shows(Layer::Density)
        && let Some((value, unit)) = density_at(layers, row, at)
    {
        let what = if layers.density.is_some_and(|layer| layer.error) { "Standard error about" } else { "About" };
        lines.push(format!("{what} {} {unit} here", figure(value)));
    }
    if shows(Layer::Tramlines)
        && let Some(words) = tramline_at(screen, layers, row, pos)
    {
        lines.push(words);
    }
    lines
}

/// The field at a place, degrees.
pub fn field_at<'a>(ctx: &'a Ctx<'_>, drawn: &Drawn, layers: &Layers<'_>, at: Coord<f64>) -> Option<&'a Row> {
    let here = world(at);
    let under = |number: &&usize| {
        layers.shapes.fields.get(**number).is_some_and(|shape| {
            (shape.anchor.x..=shape.far.x).contains(&here.x) && (shape.anchor.y..=shape.far.y).contains(&here.y)
        })
    };
    drawn.in_view.iter().filter(under).find_map(|number| {
        let row = ctx.facts.rows.get((*drawn.painted.row_of_shape.get(*number)?)?)?;
        ctx.records.fields.get(&row.id).is_some_and(|field| field.boundary.intersects(&at)).then_some(row)
    })
}

fn density_at(layers: &Layers<'_>, row: &Row, at: Coord<f64>) -> Option<(f64, &'static str)> {
    let known = layers.density?.fields.get(&row.id)?;
    Some((known.value_at(at)?, known.unit.label()))
}

/// The tramline under the pointer in words; the headland has no number.
fn tramline_at(screen: &Screen, layers: &Layers<'_>, row: &Row, pos: Pos2) -> Option<String> {
    let near = |line: &geo::LineString<f64>| {
        line.lines().any(|side| {
            let (start, end) = (screen.pos(side.start), screen.pos(side.end));
            let along = end - start;
            let part = ((pos - start).dot(along) / along.length_sq().max(1e-6)).clamp(0.0, 1.0);
            (start + along * part).distance(pos) <= REACH
        })
    };
    layers.tramlines.get(&row.id)?.iter().find(|(_, line)| near(line)).map(|(number, _)| match number {
        Some(number) => format!("Tramline {number}"),
        None => "Headland".to_owned(),
    })
}
