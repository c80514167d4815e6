//! Land and borders of the world, coarse: enough to see on a stamp-sized map which corner of a country is meant.
//!
//! `assets/land/outlines.bin`, made from Natural Earth 1:50 000 000 (public domain), true to about 2 km; its README says how.
//! Places are degrees.

use std::sync::OnceLock;

use geo::{Coord, Rect};

const PACKED: &[u8] = include_bytes!("../../../assets/land/outlines.bin");
/// Units of the file in a degree.
const UNITS: f64 = 100.0;

/// How far inside a side of a window a place lies, by the window's least and greatest corner.
type Inside = fn(Coord<f64>, Coord<f64>, Coord<f64>) -> f64;

/// A ring of land or a border, with what it spans.
struct Outline {
    places: Vec<Coord<f64>>,
    bounds: Rect<f64>,
}

/// What lies in a window.
#[derive(Debug, Default)]
pub struct Cut {
    /// Rings of land, cut at the window's sides.
    pub land: Vec<Vec<Coord<f64>>>,
    /// Borders, a little beyond the window's sides.
    pub borders: Vec<Vec<Coord<f64>>>,
}

/// Rings of land, then borders.
fn outlines() -> &'static [Vec<Outline>; 2] {
    static OUTLINES: OnceLock<[Vec<Outline>; 2]> = OnceLock::new();
    OUTLINES.get_or_init(|| read(PACKED).unwrap_or_default())
}

fn read(packed: &[u8]) -> Option<[Vec<Outline>; 2]> {
    let mut bytes = packed.iter();
    let mut kinds: [Vec<Outline>; 2] = Default::default();
    while bytes.len() > 0 {
        let kind = kinds.get_mut(usize::try_from(number(&mut bytes)?).ok()?)?;
        let count = number(&mut bytes)?;
        let (mut x, mut y) = (0, 0);
        let mut places = Vec::new();
        for _ in 0..count {
            x += signed(number(&mut bytes)?);
            y += signed(number(&mut bytes)?);
            places.push(Coord { x: x as f64 / UNITS, y: y as f64 / UNITS });
        }
        let first = *places.first()?;
        let low = places.iter().fold(first, |low, at| Coord { x: low.x.min(at.x), y: low.y.min(at.y) });
        let high = places.iter().fold(first, |high, at| Coord { x: high.x.max(at.x), y: high.y.max(at.y) });
        kind.push(Outline { places, bounds: Rect::new(low, high) });
    }
    Some(kinds)
}

/// The next integer: seven bits a byte, the lowest first; the eighth says that more follow.
fn number(bytes: &mut std::slice::Iter<'_, u8>) -> Option<u64> {
    let (mut value, mut shift) = (0, 0);
    loop {
        let byte = bytes.next()?;
        value |= u64::from(byte & 127) << shift;
        if byte & 128 == 0 {
            return Some(value);
        }
        shift += 7;
        if shift > 56 {
            return None;
        }
    }
}

/// Even numbers stand for themselves halved, odd ones for what is below nought.
fn signed(value: u64) -> i64 {
    (value >> 1) as i64 ^ -((value & 1) as i64)
}

/// Land and borders in a window of degrees, which may reach beyond the 180th meridian.
pub fn within(window: Rect<f64>) -> Cut {
    let [land, borders] = outlines();
    let mut cut = Cut::default();
    for round in [-360.0, 0.0, 360.0] {
        let near = |outline: &&Outline| {
            let (low, high) = (outline.bounds.min(), outline.bounds.max());
            low.x + round <= window.max().x
                && high.x + round >= window.min().x
                && low.y <= window.max().y
                && high.y >= window.min().y
        };
        let turned = |outline: &Outline| -> Vec<Coord<f64>> {
            outline.places.iter().map(|at| Coord { x: at.x + round, y: at.y }).collect()
        };
        cut.land.extend(land.iter().filter(near).map(|ring| clipped(turned(ring), window)).filter(|ring| ring.len() > 2));
        for border in borders.iter().filter(near) {
            cut.borders.extend(pieces(&turned(border), window));
        }
    }
    cut
}

