//! Tracks of the day: each given to the fields it was walked in, and held against their plans.

use std::path::Path;

use geo::{BoundingRect as _, Coord, Distance as _, Euclidean, Geometry, LineString, MultiLineString, Point, Rect};
use jiff::civil::Date;

use crate::crs::{LocalPlane, PlaceNames};
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{Import, ImportError, place};
use crate::formats::{self, Cell, Shapes, Table};
use crate::geometry;
use crate::model::{Field, FieldId, Plan, Record, Records, Walked, WalkedFigures, WalkedId, same_name};
use crate::problem::Problems;
use crate::progress::Progress;
use crate::project::Edit;
use crate::stops::walked_figures;
use crate::units::{count, length};

/// A track shorter than this inside a field only passes it, m.
const PASSES_M: f64 = 20.0;
/// The track is kept this far round a field, m; one that stays farther away is none of it.
const ROUND_M: f64 = 100.0;
/// A waypoint nearer than this to a stop of its name is the stop that was taken along, not a place where seed was taken, m.
const SAME_M: f64 = 3.0;

/// What is known of a track besides its file.
#[derive(Debug, Clone, Default)]
pub struct WalkedOptions {
    /// Harvest year.
    pub year: i32,
    /// The field; none: those of the year that the track was walked in.
    pub field: Option<FieldId>,
    /// The day; none: as the file says.
    pub date: Option<Date>,
    /// Who walked.
    pub person: String,
}

/// Reads a track (GPX, or lines of any other map file). Waypoints in a GPX are taken for places where seed was taken. A track of the
/// same file, field and day is replaced.
pub fn walked(
    records: &Records,
    file: &Path,
    options: &WalkedOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let table = formats::read_for(file, None, Shapes::Lines, problems).ok_or(ImportError::Problems)?;
    let name = file.file_name().map_or_else(|| table.name.clone(), |name| name.to_string_lossy().into_owned());
    let lines = lines_of(&table, problems)?;
    let marks = marks_of(file);
    let date = options.date.or_else(|| begun(&table));
    check_date(&name, date, options.year, problems)?;
    let fields = fields_of(records, &name, options, &lines, problems)?;
    let mut edit = Edit::new(records, walk_name(&fields));
    let (mut added, mut updated, mut summary) = (0, 0, Vec::new());
    for (number, field) in fields.iter().enumerate() {
        progress.check(number, fields.len())?;
        let Some(near) = near(field, &lines) else { continue };
        let plan = records.plan_of(field.id, options.year);
        let taken: Vec<Coord<f64>> =
            marks.iter().filter(|(name, at)| !is_planned(field, plan.map(|p| &**p), name, *at)).map(|(_, at)| *at).collect();
        let place = format!("{name}, {}", field.name);
        let figures = match walked_figures(records, field.id, options.year, &near.0, &taken) {
            Ok(figures) => figures,
            Err(error) => {
                problems.error(place, format!("{error}."), "Look at the field's boundary on the map.");
                continue;
            }
        };
        if plan.is_none() {
            let hint = "Propose stops in it first, if the walk is to be held against them, and read the track again.";
            problems.note(&place, "no stops are planned in it, so there is nothing to hold the walk against.", hint);
        }
        for warning in &figures.warnings {
            problems.warning(&place, warning.clone(), "");
        }
        summary.push(said(field, &figures));
        let there = records.walked_in(field.id, options.year).find(|walk| walk.source == name && walk.date == date);
        if there.is_some() {
            updated += 1;
        } else {
            added += 1;
        }
        edit.put(Record::Walked(Walked {
            id: there.map_or_else(WalkedId::new, |walk| walk.id),
            field: field.id,
            year: options.year,
            plan: plan.map(|plan| plan.id),
            date,
            person: options.person.trim().to_owned(),
            source: name.clone(),
            track: near,
            figures,
        }));
    }
    if problems.has_errors() {
        return Err(ImportError::Problems);
    }
    Ok(Import { added, updated, summary, ..Import::of(edit.done()) })
}

fn walk_name(fields: &[&Field]) -> String {
    match fields {
        [one] => format!("Add the walk of {}", one.name),
        many => format!("Add the walks of {}", count(many.len(), "field")),
    }
}

