//! Fields: fill by class, hatching, outline, selection. Everything of one kind goes into one mesh, so that ten thousand fields
//! are a handful of shapes.

use egui::epaint::{Vertex, WHITE_UV};
use egui::{Color32, Mesh, Painter, Pos2, Shape, Stroke, pos2};

use super::classes::{Class, Over};
use super::drawn::Drawn;
use super::mercator::Screen;
use super::patterns::PatternMesh;
use super::shapes::FieldShape;
use crate::gui::ctx::Ctx;
use crate::gui::map::Layers;
use crate::gui::map::detail::{Detail, add_outline};
use crate::gui::style::{self, Tokens};
use crate::gui::view::Colouring;

/// With fewer corners in view than this, outlines are drawn as lines, which look best; with more, as a mesh, which is fast.
const FINE_CORNERS: usize = 4000;
/// Fields smaller than this are drawn as their bounds, points.
const SPECK: f32 = 1.5;

/// Draws fills and hatching of the fields in view.
pub fn draw_fills(painter: &Painter, screen: &Screen, drawn: &mut Drawn, layers: &Layers<'_>, ctx: &Ctx<'_>) {
    let tokens = style::tokens(painter.ctx().theme());
    let colouring = ctx.view.shown_colouring();
    let filled = !matches!(colouring, Colouring::Plain | Colouring::Density);
    let unscouted = |shape: &FieldShape| {
        colouring == Colouring::Density && layers.density.is_some_and(|layer| !layer.fields.contains_key(&shape.id))
    };
    let mut fill = Mesh::default();
    if filled {
        // What was made for the frame before is nearly all there is: a mesh that grows is copied again and again.
        let made = drawn.in_view.iter().filter_map(|number| drawn.details.made(*number));
        let (corners, indices) = made
            .fold((0, 0), |(corners, indices), detail| (corners + detail.corners.len(), indices + detail.triangles.len()));
        fill.vertices.reserve(corners);
        fill.indices.reserve(indices);
    }
    let mut patterns = drawn.patterns.meshes();
    for number in &drawn.in_view {
        let (Some(shape), Some((_, class))) = (layers.shapes.fields.get(*number), drawn.painted.class(*number)) else {
            continue;
        };
        let Some(detail) = drawn.details.get(*number, shape, screen.scale) else { continue };
        let over = if unscouted(shape) { Over::Unknown } else { class.over };
        if filled {
            let colour = class.fill.unwrap_or(tokens.ground);
            add_fill(&mut fill, screen, shape, detail, colour);
        }
        if let Some(pattern) = patterns.iter_mut().find(|pattern| pattern.over == over) {
            let colour = pattern_colour(class, over, tokens);
            add_pattern(pattern, screen, shape, detail, colour);
        }
    }
    painter.add(Shape::mesh(fill));
    painter.extend(patterns.into_iter().filter(|pattern| !pattern.mesh.is_empty()).map(|pattern| Shape::mesh(pattern.mesh)));
}

fn pattern_colour(class: &Class, over: Over, tokens: &Tokens) -> Color32 {
    let ink = class.fill.map_or(tokens.ink, style::text_on);
    ink.gamma_multiply(match over {
        Over::Unknown => 0.6,
        Over::Rows(_) => 0.5,
        _ => 0.75,
    })
}

/// Draws outlines of the fields in view.
pub fn draw_outlines(painter: &Painter, screen: &Screen, drawn: &mut Drawn, layers: &Layers<'_>) {
    let ink = style::tokens(painter.ctx().theme()).ink;
    let mut corners = 0;
    for number in &drawn.in_view {
        if let Some(shape) = layers.shapes.fields.get(*number) {
            corners += drawn.details.get(*number, shape, screen.scale).map_or(0, |detail| detail.corners.len());
        }
    }
    let fine = corners < FINE_CORNERS;
    let mut mesh = Mesh::default();
    if !fine {
        mesh.vertices.reserve(3 * corners);
        mesh.indices.reserve(12 * corners);
    }
    let mut on_screen: Vec<Pos2> = Vec::new();
    for number in &drawn.in_view {
        let (Some(shape), Some((_, class))) = (layers.shapes.fields.get(*number), drawn.painted.class(*number)) else {
            continue;
        };
        let Some(detail) = drawn.details.made(*number) else { continue };
        let small = shape.rect(screen).size().max_elem();
        if small < SPECK {
            continue;
        }
        // Small fields get thinner lines, or there would be nothing but lines.
        let width = style::OUTLINE * (small / 24.0).clamp(0.35, 1.0);
        let on = onto(screen, shape);
        for ring in detail.rings() {
            on_screen.clear();
            on_screen.extend(ring.iter().map(&on));
            if !fine {
                add_outline(&mut mesh, &on_screen, width, ink);
                continue;
            }
            let ring = on_screen.clone();
            if class.dotted {
                let closed: Vec<Pos2> = ring.iter().chain(ring.first()).copied().collect();
                painter.extend(Shape::dashed_line(&closed, Stroke::new(1.6, ink), 2.0, 3.0));
            } else {
                painter.add(Shape::closed_line(ring, Stroke::new(width, ink)));
            }
        }
    }
    painter.add(Shape::mesh(mesh));
}

