//! Changing what a plan was made on: boundary, gates, no-go areas, tramlines.

use geo::Coord;

use crate::model::{FieldId, Record, Records};
use crate::project::{Command, Edit};
use crate::stops;

/// A change of one field's ground.
#[derive(Debug, Clone, Default)]
pub struct Ground {
    /// What it is called in the undo menu: "Move gate of Long Acre".
    pub name: String,
    /// Records as they shall be: of the field itself, its gates, no-go areas and tramlines.
    pub put: Vec<Record>,
    /// Records that shall go.
    pub remove: Vec<Record>,
}

/// The command that makes the change, and works out again every plan of the field from the harvest year on: the same stops, each
/// on the nearest tramline that is left, with walk and figures as the ground is then. Gives the command, and a sentence for each plan
/// that can no longer be walked; such a plan stays as it was.
pub fn change_ground(records: &Records, field: FieldId, year: i32, change: &Ground) -> (Command, Vec<String>) {
    let mut edit = Edit::new(records, change.name.clone());
    let mut after = records.clone();
    for record in &change.remove {
        edit.remove(record);
        after.remove(record);
    }
    for record in &change.put {
        edit.put(record.clone());
        after.put(record.clone());
    }
    let mut said = Vec::new();
    for plan in records.plans.values().filter(|plan| plan.field == field && plan.year >= year) {
        let positions: Vec<(Coord<f64>, bool)> = plan.stops.iter().map(|stop| (stop.position, stop.pinned)).collect();
        match stops::with_stops(&after, plan, &positions) {
            Ok(again) => edit.put(Record::Plan(again)),
            Err(error) => said.push(format!("The plan for harvest {} stays as it was: {error}.", plan.year)),
        }
    }
    (edit.done(), said)
}