fn said(field: &Field, figures: &WalkedFigures) -> String {
    let stops = match figures.away_m.len() {
        0 => String::new(),
        all => format!("{} of {} reached, ", figures.reached(), count(all, "stop")),
    };
    format!(
        "{}: {stops}{} walked over {}, {:.0} % of the population within 25 m",
        field.name,
        length(figures.length_m),
        count(figures.tramlines, "tramline"),
        100.0 * figures.population_within_25_m
    )
}

/// The parts of the track, degrees.
fn lines_of(table: &Table, problems: &mut Problems) -> Result<Vec<LineString<f64>>, ImportError> {
    let converter = place::converter(table, None, problems)?;
    let mut lines = Vec::new();
    let mut errors = RowErrors::new(&table.name, problems);
    for row in table.rows.iter() {
        match row.geometry().map(|shape| converter.geometry(&shape)) {
            Some(Ok(Geometry::LineString(line))) => lines.push(line),
            Some(Ok(Geometry::MultiLineString(parts))) => lines.extend(parts.0),
            Some(Ok(Geometry::Line(line))) => lines.push(line.into()),
            Some(Err(error)) => errors.add(table.place(row), format!("{error}."), place::OUTSIDE_HINT),
            Some(Ok(_)) | None => {}
        }
    }
    errors.finish()?;
    lines.retain(|line| !line.0.is_empty());
    if lines.is_empty() {
        problems.error(&table.name, "it holds no track.", "Export the day's track from the receiver as GPX.");
        return Err(ImportError::Problems);
    }
    Ok(lines)
}

/// Waypoints with their names, degrees; of a GPX only, where they stand beside the track.
fn marks_of(file: &Path) -> Vec<(String, Coord<f64>)> {
    if !formats::layers(file).iter().any(|layer| layer == "waypoints") {
        return Vec::new();
    }
    let Some(points) = formats::read(file, Some("waypoints"), &mut Problems::new()) else { return Vec::new() };
    let name = points.column(&["name"]);
    let mark = |row: formats::Row<'_>| match row.geometry().as_deref() {
        Some(Geometry::Point(at)) => Some((name.map(|name| points.cell(row, name).written()).unwrap_or_default(), at.0)),
        _ => None,
    };
    points.rows.iter().filter_map(mark).collect()
}

/// Whether a waypoint is a stop of the plan that was taken along on the receiver.
fn is_planned(field: &Field, plan: Option<&Plan>, name: &str, at: Coord<f64>) -> bool {
    let Some((plan, plane)) = plan.and_then(|plan| Some((plan, LocalPlane::at(at).ok()?))) else { return false };
    (1..).zip(&plan.stops).any(|(number, stop): (usize, _)| {
        same_name(name, &format!("{} {number}", field.name))
            && Euclidean.distance(plane.metres(stop.position), Coord { x: 0.0, y: 0.0 }) < SAME_M
    })
}

/// The day of the track's first point.
fn begun(table: &Table) -> Option<Date> {
    let column = table.column(&["begun"])?;
    let times = table.rows.iter().filter_map(|row| match &*table.cell(row, column) {
        Cell::Text(text) => text.get(..10).and_then(|day| day.parse().ok()),
        _ => None,
    });
    times.min()
}

fn check_date(name: &str, date: Option<Date>, year: i32, problems: &mut Problems) -> Result<(), ImportError> {
    let Some(date) = date else {
        problems.note(name, "it does not say of which day it is.", "Give the day, if you want it kept with the walk.");
        return Ok(());
    };
    if i32::from(date.year()) != year {
        let what = format!("it is of {}, which does not go with harvest {year}.", crate::samples::day(date));
        problems.error(name, what, "Choose the harvest it was walked in, or give the right day.");
        return Err(ImportError::Problems);
    }
    if !(6..=9).contains(&date.month()) {
        let what = format!("it is of {}, out of season for taking seed.", crate::samples::day(date));
        problems.warning(name, what, "Check the day.");
    }
    Ok(())
}

