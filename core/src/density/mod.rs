//! From scouting to a density surface on a grid in the field's local metre plane, and from there to patches.
//!
//! The surface comes from the latest survey, up to the harvest year asked for, that has a point inside the field or a zone
//! over it. Points: inverse distance ([`interpolate`]). Zones: the value of each zone by the area it covers of a cell
//! ([`zones`]). Classes stand for the middle of their published limits ([`crate::model::DensityClass`]).

mod grid;
mod interpolate;
mod patches;
mod zones;

pub use grid::Grid;
pub use interpolate::inverse_distance;
pub use patches::{SMALLEST_PATCH_M2, default_limit, patches};

use geo::{BoundingRect as _, Contains as _, MultiPolygon, Point};

use crate::crs::LocalPlane;
use crate::model::{DensityClass, DensityUnit, Field, Records, Survey, SurveyKind};
use crate::units::count;

/// Points up to this far outside the field still say something of its edge, m.
const REACH_M: f64 = 50.0;

/// How a surface was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceMethod {
    /// Inverse distance weighting of points.
    InverseDistance,
    /// Zones, weighted by area.
    Zones,
    /// Nothing was scouted: the same density everywhere.
    Even,
}

/// Density over one field.
#[derive(Debug)]
pub struct Surface {
    /// The plane of the grid.
    pub plane: LocalPlane,
    /// Density at cells; NaN outside the field.
    pub grid: Grid,
    /// Unit of the density; [`DensityUnit::Class`] never.
    pub unit: DensityUnit,
    /// How it was made.
    pub method: SurfaceMethod,
    /// What it was made from, in words: "42 points of 12 June 2026".
    pub source: String,
}

/// The density surface of a field from the latest survey up to harvest `year` that covers it; where there is none, an even
/// one of 1. None if the field has no usable shape or `cell_m` is no length.
pub fn surface(records: &Records, field: &Field, year: i32, cell_m: f64) -> Option<Surface> {
    let plane = LocalPlane::around(field.boundary.bounding_rect()?).ok()?;
    let boundary = plane.to_metres(&field.boundary);
    let grid = Grid::over(&boundary, cell_m)?;
    let mut surveys: Vec<_> = records.surveys.values().filter(|survey| survey.harvest_year() <= year).collect();
    surveys.sort_by_key(|survey| std::cmp::Reverse((survey.date, survey.id)));
    let made = surveys.iter().find_map(|survey| of_survey(survey, field, &plane, &boundary, &grid));
    let (values, unit, method, source) = made.unwrap_or_else(|| {
        let even = grid.values.iter().map(|value| if value.is_nan() { f64::NAN } else { 1.0 }).collect();
        (even, DensityUnit::HeadsPerM2, SurfaceMethod::Even, "not scouted; taken as even".to_owned())
    });
    Some(Surface { plane, grid: Grid { values, ..grid }, unit, method, source })
}

/// Cell values, unit, method and source.
type Made = (Vec<f64>, DensityUnit, SurfaceMethod, String);

fn of_survey(survey: &Survey, field: &Field, plane: &LocalPlane, boundary: &MultiPolygon<f64>, grid: &Grid) -> Option<Made> {
    let day = survey.date.strftime("%-d %B %Y");
    let unit = survey.unit.surface_unit();
    match survey.kind {
        SurveyKind::Points => {
            let points = points_near(survey, field, plane);
            let inside = points.iter().filter(|(at, _)| boundary.contains(&Point(*at))).count();
            if inside == 0 {
                return None;
            }
            let values = inverse_distance(grid, &points);
            Some((values, unit, SurfaceMethod::InverseDistance, format!("{} of {day}", count(inside, "point"))))
        }
        SurveyKind::Zones => {
            let (values, zones) = zones::by_area(survey, field, plane, grid, |value| density_of(survey.unit, value))?;
            Some((values, unit, SurfaceMethod::Zones, format!("{} of {day}", count(zones, "zone"))))
        }
    }
}

/// Points of a survey in or near a field: metres, density.
fn points_near(survey: &Survey, field: &Field, plane: &LocalPlane) -> Vec<(geo::Coord<f64>, f64)> {
    let Some(rect) = field.boundary.bounding_rect() else { return Vec::new() };
    // A degree of latitude is about 111 km long, one of longitude shorter by the cosine.
    let reach_y = REACH_M / 111_000.0;
    let reach_x = reach_y / rect.center().y.to_radians().cos().max(0.01);
    survey
        .points
        .iter()
        .filter(|point| {
            let at = point.position;
            at.x >= rect.min().x - reach_x
                && at.x <= rect.max().x + reach_x
                && at.y >= rect.min().y - reach_y
                && at.y <= rect.max().y + reach_y
        })
        .map(|point| (plane.metres(point.position), density_of(survey.unit, point.value)))
        .collect()
}

/// A scouting value as a density in the surface's unit.
fn density_of(unit: DensityUnit, value: f64) -> f64 {
    match unit {
        DensityUnit::Class => DensityClass::from_number(value).map_or(0.0, DensityClass::plants_per_m2),
        _ => value,
    }
}
