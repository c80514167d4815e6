//! The chart: for each scenario the median as a line with its letter at the end, and its 80 % band.

use awn_core::act::outlook::{Band, FieldOutlook};
use egui::epaint::Mesh;
use egui::{Align2, Color32, FontId, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::{figure, letter};
use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::view::outlook::Figure;

const HEIGHT: f32 = 190.0;

/// How values become heights: heads and seeds by their logarithm, because they differ by powers of ten.
struct Scale {
    plot: Rect,
    low: f64,
    high: f64,
    by_powers: bool,
}

impl Scale {
    fn of(plot: Rect, chosen: Figure, bands: &[Vec<Band>]) -> Self {
        let all = || bands.iter().flatten();
        let most = all().map(|band| band.high).fold(0.0, f64::max);
        if matches!(chosen, Figure::Heads | Figure::Seeds) {
            let high = 10_f64.powf(most.max(1.0).log10().ceil());
            let least = all().map(|band| band.low).fold(f64::INFINITY, f64::min).max(high * 1e-5);
            return Self { plot, low: 10_f64.powf(least.min(high / 10.0).log10().floor()), high, by_powers: true };
        }
        let step = 10_f64.powf(most.max(1e-9).log10().floor());
        let high = if chosen == Figure::Hold { 100.0 } else { (most / step).ceil().max(1.0) * step };
        Self { plot, low: 0.0, high, by_powers: false }
    }

    fn y(&self, value: f64) -> f32 {
        let part = if self.by_powers {
            (value.max(self.low) / self.low).log10() / (self.high / self.low).log10()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        self.plot.bottom() - self.plot.height() * part.clamp(0.0, 1.0) as f32
    }

    fn ticks(&self) -> Vec<f64> {
        if !self.by_powers {
            return [0.0, 0.25, 0.5, 0.75, 1.0].map(|part| self.low + part * (self.high - self.low)).to_vec();
        }
        let (first, last) = (self.low.log10().round() as i32, self.high.log10().round() as i32);
        (first..=last).map(|power| 10_f64.powi(power)).collect()
    }
}

/// Shows it.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, found: &FieldOutlook) {
    let chosen = ctx.view.outlook.figure;
    let tokens = style::of(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    let bands: Vec<Vec<Band>> =
        found.scenarios.iter().map(|scenario| scenario.years.iter().filter_map(|year| chosen.of(year)).collect()).collect();
    let harvests: Vec<i32> =
        found.scenarios.first().map_or(Vec::new(), |one| one.years.iter().map(|year| year.harvest).collect());
    let said = found.scenarios.iter().zip(&bands).filter_map(|(scenario, bands)| {
        let last = bands.last()?;
        Some(format!("{}: {} ({} to {})", scenario.name, figure(last.median), figure(last.low), figure(last.high)))
    });
    let said = said.collect::<Vec<_>>().join("; ");
    let end = harvests.last().copied().unwrap_or_default();
    let name = format!("Chart of {} by harvest; at harvest {end} {said}", chosen.label());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &name));
    let font = FontId::proportional(style::SMALL);
    let painter = ui.painter_at(rect);
    if bands.iter().any(|bands| bands.len() != harvests.len()) || harvests.is_empty() {
        let text = "Give prices and costs to see money.";
        painter.text(rect.center(), Align2::CENTER_CENTER, text, font, tokens.muted);
        return;
    }
    let plot = Rect::from_min_max(rect.min + vec2(46.0, 10.0), rect.max - vec2(26.0, 24.0));
    let scale = Scale::of(plot, chosen, &bands);
    for tick in scale.ticks() {
        let y = scale.y(tick);
        painter.hline(plot.x_range(), y, Stroke::new(1.0, tokens.line));
        painter.text(pos2(plot.left() - 6.0, y), Align2::RIGHT_CENTER, figure(tick), font.clone(), tokens.muted);
    }
    let x = |index: usize| plot.left() + plot.width() * index as f32 / (harvests.len().max(2) - 1) as f32;
    for (index, harvest) in harvests.iter().enumerate().filter(|(index, _)| index % 2 == 0 || harvests.len() < 6) {
        let text = harvest.to_string();
        painter.text(pos2(x(index), plot.bottom() + 5.0), Align2::CENTER_TOP, text, font.clone(), tokens.muted);
    }
    let colours = style::series(ui);
    for (index, list) in bands.iter().enumerate() {
        let colour = colours[index % colours.len()];
        painter.add(band_shape(list, &x, &scale, colour.gamma_multiply(0.16)));
    }
    let mut ends: Vec<(f32, usize)> = Vec::new();
    for (index, list) in bands.iter().enumerate() {
        let colour = colours[index % colours.len()];
        let line: Vec<Pos2> = list.iter().enumerate().map(|(at, band)| pos2(x(at), scale.y(band.median))).collect();
        let stroke = Stroke::new(1.8, colour);
        // The second channel beside colour: each scenario has a stroke of its own, and its letter at the end.
        let shape = match index {
            0 => Shape::line(line.clone(), stroke),
            1 => Shape::Vec(Shape::dashed_line(&line, stroke, 7.0, 3.0)),
            2 => Shape::Vec(Shape::dashed_line(&line, stroke, 2.5, 2.5)),
            _ => Shape::Vec(Shape::dashed_line(&line, stroke, 12.0, 5.0)),
        };
        painter.add(shape);
        ends.push((line.last().map_or(plot.center().y, |at| at.y), index));
    }
    // Letters keep apart where lines end together.
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut above = f32::NEG_INFINITY;
    for (y, index) in ends {
        let at = y.max(above + 14.0);
        above = at;
        let colour = colours[index % colours.len()];
        let bold = style::bold_of(style::SMALL);
        painter.text(pos2(plot.right() + 6.0, at), Align2::LEFT_CENTER, letter(index), bold, colour);
    }
    hover(ui, &response, found, &harvests, chosen, &x);
}

