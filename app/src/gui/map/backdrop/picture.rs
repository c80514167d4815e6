//! One picture that says where it lies. It is drawn as a net of small meshes, each corner converted for itself, so that it lies true in
//! web Mercator however its own system runs.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, channel};

use egui::{Color32, ColorImage, Context, Mesh, Painter, Rect, Shape, TextureHandle, TextureOptions, pos2};
use geo::Coord;

use crate::backdrop::read_picture;
use crate::gui::map::mercator::{Screen, world};

/// A piece of the picture with its net: corners of the net in the unit square, row after row.
struct Piece<T> {
    image: T,
    net: Vec<Coord<f64>>,
}

/// The picture.
pub struct Picture {
    reading: Receiver<Result<Vec<Piece<ColorImage>>, String>>,
    pieces: Vec<Piece<TextureHandle>>,
    fault: Option<String>,
}

impl Picture {
    /// Reads a picture on a thread.
    pub fn new(path: PathBuf, ctx: &Context) -> Self {
        let (sender, reading) = channel();
        let wake = ctx.clone();
        let refused = sender.clone();
        let spawned = std::thread::Builder::new().name("background picture".into()).spawn(move || {
            // The background may have been changed meanwhile; then nobody waits for it.
            sender.send(read(&path)).ok();
            wake.request_repaint();
        });
        if let Err(error) = spawned {
            refused.send(Err(format!("The picture cannot be read: {error}."))).ok();
        }
        Self { reading, pieces: Vec::new(), fault: None }
    }

    /// Draws it once it has been read; gives what went wrong.
    pub fn draw(&mut self, painter: &Painter, screen: &Screen) -> Option<String> {
        match self.reading.try_recv() {
            Ok(Ok(pieces)) => {
                let load = |(number, piece): (usize, Piece<ColorImage>)| Piece {
                    image: painter.ctx().load_texture(format!("background {number}"), piece.image, TextureOptions::LINEAR),
                    net: piece.net,
                };
                self.pieces = pieces.into_iter().enumerate().map(load).collect();
            }
            Ok(Err(fault)) => self.fault = Some(fault),
            Err(_) => {}
        }
        for piece in &self.pieces {
            let mut mesh = Mesh::with_texture(piece.image.id());
            let side = piece.net.len().isqrt().max(2);
            for (number, at) in piece.net.iter().enumerate() {
                let part = |count: usize| count as f32 / (side - 1) as f32;
                let uv = pos2(part(number % side), part(number / side));
                let pos = screen.pos_from_world(*at);
                mesh.vertices.push(egui::epaint::Vertex { pos, uv, color: Color32::WHITE });
            }
            if !Rect::from_points(&mesh.vertices.iter().map(|vertex| vertex.pos).collect::<Vec<_>>()).intersects(screen.rect)
            {
                continue;
            }
            for row in 0..side - 1 {
                for column in 0..side - 1 {
                    let corner = (row * side + column) as u32;
                    let below = corner + side as u32;
                    mesh.add_triangle(corner, corner + 1, below);
                    mesh.add_triangle(below, corner + 1, below + 1);
                }
            }
            painter.add(Shape::mesh(mesh));
        }
        self.fault.clone()
    }
}

/// Reads a picture for the graphics card; the error is a sentence for people.
fn read(path: &std::path::Path) -> Result<Vec<Piece<ColorImage>>, String> {
    let on_card = |piece: awn_core::report::Piece| Piece {
        image: ColorImage::from_rgba_unmultiplied([piece.size.0, piece.size.1], &piece.rgba),
        net: piece.net.into_iter().map(world).collect(),
    };
    Ok(read_picture(path)?.into_iter().map(on_card).collect())
}
