//! What lies under the fields on paper: pictures that were put in their place, and lines and areas of vector tiles.
//!
//! A picture comes with a net of places in degrees. Each mesh of the net is drawn as two triangles in the plane of the panel, so
//! that the picture lies true under the fields in whatever projection it was made. It is drawn at the resolution that it has
//! itself, up to [`MOST_PX_PER_MM`]; finer ones are averaged first.

use std::fmt::Write as _;
use std::sync::Arc;

use base64::Engine as _;
use geo::{Coord, LineString, MultiPolygon, Polygon, Rect};

use crate::report::palette;
use crate::report::panels::{Layout, Panel};
use crate::report::svg;

/// Pixels of a picture for a mm of paper beyond which nobody sees more: about 200 to the inch.
const MOST_PX_PER_MM: f64 = 8.0;
/// Ground shown round the fields of a panel that does not fill the map, mm.
const ROUND_MM: f64 = 3.0;

/// Where the map gets what lies under the fields: asked for the ground that the paper shows, once that is known.
pub trait Under: Send + Sync {
    /// Whose map it is: said on the sheet. Empty: nobody asks for it.
    fn credit(&self) -> &str;

    /// What there is within bounds in degrees, for so many mm of paper from west to east; and what could not be had, in words.
    fn within(&self, bounds: Rect<f64>, width_mm: f64) -> (Backdrop, Option<String>);
}

/// A source, shared.
#[derive(Clone)]
pub struct Ground(pub Arc<dyn Under>);

impl std::fmt::Debug for Ground {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Ground").field(&self.0.credit()).finish()
    }
}

impl PartialEq for Ground {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl Ground {
    /// What lies under one panel, and what could not be had. `stretch`: mm of true paper for a mm of the drawing.
    pub(super) fn drawn(&self, layout: &Layout, panel: &Panel, frame: Rect<f64>, stretch: f64) -> (String, Option<String>) {
        let room = room(layout, panel, frame);
        let ground = room.to_polygon().exterior().0.iter().map(|at| layout.ground(panel, *at)).collect::<Vec<_>>();
        let Some(bounds) = geo::BoundingRect::bounding_rect(&LineString(ground)) else { return (String::new(), None) };
        let (backdrop, fault) = self.0.within(bounds, room.width() * stretch);
        (backdrop.drawn(layout, panel, room, stretch), fault)
    }
}

/// What lies under the fields.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Backdrop {
    /// Pictures; the later lie over the earlier.
    pub pieces: Vec<Piece>,
    /// Areas and lines, in degrees, over the pictures; the later lie over the earlier.
    pub drawn: Vec<(Ink, Drawn)>,
}

/// A picture, or a part of one.
#[derive(Clone, PartialEq)]
pub struct Piece {
    /// Width and height, pixels.
    pub size: (usize, usize),
    /// Red, green, blue, opacity of each pixel, row by row from the top.
    pub rgba: Vec<u8>,
    /// Corners of the meshes, row by row from the top, as many in a row as rows; degrees.
    pub net: Vec<Coord<f64>>,
}

/// The pixels themselves are of no use in a message.
impl std::fmt::Debug for Piece {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Piece").field("size", &self.size).field("net", &self.net).finish_non_exhaustive()
    }
}

/// What a thing on a vector tile is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ink {
    /// Lakes and rivers.
    Water,
    /// Woods and parks.
    Green,
    /// Buildings.
    Building,
    /// Roads, tracks, railways.
    Road,
    /// Boundaries of parishes and the like.
    Border,
}

/// A thing on a vector tile, degrees.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)]
pub enum Drawn {
    Area(Polygon<f64>),
    Line(LineString<f64>),
}