/// The band as triangles: it need not be convex.
fn band_shape(bands: &[Band], x: &impl Fn(usize) -> f32, scale: &Scale, colour: Color32) -> Shape {
    let mut mesh = Mesh::default();
    for (at, band) in bands.iter().enumerate() {
        mesh.colored_vertex(pos2(x(at), scale.y(band.high)), colour);
        mesh.colored_vertex(pos2(x(at), scale.y(band.low)), colour);
        if at > 0 {
            let first = 2 * (at as u32 - 1);
            mesh.add_triangle(first, first + 1, first + 2);
            mesh.add_triangle(first + 1, first + 2, first + 3);
        }
    }
    Shape::mesh(mesh)
}

fn hover(
    ui: &Ui,
    response: &egui::Response,
    found: &FieldOutlook,
    harvests: &[i32],
    chosen: Figure,
    x: &impl Fn(usize) -> f32,
) {
    let Some(pointer) = response.hover_pos() else { return };
    let away = |index: &usize| (x(*index) - pointer.x).abs();
    let Some(index) = (0..harvests.len()).min_by(|a, b| away(a).total_cmp(&away(b))) else { return };
    let rect = response.rect;
    ui.painter_at(rect).vline(x(index), rect.y_range(), Stroke::new(1.0, style::of(ui).muted));
    let lines = found.scenarios.iter().enumerate().filter_map(|(at, scenario)| {
        let year = scenario.years.get(index)?;
        let band = chosen.of(year)?;
        Some(format!(
            "{} {}, {}: {} (80 % of the draws: {} to {})",
            letter(at),
            scenario.name,
            year.crop,
            figure(band.median),
            figure(band.low),
            figure(band.high)
        ))
    });
    let text = format!("Harvest {}, {}\n{}", harvests[index], chosen.label(), lines.collect::<Vec<_>>().join("\n"));
    response.clone().on_hover_text_at_pointer(text);
}
