//! The background on paper: the same tiles and pictures as on the screen, as fine as the paper can show.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use awn_core::report::{Backdrop, Drawn, Ground, Piece, Under};
use geo::{Coord, Rect};

use super::mercator::{degrees, world};
use super::{About, Background, Place, Source, TileId, decode_vectors, read_picture};

/// Pixels of a tile for a mm of paper, at least two thirds of it: words on tiles stay large enough to be read.
const PX_PER_MM: f64 = 5.0;
/// Pixels along a side of a tile.
const SIDE: f64 = 256.0;
/// Tiles of a sheet at most: no server is asked for more.
const MOST: usize = 300;
/// Corners along a side of a tile's net: straight lines between them stay within a hundredth of a pixel.
const NET: usize = 9;

/// Opens a background for paper; none if there is none. The error is a sentence for people.
pub fn ground(background: &Background) -> Result<Option<Ground>, String> {
    let place = match background {
        Background::Ground => return Ok(None),
        Background::Picture(path) => {
            let pieces = read_picture(path)?;
            return Ok(Some(Ground(Arc::new(Picture { pieces }))));
        }
        Background::Tiles(path) => Place::File(path.clone()),
        Background::Server(server) => Place::Server(server.clone()),
    };
    let (source, about) = Source::open(&place)?;
    Ok(Some(Ground(Arc::new(Tiles { source: Mutex::new(source), about }))))
}

struct Picture {
    pieces: Vec<Piece>,
}

impl Under for Picture {
    fn credit(&self) -> &'static str {
        ""
    }

    fn within(&self, _: Rect<f64>, _: f64) -> (Backdrop, Option<String>) {
        (Backdrop { pieces: self.pieces.clone(), drawn: Vec::new() }, None)
    }
}

struct Tiles {
    source: Mutex<Source>,
    about: About,
}

impl Under for Tiles {
    fn credit(&self) -> &str {
        &self.about.credit
    }

    fn within(&self, bounds: Rect<f64>, width_mm: f64) -> (Backdrop, Option<String>) {
        let source = self.source.lock().unwrap_or_else(PoisonError::into_inner);
        let mut wanted = self.wanted(bounds, width_mm);
        let mut found = BTreeMap::new();
        // A tile that is missing has its place filled by the one above it, as on the screen, if that is a picture.
        while let Some(id) = wanted.pop() {
            if found.contains_key(&id) {
                continue;
            }
            let tile = match source.tile(id).and_then(|bytes| Tile::of(bytes.unwrap_or_default())) {
                Ok(tile) => tile,
                Err(fault) => return (laid(found), Some(format!("The background is not complete: {fault}"))),
            };
            if matches!(tile, Tile::Missing) && id.level > self.about.lowest {
                wanted.push(TileId { level: id.level - 1, column: id.column / 2, row: id.row / 2 });
            }
            found.insert(id, tile);
        }
        (laid(found), None)
    }
}

impl Tiles {
    /// The tiles of the level that the paper can show.
    fn wanted(&self, bounds: Rect<f64>, width_mm: f64) -> Vec<TileId> {
        let west_north = world(Coord { x: bounds.min().x, y: bounds.max().y });
        let east_south = world(Coord { x: bounds.max().x, y: bounds.min().y });
        let across = (east_south.x - west_north.x).max(1e-9);
        let fitting = (width_mm * PX_PER_MM / SIDE / across).log2();
        let mut level = (fitting.round().clamp(0.0, 24.0) as u8).clamp(self.about.lowest, self.about.highest);
        loop {
            let count = 2_f64.powi(i32::from(level));
            let number = |at: f64| (at * count).floor().clamp(0.0, count - 1.0) as u32;
            let columns = number(west_north.x)..=number(east_south.x);
            let rows = number(west_north.y)..=number(east_south.y);
            if columns.clone().count().saturating_mul(rows.clone().count()) <= MOST {
                return rows.flat_map(|row| columns.clone().map(move |column| TileId { level, column, row })).collect();
            }
            if level <= self.about.lowest {
                return Vec::new();
            }
            level -= 1;
        }
    }
}

enum Tile {
    Missing,
    Picture((usize, usize), Vec<u8>),
    Drawn(Vec<(awn_core::report::Ink, Shape)>),
}

/// Part of a vector tile, 0 to 1 over the tile.
enum Shape {
    Area(geo::Polygon<f32>),
    Line(geo::LineString<f32>),
}

impl Tile {
    fn of(bytes: Vec<u8>) -> Result<Self, String> {
        if bytes.is_empty() {
            return Ok(Self::Missing);
        }
        if image::guess_format(&bytes).is_ok() {
            let image = image::load_from_memory(&bytes).map_err(|error| format!("a tile cannot be read ({error})."))?;
            let image = image.to_rgba8();
            return Ok(Self::Picture((image.width() as usize, image.height() as usize), image.into_raw()));
        }
        let vectors = decode_vectors(bytes).map_err(|error| format!("a tile cannot be read ({error})."))?;
        let areas = vectors.areas.into_iter().map(|area| (area.ink, Shape::Area(area.rings)));
        let lines = vectors.lines.into_iter().map(|(ink, line)| (ink, Shape::Line(line)));
        Ok(Self::Drawn(areas.chain(lines).collect()))
    }
}

/// Tiles in their places: pictures of lower levels below, areas below lines. Of vectors only the highest level is drawn: a tile of it
/// that is missing has nothing in it.
fn laid(found: BTreeMap<TileId, Tile>) -> Backdrop {
    let highest = found.keys().map(|id| id.level).max();
    let mut backdrop = Backdrop::default();
    for (id, tile) in found {
        let place = |at: Coord<f64>| {
            let side = 1.0 / 2_f64.powi(i32::from(id.level));
            degrees(Coord { x: (f64::from(id.column) + at.x) * side, y: (f64::from(id.row) + at.y) * side })
        };
        let placed = |at: Coord<f32>| place(Coord { x: f64::from(at.x), y: f64::from(at.y) });
        match tile {
            Tile::Missing => {}
            Tile::Picture(size, rgba) => {
                let part = |number: usize| number as f64 / (NET - 1) as f64;
                let net = (0..NET * NET).map(|at| place(Coord { x: part(at % NET), y: part(at / NET) })).collect();
                backdrop.pieces.push(Piece { size, rgba, net });
            }
            Tile::Drawn(_) if Some(id.level) != highest => {}
            Tile::Drawn(list) => backdrop.drawn.extend(list.into_iter().map(|(ink, shape)| match shape {
                Shape::Area(area) => {
                    let ring = |ring: &geo::LineString<f32>| ring.coords().map(|at| placed(*at)).collect();
                    let holes = area.interiors().iter().map(ring).collect();
                    (ink, Drawn::Area(geo::Polygon::new(ring(area.exterior()), holes)))
                }
                Shape::Line(line) => (ink, Drawn::Line(line.coords().map(|at| placed(*at)).collect())),
            })),
        }
    }
    backdrop.drawn.sort_by_key(|(ink, drawn)| (matches!(drawn, Drawn::Line(_)), *ink));
    backdrop
}
