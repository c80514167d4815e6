//! Stops, walks or fields as one layer of shapes with attributes, for formats that any GIS opens.

use std::sync::Arc;

use geo::{Geometry, Orient as _};

use crate::exchange::export::stop_name;
use crate::model::{Field, Plan, Records};
use crate::units::M2_PER_HA;

type Plans = [(Arc<Field>, Arc<Plan>)];

/// One attribute of a shape.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::exchange) enum Value {
    Text(String),
    Whole(i64),
    Real(f64),
    None,
}

/// A layer in degrees.
pub(super) struct Layer {
    /// Name of the layer.
    pub name: &'static str,
    /// Names of the attributes, each of up to 10 letters, which is what a shapefile can hold.
    pub columns: &'static [&'static str],
    /// Shapes, each with as many values as there are columns.
    pub rows: Vec<(Geometry<f64>, Vec<Value>)>,
}

/// One point a stop.
pub(super) fn stops(records: &Records, plans: &Plans) -> Layer {
    let of_plan = |(field, plan): &(Arc<Field>, Arc<Plan>)| {
        let stops = plan.stops.iter().enumerate().map(|(index, stop)| {
            let values = vec![
                Value::Text(stop_name(field, index)),
                Value::Text(records.farm_name(field).to_owned()),
                Value::Text(field.name.clone()),
                Value::Whole(i64::from(plan.year)),
                Value::Whole(index as i64 + 1),
                Value::Real(stop.share),
                stop.tramline.map_or(Value::None, |number| Value::Whole(i64::from(number))),
            ];
            (Geometry::Point(geo::Point(stop.position)), values)
        });
        stops.collect::<Vec<_>>()
    };
    let columns = &["name", "farm", "field", "year", "stop", "share", "tramline"];
    Layer { name: "stops", columns, rows: plans.iter().flat_map(of_plan).collect() }
}

/// One line a walk.
pub(super) fn walks(records: &Records, plans: &Plans) -> Layer {
    let of_plan = |(field, plan): &(Arc<Field>, Arc<Plan>)| {
        let walks = (1..).zip(plan.walks()).filter(|(_, walk)| walk.line.0.len() > 1).map(|(person, walk)| {
            let values = vec![
                Value::Text(field.name.clone()),
                Value::Text(records.farm_name(field).to_owned()),
                Value::Whole(i64::from(plan.year)),
                Value::Whole(person),
                Value::Real(walk.length_m),
                Value::Real(walk.minutes),
            ];
            (Geometry::LineString(walk.line.clone()), values)
        });
        walks.collect::<Vec<_>>()
    };
    let columns = &["name", "farm", "year", "person", "length_m", "minutes"];
    Layer { name: "walks", columns, rows: plans.iter().flat_map(of_plan).collect() }
}

/// One area a field.
pub(super) fn fields(records: &Records, year: i32) -> Layer {
    let row = |field: Arc<Field>| {
        let values = vec![
            Value::Text(field.name.clone()),
            Value::Text(records.farm_name(&field).to_owned()),
            Value::Real((field.area_m2() / M2_PER_HA * 1e4).round() / 1e4),
            records.lineage(&field).map_or(Value::None, Value::Text),
        ];
        (Geometry::MultiPolygon(field.boundary.orient(geo::orient::Direction::Default)), values)
    };
    let columns = &["name", "farm", "area_ha", "came_from"];
    Layer { name: "fields", columns, rows: records.fields_in(year).into_iter().map(row).collect() }
}
