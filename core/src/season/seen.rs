//! Whether the weed was seen in a field: the latest scouting that speaks of it.

use std::collections::BTreeMap;

use geo::{BooleanOps as _, BoundingRect as _, Contains as _, Intersects as _, Point};
use jiff::civil::Date;
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

use crate::geometry::geodesic_area_m2;
use crate::model::{Field, FieldId, Records, ScoutZone, Survey};

/// What the latest scouting of a field saw.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The day of the survey.
    pub date: Date,
    /// The greatest value in or on the field, in the survey's unit; 0: looked, and found none.
    pub greatest: f64,
}

/// For every field with scouting up to harvest `year`, what the latest survey saw.
pub fn weed_seen(records: &Records, year: i32) -> BTreeMap<FieldId, Seen> {
    let mut surveys: Vec<_> = records.surveys.values().filter(|survey| survey.harvest_year() <= year).collect();
    surveys.sort_by_key(|survey| (survey.date, survey.id));
    let mut seen = BTreeMap::new();
    for survey in surveys {
        let points = point_tree(survey);
        for field in records.fields.values() {
            if let Some(greatest) = greatest_in(field, survey, &points) {
                seen.insert(field.id, Seen { date: survey.date, greatest });
            }
        }
    }
    seen
}

type ValuedPoint = GeomWithData<[f64; 2], f64>;

fn point_tree(survey: &Survey) -> RTree<ValuedPoint> {
    let points = survey.points.iter().map(|point| ValuedPoint::new([point.position.x, point.position.y], point.value));
    RTree::bulk_load(points.collect())
}

fn greatest_in(field: &Field, survey: &Survey, points: &RTree<ValuedPoint>) -> Option<f64> {
    let rect = field.boundary.bounding_rect()?;
    let envelope = AABB::from_corners([rect.min().x, rect.min().y], [rect.max().x, rect.max().y]);
    let at_points = points
        .locate_in_envelope_intersecting(&envelope)
        .filter(|point| field.boundary.contains(&Point::new(point.geom()[0], point.geom()[1])))
        .map(|point| point.data);
    let in_zones = survey
        .zones
        .iter()
        .filter(|zone| zone.area.bounding_rect().is_some_and(|zone| zone.intersects(&rect)))
        .filter(|zone| geodesic_area_m2(&zone.area.intersection(&field.boundary)) > ScoutZone::SLIVER_M2)
        .map(|zone| zone.value);
    at_points.chain(in_zones).reduce(f64::max)
}
