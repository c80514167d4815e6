//! Scouting: points or zones with a density or a class, bare places, or a raster, as one survey.

use std::collections::BTreeMap;
use std::path::Path;

use geo::Coord;
use jiff::civil::Date;

use crate::crs::Converter;
use crate::exchange::near::Near;
use crate::exchange::results::cells;
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{
    FileOptions, Import, ImportError, PlaceColumns, boundaries, columns, place, point_columns, scouting_raster,
    scouting_values,
};
use crate::formats::{self, Row, Shapes, Table};
use crate::geometry::{self, Areas};
use crate::model::{DensityUnit, Record, Records, ScoutPoint, ScoutZone, Survey, SurveyId, SurveyKind};
use crate::problem::Problems;
use crate::progress::Progress;
use crate::project::Edit;
use crate::units;

/// A point farther from every field is worth a word, m.
const FAR_M: f64 = 100.0;
/// So many points are looked up at a time: of millions not all are held twice.
const LOOKED_AT: usize = 1 << 16;

/// How to read scouting.
#[derive(Debug, Clone)]
pub struct ScoutingOptions {
    /// The day of the survey.
    pub date: Date,
    /// Points, zones, bare places or a raster.
    pub kind: SurveyKind,
    /// Column with the value; none: guessed.
    pub value_column: Option<String>,
    /// What the values count.
    pub unit: DensityUnit,
    /// Values are counts in a frame of this size, m2; none: they are densities already.
    pub frame_m2: Option<f64>,
    /// Column with the day of each row, which then goes before [`date`](Self::date); none: all rows are of one day.
    pub date_column: Option<String>,
    /// What else is said of the file.
    pub file: FileOptions,
}

impl ScoutingOptions {
    /// Nothing said but day, kind and unit.
    pub fn new(date: Date, kind: SurveyKind, unit: DensityUnit) -> Self {
        let file = FileOptions::default();
        Self { date, kind, value_column: None, unit, frame_m2: None, date_column: None, file }
    }
}

