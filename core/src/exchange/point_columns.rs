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
    "længde",
    "længdegrad",
    "lengde",
    "lengdegrad",
    "longitud",
];
const LATITUDES: &[&str] = &["lat", "latitude", "breite", "breitengrad", "breedtegraad", "bredde", "breddegrad", "latitud"];
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
    "irish grid",
    "grid",
];
/// Names of columns with the letters alone, beside easting and northing within their square.
const SQUARES: &[&str] =
    &["square", "grid square", "gridsquare", "grid letters", "letters", "100km square", "100 km square", "os square"];
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
    /// Letters of a grid square, easting and northing within it.
    Square(usize, usize, usize),
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
        Found::Square(letters, x, y) => PlaceColumns { x: name(x), y: name(y), whole: name(letters) },
        Found::Grid(whole) | Found::Pair(whole) => PlaceColumns { whole: name(whole), ..PlaceColumns::default() },
    };
    match found {
        Found::Two(x, y, degrees) => {
            // What was said by hand of a file with shapes goes before its own system.
            table.crs = degrees.then_some(Crs::Wgs84);
            let letters = |column, is| if degrees { letters_beside(table, column, is) } else { None };
            let (of_x, of_y) = (letters(x, is_east_or_west), letters(y, is_north_or_south));
            points(table, problems, |table, row| {
                let x = one_of_two(table, row, (x, of_x), ('E', 'W'), degrees)?;
                Ok(Coord { x, y: one_of_two(table, row, (y, of_y), ('N', 'S'), degrees)? })
            })?;
        }
        Found::Grid(column) => grid_references(table, problems, |row| row.cell(column).written())?,
        Found::Square(letters, x, y) => {
            // Zeros in front are lost where a spreadsheet took them for numbers.
            let digits = |row: Row<'_>| [x, y].map(|column| row.cell(column).written().len());
            let width = table.rows.iter().flat_map(digits).max().unwrap_or(0);
            let padded = |row: Row<'_>, column: usize| format!("{:0>width$}", row.cell(column).written());
            let text = |row: Row<'_>| format!("{} {} {}", row.cell(letters).written(), padded(row, x), padded(row, y));
            grid_references(table, problems, text)?;
        }
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
    if let (Some(letters), Some(x), Some(y)) = (&said.whole, &said.x, &said.y) {
        return Ok(Some(Found::Square(column(letters)?, column(x)?, column(y)?)));
    }
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
    let square = table.column(SQUARES).filter(|column| given.is_none() && all(table, *column, is_square));
    if let (Some(letters), Some(Found::Two(x, y, _))) = (square, metres()) {
        return Some(Found::Square(letters, x, y));
    }
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

/// Letters of a square alone: it has a corner.
fn is_square(text: &str) -> bool {
    text.chars().all(char::is_alphabetic) && position::grid_reference(&format!("{text}00")).is_some()
}

fn is_east_or_west(text: &str) -> bool {
    matches!(text, "E" | "W" | "e" | "w")
}

fn is_north_or_south(text: &str) -> bool {
    matches!(text, "N" | "S" | "n" | "s")
}

/// The column beside another that holds nothing but the letters of directions, as receivers write them.
fn letters_beside(table: &Table, column: usize, is: fn(&str) -> bool) -> Option<usize> {
    [column + 1, column.wrapping_sub(1)].into_iter().find(|beside| all(table, *beside, is))
}

/// One number of a position: of a column, and of the one with its letter if there is one. An angle with minutes and letters where it is
/// in degrees.
fn one_of_two(
    table: &Table,
    row: Row<'_>,
    (column, of_letter): (usize, Option<usize>),
    letters: (char, char),
    degrees: bool,
) -> Result<f64, String> {
    let cell = table.cell(row, column);
    let angle = |text: &str| if degrees { position::angle(text, letters) } else { None };
    let found = if let Some(beside) = of_letter {
        angle(&format!("{} {}", cell.written(), row.cell(beside).written()))
    } else {
        let number = cell.number().filter(|number| number.is_finite());
        number.or_else(|| angle(&cell.written())).or_else(|| if degrees { None } else { grouped(&cell.written()) })
    };
    found.ok_or_else(|| {
        let name = table.columns.get(column).map_or("", String::as_str);
        let more = if degrees { " and no angle such as 52.5125 or 52°30.75'N" } else { "" };
        format!("“{}” in column {name} is no number{more}.", cell.written())
    })
}

/// A number whose thousands are set apart, where it shows which mark is the decimal one: "3.500.000,5", "530,125.5".
fn grouped(text: &str) -> Option<f64> {
    let last = text.rfind([',', '.'])?;
    let mark = if text.as_bytes().get(last) == Some(&b',') { ',' } else { '.' };
    let (whole, part) = (text.get(..last)?, text.get(last + 1..)?);
    // One mark alone, before three digits, could be either.
    let clear = whole.contains([',', '.']) && !whole.contains(mark);
    let groups: Vec<&str> = whole.split([',', '.', ' ', '\u{a0}', '\u{202f}']).collect();
    let three = groups.iter().skip(1).all(|group| group.len() == 3);
    if clear && three { format!("{}.{part}", groups.concat()).parse().ok() } else { None }
}

/// Positions of references such as "TF 123 456"; all of one grid, which then is the table's system.
fn grid_references(table: &mut Table, problems: &mut Problems, text: impl Fn(Row<'_>) -> String) -> Result<(), ImportError> {
    let (mut grid, mut coarse) = (None, 0);
    points(table, problems, |_, row| {
        let text = text(row);
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
