//! A position as people read it off a map: letters, easting and northing of the British National Grid in Great Britain, UTM
//! zone, easting and northing elsewhere.
//!
//! Letters: squares of 500 km and, in them, of 100 km, each lettered row by row from the north-west without I (Ordnance Survey,
//! "A guide to coordinate systems in Great Britain", section on the National Grid reference system).

use geo::Coord;

use crate::crs::system::BRITISH_GRID;
use crate::crs::{Converter, Crs};

/// Letters and metres inside the 100 km square, "TL 12345 67890"; none outside the lettered squares. `grid`: easting and
/// northing, m.
pub fn grid_letters(grid: Coord<f64>) -> Option<String> {
    // The lettered squares begin 1000 km west and 500 km south of the grid's origin.
    let (east, north) = ((grid.x / 100_000.0).floor() as i64, (grid.y / 100_000.0).floor() as i64);
    if !(0..7).contains(&east) || !(0..13).contains(&north) {
        return None;
    }
    let letter = |column: i64, row_from_south: i64| {
        let number = (4 - row_from_south) * 5 + column;
        // The alphabet without I.
        let number = number + i64::from(number >= 8);
        char::from(b'A' + number as u8)
    };
    let large = letter(2 + east / 5, 1 + north / 5);
    let small = letter(east % 5, north % 5);
    // Figures are cut, not rounded, so that they name the square that the place lies in.
    let inside = |metres: f64| metres.rem_euclid(100_000.0).floor() as i64;
    Some(format!("{large}{small} {:05} {:05}", inside(grid.x), inside(grid.y)))
}

/// The UTM zone of a longitude, 1 to 60, without the exceptions of Norway and Svalbard.
fn utm_zone(lon: f64) -> u32 {
    (((lon + 180.0) / 6.0).floor() as i64).rem_euclid(60) as u32 + 1
}

/// Names positions; keeps the converter of the last UTM zone, which is costly to make.
#[derive(Debug, Default)]
pub struct PlaceNames {
    british: Option<Converter>,
    utm: Option<(u32, Option<Converter>)>,
}

impl PlaceNames {
    /// The grid reference of a position in degrees; none where no grid reaches.
    pub fn name(&mut self, lonlat: Coord<f64>) -> Option<String> {
        self.british(lonlat).or_else(|| self.utm(lonlat))
    }

    fn british(&mut self, lonlat: Coord<f64>) -> Option<String> {
        // Eire and the continent lie inside the rectangle of OSTN15 but not on the grid's maps.
        let island = (-8.7..=1.8).contains(&lonlat.x) && (49.8..=61.0).contains(&lonlat.y);
        let ireland = lonlat.x < -5.3 && lonlat.y < 55.45;
        if !island || ireland {
            return None;
        }
        if self.british.is_none() {
            self.british = Converter::new(&Crs::Epsg(BRITISH_GRID)).ok();
        }
        let mut at = [lonlat];
        self.british.as_ref()?.from_lonlat(&mut at).ok()?;
        grid_letters(at[0])
    }

    fn utm(&mut self, lonlat: Coord<f64>) -> Option<String> {
        if !(-80.0..=84.0).contains(&lonlat.y) {
            return None;
        }
        let zone = utm_zone(lonlat.x);
        let south = lonlat.y < 0.0;
        let code = if south { 32_700 } else { 32_600 } + zone;
        if self.utm.as_ref().is_none_or(|(of, _)| *of != code) {
            self.utm = Some((code, Converter::new(&Crs::Epsg(code)).ok()));
        }
        let mut at = [lonlat];
        self.utm.as_ref()?.1.as_ref()?.from_lonlat(&mut at).ok()?;
        let half = if south { "south" } else { "north" };
        Some(format!("UTM {zone} {half} {:.0} {:.0}", at[0].x.floor(), at[0].y.floor()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_of_well_known_squares() {
        // Ordnance Survey, "A guide to coordinate systems in Great Britain": TG 51409 13177 is easting 651409, northing 313177.
        assert_eq!(grid_letters(Coord { x: 651_409.9, y: 313_177.3 }).as_deref(), Some("TG 51409 13177"));
        // Squares as printed on the index of the national maps (from memory).
        for (x, y, letters) in [
            (0.0, 0.0, "SV"),
            (530_000.0, 180_000.0, "TQ"),
            (325_000.0, 673_000.0, "NT"),
            (500_000.0, 200_000.0, "TL"),
            (440_000.0, 1_140_000.0, "HU"),
            (200_000.0, 900_000.0, "NC"),
        ] {
            assert!(
                grid_letters(Coord { x, y }).unwrap().starts_with(letters),
                "{x} {y}: {:?}",
                grid_letters(Coord { x, y })
            );
        }
        assert_eq!(grid_letters(Coord { x: -1.0, y: 0.0 }), None);
    }

    #[test]
    fn elsewhere_the_zone_is_named() {
        let mut names = PlaceNames::default();
        // EPSG Guidance Note 7-2: zone 31 runs from 0 to 6 degrees east; on its central meridian the easting is 500 000 m.
        let name = names.name(Coord { x: 3.0, y: 48.0 }).unwrap();
        assert!(name.starts_with("UTM 31 north 500000 53") || name.starts_with("UTM 31 north 499999 53"), "{name}");
        assert!(names.name(Coord { x: -0.5, y: 52.1 }).unwrap().starts_with("TL "));
        assert_eq!(names.name(Coord { x: 0.0, y: 89.0 }), None);
    }
}
