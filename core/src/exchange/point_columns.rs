//! Where the points of a table lie: which columns hold it, as said by hand, as remembered of the layout, by heading, or by what
//! stands in them; and the positions made of them.

use geo::Coord;

use crate::crs::Crs;
use crate::exchange::boundary_columns::signature;
use crate::exchange::columns::named;
use crate::exchange::position::{self, Grid};
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{FileOptions, ImportError};
use crate::formats::{Cell, Row, Table, plain_name};
use crate::model::{Layout, Records};
use crate::problem::Problems;

/// Columns that hold where points lie: two, or one of both in one text. None: found by heading and content.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlaceColumns {
    /// Easting or longitude.
    pub x: Option<String>,
    /// Northing or latitude.
    pub y: Option<String>,
    /// Both in one text: a reference of grid letters, or latitude and longitude.
    pub whole: Option<String>,
}

impl PlaceColumns {
    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        self.each().iter().all(|(_, column)| column.is_none())
    }

    /// What a column can hold, with the column said.
    pub fn each(&self) -> [(&'static str, Option<&str>); 3] {
        [(X, self.x.as_deref()), (Y, self.y.as_deref()), (WHOLE, self.whole.as_deref())]
    }

    /// Says by hand what holds `what` (one of [`each`](Self::each)).
    pub fn set(&mut self, what: &str, column: Option<String>) {
        match what {
            X => self.x = column,
            Y => self.y = column,
            WHOLE => self.whole = column,
            _ => {}
        }
    }

    /// Where positions come from, for the summary.
    pub(super) fn said(&self) -> Option<String> {
        let names: Vec<&str> = self.each().into_iter().filter_map(|(_, column)| column).collect();
        match names.as_slice() {
            [] => None,
            [one] => Some(format!("Positions: column {one}")),
            several => Some(format!("Positions: columns {}", several.join(" and "))),
        }
    }

    /// What is to be remembered of a file's layout; none if nothing was said by hand.
    pub(super) fn layout(&self, table: &Table) -> Option<Layout> {
        let said = self.each().into_iter().filter_map(|(what, column)| Some((column?.to_owned(), what.to_owned())));
        (!self.is_empty()).then(|| Layout { headings: signature(table), map: said.collect() })
    }

    /// What was said of the last file with the same headings.
    fn remembered(records: &Records, table: &Table) -> Self {
        let signature = signature(table);
        let layout = records.settings.boundary_layouts.iter().rev().find(|layout| layout.headings == signature);
        let mut columns = Self::default();
        for (column, what) in layout.iter().flat_map(|layout| &layout.map) {
            columns.set(what, Some(column.clone()));
        }
        columns
    }
}

const X: &str = "easting or longitude";
const Y: &str = "northing or latitude";
const WHOLE: &str = "position in one text";

/// Side of a grid square beyond which its corner is no position, m.
const COARSE_M: f64 = 10.0;

/// Headings by their words, degrees and metres: English, German, Dutch, Danish, Swedish, French. A heading counts if one of its
/// words is in the list, so that "GPS Lat (deg)" and "X-coord [m]" are known.
const LONGITUDES: &[&str] = &[
    "lon",
    "long",
    "lng",
    "longitude",
    "länge",
    "laenge",
    "längengrad",
    "laengengrad",
    "lengtegraad",
    "længdegrad",
    "longitud",
];
const LATITUDES: &[&str] = &["lat", "latitude", "breite", "breitengrad", "breedtegraad", "breddegrad", "latitud"];
const EASTINGS: &[&str] =
    &["easting", "eastings", "east", "x", "e", "ostwert", "rechtswert", "rw", "oost", "øst", "ost", "öst", "xcoord", "xutm"];
const NORTHINGS: &[&str] =
    &["northing", "northings", "north", "y", "n", "nordwert", "hochwert", "hw", "noord", "nord", "norr", "ycoord", "yutm"];

/// Words beside the letter of an axis.
const OF_AXES: &[&str] =
    &["coord", "coordinate", "koord", "koordinate", "coördinaat", "utm", "gps", "wert", "metres", "meter"];

/// Names of columns with a reference of national grid letters.
const GRID: &[&str] = &[
    "grid ref",
    "grid reference",
    "gridref",
    "os grid ref",
    "os grid reference",
    "os grid",
    "os ref",
    "ngr",
    "national grid",
    "national grid reference",
    "grid letters",
    "irish grid",
    "grid",
];
/// Names of columns with latitude and longitude in one text.
const PAIRS: &[&str] =
    &["lat lon", "lat long", "latlon", "latlong", "lat lng", "coordinates", "position", "location", "gps"];