impl Backdrop {
    /// The part of it in the room under a panel.
    fn drawn(&self, layout: &Layout, panel: &Panel, room: Rect<f64>, stretch: f64) -> String {
        let place = |at: Coord<f64>| layout.place(panel, at);
        let picture = self.picture(room, stretch, &place).unwrap_or_default();
        let mut out = String::new();
        let inside = |points: &[Coord<f64>]| {
            let bounds = geo::BoundingRect::bounding_rect(&LineString(points.to_vec()));
            bounds.is_some_and(|bounds| geo::Intersects::intersects(&bounds, &room))
        };
        for (ink, drawn) in &self.drawn {
            match drawn {
                Drawn::Area(area) => {
                    let shape = MultiPolygon(vec![geo::MapCoords::map_coords(area, place)]);
                    if inside(&shape.0[0].exterior().0) {
                        let colour = if *ink == Ink::Water { palette::WATER } else { palette::COUNTRY };
                        let (path, fill) = (svg::shape_path(&shape), svg::colour(colour));
                        let _ = writeln!(out, "<path d=\"{path}\" fill=\"{fill}\" fill-rule=\"evenodd\"/>");
                    }
                }
                Drawn::Line(line) => {
                    let line = geo::MapCoords::map_coords(line, place);
                    if inside(&line.0) {
                        let (width, colour) = match ink {
                            Ink::Road => (0.45, palette::LINE),
                            Ink::Water => (0.35, palette::WATER),
                            _ => (0.2, palette::LINE),
                        };
                        out.push_str(&svg::stroke(&svg::line_path(&line), width, colour, "class=\"backdrop-line\""));
                    }
                }
            }
        }
        // A clip costs whoever draws it a picture of its own; the picture needs none.
        if out.is_empty() {
            return picture;
        }
        let (low, high) = (room.min(), room.max());
        let edge = svg::points(&[low, Coord { x: high.x, y: low.y }, high, Coord { x: low.x, y: high.y }], true);
        let name = format!("backdrop-{}-{}", svg::number(low.x), svg::number(low.y));
        format!(
            "{picture}<clipPath id=\"{name}\"><path d=\"{edge}\"/></clipPath>\n<g clip-path=\"url(#{name})\">\n{out}</g>\n"
        )
    }

    /// The pictures as one, as large as the room under the panel.
    fn picture(&self, room: Rect<f64>, stretch: f64, place: &dyn Fn(Coord<f64>) -> Coord<f64>) -> Option<String> {
        let nets: Vec<Net<'_>> = self.pieces.iter().filter_map(|piece| Net::of(piece, place, room)).collect();
        let finest = nets.iter().map(Net::px_per_mm).fold(0.0, f64::max);
        if finest <= 0.0 {
            return None;
        }
        let px_per_mm = finest.min(MOST_PX_PER_MM * stretch);
        let [width, height] = [room.width(), room.height()].map(|mm| ((mm * px_per_mm).ceil() as usize).max(1));
        let mut canvas = Canvas { width, height, rgba: vec![0; 4 * width * height] };
        let scale = Coord { x: width as f64 / room.width(), y: height as f64 / room.height() };
        for net in &nets {
            let shrunk = net.piece.shrunk(net.px_per_mm() / px_per_mm);
            let on = |at: Coord<f64>| Coord { x: (at.x - room.min().x) * scale.x, y: (at.y - room.min().y) * scale.y };
            canvas.add(&shrunk, &net.places.iter().map(|at| on(*at)).collect::<Vec<_>>(), net.side);
        }
        let data = base64::engine::general_purpose::STANDARD.encode(canvas.png().ok()?);
        let [x, y, w, h] = [room.min().x, room.min().y, room.width(), room.height()].map(svg::number);
        Some(format!(
            "<image class=\"backdrop\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" preserveAspectRatio=\"none\" \
             xlink:href=\"data:image/png;base64,{data}\"/>\n"
        ))
    }
}

/// The paper under a panel: all of the map for the only one, else its own ground and a little more.
fn room(layout: &Layout, panel: &Panel, frame: Rect<f64>) -> Rect<f64> {
    if layout.panels.len() < 2 {
        return frame;
    }
    let (width, height) = (panel.bounds.width() * layout.mm_per_m, panel.bounds.height() * layout.mm_per_m);
    let low = Coord { x: panel.corner.x - ROUND_MM, y: panel.corner.y - height - ROUND_MM };
    let high = Coord { x: panel.corner.x + width + ROUND_MM, y: panel.corner.y + ROUND_MM };
    let within =
        |at: Coord<f64>| Coord { x: at.x.clamp(frame.min().x, frame.max().x), y: at.y.clamp(frame.min().y, frame.max().y) };
    Rect::new(within(low), within(high))
}

/// A piece with its net on paper.
struct Net<'a> {
    piece: &'a Piece,
    places: Vec<Coord<f64>>,
    /// Corners in a row.
    side: usize,
}

impl<'a> Net<'a> {
    /// None if it lies elsewhere, or is no net.
    fn of(piece: &'a Piece, place: &dyn Fn(Coord<f64>) -> Coord<f64>, room: Rect<f64>) -> Option<Self> {
        let side = piece.net.len().isqrt();
        let (width, height) = piece.size;
        if side < 2 || side * side != piece.net.len() || piece.rgba.len() != 4 * width * height || width * height == 0 {
            return None;
        }
        let places: Vec<_> = piece.net.iter().map(|at| place(*at)).collect();
        let bounds = geo::BoundingRect::bounding_rect(&LineString(places.clone()))?;
        geo::Intersects::intersects(&bounds, &room).then_some(Self { piece, places, side })
    }

