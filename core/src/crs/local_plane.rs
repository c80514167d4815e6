//! The local metre plane: a transverse Mercator on WGS 84 centred on one field.
//!
//! Within 5 km of the centre its scale is wrong by less than 4e-7, so lengths and areas of a field can be measured in it.

use geo::{Centroid as _, Coord, MapCoords, MultiPolygon, Rect};
use proj4rs::Proj;

/// Converts between degrees (x = longitude, y = latitude, WGS 84) and metres (x = east, y = north of the centre).
pub struct LocalPlane {
    centre: Coord<f64>,
    plane: Proj,
    degrees: Proj,
}

impl std::fmt::Debug for LocalPlane {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "LocalPlane({}, {})", self.centre.x, self.centre.y)
    }
}

/// The centre lies outside the world.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{0}, {1} is no longitude and latitude in degrees")]
pub struct NotDegrees(f64, f64);

impl LocalPlane {
    /// A plane centred on a position in degrees.
    pub fn at(centre: Coord<f64>) -> Result<Self, NotDegrees> {
        let wrong = NotDegrees(centre.x, centre.y);
        if !(centre.x.abs() <= 180.0 && centre.y.abs() <= 89.0) {
            return Err(wrong);
        }
        let definition =
            format!("+proj=tmerc +lat_0={} +lon_0={} +k=1 +x_0=0 +y_0=0 +ellps=WGS84 +units=m +no_defs", centre.y, centre.x);
        let plane = Proj::from_proj_string(&definition).map_err(|_unusable| wrong)?;
        let degrees = Proj::from_proj_string("+proj=longlat +ellps=WGS84 +no_defs").map_err(|_unusable| wrong)?;
        Ok(Self { centre, plane, degrees })
    }

    /// A plane centred on the middle of bounds in degrees.
    pub fn around(bounds: Rect<f64>) -> Result<Self, NotDegrees> {
        Self::at(bounds.center())
    }

    /// A plane centred on the centroid of a shape in degrees. It goes with the shape: turned or moved, the shape has the same
    /// coordinates but for the turn, which the middle of its bounds does not give. None without an area inside the world.
    pub fn over(shape: &MultiPolygon<f64>) -> Option<Self> {
        // Taken in degrees the centroid is some millimetres off, as degrees of longitude are shorter on one side of the shape.
        let near = Self::at(shape.centroid()?.0).ok()?;
        Self::at(near.degrees(near.to_metres(shape).centroid()?.0)).ok()
    }

    /// The centre in degrees.
    pub fn centre(&self) -> Coord<f64> {
        self.centre
    }

    /// Metres from degrees. A position that cannot be converted becomes NaN.
    pub fn metres(&self, lonlat: Coord<f64>) -> Coord<f64> {
        let mut point = (lonlat.x.to_radians(), lonlat.y.to_radians(), 0.0);
        match proj4rs::transform::transform(&self.degrees, &self.plane, &mut point) {
            Ok(()) => Coord { x: point.0, y: point.1 },
            Err(_) => Coord { x: f64::NAN, y: f64::NAN },
        }
    }

    /// Degrees from metres. A position that cannot be converted becomes NaN.
    pub fn degrees(&self, metres: Coord<f64>) -> Coord<f64> {
        let mut point = (metres.x, metres.y, 0.0);
        match proj4rs::transform::transform(&self.plane, &self.degrees, &mut point) {
            Ok(()) => Coord { x: point.0.to_degrees(), y: point.1.to_degrees() },
            Err(_) => Coord { x: f64::NAN, y: f64::NAN },
        }
    }

    /// Any geometry from degrees to metres.
    pub fn to_metres<G: MapCoords<f64, f64>>(&self, geometry: &G) -> G::Output {
        geometry.map_coords(|c| self.metres(c))
    }

    /// Any geometry from metres to degrees.
    pub fn to_degrees<G: MapCoords<f64, f64>>(&self, geometry: &G) -> G::Output {
        geometry.map_coords(|c| self.degrees(c))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::geodesic_area_m2;
    use geo::{Area, MultiPolygon, polygon};

    #[test]
    fn there_and_back_within_a_micrometre() {
        let plane = LocalPlane::at(Coord { x: -0.4, y: 52.6 }).unwrap();
        for (x, y) in [(0.0, 0.0), (812.5, -430.25), (-3000.0, 2900.0)] {
            let back = plane.metres(plane.degrees(Coord { x, y }));
            assert!((back.x - x).abs() < 1e-6 && (back.y - y).abs() < 1e-6, "{back:?}");
        }
    }

    #[test]
    fn plane_area_agrees_with_geodesic_area() {
        let square = polygon![(x: -1.0, y: 52.0), (x: -0.99, y: 52.0), (x: -0.99, y: 52.01), (x: -1.0, y: 52.01)];
        let shape = MultiPolygon(vec![square]);
        let plane = LocalPlane::at(Coord { x: -0.995, y: 52.005 }).unwrap();
        let ratio = plane.to_metres(&shape).unsigned_area() / geodesic_area_m2(&shape);
        assert!((ratio - 1.0).abs() < 1e-5, "{ratio}");
    }
}