/// How positions stand in a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Found {
    /// Easting or longitude, northing or latitude, and whether they are degrees.
    Two(usize, usize, bool),
    Grid(usize),
    Pair(usize),
}

/// A table whose rows have positions: if none has a geometry, points are made from columns. Gives the system that then
/// holds where the columns decide it, and returns the columns.
pub(super) fn with_points(
    records: &Records,
    table: &mut Table,
    options: &FileOptions,
    problems: &mut Problems,
) -> Result<PlaceColumns, ImportError> {
    let has_shapes = table.rows.iter().any(|row| row.geometry().is_some()) || table.crs.is_some();
    if has_shapes && options.place.is_empty() {
        return Ok(PlaceColumns::default());
    }
    let said = if options.place.is_empty() { PlaceColumns::remembered(records, table) } else { options.place.clone() };
    let found = if said.is_empty() { found(table, options.crs.as_ref()) } else { by_hand(table, &said, options, problems)? };
    let Some(found) = found else {
        problems.error(
            &table.name,
            format!("no columns with a position were found among: {}.", table.columns.join(", ")),
            "Say which they are (--x-column and --y-column, or --place-column), or name them lon and lat, easting and northing \
             (with --crs), or grid reference (such as TF 123 456).",
        );
        return Err(ImportError::Problems);
    };
    let name = |column: usize| table.columns.get(column).cloned();
    let columns = match found {
        Found::Two(x, y, _) => PlaceColumns { x: name(x), y: name(y), whole: None },
        Found::Grid(whole) | Found::Pair(whole) => PlaceColumns { whole: name(whole), ..PlaceColumns::default() },
    };
    match found {
        Found::Two(x, y, degrees) => {
            // What was said by hand of a file with shapes goes before its own system.
            table.crs = degrees.then_some(Crs::Wgs84);
            points(table, problems, |table, row| two_columns(table, row, x, y, degrees))?;
        }
        Found::Grid(column) => grid_references(table, column, problems)?,
        Found::Pair(column) => {
            table.crs = Some(Crs::Wgs84);
            points(table, problems, |table, row| {
                let text = table.cell(row, column).written();
                position::pair(&text).ok_or_else(|| format!("“{text}” is no latitude and longitude."))
            })?;
        }
    }
    Ok(columns)
}

/// The columns by hand.
fn by_hand(
    table: &Table,
    said: &PlaceColumns,
    options: &FileOptions,
    problems: &mut Problems,
) -> Result<Option<Found>, ImportError> {
    let mut column = |name: &str| {
        named(table, name).map_err(|hint| {
            problems.error(&table.name, format!("it has no column “{name}”."), hint);
            ImportError::Problems
        })
    };
    if let Some(whole) = &said.whole {
        let column = column(whole)?;
        return Ok(Some(if all(table, column, is_grid_reference) { Found::Grid(column) } else { Found::Pair(column) }));
    }
    let (Some(x), Some(y)) = (&said.x, &said.y) else {
        problems.error(
            &table.name,
            "a position needs two columns, easting and northing or longitude and latitude.",
            "Say both (--x-column and --y-column), or the one that holds the whole position (--place-column).",
        );
        return Err(ImportError::Problems);
    };
    let (x, y) = (column(x)?, column(y)?);
    let heading = |column: usize, words: &[&str]| table.columns.get(column).is_some_and(|name| has_word(name, words));
    // Letters or marks of degrees stand in texts only.
    let angles = |column: usize, letters| {
        let angle = |cell: &Cell| matches!(cell, Cell::Text(text) if position::angle(text, letters).is_some());
        table.rows.iter().any(|row| angle(&table.cell(row, column)))
    };
    let degrees = match &options.crs {
        Some(crs) => *crs == Crs::Wgs84,
        None => heading(x, LONGITUDES) && heading(y, LATITUDES) || angles(x, ('E', 'W')) || angles(y, ('N', 'S')),
    };
    Ok(Some(Found::Two(x, y, degrees)))
}

/// The columns by heading, else by what stands in them. If a system in metres is given, metres go before degrees where a
/// table has both.
fn found(table: &Table, given: Option<&Crs>) -> Option<Found> {
    let two = |x: &[&str], y: &[&str], degrees| Some(Found::Two(only(table, x)?, only(table, y)?, degrees));
    let (degrees, metres) = (|| two(LONGITUDES, LATITUDES, true), || two(EASTINGS, NORTHINGS, false));
    let projected = given.is_some_and(|crs| *crs != Crs::Wgs84);
    let by_two = if projected { metres().or_else(degrees) } else { degrees().or_else(metres) };
    let by_content = |is: fn(&str) -> bool| (0..table.columns.len()).find(|column| all(table, *column, is));
    by_two
        .or_else(|| table.column(GRID).map(Found::Grid))
        .or_else(|| table.column(PAIRS).map(Found::Pair))
        .or_else(|| by_content(is_grid_reference).map(Found::Grid))
        .or_else(|| by_content(is_pair).map(Found::Pair))
}