    /// Pixels for a mm of paper in the middle of the net.
    fn px_per_mm(&self) -> f64 {
        let length = |a: Coord<f64>, b: Coord<f64>| libm::hypot(a.x - b.x, a.y - b.y).max(1e-9);
        let corner = |row: usize, column: usize| self.places[row * self.side + column];
        let last = self.side - 1;
        let across = self.piece.size.0 as f64 / length(corner(last / 2, 0), corner(last / 2, last));
        let down = self.piece.size.1 as f64 / length(corner(0, last / 2), corner(last, last / 2));
        across.max(down)
    }
}

impl Piece {
    /// The same picture, halved until it is less than twice as fine as needed: so no pixel is left out when it is drawn.
    fn shrunk(&self, times: f64) -> std::borrow::Cow<'_, Self> {
        if times < 2.0 || self.size.0 < 2 || self.size.1 < 2 {
            return std::borrow::Cow::Borrowed(self);
        }
        let (width, height) = (self.size.0 / 2, self.size.1 / 2);
        let mut rgba = Vec::with_capacity(4 * width * height);
        for row in 0..height {
            for column in 0..width {
                // The last odd row or column goes into its neighbour.
                let rows = [2 * row, if row + 1 == height { self.size.1 - 1 } else { 2 * row + 1 }];
                let columns = [2 * column, if column + 1 == width { self.size.0 - 1 } else { 2 * column + 1 }];
                let four = rows.map(|row| columns.map(|column| self.pixel(column, row)));
                let weight: u32 = four.iter().flatten().map(|pixel| u32::from(pixel[3])).sum();
                for band in 0..3 {
                    let sum: u32 = four.iter().flatten().map(|pixel| u32::from(pixel[band]) * u32::from(pixel[3])).sum();
                    rgba.push((sum + weight / 2).checked_div(weight).unwrap_or(0) as u8);
                }
                rgba.push(((weight + 2) / 4) as u8);
            }
        }
        let half = Self { size: (width, height), rgba, net: Vec::new() };
        std::borrow::Cow::Owned(half.shrunk(times / 2.0).into_owned())
    }

    fn pixel(&self, column: usize, row: usize) -> [u8; 4] {
        let at = 4 * (row * self.size.0 + column);
        [self.rgba[at], self.rgba[at + 1], self.rgba[at + 2], self.rgba[at + 3]]
    }

    /// The colour at a place between the middles of pixels.
    fn between(&self, x: f64, y: f64) -> [u8; 4] {
        let most = |at: f64, count: usize| (at - 0.5).clamp(0.0, (count - 1) as f64);
        let (x, y) = (most(x, self.size.0), most(y, self.size.1));
        let (left, top) = (x as usize, y as usize);
        let (right, low) = ((left + 1).min(self.size.0 - 1), (top + 1).min(self.size.1 - 1));
        let (dx, dy) = (x - left as f64, y - top as f64);
        let four = [
            (self.pixel(left, top), (1.0 - dx) * (1.0 - dy)),
            (self.pixel(right, top), dx * (1.0 - dy)),
            (self.pixel(left, low), (1.0 - dx) * dy),
            (self.pixel(right, low), dx * dy),
        ];
        let opacity: f64 = four.iter().map(|(pixel, weight)| f64::from(pixel[3]) * weight).sum();
        let band = |band: usize| {
            let sum: f64 = four.iter().map(|(pixel, weight)| f64::from(pixel[band]) * f64::from(pixel[3]) * weight).sum();
            (sum / opacity.max(1e-9)).round() as u8
        };
        [band(0), band(1), band(2), opacity.round() as u8]
    }
}

/// The picture that goes on paper.
struct Canvas {
    width: usize,
    height: usize,
    rgba: Vec<u8>,
}

impl Canvas {
    /// Draws a piece whose net stands at places of the canvas.
    fn add(&mut self, piece: &Piece, places: &[Coord<f64>], side: usize) {
        let part = |number: usize, count: usize| number as f64 / (side - 1) as f64 * count as f64;
        for row in 0..side - 1 {
            for column in 0..side - 1 {
                let corner = |down: usize, right: usize| {
                    let (row, column) = (row + down, column + right);
                    (places[row * side + column], Coord { x: part(column, piece.size.0), y: part(row, piece.size.1) })
                };
                self.triangle(piece, [corner(0, 0), corner(0, 1), corner(1, 0)]);
                self.triangle(piece, [corner(1, 0), corner(0, 1), corner(1, 1)]);
            }
        }
    }

