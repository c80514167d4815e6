//! What a boundary file says of its fields besides their shapes, as records: crops and densities of whole fields; and stated
//! areas beside those of the outlines.

use std::collections::BTreeMap;

use crate::exchange::ImportError;
use crate::exchange::boundaries::{Area, BoundaryOptions};
use crate::exchange::boundary_columns::{Columns, When};
use crate::formats::{Table, plain_name};
use crate::geometry;
use crate::model::{Crop, CropId, DensityUnit, FieldId, Record, Records, ScoutZone, Survey, SurveyId, SurveyKind};
use crate::problem::Problems;
use crate::project::Edit;
use crate::units;

/// The unit of a stated area.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum AreaUnit {
    Hectares,
    SquareMetres,
    Acres,
}

impl AreaUnit {
    /// Every unit.
    pub const ALL: [Self; 3] = [Self::Hectares, Self::SquareMetres, Self::Acres];

    /// As people write it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Hectares => "ha",
            Self::SquareMetres => "m2",
            Self::Acres => "acres",
        }
    }

    /// Square metres; the acre is the international one.
    pub fn m2(self) -> f64 {
        match self {
            Self::Hectares => 10_000.0,
            Self::SquareMetres => 1.0,
            Self::Acres => 4_046.856_422_4,
        }
    }
}

impl std::str::FromStr for AreaUnit {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let plain = text.trim().to_lowercase();
        let found = Self::ALL.into_iter().find(|unit| unit.label() == plain);
        found.ok_or_else(|| format!("“{text}” is no unit of area; use ha, m2 or acres"))
    }
}

/// A stated area that differs by more than this share and by more than [`DIFFERS_M2`] is worth a word (our choice, no source).
const DIFFERS: f64 = 0.02;
/// See [`DIFFERS`].
const DIFFERS_M2: f64 = 200.0;
/// So many fields are named one by one.
const ONE_BY_ONE: usize = 10;

/// Compares stated with drawn areas; a line for the summary.
pub(super) fn compare_areas(
    table: &Table,
    columns: &Columns,
    areas: &[Area],
    unit: Option<AreaUnit>,
    problems: &mut Problems,
) -> Option<String> {
    let heading = table.columns.get(columns.area?)?;
    let pairs: Vec<(&Area, f64, f64)> =
        areas.iter().filter_map(|area| Some((area, area.facts.area?, area.size_m2))).filter(|pair| pair.2 > 0.0).collect();
    if pairs.is_empty() {
        return None;
    }
    let mut ratios: Vec<f64> = pairs.iter().map(|(_, stated, drawn)| stated / drawn).collect();
    ratios.sort_by(f64::total_cmp);
    let median = ratios.get(ratios.len() / 2).copied().unwrap_or(1.0);
    let unit = unit.or_else(|| unit_in(heading)).unwrap_or_else(|| {
        let off = |unit: &AreaUnit| (median * unit.m2()).ln().abs();
        AreaUnit::ALL.into_iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(AreaUnit::Hectares)
    });
    let differing: Vec<_> = pairs
        .iter()
        .map(|(area, stated, drawn)| (area, stated * unit.m2(), *drawn))
        .filter(|(_, stated, drawn)| {
            let difference = (stated - drawn).abs();
            difference > DIFFERS_M2 && difference > DIFFERS * drawn
        })
        .collect();
    if differing.len() >= 3 && 2 * differing.len() > pairs.len() {
        let what = format!(
            "the areas in column {heading}, taken as {}, do not fit the outlines: {} of {} differ, the middle one is {:.3} of what is drawn.",
            unit.label(),
            differing.len(),
            pairs.len(),
            median * unit.m2()
        );
        problems.warning(&table.name, what, "Check the unit of the column (--area-unit) and the coordinate system (--crs).");
    } else {
        for (area, stated, drawn) in differing.iter().take(ONE_BY_ONE) {
            let what = format!(
                "column {heading} says {} ha, but the outline encloses {} ha.",
                units::ha(*stated),
                units::ha(*drawn)
            );
            problems.warning(
                format!("{}, {}", table.name, area.name),
                what,
                "Look whether the outline is right; a pond or a strip may have been left out of the figure.",
            );
            problems.lies_at(geometry::bounds(&area.boundary));
        }
        if differing.len() > ONE_BY_ONE {
            let what = format!("{} more areas in column {heading} differ from the outlines.", differing.len() - ONE_BY_ONE);
            problems.warning(&table.name, what, "Look at them in the list of fields.");
        }
    }
    let stated: f64 = pairs.iter().map(|(_, stated, _)| stated * unit.m2()).sum();
    let drawn: f64 = pairs.iter().map(|(_, _, drawn)| drawn).sum();
    let (stated, drawn, said) = (units::ha(stated), units::ha(drawn), unit.label());
    Some(format!("Stated areas: column {heading} in {said}, {stated} ha in all; the outlines enclose {drawn} ha"))
}

/// The unit that a heading names.
fn unit_in(heading: &str) -> Option<AreaUnit> {
    let plain = plain_name(heading);
    if plain.ends_with("ha") || plain.contains("hect") {
        Some(AreaUnit::Hectares)
    } else if plain.ends_with("m2") || plain.ends_with("qm") || plain.contains("sqm") {
        Some(AreaUnit::SquareMetres)
    } else if plain.contains("acre") || plain.ends_with("ac") {
        Some(AreaUnit::Acres)
    } else {
        None
    }
}

