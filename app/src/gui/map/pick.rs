//! What lies under the pointer: choosing by click, and a few words on hover.

use awn_core::units;
use egui::{Response, Ui};
use geo::{Coord, Intersects as _};

use super::mercator::Screen;
use super::plan::stop_at;
use super::{Layers, figure};
use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::view_state::Lens;

/// Chooses the field that was clicked; tells what lies under the pointer.
pub fn click_and_hover(ui: &Ui, screen: &Screen, layers: &Layers<'_>, ctx: &Ctx<'_>, response: &Response) {
    let Some(pos) = response.hover_pos() else { return };
    let at = screen.lonlat(pos);
    let row = field_at(ctx, at);
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
    let Some(row) = row else { return };
    response.clone().on_hover_ui_at_pointer(|ui| hover(ui, screen, layers, ctx, row, pos, at));
}

fn hover(ui: &mut Ui, screen: &Screen, layers: &Layers<'_>, ctx: &Ctx<'_>, row: &Row, pos: egui::Pos2, at: Coord<f64>) {
    ui.label(egui::RichText::new(&row.name).font(style::bold_of(style::BODY)));
    let mut lines = vec![format!("{}, {} ha", row.farm, units::ha(row.area_m2))];
    lines.push(match (row.worst, row.last_test) {
        (Some(rating), Some(year)) => format!("Worst rating {}, last tested {year}", rating.label()),
        _ => "Never tested".into(),
    });
    if ctx.view.lens == Lens::Scout
        && let Some((value, unit)) = density_at(layers, row, at)
    {
        let what = if layers.density.is_some_and(|layer| layer.error) { "Standard error about" } else { "About" };
        lines.push(format!("{what} {} {unit} here", figure(value)));
    }
    if ctx.view.lens == Lens::Walk
        && let Some((plan, stop)) = stop_at(screen, ctx, pos)
        && let Some(place) = plan.stops.get(stop)
    {
        lines.push(format!("Stop {}: {:.0} % of the seed", stop + 1, 100.0 * place.share));
        if ctx.can_write() {
            lines.push("Drag it to another tramline place".into());
        }
    }
    for line in lines {
        ui.label(egui::RichText::new(line).size(style::SMALL));
    }
}

/// The field at a place, degrees.
pub fn field_at<'a>(ctx: &'a Ctx<'_>, at: Coord<f64>) -> Option<&'a Row> {
    ctx.facts.rows.iter().find(|row| {
        let (low, high) = (row.bounds.min(), row.bounds.max());
        (low.x..=high.x).contains(&at.x)
            && (low.y..=high.y).contains(&at.y)
            && ctx.records.fields.get(&row.id).is_some_and(|field| field.boundary.intersects(&at))
    })
}

fn density_at(layers: &Layers<'_>, row: &Row, at: Coord<f64>) -> Option<(f64, &'static str)> {
    let surface = &layers.density?.fields.get(&row.id)?.surface;
    let value = surface.grid.value_at(surface.plane.metres(at))?;
    Some((value, surface.unit.label()))
}
