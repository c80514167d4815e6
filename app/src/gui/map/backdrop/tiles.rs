//! Tiles on the screen: asked for on a thread, kept while there is room, the level above in their place until they come.

use std::collections::BTreeMap;
use std::sync::mpsc::{Receiver, Sender, channel};

use egui::{
    Color32, ColorImage, Context, Mesh, Painter, Pos2, Rect, Shape, Stroke, TextureHandle, TextureOptions, pos2, vec2,
};
use geo::Coord;

use awn_core::report::Ink;

use crate::backdrop::{About, Place, Source, TileId, Vectors, decode_vectors};
use crate::gui::map::mercator::Screen;
use crate::gui::style;

/// Side of a tile at its own level, points.
const SIDE: f64 = 256.0;
/// Tiles kept at most.
const MOST: usize = 400;

/// What a tile holds.
enum Tile {
    /// Asked for.
    Waiting,
    /// There is none.
    Missing,
    Picture(TextureHandle),
    Vectors(Vectors),
}

enum Answer {
    Open(About),
    Failed(String),
    Picture(TileId, ColorImage),
    Vectors(TileId, Vectors),
    Missing(TileId),
    /// This tile could not be had; the sentence says why.
    Broken(TileId, String),
}

/// The tiles of one source.
pub struct Tiles {
    about: Option<About>,
    fault: Option<String>,
    asked: Sender<TileId>,
    answers: Receiver<Answer>,
    kept: BTreeMap<TileId, (u64, Tile)>,
    frame: u64,
}

impl Tiles {
    /// Opens a source on a thread of its own, which ends with this value.
    pub fn new(place: Place, ctx: &Context) -> Self {
        let (asked, requests) = channel();
        let (sender, answers) = channel();
        let wake = ctx.clone();
        let refused = sender.clone();
        let thread = std::thread::Builder::new().name("background tiles".into());
        if let Err(error) = thread.spawn(move || work(&place, &requests, &sender, &wake)) {
            refused.send(Answer::Failed(format!("The background cannot be read: {error}."))).ok();
        }
        Self { about: None, fault: None, asked, answers, kept: BTreeMap::new(), frame: 0 }
    }

    /// Draws what is there; gives the line to show with it.
    pub fn draw(&mut self, painter: &Painter, screen: &Screen) -> Option<String> {
        self.take_answers(painter.ctx());
        self.frame += 1;
        if let Some(about) = &self.about {
            let (lowest, highest) = (about.lowest, about.highest);
            let fitting = (screen.scale / SIDE).log2() + f64::from(painter.ctx().pixels_per_point()).log2() * 0.5;
            let level = (fitting.round().clamp(0.0, 24.0) as u8).clamp(lowest, highest);
            // From far above the lowest level there would be thousands of tiles.
            if f64::from(lowest) <= fitting + 3.0 {
                for id in in_view(screen, level) {
                    self.draw_tile(painter, screen, id, lowest);
                }
            }
        }
        self.forget();
        self.fault.clone().or_else(|| self.about.as_ref().map(|about| about.credit.clone()).filter(|c| !c.is_empty()))
    }

    fn take_answers(&mut self, ctx: &Context) {
        while let Ok(answer) = self.answers.try_recv() {
            let (id, tile) = match answer {
                Answer::Open(about) => {
                    self.about = Some(about);
                    continue;
                }
                Answer::Failed(fault) => {
                    self.fault = Some(fault);
                    continue;
                }
                Answer::Picture(id, image) => {
                    self.fault = None;
                    let name = format!("tile {} {} {}", id.level, id.column, id.row);
                    (id, Tile::Picture(ctx.load_texture(name, image, TextureOptions::LINEAR)))
                }
                Answer::Vectors(id, vectors) => (id, Tile::Vectors(vectors)),
                Answer::Missing(id) => (id, Tile::Missing),
                Answer::Broken(id, fault) => {
                    self.fault = Some(fault);
                    (id, Tile::Missing)
                }
            };
            self.kept.insert(id, (self.frame, tile));
        }
    }

    /// Draws a tile, or the part of one above it that has come already.
    fn draw_tile(&mut self, painter: &Painter, screen: &Screen, id: TileId, lowest: u8) {
        if !self.kept.contains_key(&id) && self.asked.send(id).is_ok() {
            self.kept.insert(id, (self.frame, Tile::Waiting));
        }
        let place = rect_of(screen, id);
        let mut from = id;
        loop {
            let shown = match self.kept.get_mut(&from) {
                Some((used, tile)) => {
                    *used = self.frame;
                    paint(painter, tile, place, rect_of(screen, from))
                }
                None => false,
            };
            if shown || from.level <= lowest {
                return;
            }
            from = TileId { level: from.level - 1, column: from.column / 2, row: from.row / 2 };
        }
    }

    /// Lets go of what has not been seen for longest, once there is too much.
    fn forget(&mut self) {
        while self.kept.len() > MOST {
            let seen = self.kept.iter().filter(|(_, (used, tile))| *used < self.frame && !matches!(tile, Tile::Waiting));
            let Some(oldest) = seen.min_by_key(|(_, (used, _))| *used).map(|(id, _)| *id) else { return };
            self.kept.remove(&oldest);
        }
    }
}

