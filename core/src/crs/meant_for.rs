//! The part of the earth for which a system is made, as the EPSG dataset has it.

use geo::Coord;

use crate::crs::Crs;
use crate::crs::stray::with_proj;

/// Systems are used somewhat beyond their areas: one UTM zone for all of a country. Degrees of longitude and latitude (our choice,
/// no source).
const BEYOND_DEG: (f64, f64) = (15.0, 5.0);

/// Bounds in degrees, and their name.
#[derive(Debug, Clone, PartialEq)]
pub struct MeantFor {
    west: f64,
    south: f64,
    east: f64,
    north: f64,
    /// What lies in them, in the words of the dataset.
    pub name: String,
}

impl MeantFor {
    /// Whether a place in degrees lies in the area.
    pub fn holds(&self, place: Coord<f64>) -> bool {
        self.is_within(place, (0.0, 0.0))
    }

    /// Whether a place in degrees lies in or near the area.
    pub fn is_near(&self, place: Coord<f64>) -> bool {
        self.is_within(place, BEYOND_DEG)
    }

    fn is_within(&self, place: Coord<f64>, (east, north): (f64, f64)) -> bool {
        let within = |west: f64, to: f64| (west - east..=to + east).contains(&place.x);
        // An area across the date line ends west of where it begins.
        let lies = if self.west <= self.east {
            within(self.west, self.east)
        } else {
            within(self.west, 180.0) || within(-180.0, self.east)
        };
        lies && (self.south - north..=self.north + north).contains(&place.y)
    }
}

impl Crs {
    /// The area that the system is meant for; none if that is the whole earth, or not known.
    pub fn meant_for(&self) -> Option<MeantFor> {
        if *self == Self::Wgs84 {
            return None;
        }
        let system = with_proj(|builder| builder.proj(&self.definition())).ok()?.ok()?;
        let (area, name) = system.area_of_use().ok()?;
        let area = area?;
        Some(MeantFor {
            west: area.west,
            south: area.south,
            east: area.east,
            north: area.north,
            name: name.unwrap_or_default(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_of_the_epsg_dataset() {
        // EPSG:28992 is meant for the Netherlands (extent 1275: 3.2 to 7.22 E, 50.75 to 53.7 N).
        let area = Crs::Epsg(28992).meant_for().unwrap();
        assert!(area.name.contains("Netherlands"), "{}", area.name);
        assert!(area.holds(Coord { x: 5.0, y: 52.0 }) && !area.holds(Coord { x: 12.0, y: 55.0 }));
        assert!(area.is_near(Coord { x: 5.0, y: 52.0 }) && area.is_near(Coord { x: 12.0, y: 55.0 }));
        assert!(!area.is_near(Coord { x: -30.0, y: 52.0 }) && !area.is_near(Coord { x: 5.0, y: 10.0 }));
        assert_eq!(Crs::Wgs84.meant_for(), None);
    }
}