/// The fields that the track is of; errors say where it runs instead.
fn fields_of<'a>(
    records: &'a Records,
    name: &str,
    options: &WalkedOptions,
    lines: &[LineString<f64>],
    problems: &mut Problems,
) -> Result<Vec<&'a Field>, ImportError> {
    let wanted = |field: &&Field| options.field.is_none_or(|id| id == field.id) && field.exists_in(options.year);
    let candidates: Vec<&Field> = records.fields.values().map(|field| &**field).filter(wanted).collect();
    let found: Vec<&Field> = match options.field {
        Some(_) => candidates.iter().copied().filter(|field| near(field, lines).is_some()).collect(),
        None => candidates.iter().copied().filter(|field| inside_m(field, lines) >= PASSES_M).collect(),
    };
    if !found.is_empty() {
        return Ok(found);
    }
    if candidates.is_empty() {
        let what = format!("there is no such field in harvest {}.", options.year);
        problems.error(name, what, "Choose a field of that harvest, or another harvest.");
        return Err(ImportError::Problems);
    }
    let start = lines.iter().find_map(|line| line.0.first().copied());
    let grid =
        start.and_then(|at| PlaceNames::default().name(at)).map_or(String::new(), |grid| format!(" (it begins at {grid})"));
    let all = records.fields.values().filter(|field| field.exists_in(options.year));
    let nearest = all.filter_map(|field| Some((away_m(field, lines)?, field))).min_by(|a, b| a.0.total_cmp(&b.0));
    let (what, hint) = match (options.field.and_then(|id| records.fields.get(&id)), nearest) {
        (Some(field), Some((away, other))) if other.id != field.id && away < ROUND_M => (
            format!("the track was not walked in {}{grid}.", field.name),
            format!("It was walked in {}: choose that field.", other.name),
        ),
        (_, Some((away, other))) => (
            format!("the track runs through no field: the nearest is {}, {} away{grid}.", other.name, length(away)),
            "Check that it is the file of the right day and farm.".to_owned(),
        ),
        _ => ("the track runs through no field.".to_owned(), "Add the fields' boundaries first.".to_owned()),
    };
    problems.error(name, what, hint);
    Err(ImportError::Problems)
}

/// The plane of a field and its bounds in it.
fn plane_of(field: &Field) -> Option<(LocalPlane, Rect<f64>)> {
    let plane = LocalPlane::around(geometry::bounds(&field.boundary)?).ok()?;
    let bounds = plane.to_metres(&field.boundary).bounding_rect()?;
    Some((plane, bounds))
}

/// The parts of a track that lie round a field; none: it keeps away from it.
fn near(field: &Field, lines: &[LineString<f64>]) -> Option<MultiLineString<f64>> {
    let (plane, bounds) = plane_of(field)?;
    let low = bounds.min() - Coord { x: ROUND_M, y: ROUND_M };
    let high = bounds.max() + Coord { x: ROUND_M, y: ROUND_M };
    let is_near = |at: Coord<f64>| {
        let at = plane.metres(at);
        (low.x..=high.x).contains(&at.x) && (low.y..=high.y).contains(&at.y)
    };
    let mut parts: Vec<LineString<f64>> = Vec::new();
    for line in lines {
        let mut part: Vec<Coord<f64>> = Vec::new();
        for at in &line.0 {
            if is_near(*at) {
                part.push(*at);
            } else if !part.is_empty() {
                parts.push(LineString(std::mem::take(&mut part)));
            }
        }
        parts.extend((!part.is_empty()).then_some(LineString(part)));
    }
    // A line has two points at least.
    for part in &mut parts {
        if let [only] = part.0[..] {
            part.0.push(only);
        }
    }
    (!parts.is_empty()).then_some(MultiLineString(parts))
}

/// Length of a track inside a field, m.
fn inside_m(field: &Field, lines: &[LineString<f64>]) -> f64 {
    use geo::{BooleanOps as _, Length as _};
    let Some((near, (plane, _))) = near(field, lines).zip(plane_of(field)) else { return 0.0 };
    let track = MultiLineString(near.iter().map(|line| plane.to_metres(line)).collect());
    Euclidean.length(&plane.to_metres(&field.boundary).clip(&track, false))
}

/// From a field to the nearest point of a track, m.
fn away_m(field: &Field, lines: &[LineString<f64>]) -> Option<f64> {
    let middle = geometry::bounds(&field.boundary)?.center();
    let squeeze = middle.y.to_radians().cos();
    let rough = |at: &&Coord<f64>| libm::hypot((at.x - middle.x) * squeeze, at.y - middle.y);
    let nearest = lines.iter().flat_map(|line| &line.0).min_by(|a, b| rough(a).total_cmp(&rough(b)))?;
    let plane = LocalPlane::at(*nearest).ok()?;
    Some(Euclidean.distance(&plane.to_metres(&field.boundary), &Point::new(0.0, 0.0)))
}