/// The column that has exactly such a name, or else the only one with such a word.
fn only(table: &Table, words: &[&str]) -> Option<usize> {
    if let Some(column) = table.column(words) {
        return Some(column);
    }
    let mut columns = (0..table.columns.len()).filter(|column| has_word(&table.columns[*column], words));
    columns.next().filter(|_| columns.next().is_none())
}

fn has_word(heading: &str, words: &[&str]) -> bool {
    let lower = heading.to_lowercase();
    let parts: Vec<&str> = lower.split(|c: char| !c.is_alphabetic()).filter(|part| !part.is_empty()).collect();
    // A single letter stands for an axis only among words of coordinates: "X [m]", not "e-mail".
    let axis = parts.iter().all(|part| part.len() == 1 || OF_AXES.contains(part));
    parts.iter().any(|part| words.contains(part) && (part.len() > 1 || axis))
        || words.contains(&plain_name(heading).as_str())
}

/// Whether every cell that holds something holds that, and one does.
fn all(table: &Table, column: usize, is: fn(&str) -> bool) -> bool {
    let mut texts = table.rows.iter().map(|row| table.cell(row, column)).filter(|cell| !cell.is_empty()).peekable();
    texts.peek().is_some() && texts.all(|cell| matches!(&*cell, Cell::Text(text) if is(text)))
}

fn is_grid_reference(text: &str) -> bool {
    position::grid_reference(text).is_some_and(|found| found.square_m < 1000.0)
}

fn is_pair(text: &str) -> bool {
    position::pair(text).is_some()
}

/// Gives every row the position that `read` finds in it; a row without one is an error that says why.
fn points(
    table: &mut Table,
    problems: &mut Problems,
    mut read: impl FnMut(&Table, Row<'_>) -> Result<Coord<f64>, String>,
) -> Result<(), ImportError> {
    let mut errors = RowErrors::new(&table.name, problems);
    let found: Vec<_> = table
        .rows
        .iter()
        .map(|row| {
            read(table, row).unwrap_or_else(|what| {
                errors.add(table.place(row), what, "Write the position as the other rows do, or delete the row.");
                Coord { x: f64::NAN, y: f64::NAN }
            })
        })
        .collect();
    errors.finish()?;
    table.rows.set_points(found);
    Ok(())
}

/// A position of two columns: numbers, or angles with minutes and letters where they are degrees.
fn two_columns(table: &Table, row: Row<'_>, x: usize, y: usize, degrees: bool) -> Result<Coord<f64>, String> {
    let read = |column: usize, letters| {
        let cell = table.cell(row, column);
        let angle = || if degrees { position::angle(&cell.written(), letters) } else { None };
        cell.number().filter(|number| number.is_finite()).or_else(angle).ok_or_else(|| {
            let name = table.columns.get(column).map_or("", String::as_str);
            format!("“{}” in column {name} is no number{}.", cell.written(), if degrees { " and no angle" } else { "" })
        })
    };
    Ok(Coord { x: read(x, ('E', 'W'))?, y: read(y, ('N', 'S'))? })
}

/// Positions of references such as "TF 123 456"; all of one grid, which then is the table's system.
fn grid_references(table: &mut Table, column: usize, problems: &mut Problems) -> Result<(), ImportError> {
    let (mut grid, mut coarse) = (None, 0);
    points(table, problems, |table, row| {
        let text = table.cell(row, column).written();
        let found = position::grid_reference(&text)
            .ok_or_else(|| format!("“{text}” is no grid reference such as TF 123 456 (Ireland: S 123 456)."))?;
        if *grid.get_or_insert(found.grid) != found.grid {
            return Err(format!("“{text}” is of another national grid than the rows before."));
        }
        coarse += usize::from(found.square_m > COARSE_M);
        Ok(found.corner)
    })?;
    if coarse > 0 {
        let what = format!("{coarse} grid references name squares of 100 m or more; their south-west corners were taken.");
        problems.warning(&table.name, what, "Give eight or ten digits.");
    }
    table.crs = Some(match grid {
        Some(Grid::Irish) => Crs::from_epsg(29903),
        _ => Crs::from_epsg(27700),
    });
    Ok(())
}
