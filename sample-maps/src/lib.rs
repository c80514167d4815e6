//! The sample farm: an invented farming business, as the files a user would have and the records a user would have entered.
//!
//! Everything is made by this crate from fixed seeds: outlines, fields, weeds, tests. No place, farm, person or laboratory is
//! meant. Trigonometry, exponentials and logarithms come from `libm`, so that the bytes do not hang on the platform's own.
//!
//! The order of use: read in the boundaries and the gates of [`files`], apply [`extras`], then read in the rest. [`extras`]
//! adds the field that was split in 2023 under its old name, which the results of 2019 and 2021 use.

mod dice;
mod fields;
mod history;
mod land;
mod names;
mod results;
mod samples;
mod scenarios;
mod scouting;
mod season;
mod shape;
mod weeds;

use awn_core::model::Records;
use awn_core::project::Command;
use jiff::civil::Date;

pub use names::{BUSINESS, FARMS};
pub use samples::PLANNER;

/// The harvest year being planned: the latest results are of the year before.
pub const SEASON: i32 = 2027;

/// Where rounds begin and end: an invented yard between the three farms, degrees.
pub const BASE: geo::Coord<f64> = geo::Coord { x: -0.215, y: 52.34 };

/// A file as a user would get it.
pub struct SampleFile {
    /// File name; says what is in it.
    pub name: &'static str,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// The input files: boundaries and gates first, then scouting, then results, each kind by date.
pub fn files() -> Vec<SampleFile> {
    let estate = fields::estate();
    let weeds = weeds::grow(&estate);
    let mut files = fields::files(&estate);
    files.extend(scouting::files(&estate, &weeds));
    files.extend(results::files(&estate, &weeds));
    files
}

/// The table of spray programmes, to be read in after all other files.
pub fn programmes() -> SampleFile {
    SampleFile { name: "programmes.csv", bytes: history::PROGRAMMES.as_bytes().to_vec() }
}

/// What is planned against the weed for [`SEASON`], against records into which all files and [`programmes`] were read.
pub fn planned(records: &Records) -> Command {
    history::planned(records)
}

/// What the user entered by hand, against records into which boundaries and gates were read: the split of 2023, tramlines,
/// no-go areas, crops and sprays of 2019 to 2026, the project's name,
/// what was noted in early July of the season. Fields that are missing are left out.
pub fn extras(records: &Records) -> Command {
    history::extras(records)
}

/// The day in a file name such as `scouting-2026-06-16.csv`; the first day of [`SEASON`] if there is none.
pub fn date_in(name: &str) -> Date {
    let mut numbers = name.split(|c: char| !c.is_ascii_digit()).filter_map(|part| part.parse::<i16>().ok());
    let day = (|| {
        let year = numbers.next()?;
        let (month, day) = (i8::try_from(numbers.next()?).ok()?, i8::try_from(numbers.next()?).ok()?);
        Date::new(year, month, day).ok()
    })();
    day.unwrap_or(jiff::civil::date(SEASON as i16, 1, 1))
}
