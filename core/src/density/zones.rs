//! Zones to cells: each zone counts by the area it covers of a cell. Ground that no zone covers holds none.

use geo::{
    Area as _, BooleanOps as _, BoundingRect as _, Intersects as _, MultiPolygon, Polygon, PreparedGeometry, Relate as _,
};

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

/// Adds a zone's density to the cells it covers.
fn spread(area: &MultiPolygon<f64>, density: f64, grid: &Grid, values: &mut [f64]) {
    let prepared = PreparedGeometry::from(area.clone());
    let Some(bounds) = area.bounding_rect() else { return };
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            let Some(value) = values.get_mut(row * grid.columns + column).filter(|value| !value.is_nan()) else { continue };
            let middle = grid.centre(column, row);
            let reach = grid.cell_m;
            if middle.x < bounds.min().x - reach
                || middle.x > bounds.max().x + reach
                || middle.y < bounds.min().y - reach
                || middle.y > bounds.max().y + reach
            {
                continue;
            }
            let cell = Polygon::new(grid.corners(column, row).to_vec().into(), Vec::new());
            let how = prepared.relate(&cell);
            let share = if how.is_contains() || how.is_covers() {
                1.0
            } else if how.is_intersects() {
                area.intersection(&cell).unsigned_area() / (grid.cell_m * grid.cell_m)
            } else {
                0.0
            };
            *value += share * density;
        }
    }
}
