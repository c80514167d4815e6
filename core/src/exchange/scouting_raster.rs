//! A raster as a survey: the pixels over each field, with where they lie in degrees.

use std::path::Path;

use geo::{Coord, CoordsIter as _, Densify as _, Euclidean, MultiPolygon};

use crate::crs::Converter;
use crate::exchange::scouting::{ScoutingOptions, check_date};
use crate::exchange::{Import, ImportError, place};
use crate::formats::raster::{self, Raster};
use crate::model::{DensityClass, DensityUnit, Record, Records, ScoutRaster, Survey, SurveyId, SurveyKind};
use crate::problem::Problems;
use crate::progress::Progress;
use crate::project::Edit;
use crate::units;

/// Pixels taken beyond a field's bounds, for cells on its edge.
const MARGIN: f64 = 2.0;
/// Points each so many degrees along a boundary find its bounds in the raster's system (about 30 m).
const STEP_DEG: f64 = 0.0003;

/// Reads a raster of densities, counts or classes. A raster of the same day and file that is there already is replaced.
pub(super) fn raster(
    records: &Records,
    file: &Path,
    options: &ScoutingOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let raster = raster::read(file, problems).ok_or(ImportError::Problems)?;
    check_date(&raster.name, options.date, problems)?;
    let converter = place::converter_of(&raster.name, raster.crs.as_ref(), options.file.crs.as_ref(), problems)?;
    check_values(&raster, options.unit, problems)?;
    let mut rasters = Vec::new();
    let fields: Vec<_> = records.fields.values().collect();
    for (number, field) in fields.iter().enumerate() {
        progress.check(number, fields.len())?;
        rasters.extend(piece(&raster, &converter, &field.boundary));
    }
    if rasters.is_empty() {
        problems.error(
            &raster.name,
            "it has no data over any field of the project.",
            "Check its coordinate system, or add the boundaries of its fields first.",
        );
        return Err(ImportError::Problems);
    }
    let covered = rasters.len();
    let there = records
        .surveys
        .values()
        .find(|survey| survey.date == options.date && survey.kind == SurveyKind::Raster && survey.source == raster.name);
    let (added, updated) = if there.is_some() { (0, 1) } else { (1, 0) };
    let summary = vec![
        format!(
            "{}: {} x {} pixels in {}, over {}",
            raster.name,
            raster.columns,
            raster.rows,
            options.unit.label(),
            units::count(covered, "field")
        ),
        format!("Coordinates: {} to WGS 84 ({})", converter.system().label(), converter.conversion()),
    ];
    let survey = Survey {
        id: there.map_or_else(SurveyId::new, |survey| survey.id),
        date: options.date,
        kind: SurveyKind::Raster,
        unit: options.unit,
        source: raster.name,
        points: Vec::new(),
        zones: Vec::new(),
        rasters,
    };
    let mut edit = Edit::new(records, format!("Add scouting of {}", options.date));
    edit.put(Record::Survey(survey));
    Ok(Import { added, updated, skipped: 0, summary, ..Import::of(edit.done()) })
}

/// Densities are not below 0, and classes are known.
fn check_values(raster: &Raster, unit: DensityUnit, problems: &mut Problems) -> Result<(), ImportError> {
    let right = |value: f64| match unit {
        DensityUnit::Class => DensityClass::from_number(value).is_some(),
        DensityUnit::HeadsPerM2 | DensityUnit::PlantsPerM2 => value >= 0.0,
    };
    let wrong: Vec<usize> =
        (0..raster.values.len()).filter(|index| !raster.values[*index].is_nan() && !right(raster.values[*index])).collect();
    let Some(first) = wrong.first() else { return Ok(()) };
    problems.error(
        format!("{}, column {}, row {}", raster.name, first % raster.columns + 1, first / raster.columns + 1),
        format!("{} is no value in {}; so are {} of them.", raster.values[*first], unit.label(), wrong.len()),
        "Mark such pixels as no data in the file, or give the right unit.",
    );
    Err(ImportError::Problems)
}

/// The pixels over a field, with data in any of them.
fn piece(raster: &Raster, converter: &Converter, boundary: &MultiPolygon<f64>) -> Option<ScoutRaster> {
    let mut outline: Vec<Coord<f64>> = Euclidean.densify(boundary, STEP_DEG).coords_iter().collect();
    // A field outside what the raster's system covers is not under the raster.
    converter.from_lonlat(&mut outline).ok()?;
    let to_pixel = raster.to_pixel()?;
    let places: Vec<Coord<f64>> = outline.into_iter().map(|at| to_pixel.apply(at)).collect();
    let reach = |of: fn(&Coord<f64>) -> f64, most: usize| {
        let low = places.iter().map(of).fold(f64::INFINITY, f64::min) - MARGIN;
        let high = places.iter().map(of).fold(f64::NEG_INFINITY, f64::max) + MARGIN;
        (low.floor().max(0.0) as usize, (high.ceil().max(0.0) as usize).min(most))
    };
    let (left, right) = reach(|at| at.x, raster.columns);
    let (top, bottom) = reach(|at| at.y, raster.rows);
    if left >= right || top >= bottom {
        return None;
    }
    let mut values = Vec::with_capacity((right - left) * (bottom - top));
    for row in top..bottom {
        let own = &raster.values[row * raster.columns + left..row * raster.columns + right];
        values.extend(own.iter().map(|value| if value.is_nan() { ScoutRaster::NO_DATA } else { *value as f32 }));
    }
    if values.iter().all(|value| *value < 0.0) {
        return None;
    }
    let [a, b, c, d, e, f] = raster.to_world;
    let corner = |column: usize, row: usize| {
        let (column, row) = (column as f64, row as f64);
        Coord { x: a * column + b * row + c, y: d * column + e * row + f }
    };
    let mut corners = [corner(left, top), corner(right, top), corner(left, bottom)];
    converter.to_lonlat(&mut corners).ok()?;
    Some(ScoutRaster { corners, columns: right - left, values })
}
