//! How good a walk was as it was walked: the track that a receiver recorded, held against the plan.

use std::collections::BTreeSet;

use geo::algorithm::buffer::{BufferStyle, LineCap, LineJoin};
use geo::{
    Area as _, BooleanOps as _, Buffer as _, Coord, Distance as _, Euclidean, InterpolatePoint as _, Length as _, Line,
    LineString, MultiLineString, Point, Simplify as _,
};
use rstar::{PointDistance as _, RTree};

use crate::model::{FieldId, Figures, PlanSettings, Records, TakenAt, WalkedFigures};
use crate::stops::ground::Ground;
use crate::stops::{PlanError, figures, shares};
use crate::walk::{Position, inset};

/// Ground this near to the track was seen, m; as near as the figures of a plan call near.
const NEAR_M: f64 = 25.0;
/// A receiver in the hand is good to about this, m (common practice, no source): a tramline within it was walked or crossed.
const ON_TRAMLINE_M: f64 = 5.0;
/// A place marked at most so far outside the boundary belongs to the field, m.
const BESIDE_M: f64 = 10.0;
/// Population farther than this from every place was left out, m.
const FAR_M: f64 = 50.0;
/// So many places stand for a track along which seed was taken and no place was marked, if there is no plan.
const ALONG: usize = 8;

/// The figures of a track in a field. `lines`: its parts; `marks`: places marked where seed was taken; both in degrees.
pub fn walked_figures(
    records: &Records,
    field: FieldId,
    year: i32,
    lines: &[LineString<f64>],
    marks: &[Coord<f64>],
) -> Result<WalkedFigures, PlanError> {
    let plan = records.plan_of(field, year);
    let settings = plan.map_or_else(|| records.settings.plan.clone(), |plan| plan.settings.clone());
    let ground = Ground::of(records, field, year, &settings)?;
    let plane = &ground.site.plane;
    let track = MultiLineString(lines.iter().map(|line| plane.to_metres(line)).collect());
    let tree = RTree::bulk_load(track.iter().flat_map(segments).collect());
    if tree.size() == 0 {
        return Err(PlanError::Settings("the track has no points".to_owned()));
    }
    let away = |at: Coord<f64>| tree.nearest_neighbor(&Point(at)).map_or(f64::INFINITY, |s| s.distance_2(&Point(at)).sqrt());
    let on_track = |at: Coord<f64>| tree.nearest_neighbor(&Point(at)).map_or(at, |segment| foot(*segment, at));

    let stops: Vec<Coord<f64>> = plan.map(|plan| plan.stops.iter().map(|stop| stop.position).collect()).unwrap_or_default();
    let away_m: Vec<f64> = stops.iter().map(|stop| away(plane.metres(*stop))).collect();
    let reached = |away: &f64| *away <= WalkedFigures::REACHED_M;

    let inside = ground.site.boundary.clip(&track, false);
    let off_headland = inset(&ground.site.open, ground.site.headland_m()).clip(&track, false);
    let in_field = |at: Coord<f64>| Euclidean.distance(&ground.site.boundary, &Point(at)) <= BESIDE_M;
    let marked: Vec<Coord<f64>> = marks.iter().map(|mark| plane.metres(*mark)).filter(|at| in_field(*at)).collect();
    let (taken_at, places) = if !marked.is_empty() {
        (TakenAt::Marks, marked)
    } else if away_m.iter().any(reached) {
        let stops = stops.iter().zip(&away_m).filter(|(_, away)| reached(away));
        (TakenAt::Stops, stops.map(|(stop, _)| on_track(plane.metres(*stop))).collect())
    } else {
        let walked = if Euclidean.length(&off_headland) > 0.0 { &off_headland } else { &inside };
        (TakenAt::Track, along(walked, if stops.is_empty() { ALONG } else { stops.len() }))
    };
    let visited = (!places.is_empty()).then(|| visited(&ground, &places, &settings));
    let populated = ground.all.iter().any(|cell| cell.population > 0.0);
    let share = |wanted: &dyn Fn(Coord<f64>) -> bool| {
        let weight = |population: f64| if populated { population } else { 1.0 };
        let all: f64 = ground.all.iter().map(|cell| weight(cell.population)).sum();
        ground.all.iter().filter(|cell| wanted(cell.at)).map(|cell| weight(cell.population)).sum::<f64>() / all
    };
    let mut found = WalkedFigures {
        length_m: Euclidean.length(&inside),
        away_m,
        stops,
        tramlines: tramlines(&ground, &off_headland),
        area_m2: seen(&track).intersection(&ground.site.boundary).unsigned_area(),
        population_within_25_m: share(&|at| away(at) <= NEAR_M),
        taken_at,
        places: places.iter().map(|place| plane.degrees(*place)).collect(),
        visited,
        planned: plan.map(|plan| plan.figures),
        warnings: Vec::new(),
    };
    let far = share(&|at| places.iter().all(|place| Euclidean.distance(*place, at) > FAR_M));
    found.warnings = warnings(&found, &ground, &places, far, Euclidean.length(&off_headland));
    Ok(found)
}

fn segments(line: &LineString<f64>) -> Vec<Line<f64>> {
    match line.0[..] {
        [only] => vec![Line::new(only, only)],
        _ => line.lines().collect(),
    }
}

/// The place of a segment that is nearest to another.
fn foot(segment: Line<f64>, to: Coord<f64>) -> Coord<f64> {
    let span = segment.end - segment.start;
    let length2 = span.x * span.x + span.y * span.y;
    let part =
        if length2 > 0.0 { ((to - segment.start).x * span.x + (to - segment.start).y * span.y) / length2 } else { 0.0 };
    segment.start + span * part.clamp(0.0, 1.0)
}

