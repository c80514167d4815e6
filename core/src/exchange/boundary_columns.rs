//! The columns of a boundary file: which holds what, as said by hand, as remembered of the layout, or by heading; and what a
//! row says of its field besides its shape.

use std::borrow::Cow;

use jiff::civil::Date;

use crate::exchange::boundary_facts::AreaUnit;
use crate::exchange::results::cells;
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{ImportError, columns, scouting_values};
use crate::formats::{Cell, Row, Table, plain_name};
use crate::model::{DensityUnit, Layout, Records};
use crate::problem::Problems;

/// Which columns hold what. None: found by heading; [`BoundaryColumns::NOT_READ`]: no column, whatever its heading.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BoundaryColumns {
    /// The field's name.
    pub name: Option<String>,
    /// The farm's name.
    pub farm: Option<String>,
    /// What is grown, for the harvest year of the import or of the row's date.
    pub crop: Option<String>,
    /// The area as the file states it, compared with the outline.
    pub area: Option<String>,
    /// A harvest year, or a day: of drilling if its heading says so.
    pub date: Option<String>,
    /// How much of the weed stands in the whole field.
    pub density: Option<String>,
}

impl BoundaryColumns {
    /// Written instead of a column's name: none is read.
    pub const NOT_READ: &'static str = "-";

    /// What a column can hold, in the order in which it is asked for, with the column said.
    pub fn each(&self) -> [(&'static str, Option<&str>); 6] {
        [
            ("name", self.name.as_deref()),
            ("farm", self.farm.as_deref()),
            ("crop", self.crop.as_deref()),
            ("area", self.area.as_deref()),
            ("date", self.date.as_deref()),
            ("density", self.density.as_deref()),
        ]
    }

    /// Says by hand what holds `what` (one of [`each`](Self::each)).
    pub fn set(&mut self, what: &str, column: Option<String>) {
        match what {
            "name" => self.name = column,
            "farm" => self.farm = column,
            "crop" => self.crop = column,
            "area" => self.area = column,
            "date" => self.date = column,
            "density" => self.density = column,
            _ => {}
        }
    }

    /// Whether nothing is said by hand.
    pub fn is_empty(&self) -> bool {
        self.each().iter().all(|(_, column)| column.is_none())
    }

    /// What was said of the last file with the same headings, with the units of areas and densities.
    fn remembered(records: &Records, table: &Table) -> Option<(Self, Option<AreaUnit>, Option<DensityUnit>)> {
        let signature = signature(table);
        let layout = records.settings.boundary_layouts.iter().rev().find(|layout| layout.headings == signature)?;
        let (mut columns, mut area, mut density) = (Self::default(), None, None);
        for (column, what) in &layout.map {
            match what.as_str() {
                AREA_UNIT => area = column.parse().ok(),
                DENSITY_UNIT => density = column.parse().ok(),
                what => columns.set(what, Some(column.clone())),
            }
        }
        Some((columns, area, density))
    }

    /// What is to be remembered of the file's layout; none if no column was said by hand.
    pub(super) fn layout(&self, table: &Table, area: Option<AreaUnit>, density: Option<DensityUnit>) -> Option<Layout> {
        let said = self.each().into_iter().filter_map(|(what, column)| Some((column?.to_owned(), what.to_owned())));
        let units = area.map(|unit| (unit.label().to_owned(), AREA_UNIT.to_owned())).into_iter();
        let units = units.chain(density.map(|unit| (unit.label().to_owned(), DENSITY_UNIT.to_owned())));
        (!self.is_empty()).then(|| Layout { headings: signature(table), map: said.chain(units).collect() })
    }
}

/// What stands for the units in a layout that is remembered.
const AREA_UNIT: &str = "unit of area";
/// See [`AREA_UNIT`].
const DENSITY_UNIT: &str = "unit of density";

/// What a layout is known by.
pub(super) fn signature(table: &Table) -> Vec<String> {
    let mut headings: Vec<String> = table.columns.iter().map(|name| plain_name(name)).collect();
    headings.sort();
    headings
}

/// Names of columns with what is grown: English, Dutch, Danish, German, French, Swedish, Finnish.
const CROPS: &[&str] = &[
    "crop",
    "crop name",
    "cropname",
    "gewas",
    "afgroede",
    "afgrøde",
    "kultur",
    "kulturart",
    "hauptkultur",
    "fruchtart",
    "frucht",
    "culture",
    "gröda",
    "kasvi",
];
/// Names of columns with a stated area.
const AREAS: &[&str] = &[
    "area ha",
    "areaha",
    "hectares",
    "ha",
    "area m2",
    "area",
    "areal ha",
    "areal",
    "imk areal",
    "flaeche ha",
    "fläche ha",
    "flaeche",
    "fläche",
    "oppervlakte",
    "surface",
    "acres",
    "area acres",
];
/// Names of columns with a harvest year or a day.
const DATES: &[&str] = &[
    "harvest year",
    "harvest",
    "year",
    "jaar",
    "jahr",
    "år",
    "aar",
    "season",
    "date",
    "datum",
    "dato",
    "survey date",
    "drilled",
    "drilling date",
    "sown",
    "sowing date",
];
/// Names of columns with a density of the weed.
const DENSITIES: &[&str] =
    &["heads/m2", "heads per m2", "plants/m2", "plants per m2", "weed density", "weed class", "density"];

/// The columns found, by index.
#[derive(Debug, Clone, Default)]
pub(super) struct Columns {
    pub name: Option<usize>,
    pub farm: Option<usize>,
    pub crop: Option<usize>,
    pub area: Option<usize>,
    pub date: Option<usize>,
    pub density: Option<usize>,
    /// Whether crop and density were said by hand, so that what they lack is an error.
    pub crop_said: bool,
    pub density_said: bool,
    /// Whether the layout was remembered.
    pub remembered: bool,
    /// Units that were remembered with it.
    pub area_unit: Option<AreaUnit>,
    pub density_unit: Option<DensityUnit>,
}

/// A harvest year, or a day in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum When {
    Year(i32),
    Day(Date),
}