/// Reads a scouting survey. A survey of the same day, kind and file that is there already is replaced.
pub fn scouting(
    records: &Records,
    file: &Path,
    options: &ScoutingOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    check_frame(options, problems)?;
    if options.kind == SurveyKind::Raster {
        return scouting_raster::raster(records, file, options, problems, progress);
    }
    let areas = matches!(options.kind, SurveyKind::Zones | SurveyKind::Raster);
    let wanted = if areas { Shapes::Areas } else { Shapes::Points };
    let mut table = formats::read_as(file, options.file.reading(wanted), problems).ok_or(ImportError::Problems)?;
    let dates = if let Some(name) = &options.date_column {
        Some(columns::named(&table, name).map_err(|hint| {
            problems.error(&table.name, format!("it has no column “{name}”."), hint);
            ImportError::Problems
        })?)
    } else {
        check_date(&table.name, options.date, problems)?;
        None
    };
    let columns = match options.kind {
        SurveyKind::Points | SurveyKind::Places => point_columns::with_points(records, &mut table, &options.file, problems)?,
        SurveyKind::Zones | SurveyKind::Raster => PlaceColumns::default(),
    };
    let converter = place::converter(&table, options.file.crs.as_ref(), problems)?;
    // Bare places have no value; each counts as one.
    let column = match options.kind {
        SurveyKind::Places => None,
        _ => Some(scouting_values::column(&table, options.value_column.as_deref(), &columns, problems)?),
    };
    let frame = options.frame_m2.unwrap_or(1.0);
    let mut of_day: BTreeMap<Date, (Vec<ScoutPoint>, Vec<ScoutZone>)> = BTreeMap::new();
    let mut skipped = 0;
    let mut errors = RowErrors::new(&table.name, problems);
    for (index, row) in table.rows.iter().enumerate() {
        if index % 1024 == 0 {
            progress.check(index, table.rows.len())?;
        }
        let value = match column {
            None => Some(1.0),
            Some(column) => {
                scouting_values::value(&table, row, column, options.unit, &mut errors).map(|value| value / frame)
            }
        };
        let shape = shape(&table, row, options.kind, &converter, &mut errors);
        let date = match dates {
            None => Some(options.date),
            Some(column) => day_of(&table, row, column, &mut errors),
        };
        match (value, date, shape) {
            (Some(value), Some(date), Shape::Points(list)) => {
                let points = &mut of_day.entry(date).or_default().0;
                points.extend(list.into_iter().map(|position| ScoutPoint { position, value }));
            }
            (Some(value), Some(date), Shape::Zone(area)) => {
                of_day.entry(date).or_default().1.push(ScoutZone { area, value });
            }
            (_, _, Shape::Nothing) => skipped += 1,
            _ => {}
        }
    }
    errors.finish()?;
    let count: usize = of_day.values().map(|(points, zones)| points.len() + zones.len()).sum();
    if count == 0 {
        let (what, hint) = match options.kind {
            SurveyKind::Points | SurveyKind::Places => ("no row has a point.", "Give points, or read the file as zones."),
            SurveyKind::Zones | SurveyKind::Raster => ("no row has an area.", "Give polygons, or read the file as points."),
        };
        problems.error(&table.name, what, hint);
        return Err(ImportError::Problems);
    }
    for (points, zones) in of_day.values() {
        warn_far(records, &table, points, zones, problems);
    }
    let noun = match options.kind {
        SurveyKind::Points => "point",
        SurveyKind::Places => "place",
        SurveyKind::Zones | SurveyKind::Raster => "zone",
    };
    let mut summary = vec![format!("{}: {} in {}", table.name, units::count(count, noun), options.unit.label())];
    if let Some(name) = column.and_then(|column| table.columns.get(column)) {
        summary.push(format!("Values: column {name}"));
    }
    if let Some(frame) = options.frame_m2 {
        summary.push(format!("Counts in frames of {frame} m2, as {}", options.unit.label()));
    }
    summary.extend(columns.said());
    summary.push(format!("Coordinates: {} to WGS 84 ({})", converter.system().label(), converter.conversion()));
    if of_day.len() > 1 {
        let days: Vec<String> = of_day.keys().map(Date::to_string).collect();
        summary.push(format!("A survey for each day: {}", days.join(", ")));
    }
    let days: Vec<String> = of_day.keys().take(3).map(Date::to_string).collect();
    let more = if of_day.len() > days.len() { " …" } else { "" };
    let mut edit = Edit::new(records, format!("Add scouting of {}{more}", days.join(", ")));
    let (mut added, mut updated) = (0, 0);
    for (date, (points, zones)) in of_day {
        let same = |survey: &&std::sync::Arc<Survey>| {
            survey.date == date && survey.kind == options.kind && survey.source == table.name
        };
        let there = records.surveys.values().find(same);
        if there.is_some() {
            updated += 1;
        } else {
            added += 1;
        }
        edit.put(Record::Survey(Survey {
            id: there.map_or_else(SurveyId::new, |survey| survey.id),
            date,
            kind: options.kind,
            unit: options.unit,
            source: table.name.clone(),
            points,
            zones,
            rasters: Vec::new(),
        }));
    }
    if let Some(layout) = options.file.place.layout(&table) {
        edit.put(Record::Settings(boundaries::with_layout(&records.settings, layout)));
    }
    Ok(Import { added, updated, skipped, summary, place: columns, ..Import::of(edit.done()) })
}

/// The day of a row; none and an error if its cell holds none.
fn day_of(table: &Table, row: Row<'_>, column: usize, errors: &mut RowErrors<'_>) -> Option<Date> {
    let cell = table.cell(row, column);
    let day = cells::date(&cell).filter(|day| (1950..=2100).contains(&day.year()));
    if day.is_none() {
        let what = format!("“{}” is no day of a survey.", cell.written());
        errors.add(table.place(row), what, "Write it as year-month-day, such as 2026-06-14.");
    }
    day
}

/// A frame is for counts, and has a size.
fn check_frame(options: &ScoutingOptions, problems: &mut Problems) -> Result<(), ImportError> {
    let Some(frame) = options.frame_m2 else { return Ok(()) };
    if !(0.001..=1000.0).contains(&frame) {
        problems.error("frame", format!("{frame} m2 is no size of a frame."), "Give it in m2, such as 0.25.");
        return Err(ImportError::Problems);
    }
    if options.unit == DensityUnit::Class || !matches!(options.kind, SurveyKind::Points | SurveyKind::Zones) {
        let hint = "Leave the frame out, or give the unit that was counted, heads/m2 or plants/m2.";
        problems.error("frame", "only counts at points or in zones are made in a frame.", hint);
        return Err(ImportError::Problems);
    }
    Ok(())
}