/// Draws the chosen fields' double outline, paper inside ink: never a fill, so that it cannot be taken for a class.
pub fn draw_selection(painter: &Painter, screen: &Screen, drawn: &mut Drawn, layers: &Layers<'_>, ctx: &Ctx<'_>) {
    if ctx.view.selected.is_empty() {
        return;
    }
    let tokens = style::tokens(painter.ctx().theme());
    let (mut ink, mut paper) = (Mesh::default(), Mesh::default());
    for number in &drawn.in_view {
        let Some(shape) = layers.shapes.fields.get(*number).filter(|shape| ctx.view.selected.contains(&shape.id)) else {
            continue;
        };
        let Some(detail) = drawn.details.get(*number, shape, screen.scale) else { continue };
        let thin = (shape.rect(screen).size().max_elem() / 24.0).clamp(0.4, 1.0);
        let on = onto(screen, shape);
        for ring in detail.rings() {
            let ring: Vec<Pos2> = ring.iter().map(&on).collect();
            if ctx.view.selected.len() < 200 {
                painter.add(Shape::closed_line(ring.clone(), Stroke::new(6.0 * thin, tokens.ink)));
            } else {
                add_outline(&mut ink, &ring, 5.0 * thin, tokens.ink);
            }
            add_outline(&mut paper, &ring, 2.4 * thin, tokens.ground);
        }
    }
    painter.add(Shape::mesh(ink));
    painter.add(Shape::mesh(paper));
}

/// Finds the fields in view, and what is worked out for them.
pub fn find_in_view(screen: &Screen, drawn: &mut Drawn, layers: &Layers<'_>) {
    drawn.details.refresh(layers.facts_number, layers.shapes);
    drawn.in_view.clear();
    let (low, high) = screen.world_bounds();
    let seen = |shape: &FieldShape| {
        shape.anchor.x <= high.x && shape.far.x >= low.x && shape.anchor.y <= high.y && shape.far.y >= low.y
    };
    drawn.in_view.extend(layers.shapes.fields.iter().enumerate().filter(|(_, shape)| seen(shape)).map(|(at, _)| at));
}

/// From positions of a shape to the screen.
fn onto(screen: &Screen, shape: &FieldShape) -> impl Fn(&Pos2) -> Pos2 + use<> {
    let (zero, scale) = (screen.pos_from_world(shape.anchor), screen.scale as f32);
    move |at| pos2(zero.x + at.x * scale, zero.y + at.y * scale)
}

fn add_fill(mesh: &mut Mesh, screen: &Screen, shape: &FieldShape, detail: &Detail, colour: Color32) {
    let rect = shape.rect(screen);
    if rect.width() < SPECK && rect.height() < SPECK {
        mesh.add_colored_rect(rect, colour);
        return;
    }
    let (on, first) = (onto(screen, shape), mesh.vertices.len() as u32);
    mesh.vertices.extend(detail.corners.iter().map(|at| Vertex { pos: on(at), uv: WHITE_UV, color: colour }));
    mesh.indices.extend(detail.triangles.iter().map(|index| first + index));
}

fn add_pattern(pattern: &mut PatternMesh, screen: &Screen, shape: &FieldShape, detail: &Detail, colour: Color32) {
    let (on, phase) = (onto(screen, shape), screen.pos_from_world(shape.anchor));
    let first = pattern.mesh.vertices.len() as u32;
    for at in &detail.corners {
        pattern.vertex(on(at), phase, colour);
    }
    pattern.mesh.indices.extend(detail.triangles.iter().map(|index| first + index));
}
