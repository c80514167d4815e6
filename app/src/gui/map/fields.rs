//! Fields: fill by class, hatching, outline, selection.

use egui::{Color32, Mesh, Painter, Pos2, Shape, Stroke, pos2};

use super::classes::{Over, class_of};
use super::hatch::{hatch, stipple};
use super::mercator::Screen;
use super::shapes::FieldShape;
use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::map::Shapes;
use crate::gui::style::{self, Tokens};
use crate::gui::view_state::Colouring;

/// Draws fills, hatching and outlines of the fields in view.
pub fn draw(painter: &Painter, screen: &Screen, shapes: &Shapes, ctx: &Ctx<'_>, tokens: &Tokens) {
    let colouring = ctx.view.shown_colouring();
    let in_view: Vec<(&FieldShape, &Row)> = shapes
        .fields
        .iter()
        .filter(|shape| shape.rect(screen).intersects(screen.rect))
        .filter_map(|shape| Some((shape, ctx.facts.row(shape.id)?)))
        .collect();
    let mut fill = Mesh::default();
    for (shape, row) in &in_view {
        let class = class_of(row, colouring, ctx.facts.interval, ctx.view.year);
        let colour = class.fill.unwrap_or(tokens.ground);
        if colouring != Colouring::Plain {
            add_fill(&mut fill, screen, shape, colour);
        }
    }
    painter.add(Shape::mesh(fill));
    for (shape, row) in &in_view {
        let rings = shape.rings_on(screen);
        let class = class_of(row, colouring, ctx.facts.interval, ctx.view.year);
        let phase = screen.pos_from_world(shape.anchor);
        let over = class.fill.map_or(tokens.ink, style::text_on);
        match class.over {
            Over::Nothing => {}
            Over::Stipple => stipple(painter, &rings, 6.0, phase, over.gamma_multiply(0.75)),
            Over::Hatch => hatch(painter, &rings, 8.0, phase, Stroke::new(0.8, over.gamma_multiply(0.7))),
            Over::Unknown => hatch(painter, &rings, 14.0, phase, Stroke::new(1.0, tokens.ink.gamma_multiply(0.55))),
        }
        if class.dotted {
            dotted(painter, &rings, tokens);
        } else {
            outline(painter, rings, Stroke::new(style::OUTLINE, tokens.ink));
        }
    }
    for (shape, _) in in_view.iter().filter(|(shape, _)| ctx.view.selected.contains(&shape.id)) {
        select(painter, shape.rings_on(screen), tokens);
    }
}

/// A double outline, paper inside ink: never a fill, so that it cannot be taken for a class.
fn select(painter: &Painter, rings: Vec<Vec<Pos2>>, tokens: &Tokens) {
    outline(painter, rings.clone(), Stroke::new(6.0, tokens.ink));
    outline(painter, rings, Stroke::new(2.4, tokens.ground));
}

fn outline(painter: &Painter, rings: Vec<Vec<Pos2>>, stroke: Stroke) {
    painter.extend(rings.into_iter().map(|ring| Shape::closed_line(ring, stroke)));
}

fn dotted(painter: &Painter, rings: &[Vec<Pos2>], tokens: &Tokens) {
    for ring in rings {
        let closed: Vec<Pos2> = ring.iter().chain(ring.first()).copied().collect();
        painter.extend(Shape::dashed_line(&closed, Stroke::new(1.6, tokens.ink), 2.0, 3.0));
    }
}

fn add_fill(mesh: &mut Mesh, screen: &Screen, shape: &FieldShape, colour: Color32) {
    let (zero, scale) = (screen.pos_from_world(shape.anchor), screen.scale as f32);
    let first = mesh.vertices.len() as u32;
    for vertex in &shape.vertices {
        mesh.colored_vertex(pos2(zero.x + vertex.x * scale, zero.y + vertex.y * scale), colour);
    }
    mesh.indices.extend(shape.triangles.iter().map(|index| first + index));
}