    /// Draws the part of a piece between three places.
    fn triangle(&mut self, piece: &Piece, [a, b, c]: [(Coord<f64>, Coord<f64>); 3]) {
        let cross = |p: Coord<f64>, q: Coord<f64>, r: Coord<f64>| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
        let whole = cross(a.0, b.0, c.0);
        if !whole.is_finite() || whole.abs() < 1e-9 {
            return;
        }
        let range = |low: f64, high: f64, count: usize| {
            (low - 0.5).ceil().max(0.0) as usize..((high - 0.5).floor() + 1.0).clamp(0.0, count as f64) as usize
        };
        let (xs, ys) = ([a.0.x, b.0.x, c.0.x], [a.0.y, b.0.y, c.0.y]);
        let low = |list: [f64; 3]| list.into_iter().fold(f64::INFINITY, f64::min);
        let high = |list: [f64; 3]| list.into_iter().fold(f64::NEG_INFINITY, f64::max);
        for y in range(low(ys), high(ys), self.height) {
            for x in range(low(xs), high(xs), self.width) {
                let at = Coord { x: x as f64 + 0.5, y: y as f64 + 0.5 };
                let (of_a, of_b) = (cross(at, b.0, c.0) / whole, cross(at, c.0, a.0) / whole);
                let of_c = 1.0 - of_a - of_b;
                // A pixel on the edge between two triangles is drawn by both, alike.
                if of_a < -1e-9 || of_b < -1e-9 || of_c < -1e-9 {
                    continue;
                }
                let from = a.1 * of_a + b.1 * of_b + c.1 * of_c;
                let pixel = piece.between(from.x, from.y);
                if pixel[3] > 0 {
                    let to = 4 * (y * self.width + x);
                    self.rgba[to..to + 4].copy_from_slice(&pixel);
                }
            }
        }
    }

    /// As PNG, without an opacity where all is opaque.
    fn png(&self) -> Result<Vec<u8>, png::EncodingError> {
        let opaque = self.rgba.chunks_exact(4).all(|pixel| pixel[3] == 255);
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width as u32, self.height as u32);
        encoder.set_color(if opaque { png::ColorType::Rgb } else { png::ColorType::Rgba });
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Fast);
        let mut writer = encoder.write_header()?;
        if opaque {
            let rgb: Vec<u8> = self.rgba.chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
            writer.write_image_data(&rgb)?;
        } else {
            writer.write_image_data(&self.rgba)?;
        }
        writer.finish()?;
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(size: (usize, usize), colour: impl Fn(usize, usize) -> [u8; 4]) -> Piece {
        let rgba = (0..size.1).flat_map(|row| (0..size.0).flat_map(|c| colour(c, row)).collect::<Vec<_>>()).collect();
        Piece { size, rgba, net: Vec::new() }
    }

    #[test]
    fn a_picture_drawn_at_its_own_size_is_the_same_picture() {
        let from = piece((8, 6), |column, row| [(column * 20) as u8, (row * 30) as u8, 7, 255]);
        let mut canvas = Canvas { width: 8, height: 6, rgba: vec![0; 4 * 48] };
        let net: Vec<_> = (0..9).map(|at| Coord { x: f64::from(at % 3) * 4.0, y: f64::from(at / 3) * 3.0 }).collect();
        canvas.add(&from, &net, 3);
        assert_eq!(canvas.rgba, from.rgba);
    }

    #[test]
    fn a_finer_picture_is_averaged() {
        // A board of black and white squares of one pixel is grey from afar; 127.5 is rounded up.
        let board =
            piece((64, 64), |column, row| if (column + row) % 2 == 0 { [0, 0, 0, 255] } else { [255, 255, 255, 255] });
        let far = board.shrunk(8.0);
        assert_eq!(far.size, (8, 8));
        assert!(far.rgba.chunks(4).all(|pixel| pixel == [128, 128, 128, 255]), "{:?}", far.rgba);
        // What is not there has no colour that could mix in.
        let half = piece((2, 2), |column, _| if column == 0 { [200, 100, 50, 255] } else { [0, 0, 0, 0] });
        assert_eq!(half.shrunk(2.0).rgba, [200, 100, 50, 128]);
    }
}
