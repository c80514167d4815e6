//! Tramlines: lines as they were driven, each given to the fields it runs through, or guidance lines (from A to B, or A and a
//! heading), each standing for a set of parallel lines in its field.

use std::collections::BTreeMap;
use std::path::Path;

use geo::{
    BooleanOps as _, Closest, ClosestPoint as _, Coord, Distance as _, Euclidean, Geometry, Intersects as _, Length as _,
    LineString, MultiLineString,
};

use crate::crs::LocalPlane;
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{FileOptions, Import, ImportError, place};
use crate::formats::{self, Shapes};
use crate::geometry;
use crate::model::{Field, FieldId, Record, Records, Tramlines, TramlinesId, same_name};
use crate::problem::Problems;
use crate::progress::Progress;
use crate::project::Edit;
use crate::units;

/// A line that runs through less than this of a field only touches it, m.
const TOUCHES_M: f64 = 10.0;
/// Spacing of a field with a single line, m, where none is given (a common width of sprayers; common practice, no source).
const ALONE_M: f64 = 24.0;

/// How to read tramlines.
#[derive(Debug, Clone, Default)]
pub struct TramlineOptions {
    /// From line to line, m; none: measured.
    pub spacing_m: Option<f64>,
    /// Width of the headland, m; none: the spacing.
    pub headland_m: Option<f64>,
    /// What else is said of the file.
    pub file: FileOptions,
}

/// Reads tramlines. They take the place of all sets that the fields they run through had.
pub fn tramlines(
    records: &Records,
    file: &Path,
    options: &TramlineOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let table = formats::read_as(file, options.file.reading(Shapes::Lines), problems).ok_or(ImportError::Problems)?;
    let in_range = |value: Option<f64>, low: f64| value.is_none_or(|value| (low..=200.0).contains(&value));
    if !(in_range(options.spacing_m, 1.0) && in_range(options.headland_m, 0.0)) {
        problems.error(&table.name, "spacing is from 1 to 200 m, the headland from 0 to 200 m.", "Give them in metres.");
        return Err(ImportError::Problems);
    }
    let converter = place::converter(&table, options.file.crs.as_ref(), problems)?;
    let mut of_field: BTreeMap<FieldId, Vec<LineString<f64>>> = BTreeMap::new();
    // Guidance lines that stand for a whole set of parallel ones.
    let mut patterns: BTreeMap<FieldId, Pattern> = BTreeMap::new();
    let (kind, width, of) = (table.column(&["pattern"]), table.column(&["width_m"]), table.column(&["field"]));
    let mut skipped = 0;
    let mut errors = RowErrors::new(&table.name, problems);
    for (index, row) in table.rows.iter().enumerate() {
        if index % 256 == 0 {
            progress.check(index, table.rows.len())?;
        }
        let lines = match row.geometry().map(|shape| converter.geometry(&shape)) {
            Some(Ok(shape)) => lines_of(&shape),
            Some(Err(error)) => {
                errors.add(table.place(row), format!("{error}."), place::OUTSIDE_HINT);
                continue;
            }
            None => Vec::new(),
        };
        if lines.is_empty() {
            errors.problems.warning(table.place(row), "it is no line; it was left out.", "");
            skipped += 1;
        }
        if kind.is_some_and(|kind| matches!(table.cell(row, kind).written().as_str(), "AB" | "A+")) {
            let width_m = width.and_then(|width| table.cell(row, width).number());
            let name = of.map(|of| table.cell(row, of).written()).unwrap_or_default();
            let taken = lines.first().is_some_and(|line| take_pattern(records, &mut patterns, line, &name, width_m));
            if !taken {
                errors.problems.warning(
                    table.place(row),
                    "its field is not in the project, or has a guidance line already; it was left out.",
                    "",
                );
                skipped += 1;
            }
            continue;
        }
        for line in lines {
            let through: Vec<FieldId> = records
                .fields
                .values()
                .filter(|field| field.until_year.is_none() && runs_through(field, &line))
                .map(|field| field.id)
                .collect();
            if through.is_empty() {
                errors.problems.warning(
                    table.place(row),
                    "it runs through no field; it was left out.",
                    "Check its position.",
                );
                errors.problems.lies_at(geo::BoundingRect::bounding_rect(&line));
                skipped += 1;
            }
            for field in through {
                of_field.entry(field).or_default().push(line.clone());
            }
        }
    }
    errors.finish()?;
    let mut edit = Edit::new(records, "Add tramlines");
    let (mut added, mut updated) = (0, 0);
    for field in patterns.keys() {
        of_field.entry(*field).or_default();
    }
    for (field, lines) in of_field {
        let old: Vec<_> = records.tramlines_of(field).collect();
        if old.is_empty() {
            added += 1;
        } else {
            updated += 1;
        }
        let id = old.first().map_or_else(TramlinesId::new, |lines| lines.id);
        for set in old.into_iter().skip(1) {
            edit.remove(&Record::Tramlines((**set).clone()));
        }
        let set = |field: &Field| match patterns.get(&field.id) {
            Some(pattern) if lines.is_empty() => pattern.set(field, options),
            _ => set_of(field, lines.clone(), options),
        };
        if let Some(field) = records.fields.get(&field).and_then(|field| set(field)) {
            edit.put(Record::Tramlines(Tramlines { id, ..field }));
        }
    }
    let summary = vec![
        format!("{}: tramlines of {}", table.name, units::count(added + updated, "field")),
        format!("Coordinates: {} to WGS 84 ({})", converter.system().label(), converter.conversion()),
    ];
    Ok(Import { added, updated, skipped, summary, ..Import::of(edit.done()) })
}