/// What there is to make more records of.
pub(super) struct More<'a> {
    pub records: &'a Records,
    pub table: &'a Table,
    pub columns: &'a Columns,
    pub areas: &'a [Area],
    /// The fields that the areas became.
    pub placed: &'a [Option<FieldId>],
    pub options: &'a BoundaryOptions,
}

impl More<'_> {
    /// Adds crops and densities; lines for the summary.
    pub fn add(&self, edit: &mut Edit<'_>, problems: &mut Problems) -> Result<Vec<String>, ImportError> {
        let mut said = Vec::new();
        said.extend(self.crops(edit, problems)?);
        said.extend(self.densities(edit, problems)?);
        Ok(said)
    }

    fn crops(&self, edit: &mut Edit<'_>, problems: &mut Problems) -> Result<Option<String>, ImportError> {
        let Some(heading) = self.columns.crop.and_then(|column| self.table.columns.get(column)) else { return Ok(None) };
        let drilled = self.columns.drilled(self.table);
        let mut count: BTreeMap<i32, usize> = BTreeMap::new();
        let mut without = 0;
        for (area, field) in self.areas.iter().zip(self.placed) {
            let (Some(name), Some(field)) = (&area.facts.crop, field) else { continue };
            let Some(year) = area.facts.when.map(When::harvest_year).or(self.options.year) else {
                without += 1;
                continue;
            };
            let there = self.records.crops.values().find(|crop| crop.field == *field && crop.year == year);
            let day = match area.facts.when {
                Some(When::Day(day)) if drilled => Some(day),
                _ => there.and_then(|crop| crop.drilled),
            };
            let id = there.map_or_else(CropId::new, |crop| crop.id);
            let cultivation = there.map(|crop| crop.cultivation.clone()).unwrap_or_default();
            edit.put(Record::Crop(Crop { id, field: *field, year, crop: name.clone(), drilled: day, cultivation }));
            *count.entry(year).or_default() += 1;
        }
        if without > 0 {
            let what = format!("{} in column {heading} have no harvest year.", units::count(without, "crop"));
            let hint = "Give the harvest year (--year 2026), or the column that has it (--date-column).";
            if self.columns.crop_said {
                problems.error(&self.table.name, what, hint);
                return Err(ImportError::Problems);
            }
            problems.note(&self.table.name, format!("{what} They were not read."), hint);
        }
        let years: Vec<String> = count.iter().map(|(year, count)| format!("{count} of harvest {year}")).collect();
        Ok((!years.is_empty()).then(|| format!("Crops: column {heading}, {}", years.join(", "))))
    }

    fn densities(&self, edit: &mut Edit<'_>, problems: &mut Problems) -> Result<Option<String>, ImportError> {
        let Some(heading) = self.columns.density.and_then(|column| self.table.columns.get(column)) else { return Ok(None) };
        let unit = self.options.density_unit.or_else(|| self.columns.density_unit(self.table));
        let mut lacking = |what: String, hint: &str| {
            if self.columns.density_said {
                problems.error(&self.table.name, what, hint);
                return Err(ImportError::Problems);
            }
            problems.note(&self.table.name, format!("{what} It was not read."), hint);
            Ok(None)
        };
        let Some(unit) = unit else {
            let what = format!("column {heading} seems to hold densities, but in which unit is not said.");
            return lacking(what, "Give the unit: --density-unit heads/m2, plants/m2 or class.");
        };
        let mut of_day: BTreeMap<jiff::civil::Date, Vec<ScoutZone>> = BTreeMap::new();
        for (area, field) in self.areas.iter().zip(self.placed) {
            let (Some(value), Some(_)) = (area.facts.density, field) else { continue };
            let day = match area.facts.when {
                Some(When::Day(day)) => Some(day),
                _ => self.options.date,
            };
            let Some(day) = day else {
                let what = format!("column {heading} holds densities, but the day they were seen is not said.");
                return lacking(what, "Give the day (--date 2026-06-14), or the column that has it (--date-column).");
            };
            of_day.entry(day).or_default().push(ScoutZone { area: area.boundary.clone(), value });
        }
        let days: Vec<String> = of_day.iter().map(|(day, zones)| format!("{} on {day}", zones.len())).collect();
        for (date, zones) in of_day {
            edit.put(Record::Survey(survey(self.records, self.table, date, unit, zones)));
        }
        Ok((!days.is_empty())
            .then(|| format!("Densities of whole fields: column {heading} in {}, {}", unit.label(), days.join(", "))))
    }
}

/// A survey of whole fields; one of the same day and file that is there already is replaced.
fn survey(records: &Records, table: &Table, date: jiff::civil::Date, unit: DensityUnit, zones: Vec<ScoutZone>) -> Survey {
    let kind = SurveyKind::Zones;
    let there =
        records.surveys.values().find(|survey| survey.date == date && survey.kind == kind && survey.source == table.name);
    Survey {
        id: there.map_or_else(SurveyId::new, |survey| survey.id),
        date,
        kind,
        unit,
        source: table.name.clone(),
        points: Vec::new(),
        zones,
        rasters: Vec::new(),
    }
}