/// A ring cut at the sides of a window (Sutherland & Hodgman 1974); stretches along the sides are left in it.
fn clipped(ring: Vec<Coord<f64>>, window: Rect<f64>) -> Vec<Coord<f64>> {
    let (low, high) = (window.min(), window.max());
    let sides: [Inside; 4] =
        [|at, low, _| at.x - low.x, |at, _, high| high.x - at.x, |at, low, _| at.y - low.y, |at, _, high| high.y - at.y];
    let mut ring = ring;
    for inside in sides {
        let mut kept = Vec::with_capacity(ring.len());
        let before = ring.iter().skip(ring.len().saturating_sub(1)).chain(&ring);
        for (from, to) in before.zip(&ring) {
            let (a, b) = (inside(*from, low, high), inside(*to, low, high));
            if (a >= 0.0) != (b >= 0.0) {
                kept.push(*from + (*to - *from) * (a / (a - b)));
            }
            if b >= 0.0 {
                kept.push(*to);
            }
        }
        ring = kept;
    }
    ring
}

/// The stretches of a line that lie in a window, each with the place before and after.
fn pieces(line: &[Coord<f64>], window: Rect<f64>) -> Vec<Vec<Coord<f64>>> {
    let mut list: Vec<Vec<Coord<f64>>> = Vec::new();
    let mut open = false;
    for pair in line.windows(2) {
        let seen = pair.iter().any(|at| geo::Intersects::intersects(&window, at));
        match list.last_mut().filter(|_| open && seen) {
            Some(piece) => piece.push(pair[1]),
            None if seen => list.push(pair.to_vec()),
            None => {}
        }
        open = seen;
    }
    list
}

#[cfg(test)]
mod tests {
    use geo::{Contains as _, LineString, Point, Polygon};

    use super::*;

    fn window(lon: f64, lat: f64) -> Rect<f64> {
        Rect::new(Coord { x: lon - 4.0, y: lat - 3.0 }, Coord { x: lon + 4.0, y: lat + 3.0 })
    }

    fn on_land(cut: &Cut, lon: f64, lat: f64) -> bool {
        let inside = |ring: &Vec<Coord<f64>>| Polygon::new(LineString(ring.clone()), vec![]).contains(&Point::new(lon, lat));
        cut.land.iter().filter(|ring| inside(ring)).count() % 2 == 1
    }

    #[test]
    fn land_and_sea_are_where_an_atlas_has_them() {
        // Towns and seas by their usual places (from memory, to a tenth of a degree).
        for (lon, lat, land) in [
            (0.1, 52.2, true),     // Cambridge
            (2.8, 54.0, false),    // North Sea
            (11.6, 52.1, true),    // Magdeburg
            (18.5, 56.0, false),   // Baltic
            (117.3, -32.2, true),  // Western Australia
            (112.0, -32.2, false), // west of it
            (178.0, -38.5, true),  // Gisborne, near the 180th meridian
            (179.9, -38.5, false),
            (-97.0, 38.0, true), // Kansas
        ] {
            assert_eq!(on_land(&within(window(lon, lat)), lon, lat), land, "{lon} {lat}");
        }
    }

    #[test]
    fn a_window_over_the_180th_meridian_sees_both_sides() {
        // Vanua Levu and Taveuni of Fiji lie on either side of it.
        let both = within(Rect::new(Coord { x: 177.0, y: -19.0 }, Coord { x: 182.0, y: -15.0 }));
        assert!(both.land.iter().flatten().any(|at| at.x > 180.0) && both.land.iter().flatten().any(|at| at.x < 180.0));
    }

    #[test]
    fn borders_lie_between_countries() {
        // Rhine and Alps: there are borders; Britain's main island has none outside of Ireland.
        assert!(!within(window(8.0, 48.0)).borders.is_empty());
        let england = Rect::new(Coord { x: -2.0, y: 51.0 }, Coord { x: 1.0, y: 54.0 });
        assert!(within(england).borders.is_empty());
        assert!(
            within(england).land.iter().flatten().all(|at| (-2.0..=1.0).contains(&at.x) && (51.0..=54.0).contains(&at.y))
        );
    }
}
