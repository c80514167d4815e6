//! GPX 1.1: stops as waypoints, walks as tracks.

use std::sync::Arc;

use geo::Point;
use gpx::{Gpx, GpxVersion, Track, TrackSegment, Waypoint};

use crate::exchange::export::stop_name;
use crate::model::{Field, Plan, Walk};

type Plans = [(Arc<Field>, Arc<Plan>)];

/// Waypoints named by field and number, in walking order.
pub(super) fn stops(plans: &Plans) -> Result<Vec<u8>, String> {
    let waypoints = plans.iter().flat_map(|(field, plan)| {
        plan.stops.iter().enumerate().map(|(index, stop)| {
            let mut waypoint = Waypoint::new(Point(stop.position));
            waypoint.name = Some(text(&stop_name(field, index)));
            waypoint.description = Some(format!("{:.0} % of the seed", stop.share * 100.0));
            waypoint
        })
    });
    write(&Gpx { waypoints: waypoints.collect(), ..empty() })
}

/// One track a walk, from the gate round the stops and back; two people have two.
pub(super) fn walks(plans: &Plans) -> Result<Vec<u8>, String> {
    let mut tracks = Vec::new();
    for (field, plan) in plans {
        for (person, walk) in (1..).zip(plan.walks()).filter(|(_, walk)| !walk.line.0.is_empty()) {
            tracks.push(track(field, plan, person, walk));
        }
    }
    write(&Gpx { tracks, ..empty() })
}

/// The track of one person's walk.
pub(super) fn track(field: &Field, plan: &Plan, person: usize, walk: &Walk) -> Track {
    let mut track = Track::new();
    let own = if plan.second_walk.is_some() { format!(", person {person}") } else { String::new() };
    track.name = Some(text(&field.name) + &own);
    track.description = Some(format!("{:.0} m, {:.0} minutes", walk.length_m, walk.minutes));
    track.segments = vec![TrackSegment { points: walk.line.points().map(Waypoint::new).collect() }];
    track
}

pub(super) fn empty() -> Gpx {
    Gpx { version: GpxVersion::Gpx11, creator: Some("Awn".to_owned()), ..Gpx::default() }
}

/// A text without the control characters that XML cannot hold.
pub(super) fn text(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).collect()
}

pub(super) fn write(file: &Gpx) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    gpx::write(file, &mut bytes).map_err(|error| format!("the GPX file could not be made: {error}"))?;
    Ok(bytes)
}
