//! Vector tiles (Mapbox Vector Tile 2.1) in the map's own ink: water, woods, buildings, roads, so that fields stand out.
//!
//! Layers are told apart by words in their names that open map schemas share; what is not known is left out.

use awn_core::report::Ink;
use geo::{Coord, Geometry, LineString, Polygon, TriangulateEarcut as _};
use mvt_reader::Reader;

/// A filled area; positions run from 0 to 1 over the tile.
#[derive(Debug)]
pub struct Area {
    /// What it is.
    pub ink: Ink,
    /// Its rings.
    pub rings: Polygon<f32>,
    /// The same cut into triangles: corners, three indices a triangle.
    pub corners: Vec<Coord<f32>>,
    /// See `corners`.
    pub triangles: Vec<u32>,
}

/// A tile's contents; positions run from 0 to 1 over the tile.
#[derive(Debug, Default)]
pub struct Vectors {
    /// Filled areas.
    pub areas: Vec<Area>,
    /// Lines.
    pub lines: Vec<(Ink, LineString<f32>)>,
}

/// Tiles with more corners than this are cut off: no screen shows them.
const MOST_CORNERS: usize = 200_000;

/// The kind of a layer by its name.
fn ink_of(layer: &str) -> Option<Ink> {
    let name = layer.to_ascii_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
    if has(&["label", "name", "poi", "place", "housenumber"]) {
        None
    } else if has(&["water"]) {
        Some(Ink::Water)
    } else if has(&["building"]) {
        Some(Ink::Building)
    } else if has(&["road", "transport", "street", "rail", "track", "path"]) {
        Some(Ink::Road)
    } else if has(&["bound", "border", "admin"]) {
        Some(Ink::Border)
    } else if has(&["wood", "forest", "park", "natural", "landcover"]) {
        Some(Ink::Green)
    } else {
        None
    }
}

/// Decodes a tile.
pub fn decode(bytes: Vec<u8>) -> Result<Vectors, String> {
    let reader = Reader::new(bytes).map_err(|error| error.to_string())?;
    let mut vectors = Vectors::default();
    let mut corners = 0;
    for layer in reader.get_layer_metadata().map_err(|error| error.to_string())? {
        let Some(ink) = ink_of(&layer.name) else { continue };
        let features = reader.get_features(layer.layer_index).map_err(|error| error.to_string())?;
        let side = layer.extent.max(1) as f32;
        for feature in features {
            if corners > MOST_CORNERS {
                return Ok(vectors);
            }
            corners += add(&mut vectors, ink, feature.get_geometry(), side);
        }
    }
    vectors.areas.sort_by_key(|area| area.ink);
    Ok(vectors)
}

/// Adds a geometry; gives the number of its corners.
fn add(vectors: &mut Vectors, ink: Ink, geometry: &Geometry<f32>, side: f32) -> usize {
    match geometry {
        Geometry::LineString(line) => add_line(vectors, ink, line, side),
        Geometry::MultiLineString(lines) => lines.iter().map(|line| add_line(vectors, ink, line, side)).sum(),
        Geometry::Polygon(polygon) => add_area(vectors, ink, polygon, side),
        Geometry::MultiPolygon(polygons) => polygons.iter().map(|polygon| add_area(vectors, ink, polygon, side)).sum(),
        Geometry::GeometryCollection(list) => list.iter().map(|one| add(vectors, ink, one, side)).sum(),
        _ => 0,
    }
}

fn place(at: Coord<f32>, side: f32) -> Coord<f32> {
    at / side
}

fn add_line(vectors: &mut Vectors, ink: Ink, line: &LineString<f32>, side: f32) -> usize {
    vectors.lines.push((ink, line.coords().map(|at| place(*at, side)).collect()));
    line.0.len()
}

fn add_area(vectors: &mut Vectors, ink: Ink, polygon: &Polygon<f32>, side: f32) -> usize {
    if matches!(ink, Ink::Border | Ink::Road) {
        return add_line(vectors, ink, polygon.exterior(), side);
    }
    let rings = geo::MapCoords::map_coords(polygon, |at| place(at, side));
    let raw = rings.earcut_triangles_raw();
    let corners: Vec<Coord<f32>> = raw.vertices.iter().map(|[x, y]| Coord { x: *x, y: *y }).collect();
    let count = corners.len();
    let triangles = raw.triangle_indices.iter().map(|at| *at as u32).collect();
    vectors.areas.push(Area { ink, rings, corners, triangles });
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layers_are_told_apart_by_their_names() {
        assert_eq!(ink_of("water"), Some(Ink::Water));
        assert_eq!(ink_of("waterway"), Some(Ink::Water));
        assert_eq!(ink_of("transportation"), Some(Ink::Road));
        assert_eq!(ink_of("water_name"), None);
        assert_eq!(ink_of("something else"), None);
    }

    #[test]
    fn damaged_tiles_are_refused_without_a_panic() {
        for bytes in [vec![0xff; 40], vec![0x1a, 0x05, 0x0a], b"not a tile".to_vec()] {
            // Either an error or an empty tile will do.
            if let Ok(vectors) = decode(bytes) {
                assert!(vectors.areas.is_empty() && vectors.lines.is_empty());
            }
        }
    }
}