/// A guidance line that all wheelings run parallel to.
struct Pattern {
    line: LineString<f64>,
    width_m: Option<f64>,
}

impl Pattern {
    /// Parallel lines through its first point.
    fn set(&self, field: &Field, options: &TramlineOptions) -> Option<Tramlines> {
        let set = set_of(field, vec![self.line.clone()], options)?;
        let width_m = self.width_m.filter(|width| (1.0..=200.0).contains(width));
        let spacing_m = options.spacing_m.or(width_m).unwrap_or(ALONE_M);
        Some(Tramlines { spacing_m, headland_m: options.headland_m.unwrap_or(spacing_m), lines: Vec::new(), ..set })
    }
}

/// Gives a guidance line to the field of its name, or else to the first it runs through; whether there is one without.
fn take_pattern(
    records: &Records,
    patterns: &mut BTreeMap<FieldId, Pattern>,
    line: &LineString<f64>,
    name: &str,
    width_m: Option<f64>,
) -> bool {
    let mut present = records.fields.values().filter(|field| field.until_year.is_none());
    let named: Vec<_> = present.clone().filter(|field| same_name(&field.name, name)).collect();
    // Farms may each have a field of that name; the line tells which.
    let field = match named.as_slice() {
        [one] => Some(*one),
        _ => present.find(|field| runs_through(field, line)),
    };
    let Some(field) = field else { return false };
    let free = !patterns.contains_key(&field.id);
    patterns.entry(field.id).or_insert_with(|| Pattern { line: line.clone(), width_m });
    free
}

fn lines_of(shape: &Geometry<f64>) -> Vec<LineString<f64>> {
    let lines = match shape {
        Geometry::Line(line) => vec![LineString::from(*line)],
        Geometry::LineString(line) => vec![line.clone()],
        Geometry::MultiLineString(lines) => lines.0.clone(),
        Geometry::GeometryCollection(parts) => parts.iter().flat_map(lines_of).collect(),
        _ => Vec::new(),
    };
    lines.into_iter().filter(|line| line.0.len() > 1).collect()
}

fn runs_through(field: &Field, line: &LineString<f64>) -> bool {
    let (Some(own), Some(other)) = (geometry::bounds(&field.boundary), geo::BoundingRect::bounding_rect(line)) else {
        return false;
    };
    if !own.intersects(&other) {
        return false;
    }
    let Ok(plane) = LocalPlane::around(own) else { return false };
    let inside = plane.to_metres(&field.boundary).clip(&MultiLineString(vec![plane.to_metres(line)]), false);
    Euclidean.length(&inside) > TOUCHES_M
}

/// The set that lines make in a field.
fn set_of(field: &Field, lines: Vec<LineString<f64>>, options: &TramlineOptions) -> Option<Tramlines> {
    let plane = LocalPlane::around(geometry::bounds(&field.boundary)?).ok()?;
    let metres: Vec<LineString<f64>> = lines.iter().map(|line| plane.to_metres(line)).collect();
    let longest = metres.iter().max_by(|a, b| Euclidean.length(*a).total_cmp(&Euclidean.length(*b)))?;
    let whole = geo::Line::new(*longest.0.first()?, *longest.0.last()?);
    let spacing_m = options.spacing_m.or_else(|| spacing(&metres)).unwrap_or(ALONE_M).clamp(1.0, 200.0);
    Some(Tramlines {
        id: TramlinesId::new(),
        field: field.id,
        anchor: plane.degrees(whole.start),
        bearing_deg: geometry::bearing_of(&whole).rem_euclid(180.0),
        spacing_m,
        headland_m: options.headland_m.unwrap_or(spacing_m),
        area: None,
        lines,
    })
}

/// The median distance from the middle of a line to the nearest other line.
fn spacing(lines: &[LineString<f64>]) -> Option<f64> {
    let away = |index: usize| {
        let middle: Coord<f64> = geo::InterpolateLine::point_at_ratio_from_start(&Euclidean, lines.get(index)?, 0.5)?.0;
        let others = lines.iter().enumerate().filter(|(other, _)| *other != index);
        let distance = |line: &LineString<f64>| match line.closest_point(&geo::Point(middle)) {
            Closest::SinglePoint(on) | Closest::Intersection(on) => Euclidean.distance(on.0, middle),
            Closest::Indeterminate => f64::INFINITY,
        };
        others.map(|(_, line)| distance(line)).reduce(f64::min)
    };
    let mut found: Vec<f64> = (0..lines.len()).filter_map(away).filter(|away| away.is_finite() && *away > 0.5).collect();
    found.sort_by(f64::total_cmp);
    found.get(found.len() / 2).copied()
}