impl When {
    /// The harvest year: from August on a day belongs to the next harvest, as for surveys.
    pub fn harvest_year(self) -> i32 {
        match self {
            Self::Year(year) => year,
            Self::Day(day) => i32::from(day.year()) + i32::from(day.month() >= 8),
        }
    }
}

/// What a row says of its field besides name, farm and shape.
#[derive(Debug, Clone, Default)]
pub(super) struct Facts {
    pub crop: Option<String>,
    /// In the unit of the column.
    pub area: Option<f64>,
    pub when: Option<When>,
    pub density: Option<f64>,
}

impl Columns {
    /// Finds them; a column said by hand that is not there is an error.
    pub fn find(
        records: &Records,
        table: &Table,
        said: &BoundaryColumns,
        problems: &mut Problems,
    ) -> Result<Self, ImportError> {
        let remembered = if said.is_empty() { BoundaryColumns::remembered(records, table) } else { None };
        let by_hand = remembered.as_ref().map_or(said, |(columns, ..)| columns);
        let units = remembered.as_ref().map_or((None, None), |(_, area, density)| (*area, *density));
        let mut wrong = false;
        let mut find = |column: &Option<String>, guess: Option<usize>| match column.as_deref() {
            None => guess,
            Some(BoundaryColumns::NOT_READ) => None,
            Some(name) => columns::named(table, name).map_or_else(
                |hint| {
                    problems.error(&table.name, format!("it has no column “{name}”."), hint);
                    wrong = true;
                    None
                },
                Some,
            ),
        };
        let filled = |column: &usize| table.rows.iter().any(|row| !table.cell(row, *column).is_empty());
        let headed = |names: &[&str]| names.iter().filter_map(|name| table.column(&[name])).find(filled);
        // Registers have crops as numbers of a list of their own too; those are read only if said by hand.
        let words = |column: &usize| table.rows.iter().any(|row| matches!(*table.cell(row, *column), Cell::Text(_)));
        let found = Self {
            name: find(&by_hand.name, columns::field_name(table)),
            farm: find(&by_hand.farm, columns::farm(table)),
            crop: find(&by_hand.crop, headed(CROPS).filter(words)),
            area: find(&by_hand.area, headed(AREAS)),
            date: find(&by_hand.date, headed(DATES)),
            density: find(&by_hand.density, headed(DENSITIES)),
            crop_said: said.crop.is_some(),
            density_said: said.density.is_some(),
            remembered: remembered.is_some(),
            area_unit: units.0,
            density_unit: units.1,
        };
        if wrong { Err(ImportError::Problems) } else { Ok(found) }
    }