pub(super) fn check_date(place: &str, date: Date, problems: &mut Problems) -> Result<(), ImportError> {
    if (1950..=2100).contains(&date.year()) {
        return Ok(());
    }
    problems.error(place, format!("{date} is no day of a survey."), "Give the date as year-month-day, such as 2026-06-14.");
    Err(ImportError::Problems)
}

enum Shape {
    Points(Vec<Coord<f64>>),
    Zone(geo::MultiPolygon<f64>),
    Nothing,
    Wrong,
}

fn shape(table: &Table, row: Row<'_>, kind: SurveyKind, converter: &Converter, errors: &mut RowErrors<'_>) -> Shape {
    let nothing = |errors: &mut RowErrors<'_>| {
        let what = match kind {
            SurveyKind::Points | SurveyKind::Places => "it is no point; it was left out.",
            SurveyKind::Zones | SurveyKind::Raster => "it has no area; it was left out.",
        };
        errors.problems.warning(table.place(row), what, "");
        Shape::Nothing
    };
    let degrees = match row.geometry().map(|geometry| converter.geometry(&geometry)) {
        None => return nothing(errors),
        Some(Ok(degrees)) => degrees,
        Some(Err(error)) => {
            errors.add(table.place(row), format!("{error}."), place::OUTSIDE_HINT);
            return Shape::Wrong;
        }
    };
    match kind {
        SurveyKind::Points | SurveyKind::Places => match place::points_of(&degrees) {
            list if list.is_empty() => nothing(errors),
            list => Shape::Points(list),
        },
        SurveyKind::Zones | SurveyKind::Raster => {
            let repaired = geometry::repair(&place::areas(&degrees));
            if repaired.shape.0.is_empty() {
                return nothing(errors);
            }
            if repaired.faults.iter().any(|fault| *fault != geometry::DOUBLED) {
                let what = format!("the outline was broken ({}) and was repaired.", repaired.faults.join(", "));
                errors.problems.warning(table.place(row), what, "Look at it on the map.");
                errors.problems.lies_at(geometry::bounds(&repaired.shape));
            }
            Shape::Zone(repaired.shape)
        }
    }
}

/// Says once how many points or zones lie far from every field.
fn warn_far(records: &Records, table: &Table, points: &[ScoutPoint], zones: &[ScoutZone], problems: &mut Problems) {
    let near = Near::new(records.fields.values().map(|field| &**field));
    let inside = Areas::new(records.fields.values().map(|field| &field.boundary));
    let (mut far_points, mut turned) = (0, 0);
    for some in points.chunks(LOOKED_AT) {
        let positions: Vec<Coord<f64>> = some.iter().map(|point| point.position).collect();
        let outside = inside.holding_each(&positions).into_iter().zip(&positions).filter(|(field, _)| field.is_none());
        for (_, at) in outside.filter(|(_, at)| near.nearest(**at, FAR_M).is_none()) {
            far_points += 1;
            turned += usize::from(near.nearest(Coord { x: at.y, y: at.x }, FAR_M).is_some());
        }
    }
    let far_zones = zones.iter().filter(|zone| !touches(records, &zone.area)).count();
    let (far, noun) = if points.is_empty() { (far_zones, "zone") } else { (far_points, "point") };
    if far > 0 {
        problems.warning(
            &table.name,
            format!(
                "{} of {} lie more than {FAR_M} m from every field; they were kept.",
                far,
                units::count(points.len() + zones.len(), noun)
            ),
            if 2 * turned > far {
                "Turned round, latitude for longitude, they lie at the fields: exchange the two columns."
            } else {
                "Check the coordinate system, or add the boundaries of those fields."
            },
        );
    }
}

fn touches(records: &Records, area: &geo::MultiPolygon<f64>) -> bool {
    use geo::Intersects as _;
    records.fields.values().any(|field| match (geometry::bounds(&field.boundary), geometry::bounds(area)) {
        (Some(a), Some(b)) => a.intersects(&b) && field.boundary.intersects(area),
        _ => false,
    })
}
