//! GeoJSON (RFC 7946): stops as points, walks as lines, fields as areas; rings by the right-hand rule.

use std::sync::Arc;

use geo::{Geometry, Orient as _};
use geojson::{Feature, FeatureCollection, GeometryValue, JsonObject};
use serde_json::{Value, json};

use crate::exchange::export::layer::{Layer, Value as Attribute};
use crate::exchange::export::stop_name;
use crate::model::{Field, Plan, Records};
use crate::units::M2_PER_HA;

type Plans = [(Arc<Field>, Arc<Plan>)];

/// One point a stop, with its share of the seed.
pub(super) fn stops(records: &Records, plans: &Plans) -> Vec<u8> {
    let features = plans.iter().flat_map(|(field, plan)| {
        plan.stops.iter().enumerate().map(|(index, stop)| {
            let properties = json!({
                "name": stop_name(field, index), "farm": records.farm_name(field), "field": field.name, "year": plan.year,
                "stop": index + 1, "share": stop.share, "tramline": stop.tramline,
            });
            feature(&Geometry::Point(geo::Point(stop.position)), properties)
        })
    });
    written(features.collect())
}

/// One line a walk.
pub(super) fn walks(records: &Records, plans: &Plans) -> Vec<u8> {
    let features = plans.iter().flat_map(|(field, plan)| {
        let walks = (1_usize..).zip(plan.walks()).filter(|(_, walk)| walk.line.0.len() > 1);
        walks.map(move |(person, walk)| {
            let properties = json!({
                "name": field.name, "farm": records.farm_name(field), "field": field.name, "year": plan.year,
                "stops": plan.stops.iter().filter(|stop| stop.person == person).count(), "person": person,
                "length_m": walk.length_m, "minutes": walk.minutes,
            });
            feature(&Geometry::LineString(walk.line.clone()), properties)
        })
    });
    written(features.collect())
}

/// One area a field.
pub(super) fn fields(records: &Records, year: i32) -> Vec<u8> {
    let features = records.fields_in(year).into_iter().map(|field| {
        let area_ha = (field.area_m2() / M2_PER_HA * 1e4).round() / 1e4;
        let properties = json!({ "farm": records.farm_name(&field), "name": field.name, "area_ha": area_ha });
        let shape = field.boundary.orient(geo::orient::Direction::Default);
        feature(&Geometry::MultiPolygon(shape), properties)
    });
    written(features.collect())
}

/// One feature a row of a layer.
pub(super) fn layer(layer: &Layer) -> Vec<u8> {
    let feature_of = |(geometry, values): &(Geometry<f64>, Vec<Attribute>)| {
        let value = |value: &Attribute| match value {
            Attribute::Text(text) => json!(text),
            Attribute::Whole(number) => json!(number),
            Attribute::Real(number) => json!(number),
            Attribute::None => Value::Null,
        };
        let object = layer.columns.iter().zip(values).map(|(name, held)| ((*name).to_owned(), value(held))).collect();
        feature(geometry, Value::Object(object))
    };
    written(layer.rows.iter().map(feature_of).collect())
}

fn feature(geometry: &Geometry<f64>, properties: Value) -> Feature {
    let properties: Option<JsonObject> = match properties {
        Value::Object(object) => Some(object),
        _ => None,
    };
    let geometry = Some(geojson::Geometry::new(GeometryValue::from(geometry)));
    Feature { geometry, properties, ..Feature::default() }
}

fn written(features: Vec<Feature>) -> Vec<u8> {
    let mut text = FeatureCollection { bbox: None, features, foreign_members: None }.to_string();
    text.push('\n');
    text.into_bytes()
}