/// The ground near the track.
fn seen(track: &MultiLineString<f64>) -> geo::MultiPolygon<f64> {
    let style = BufferStyle::new(NEAR_M).line_cap(LineCap::Round(0.05)).line_join(LineJoin::Round(0.05));
    // Wobbles of half a metre are the receiver's, and would cost much time.
    track.simplify(0.5).buffer_with_style(style)
}

/// Different tramlines that a track touches.
fn tramlines(ground: &Ground<'_>, track: &MultiLineString<f64>) -> usize {
    let pieces = RTree::bulk_load(track.iter().flat_map(segments).collect::<Vec<Line<f64>>>());
    let touched = |along: &Line<f64>| {
        let reach = rstar::AABB::from_corners(
            Point::new(along.start.x.min(along.end.x) - ON_TRAMLINE_M, along.start.y.min(along.end.y) - ON_TRAMLINE_M),
            Point::new(along.start.x.max(along.end.x) + ON_TRAMLINE_M, along.start.y.max(along.end.y) + ON_TRAMLINE_M),
        );
        pieces.locate_in_envelope_intersecting(&reach).any(|segment| Euclidean.distance(segment, along) <= ON_TRAMLINE_M)
    };
    let lines = ground.network.tramlines.iter().filter(|piece| touched(&piece.along)).map(|piece| piece.line);
    lines.collect::<BTreeSet<i32>>().len()
}

/// So many places evenly along a track, the first and the last half a step from its ends.
fn along(track: &MultiLineString<f64>, count: usize) -> Vec<Coord<f64>> {
    let all: Vec<Line<f64>> = track.iter().flat_map(segments).collect();
    let total: f64 = all.iter().map(|segment| Euclidean.length(segment)).sum();
    let mut places = Vec::new();
    let (mut walked, mut next) = (0.0, total / count as f64 / 2.0);
    for segment in all {
        let length = Euclidean.length(&segment);
        while length > 0.0 && next <= walked + length && places.len() < count {
            let ratio = (next - walked) / length;
            places.push(Euclidean.point_at_ratio_between(segment.start.into(), segment.end.into(), ratio).0);
            next += total / count as f64;
        }
        walked += length;
    }
    places
}

/// The figures of places, as those of a plan's stops; tramlines are those on which a place lies.
fn visited(ground: &Ground<'_>, places: &[Coord<f64>], settings: &PlanSettings) -> Figures {
    let spots: Vec<_> = places
        .iter()
        .map(|place| {
            let on = ground.network.snap(*place);
            let tramline = on.tramline.filter(|_| Euclidean.distance(on.at, *place) <= WalkedFigures::REACHED_M);
            ground.spot(Position { at: *place, tramline })
        })
        .collect();
    figures::of_spots(ground, &spots, settings)
}

fn warnings(found: &WalkedFigures, ground: &Ground<'_>, places: &[Coord<f64>], far: f64, inner_m: f64) -> Vec<String> {
    let mut list = Vec::new();
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    let missed: Vec<String> = (1..)
        .zip(&found.away_m)
        .filter(|(_, away)| **away > WalkedFigures::REACHED_M)
        .map(|(number, _): (usize, _)| number.to_string())
        .collect();
    if !missed.is_empty() {
        let all = found.away_m.len();
        let noun = if missed.len() == 1 { "stop" } else { "stops" };
        list.push(format!(
            "{} of {all} stops lie more than 15 m from the track: {noun} {}. Take seed there while it is ripe, or say on the form what \
             part of the field the sample stands for.",
            missed.len(),
            missed.join(", ")
        ));
    }
    if let Some(visited) = found.visited.filter(|visited| visited.extent_m < ground.settings.min_extent_m && far > 0.5) {
        list.push(format!(
            "The seed came from one corner: its places lie within {:.0} m of each other, and {} of the population stands more \
             than {FAR_M:.0} m from all of them. Take seed from the rest of the field as well, or say on the form that the \
             sample stands for that part only.",
            visited.extent_m,
            percent(far)
        ));
    }
    let greatest = shares(&ground.cells, places).into_iter().fold(0.0, f64::max);
    if places.len() >= 3 && greatest > 0.5 {
        list.push(format!(
            "One of {} places stands for {} of the population: seed of the others tells little of it. Take seed at more places there.",
            places.len(),
            percent(greatest)
        ));
    }
    if found.length_m > 0.0 && inner_m < 0.25 * found.length_m && ground.network.has_tramlines() {
        list.push(format!(
            "{} of the walk in the field was on the headland. Take seed inside the field as well: headlands are sprayed, driven on \
             and cropped otherwise.",
            percent(1.0 - inner_m / found.length_m)
        ));
    }
    if found.length_m <= 0.0 {
        list.push("The track does not enter the field: check that it is the file of the right day and field.".to_owned());
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_along_a_track_are_evenly_spaced() {
        let track = MultiLineString(vec![vec![(0.0, 0.0), (10.0, 0.0)].into(), vec![(50.0, 0.0), (60.0, 0.0)].into()]);
        let places: Vec<f64> = along(&track, 4).iter().map(|place| place.x).collect();
        assert_eq!(places, [2.5, 7.5, 52.5, 57.5]);
    }

    #[test]
    fn the_foot_on_a_segment() {
        let segment = Line::new((0.0, 0.0), (10.0, 0.0));
        assert_eq!(foot(segment, Coord { x: 4.0, y: 3.0 }), Coord { x: 4.0, y: 0.0 });
        assert_eq!(foot(segment, Coord { x: -4.0, y: 3.0 }), Coord { x: 0.0, y: 0.0 });
    }
}
