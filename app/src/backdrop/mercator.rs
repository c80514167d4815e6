//! Web Mercator (EPSG:3857) with the whole world as the unit square, x east, y south: what tiles are numbered in. It is for drawing
//! only; nothing is measured in it.

use geo::Coord;

/// Half the circumference of the earth at the equator over pi: radius of the WGS 84 ellipsoid, m.
pub const RADIUS_M: f64 = 6_378_137.0;

/// From degrees to the unit square.
pub fn world(lonlat: Coord<f64>) -> Coord<f64> {
    let lat = lonlat.y.clamp(-85.0, 85.0).to_radians();
    Coord {
        x: (lonlat.x + 180.0) / 360.0,
        y: 0.5 - (std::f64::consts::FRAC_PI_4 + lat / 2.0).tan().ln() / std::f64::consts::TAU,
    }
}

/// From the unit square to degrees.
pub fn degrees(world: Coord<f64>) -> Coord<f64> {
    let y = (0.5 - world.y) * std::f64::consts::TAU;
    Coord { x: world.x * 360.0 - 180.0, y: (2.0 * y.exp().atan() - std::f64::consts::FRAC_PI_2).to_degrees() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_published_web_mercator() {
        // EPSG Guidance Note 7-2 (2021), method 1024, example: 24°22'54.433"N 100°20'00"W -> E -11169055.58, N 2800000.00.
        let there = Coord { x: -(100.0 + 20.0 / 60.0), y: 24.0 + 22.0 / 60.0 + 54.433 / 3600.0 };
        let at = world(there);
        let side = std::f64::consts::TAU * RADIUS_M;
        assert!(((at.x - 0.5) * side + 11_169_055.58).abs() < 0.01);
        assert!(((0.5 - at.y) * side - 2_800_000.0).abs() < 0.01);
        let back = degrees(at);
        assert!((back.x - there.x).abs() < 1e-12 && (back.y - there.y).abs() < 1e-12);
    }
}