/// The thread: answers the newest request first, because the older may be out of view by now.
fn work(place: &Place, requests: &Receiver<TileId>, answers: &Sender<Answer>, wake: &Context) {
    let source = match Source::open(place) {
        Ok((source, about)) => {
            answers.send(Answer::Open(about)).ok();
            source
        }
        Err(fault) => {
            answers.send(Answer::Failed(fault)).ok();
            wake.request_repaint();
            return;
        }
    };
    wake.request_repaint();
    let mut waiting = Vec::new();
    while let Ok(id) = requests.recv() {
        waiting.push(id);
        while let Some(id) = {
            waiting.extend(requests.try_iter());
            waiting.pop()
        } {
            let answer = match source.tile(id) {
                Ok(Some(bytes)) if !bytes.is_empty() => decode(id, bytes),
                Ok(_) => Answer::Missing(id),
                Err(fault) => Answer::Broken(id, fault),
            };
            if answers.send(answer).is_err() {
                return;
            }
            wake.request_repaint();
        }
    }
}

fn decode(id: TileId, bytes: Vec<u8>) -> Answer {
    if image::guess_format(&bytes).is_ok() {
        return match picture(&bytes) {
            Ok(image) => Answer::Picture(id, image),
            Err(error) => Answer::Broken(id, format!("A tile of the background cannot be read ({error}).")),
        };
    }
    match decode_vectors(bytes) {
        Ok(vectors) => Answer::Vectors(id, vectors),
        Err(error) => Answer::Broken(id, format!("A tile of the background cannot be read ({error}).")),
    }
}

/// Decodes a picture.
pub fn picture(bytes: &[u8]) -> Result<ColorImage, image::ImageError> {
    let image = image::load_from_memory(bytes)?.to_rgba8();
    let size = [image.width() as usize, image.height() as usize];
    Ok(ColorImage::from_rgba_unmultiplied(size, image.as_raw()))
}

/// The tiles of a level in view.
fn in_view(screen: &Screen, level: u8) -> Vec<TileId> {
    let (low, high) = screen.world_bounds();
    let count = 2_f64.powi(i32::from(level));
    let number = |at: f64| (at * count).floor().clamp(0.0, count - 1.0) as u32;
    let columns = number(low.x)..=number(high.x);
    let rows = number(low.y)..=number(high.y);
    let row = |row: u32| columns.clone().map(move |column| TileId { level, column, row });
    rows.flat_map(row).collect()
}

fn rect_of(screen: &Screen, id: TileId) -> Rect {
    let side = 1.0 / 2_f64.powi(i32::from(id.level));
    let corner = |dx: f64, dy: f64| Coord { x: (f64::from(id.column) + dx) * side, y: (f64::from(id.row) + dy) * side };
    screen.rect_of(corner(0.0, 0.0), corner(1.0, 1.0))
}

/// Paints the part of a tile that lies in a place; `whole` is where all of it would lie. False if there is nothing to paint.
fn paint(painter: &Painter, tile: &Tile, place: Rect, whole: Rect) -> bool {
    match tile {
        Tile::Waiting | Tile::Missing => return false,
        Tile::Picture(texture) => {
            let part = |pos: Pos2| {
                let off = pos - whole.min;
                pos2(off.x / whole.width(), off.y / whole.height())
            };
            let mut mesh = Mesh::with_texture(texture.id());
            mesh.add_rect_with_uv(place, Rect::from_min_max(part(place.min), part(place.max)), Color32::WHITE);
            painter.add(Shape::mesh(mesh));
        }
        Tile::Vectors(vectors) => {
            paint_vectors(&painter.with_clip_rect(place.intersect(painter.clip_rect())), vectors, whole);
        }
    }
    true
}

fn paint_vectors(painter: &Painter, vectors: &Vectors, whole: Rect) {
    let theme = painter.ctx().theme();
    let on = |at: Coord<f32>| whole.min + vec2(at.x * whole.width(), at.y * whole.height());
    let mut mesh = Mesh::default();
    for area in &vectors.areas {
        let first = mesh.vertices.len() as u32;
        let colour = style::backdrop_colour(theme, area.ink == Ink::Water);
        for corner in &area.corners {
            mesh.colored_vertex(on(*corner), colour);
        }
        mesh.indices.extend(area.triangles.iter().map(|at| first + at));
    }
    painter.add(Shape::mesh(mesh));
    for (ink, line) in &vectors.lines {
        let width = match ink {
            Ink::Road => 1.6,
            Ink::Water => 1.2,
            _ => 0.8,
        };
        let colour = if *ink == Ink::Water { style::backdrop_colour(theme, true) } else { style::tokens(theme).line };
        painter.line(line.coords().map(|at| on(*at)).collect(), Stroke::new(width, colour));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_in_view_are_those_of_the_published_numbering() {
        // Numbering as in the OGC two-dimensional tile matrix set WebMercatorQuad: at level 1 the four quarters of the world,
        // row 0 in the north; Greenwich at 51.48 N lies in column 1 (it begins at 0 degrees), row 0.
        let rect = Rect::from_min_size(pos2(0.0, 0.0), vec2(2.0, 2.0));
        let screen = Screen::new(rect, Coord { x: 0.1, y: 51.48 }, 18.0);
        assert_eq!(in_view(&screen, 1), [TileId { level: 1, column: 1, row: 0 }]);
        // x = floor((lon + 180) / 360 * 2^z); y = floor((1 - asinh(tan lat) / pi) / 2 * 2^z).
        let row = |lat: f64| ((1.0 - lat.to_radians().tan().asinh() / std::f64::consts::PI) / 2.0 * 16_384.0).floor() as u32;
        let column = ((0.1_f64 + 180.0) / 360.0 * 16_384.0).floor() as u32;
        assert_eq!(in_view(&screen, 14), [TileId { level: 14, column, row: row(51.48) }]);
    }
}
