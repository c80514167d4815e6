//! Fields: fill by class, hatching, outline, selection.

use awn_core::model::Rating;
use egui::{Color32, Mesh, Painter, Pos2, Shape, Stroke, pos2};

use super::hatch::{hatch, stipple};
use super::mercator::Screen;
use super::shapes::FieldShape;
use crate::gui::ctx::Ctx;
use crate::gui::facts::Row;
use crate::gui::map::Shapes;
use crate::gui::style::{self, Tokens};
use crate::gui::view_state::Colouring;

/// What lies over the fill of a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// Nothing.
    Nothing,
    /// Fine dots.
    Stipple,
    /// Diagonal lines.
    Hatch,
    /// Wide diagonal lines on the bare ground: not known.
    Unknown,
}

/// How a class looks on the map and in the legend.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// What it is, for the legend.
    pub name: String,
    /// The letter or number on the field.
    pub letter: String,
    /// Fill; none: the bare ground.
    pub fill: Option<Color32>,
    /// What lies over the fill.
    pub over: Over,
    /// Order in the legend, worst first.
    pub rank: i32,
}

/// The class of a field in a colouring.
pub fn class_of(row: &Row, colouring: Colouring, interval: i32) -> Class {
    let untested =
        || Class { name: "Never tested".into(), letter: "–".into(), fill: None, over: Over::Unknown, rank: 1000 };
    match colouring {
        Colouring::Plain => Class { name: String::new(), letter: String::new(), fill: None, over: Over::Nothing, rank: 0 },
        Colouring::Rating => row.worst.map_or_else(untested, |rating| rating_class(rating, Over::Nothing)),
        Colouring::RatingAndAge => row.worst.map_or_else(untested, |rating| {
            let years = row.years.unwrap_or(0);
            let over = if years >= interval {
                Over::Hatch
            } else if years >= 2 {
                Over::Stipple
            } else {
                Over::Nothing
            };
            rating_class(rating, over)
        }),
        Colouring::Age => row.years.map_or_else(untested, |years| age_class(years.max(0), interval)),
        Colouring::Due => match (row.due, row.last_test) {
            (true, None) => Class { name: "Due, never tested".into(), ..untested() },
            (true, Some(_)) => {
                Class { name: "Due".into(), letter: "due".into(), fill: Some(style::AGE[5]), over: Over::Hatch, rank: 900 }
            }
            (false, _) => Class {
                name: "Not due".into(),
                letter: String::new(),
                fill: Some(style::AGE[2]),
                over: Over::Nothing,
                rank: 0,
            },
        },
    }
}

fn rating_class(rating: Rating, over: Over) -> Class {
    let name = match over {
        Over::Stipple => format!("{}, 2 years or older", rating.label()),
        Over::Hatch => format!("{}, past the interval", rating.label()),
        _ => rating.label().to_owned(),
    };
    let age = match over {
        Over::Hatch => 2,
        Over::Stipple => 1,
        _ => 0,
    };
    Class {
        name,
        letter: rating.label().into(),
        fill: Some(style::rating_colour(rating)),
        over,
        rank: 10 * rating as i32 + age,
    }
}

fn age_class(years: i32, interval: i32) -> Class {
    if years >= interval {
        return Class {
            name: format!("{interval} years or more"),
            letter: years.to_string(),
            fill: Some(style::AGE[5]),
            over: Over::Hatch,
            rank: 900,
        };
    }
    let name = match years {
        0 => "This harvest".to_owned(),
        1 => "1 year".to_owned(),
        years => format!("{years} years"),
    };
    let step = (years as usize).min(4);
    Class { name, letter: years.to_string(), fill: Some(style::AGE[step]), over: Over::Nothing, rank: years }
}

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
        let class = class_of(row, colouring, ctx.facts.interval);
        let colour = class.fill.unwrap_or(tokens.ground);
        if colouring != Colouring::Plain {
            add_fill(&mut fill, screen, shape, colour);
        }
    }
    painter.add(Shape::mesh(fill));
    for (shape, row) in &in_view {
        let rings = shape.rings_on(screen);
        let class = class_of(row, colouring, ctx.facts.interval);
        let phase = screen.pos_from_world(shape.anchor);
        let over = class.fill.map_or(tokens.ink, style::text_on);
        match class.over {
            Over::Nothing => {}
            Over::Stipple => stipple(painter, &rings, 6.0, phase, over.gamma_multiply(0.75)),
            Over::Hatch => hatch(painter, &rings, 8.0, phase, Stroke::new(0.8, over.gamma_multiply(0.7))),
            Over::Unknown => hatch(painter, &rings, 14.0, phase, Stroke::new(1.0, tokens.ink.gamma_multiply(0.55))),
        }
        outline(painter, rings, Stroke::new(style::OUTLINE, tokens.ink));
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

fn add_fill(mesh: &mut Mesh, screen: &Screen, shape: &FieldShape, colour: Color32) {
    let (zero, scale) = (screen.pos_from_world(shape.anchor), screen.scale as f32);
    let first = mesh.vertices.len() as u32;
    for vertex in &shape.vertices {
        mesh.colored_vertex(pos2(zero.x + vertex.x * scale, zero.y + vertex.y * scale), colour);
    }
    mesh.indices.extend(shape.triangles.iter().map(|index| first + index));
}
