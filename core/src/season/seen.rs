//! What scouting saw of the weed in a field, survey by survey.

use std::collections::BTreeMap;

use geo::{BooleanOps as _, BoundingRect as _, Contains as _, Coord, Intersects as _, MultiPolygon, Point, Rect};
use jiff::civil::Date;
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

use crate::geometry::geodesic_area_m2;
use crate::model::{DensityClass, DensityUnit, FieldId, Records, ScoutRaster, ScoutZone, Survey, SurveyKind};

/// What a survey saw in a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The day of the survey.
    pub date: Date,
    /// The harvest it is of: an autumn survey is of the next year's.
    pub harvest: i32,
    /// The greatest value in or on the field, in the survey's unit; 0: looked, and found none.
    pub greatest: f64,
    /// Mean over the field: of points, or of zones and pixels by area; none: places without values.
    pub mean: Option<f64>,
    /// Unit of the mean: heads/m2 or plants/m2.
    pub unit: DensityUnit,
}

/// For every field with scouting up to harvest `year`, what each survey saw, the latest last.
pub fn surveys_by_field(records: &Records, year: i32) -> BTreeMap<FieldId, Vec<Seen>> {
    let mut surveys: Vec<_> = records.surveys.values().filter(|survey| survey.harvest_year() <= year).collect();
    surveys.sort_by_key(|survey| (survey.date, survey.id));
    let mut seen: BTreeMap<FieldId, Vec<Seen>> = BTreeMap::new();
    for survey in surveys {
        let points = point_tree(survey);
        for field in records.fields.values() {
            if let Some(found) = seen_in(&field.boundary, survey, &points) {
                seen.entry(field.id).or_default().push(found);
            }
        }
    }
    seen
}

/// For every field with scouting up to harvest `year`, what the latest survey saw.
pub fn weed_seen(records: &Records, year: i32) -> BTreeMap<FieldId, Seen> {
    let all = surveys_by_field(records, year).into_iter();
    all.filter_map(|(field, mut seen)| seen.pop().map(|last| (field, last))).collect()
}

type ValuedPoint = GeomWithData<[f64; 2], f64>;

fn point_tree(survey: &Survey) -> RTree<ValuedPoint> {
    let points = survey.points.iter().map(|point| ValuedPoint::new([point.position.x, point.position.y], point.value));
    RTree::bulk_load(points.collect())
}

fn seen_in(boundary: &MultiPolygon<f64>, survey: &Survey, points: &RTree<ValuedPoint>) -> Option<Seen> {
    let rect = boundary.bounding_rect()?;
    let envelope = AABB::from_corners([rect.min().x, rect.min().y], [rect.max().x, rect.max().y]);
    let at_points = points
        .locate_in_envelope_intersecting(&envelope)
        .filter(|point| boundary.contains(&Point::new(point.geom()[0], point.geom()[1])))
        .map(|point| (point.data, 1.0));
    let in_zones = survey
        .zones
        .iter()
        .filter(|zone| zone.area.bounding_rect().is_some_and(|zone| zone.intersects(&rect)))
        .map(|zone| (zone.value, geodesic_area_m2(&zone.area.intersection(boundary))))
        .filter(|(_, area)| *area > ScoutZone::SLIVER_M2);
    let in_rasters = survey.rasters.iter().flat_map(|raster| pixels(raster, boundary, &rect));
    // Points, zones and pixels do not come together in one survey, so that their weights need no common measure.
    let values: Vec<(f64, f64)> = at_points.chain(in_zones).chain(in_rasters).collect();
    let greatest = values.iter().map(|(value, _)| *value).reduce(f64::max)?;
    let weight: f64 = values.iter().map(|(_, weight)| weight).sum();
    let sum: f64 = values.iter().map(|(value, weight)| density(*value, survey.unit) * weight).sum();
    let mean = (survey.kind != SurveyKind::Places && weight > 0.0).then(|| sum / weight);
    Some(Seen { date: survey.date, harvest: survey.harvest_year(), greatest, mean, unit: survey.unit.surface_unit() })
}

/// A value as density: classes stand for plants/m2.
fn density(value: f64, unit: DensityUnit) -> f64 {
    match unit {
        DensityUnit::Class => DensityClass::from_number(value).map_or(0.0, DensityClass::plants_per_m2),
        DensityUnit::HeadsPerM2 | DensityUnit::PlantsPerM2 => value,
    }
}

/// More pixels than this over one field are looked at each second, third and so on.
const MOST_PIXELS: usize = 40_000;

fn pixels(raster: &ScoutRaster, boundary: &MultiPolygon<f64>, rect: &Rect<f64>) -> Vec<(f64, f64)> {
    let [top_left, top_right, bottom_left] = raster.corners;
    if raster.values.is_empty() || !raster.outline().bounding_rect().is_some_and(|outline| outline.intersects(rect)) {
        return Vec::new();
    }
    let (columns, rows) = (raster.columns.max(1) as f64, raster.rows().max(1) as f64);
    let step = raster.values.len().div_ceil(MOST_PIXELS);
    let place = |at: usize| -> Coord<f64> {
        let (column, row) = ((at % raster.columns.max(1)) as f64 + 0.5, (at / raster.columns.max(1)) as f64 + 0.5);
        top_left + (top_right - top_left) * (column / columns) + (bottom_left - top_left) * (row / rows)
    };
    let held = raster.values.iter().enumerate().step_by(step).filter(|(_, value)| **value >= 0.0);
    held.filter(|(at, _)| boundary.contains(&Point(place(*at)))).map(|(_, value)| (f64::from(*value), 1.0)).collect()
}
