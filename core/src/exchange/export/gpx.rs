//! GPX 1.1: stops as waypoints, walks as tracks and as routes from stop to stop.

use std::sync::Arc;

use geo::{Coord, Point};
use gpx::{Gpx, GpxVersion, Route, Track, TrackSegment, Waypoint};

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
    let (mut tracks, mut routes) = (Vec::new(), Vec::new());
    for (field, plan) in plans {
        for (person, walk) in (1..).zip(plan.walks()).filter(|(_, walk)| !walk.line.0.is_empty()) {
            tracks.push(track(field, plan, person, walk));
            routes.push(route(field, plan, person, walk));
        }
    }
    write(&Gpx { tracks, routes, ..empty() })
}

/// The stops of one person in order, from where the walk begins to where it ends: what a device leads to, point by point.
fn route(field: &Field, plan: &Plan, person: usize, walk: &Walk) -> Route {
    let of_person = plan.stops.iter().enumerate().filter(|(_, stop)| plan.second_walk.is_none() || stop.person == person);
    let stops = of_person.map(|(index, stop)| (stop.position, stop_name(field, index)));
    let end = |at: Option<&Coord<f64>>, word: &str| at.map(|at| (*at, format!("{} {word}", field.name)));
    let points = end(walk.line.0.first(), "start").into_iter().chain(stops).chain(end(walk.line.0.last(), "end"));
    let mut route = Route::new();
    route.name = Some(name_of(field, plan, person));
    route.points = points
        .map(|(at, name)| {
            let mut point = Waypoint::new(Point(at));
            point.name = Some(text(&name));
            point
        })
        .collect();
    route
}

/// The field, and the person where there are two.
fn name_of(field: &Field, plan: &Plan, person: usize) -> String {
    let own = if plan.second_walk.is_some() { format!(", person {person}") } else { String::new() };
    text(&field.name) + &own
}

/// The track of one person's walk.
pub(super) fn track(field: &Field, plan: &Plan, person: usize, walk: &Walk) -> Track {
    let mut track = Track::new();
    track.name = Some(name_of(field, plan, person));
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
