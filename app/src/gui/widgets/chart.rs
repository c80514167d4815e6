//! A small chart of a figure against a number of things.

use egui::{Align2, FontId, Pos2, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::gui::style;

/// What a chart shows.
pub struct Chart<'a> {
    /// What is drawn, for those who cannot see it.
    pub name: &'a str,
    /// What stands along the lower edge.
    pub along: &'a str,
    /// Pairs of number and figure, numbers rising.
    pub points: &'a [(usize, f64)],
    /// The number that is marked.
    pub marked: usize,
    /// How a figure is written.
    pub write: &'a dyn Fn(f64) -> String,
}

const HEIGHT: f32 = 148.0;

/// Shows the chart; gives the number that was clicked.
pub fn chart(ui: &mut Ui, chart: &Chart<'_>) -> Option<usize> {
    let tokens = style::of(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::click());
    let at_mark = chart.points.iter().find(|(number, _)| *number == chart.marked);
    let said = at_mark.map_or(String::new(), |(number, figure)| format!(": {} at {number}", (chart.write)(*figure)));
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, format!("{}{said}", chart.name)));
    let (Some(first), Some(last)) = (chart.points.first(), chart.points.last()) else { return None };
    let top = round_up(chart.points.iter().map(|(_, figure)| *figure).fold(0.0, f64::max));
    let plot = Rect::from_min_max(rect.min + vec2(44.0, 8.0), rect.max - vec2(8.0, 34.0));
    let span = (last.0.max(first.0 + 1) - first.0) as f32;
    let pos = |number: usize, figure: f64| -> Pos2 {
        let x = plot.left() + plot.width() * (number - first.0) as f32 / span;
        pos2(x, plot.bottom() - plot.height() * (figure / top) as f32)
    };
    let painter = ui.painter_at(rect);
    let font = FontId::proportional(style::SMALL);
    for part in [0.0, 0.5, 1.0] {
        let y = plot.bottom() - plot.height() * part;
        painter.hline(plot.x_range(), y, Stroke::new(1.0, tokens.line));
        let text = (chart.write)(top * f64::from(part));
        painter.text(pos2(plot.left() - 6.0, y), Align2::RIGHT_CENTER, text, font.clone(), tokens.muted);
    }
    for number in ticks(first.0, last.0) {
        let x = pos(number, 0.0).x;
        painter.vline(x, plot.bottom()..=plot.bottom() + 4.0, Stroke::new(1.0, tokens.muted));
        painter.text(pos2(x, plot.bottom() + 5.0), Align2::CENTER_TOP, number.to_string(), font.clone(), tokens.muted);
    }
    painter.text(pos2(plot.center().x, rect.bottom()), Align2::CENTER_BOTTOM, chart.along, font.clone(), tokens.muted);
    let line: Vec<Pos2> = chart.points.iter().map(|(number, figure)| pos(*number, *figure)).collect();
    painter.line(line.clone(), Stroke::new(1.6, tokens.ink));
    for at in &line {
        painter.circle_filled(*at, 2.2, tokens.ink);
    }
    if let Some((number, figure)) = at_mark {
        painter.circle(pos(*number, *figure), 5.0, tokens.raised, Stroke::new(2.0, tokens.accent));
    }
    under_pointer(&response, chart.points, &pos).map(|(number, figure)| {
        painter.circle_stroke(pos(number, figure), 5.0, Stroke::new(1.4, tokens.ink));
        let text = format!("{number}: {}", (chart.write)(figure));
        response.clone().on_hover_text_at_pointer(text);
        response.clicked().then_some(number)
    })?
}

fn under_pointer(response: &Response, points: &[(usize, f64)], pos: &impl Fn(usize, f64) -> Pos2) -> Option<(usize, f64)> {
    let pointer = response.hover_pos()?;
    let away = |point: &(usize, f64)| (pos(point.0, point.1).x - pointer.x).abs();
    points.iter().min_by(|a, b| away(a).total_cmp(&away(b))).copied()
}

/// The least of 1, 2, 5 times a power of ten that is not smaller.
fn round_up(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 1.0;
    }
    let power = 10_f64.powf(value.log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|step| step * power).find(|round| *round >= value * (1.0 - 1e-9)).unwrap_or(10.0 * power)
}

/// Round numbers between two, not more than seven.
fn ticks(first: usize, last: usize) -> Vec<usize> {
    let step = [1, 2, 4, 5, 10, 20, 50].into_iter().find(|step| (last - first) / step <= 6).unwrap_or(100);
    (first..=last).filter(|number| number % step == 0 || *number == first && step > 1).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_numbers() {
        assert_eq!([0.03, 0.05, 7.0, 51.0, 0.0].map(round_up), [0.05, 0.05, 10.0, 100.0, 1.0]);
        assert_eq!(ticks(1, 24), [1, 4, 8, 12, 16, 20, 24]);
        assert_eq!(ticks(1, 5), [1, 2, 3, 4, 5]);
    }
}
