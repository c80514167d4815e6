//! Icons, drawn as lines; every button with one has a name.

use egui::{Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2};

use crate::gui::style;

/// An icon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Icon {
    Back,
    Forward,
    Undo,
    Redo,
    Close,
    Plus,
    Minus,
    Up,
    Down,
    Layers,
    Whole,
    Measure,
    Rectangle,
    Outline,
    Find,
}

/// A button with an icon only.
pub fn icon_button(ui: &mut Ui, icon: Icon, name: &str, enabled: bool) -> Response {
    icon_button_with(ui, icon, name, name, enabled)
}

/// A button with an icon only that says more when the pointer rests on it.
pub fn icon_button_with(ui: &mut Ui, icon: Icon, name: &str, tip: &str, enabled: bool) -> Response {
    let sense = if enabled { Sense::click() } else { Sense::hover() };
    let (rect, response) = ui.allocate_exact_size(Vec2::splat(7.0 * style::STEP), sense);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, enabled, name));
    let tokens = style::of(ui);
    if enabled && (response.hovered() || response.has_focus()) {
        ui.painter().rect_stroke(rect.shrink(1.0), 2.0, Stroke::new(1.0, tokens.accent), egui::StrokeKind::Inside);
    }
    let colour = if enabled { tokens.accent } else { tokens.line };
    draw(ui.painter(), rect.shrink(8.0), icon, Stroke::new(1.6, colour));
    response.on_hover_text(tip)
}

fn draw(painter: &Painter, rect: Rect, icon: Icon, stroke: Stroke) {
    let at = |x: f32, y: f32| pos2(rect.left() + x * rect.width(), rect.top() + y * rect.height());
    let line = |points: &[(f32, f32)]| {
        let points: Vec<Pos2> = points.iter().map(|(x, y)| at(*x, *y)).collect();
        painter.add(Shape::line(points, stroke));
    };
    match icon {
        Icon::Back => line(&[(0.65, 0.1), (0.25, 0.5), (0.65, 0.9)]),
        Icon::Forward => line(&[(0.35, 0.1), (0.75, 0.5), (0.35, 0.9)]),
        Icon::Close => {
            line(&[(0.1, 0.1), (0.9, 0.9)]);
            line(&[(0.9, 0.1), (0.1, 0.9)]);
        }
        Icon::Plus => {
            line(&[(0.1, 0.5), (0.9, 0.5)]);
            line(&[(0.5, 0.1), (0.5, 0.9)]);
        }
        Icon::Minus => line(&[(0.1, 0.5), (0.9, 0.5)]),
        Icon::Up => line(&[(0.1, 0.65), (0.5, 0.25), (0.9, 0.65)]),
        Icon::Down => line(&[(0.1, 0.35), (0.5, 0.75), (0.9, 0.35)]),
        Icon::Layers => {
            line(&[(0.5, 0.05), (1.0, 0.35), (0.5, 0.65), (0.0, 0.35), (0.5, 0.05)]);
            line(&[(0.0, 0.62), (0.5, 0.95), (1.0, 0.62)]);
        }
        Icon::Whole => {
            for (x, y) in [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)] {
                let inward = |at: f32| at + (0.5 - at) * 0.6;
                line(&[(inward(x), y), (x, y), (x, inward(y))]);
            }
        }
        Icon::Measure => {
            line(&[(0.0, 0.75), (0.75, 0.0), (1.0, 0.25), (0.25, 1.0), (0.0, 0.75)]);
            for step in [0.25, 0.5, 0.75] {
                line(&[(0.75 * step, 0.75 * (1.0 - step)), (0.75 * step + 0.13, 0.75 * (1.0 - step) + 0.13)]);
            }
        }
        Icon::Rectangle => {
            painter.extend(Shape::dashed_line(
                &[at(0.0, 0.1), at(1.0, 0.1), at(1.0, 0.9), at(0.0, 0.9), at(0.0, 0.1)],
                stroke,
                2.5,
                2.0,
            ));
        }
        Icon::Outline => {
            line(&[(0.05, 0.4), (0.5, 0.0), (1.0, 0.35), (0.75, 0.95), (0.2, 0.85), (0.05, 0.4)]);
        }
        Icon::Find => {
            painter.circle_stroke(at(0.4, 0.4), 0.38 * rect.width(), stroke);
            line(&[(0.68, 0.68), (1.0, 1.0)]);
        }
        Icon::Undo => turn(painter, rect, stroke, 1.0),
        Icon::Redo => turn(painter, rect, stroke, -1.0),
    }
}

/// A bow with a point: to the left for undo (1), to the right for redo (-1).
fn turn(painter: &Painter, rect: Rect, stroke: Stroke, side: f32) {
    let middle = rect.center() + vec2(0.0, 1.0);
    let radius = rect.width() * 0.42;
    let bow: Vec<Pos2> = (0..=16)
        .map(|step| {
            let angle = std::f32::consts::PI * (1.0 + step as f32 / 16.0 * 1.15);
            middle + vec2(side * angle.cos(), angle.sin()) * radius
        })
        .collect();
    let tip = bow.first().copied().unwrap_or(middle);
    painter.add(Shape::line(bow, stroke));
    painter
        .add(Shape::line(vec![tip + vec2(-side * 4.0, -2.5), tip + vec2(0.0, 2.5), tip + vec2(side * 4.5, -1.5)], stroke));
}