    /// The names of the columns, as they could be said by hand.
    pub fn named(&self, table: &Table) -> BoundaryColumns {
        let name = |column: Option<usize>| column.and_then(|column| table.columns.get(column)).cloned();
        BoundaryColumns {
            name: name(self.name),
            farm: name(self.farm),
            crop: name(self.crop),
            area: name(self.area),
            date: name(self.date),
            density: name(self.density),
        }
    }

    /// Where names come from, for the summary.
    pub fn said(&self, table: &Table) -> Vec<String> {
        let name = |column: Option<usize>| column.and_then(|column| table.columns.get(column));
        let names = name(self.name).map_or_else(
            || "Names: none in the file; fields are numbered".to_owned(),
            |name| format!("Names: column {name}"),
        );
        let farms = name(self.farm).map(|name| format!("Farms: column {name}"));
        let known = self.remembered.then(|| "Columns as said for the last file with these headings".to_owned());
        [Some(names), farms, known].into_iter().flatten().collect()
    }

    /// The name of the farm, if the row has one.
    pub fn farm(&self, table: &Table, row: Row<'_>) -> Option<String> {
        Some(table.cell(row, self.farm?).written()).filter(|name| !name.is_empty())
    }

    /// The name of the field, or one with its number.
    pub fn field(&self, table: &Table, row: Row<'_>, number: usize) -> String {
        let written = self.name.map(|column| table.cell(row, column).written()).unwrap_or_default();
        if written.is_empty() { format!("Field {number}") } else { written }
    }

    /// Everything else. A cell that cannot be read is an error in a column said by hand, and left out in one guessed.
    pub fn facts(
        &self,
        table: &Table,
        row: Row<'_>,
        unit: Option<DensityUnit>,
        date_said: bool,
        errors: &mut RowErrors<'_>,
    ) -> Facts {
        let cell = |column: Option<usize>| column.map_or(Cow::Owned(Cell::Empty), |column| table.cell(row, column));
        let when = when(&cell(self.date));
        if when.is_none() && date_said && !cell(self.date).is_empty() {
            let what = format!("“{}” is neither a year nor a day.", cell(self.date).written());
            errors.add(table.place(row), what, "Write it as 2026 or 2026-06-14, or choose another column.");
        }
        let density = match (self.density, unit) {
            (Some(column), Some(unit)) if !cell(Some(column)).is_empty() => {
                if self.density_said {
                    scouting_values::value(table, row, column, unit, errors)
                } else {
                    let mut unsaid = Problems::new();
                    scouting_values::value(table, row, column, unit, &mut RowErrors::new(&table.name, &mut unsaid))
                }
            }
            _ => None,
        };
        Facts {
            crop: Some(cell(self.crop).written()).filter(|crop| !crop.is_empty()),
            area: cell(self.area).number().filter(|area| area.is_finite() && *area > 0.0),
            when,
            density,
        }
    }

    /// Whether the date is a day of drilling, by its heading.
    pub fn drilled(&self, table: &Table) -> bool {
        let heading = self.date.and_then(|column| table.columns.get(column)).map(|name| plain_name(name));
        heading.is_some_and(|name| ["drill", "sown", "sowing"].iter().any(|word| name.contains(word)))
    }

    /// The unit of the density that was remembered, or that its heading names.
    pub fn density_unit(&self, table: &Table) -> Option<DensityUnit> {
        if self.density_unit.is_some() {
            return self.density_unit;
        }
        let heading = self.density.and_then(|column| table.columns.get(column)).map(|name| plain_name(name))?;
        [("heads", DensityUnit::HeadsPerM2), ("plants", DensityUnit::PlantsPerM2), ("class", DensityUnit::Class)]
            .into_iter()
            .find(|(word, _)| heading.contains(word))
            .map(|(_, unit)| unit)
    }
}

/// A harvest year ("2026", "2025/26") or a day.
fn when(cell: &Cell) -> Option<When> {
    if let Some(day) = cells::date(cell) {
        return (1950..=2100).contains(&day.year()).then_some(When::Day(day));
    }
    cells::year(cell).map(When::Year)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn years_and_days() {
        let of = |text: &str| when(&Cell::text(text)).map(When::harvest_year);
        assert_eq!(when(&Cell::Number(2026.0)), Some(When::Year(2026)));
        assert_eq!(
            (of("2026"), of("2025/26"), of("2026-06-14"), of("14.10.2025")),
            (Some(2026), Some(2026), Some(2026), Some(2026))
        );
        assert_eq!((of(""), of("soon"), of("12"), of("1848")), (None, None, None, None));
    }
}
