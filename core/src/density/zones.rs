//! Zones to cells: each zone counts by the area it covers of a cell. Ground that no zone covers holds none.

use geo::{Area as _, BooleanOps as _, BoundingRect as _, Coord, Intersects as _, MultiPolygon};

use crate::crs::LocalPlane;
use crate::density::Grid;
use crate::model::{Field, ScoutZone, Survey};

/// Cell values and the number of zones used; none if no zone covers the field.
pub(super) fn by_area(
    survey: &Survey,
    field: &Field,
    plane: &LocalPlane,
    grid: &Grid,
    density: impl Fn(f64) -> f64,
) -> Option<(Vec<f64>, usize)> {
    let bounds = field.boundary.bounding_rect()?;
    let boundary = plane.to_metres(&field.boundary);
    let zones: Vec<(MultiPolygon<f64>, f64)> = survey
        .zones
        .iter()
        .filter(|zone| zone.area.bounding_rect().is_some_and(|rect| rect.intersects(&bounds)))
        .map(|zone| (plane.to_metres(&zone.area).intersection(&boundary), density(zone.value)))
        .filter(|(area, _)| area.unsigned_area() > ScoutZone::SLIVER_M2)
        .collect();
    if zones.is_empty() {
        return None;
    }
    let mut values: Vec<f64> = grid.values.iter().map(|held| if held.is_nan() { f64::NAN } else { 0.0 }).collect();
    for (area, density) in &zones {
        spread(area, *density, grid, &mut values);
    }
    Some((values, zones.len()))
}

/// Adds a zone's density to the cells it covers. Counted in cells of the grid, where cells are unit squares: rings are cut into
/// rows and these into columns, side by side (Sutherland & Hodgman 1974; what it leaves of a concave ring has the right area).
fn spread(area: &MultiPolygon<f64>, density: f64, grid: &Grid, values: &mut [f64]) {
    let across = grid.across();
    let in_cells = |at: &Coord<f64>| {
        let from = *at - grid.origin;
        Coord {
            x: (from.x * across.x + from.y * across.y) / grid.cell_m,
            y: (from.x * grid.along.x + from.y * grid.along.y) / grid.cell_m,
        }
    };
    let rings = area
        .iter()
        .flat_map(|part| std::iter::once((part.exterior(), 1.0)).chain(part.interiors().iter().map(|hole| (hole, -1.0))));
    for (ring, sign) in rings {
        let mut above: Vec<Coord<f64>> = ring.coords().skip(1).map(in_cells).collect();
        for row in first_cell(&above, |at| at.y)..grid.rows {
            let end = (row + 1) as f64;
            let mut right = cut(&above, |at| end - at.y);
            above = cut(&above, |at| at.y - end);
            for column in first_cell(&right, |at| at.x)..grid.columns {
                let end = (column + 1) as f64;
                let share = covered(&cut(&right, |at| end - at.x));
                if let Some(value) = values.get_mut(row * grid.columns + column) {
                    *value += sign * share * density;
                }
                right = cut(&right, |at| at.x - end);
                if right.is_empty() {
                    break;
                }
            }
            if above.is_empty() {
                break;
            }
        }
    }
}

/// The first row or column that a ring reaches into.
fn first_cell(ring: &[Coord<f64>], of: fn(&Coord<f64>) -> f64) -> usize {
    ring.iter().map(of).fold(f64::INFINITY, f64::min).max(0.0) as usize
}

/// What of a ring, without its closing corner, lies where a linear function is not negative.
fn cut(ring: &[Coord<f64>], inside: impl Fn(Coord<f64>) -> f64) -> Vec<Coord<f64>> {
    let mut left = Vec::with_capacity(ring.len() + 4);
    for (at, corner) in ring.iter().enumerate() {
        let before = ring[(at + ring.len() - 1) % ring.len()];
        let (from, to) = (inside(before), inside(*corner));
        if (from < 0.0) != (to < 0.0) {
            left.push(before + (*corner - before) * (from / (from - to)));
        }
        if to >= 0.0 {
            left.push(*corner);
        }
    }
    if left.len() < 3 { Vec::new() } else { left }
}

/// The area within a ring without its closing corner.
fn covered(ring: &[Coord<f64>]) -> f64 {
    let Some(first) = ring.first() else { return 0.0 };
    let pairs = ring.windows(2).map(|pair| (pair[0] - *first, pair[1] - *first));
    pairs.map(|(a, b)| a.x * b.y - b.x * a.y).sum::<f64>().abs() / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn cells_get_the_part_that_a_zone_covers() {
        // A concave zone with a hole on a turned grid, beside the general overlay of the same shapes.
        let field = MultiPolygon(vec![polygon!((x: -60., y: -45.), (x: 70., y: -50.), (x: 64., y: 52.), (x: -55., y: 48.))]);
        let zone = MultiPolygon(vec![polygon!(
            exterior: [(x: -30.3, y: -20.), (x: 41., y: -33.7), (x: 12.2, y: -2.1), (x: 38., y: 30.), (x: -28., y: 24.)],
            interiors: [[(x: -12., y: -8.), (x: -3., y: 9.), (x: 5., y: -4.)]],
        )]);
        for degrees in [0.0, 31.0, 90.0] {
            let grid = Grid::over(&field, 5.0, degrees).unwrap();
            let mut values = vec![0.0; grid.values.len()];
            spread(&zone, 2.0, &grid, &mut values);
            for (index, value) in values.iter().enumerate() {
                let corners = grid.corners(index % grid.columns, index / grid.columns);
                let cell = geo::Polygon::new(corners.to_vec().into(), Vec::new());
                let expected = 2.0 * zone.intersection(&cell).unsigned_area() / 25.0;
                assert!((value - expected).abs() < 1e-5, "turned by {degrees}, cell {index}: {value} {expected}");
            }
            assert!((values.iter().sum::<f64>() * 25.0 / 2.0 - zone.unsigned_area()).abs() < 1e-9 * zone.unsigned_area());
        }
    }
}
