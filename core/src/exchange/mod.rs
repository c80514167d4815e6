//! Between foreign files and records: imports end in one [`Command`], exports in bytes.
//!
//! An import never changes anything itself. When it finds errors in the data it returns them all in [`Problems`] and no
//! command ([`ImportError::Problems`]).

use std::path::Path;

use jiff::civil::Date;

use crate::crs::Crs;
use crate::model::{DensityUnit, Records, SurveyKind};
use crate::problem::Problems;
use crate::progress::{Cancelled, Progress};
use crate::project::Command;

/// What an import would do.
#[derive(Debug, Clone)]
pub struct Import {
    /// The command to apply.
    pub command: Command,
    /// Records added.
    pub added: usize,
    /// Records changed.
    pub updated: usize,
    /// Rows left out, each with a problem.
    pub skipped: usize,
    /// What was made of the file, for people: coordinate system, method and accuracy, area.
    pub summary: Vec<String>,
}

/// Why an import was refused.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// The data have errors; they stand in the problems.
    #[error("nothing was imported; mend the problems listed and import again")]
    Problems,
    /// Stopped.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// How to read boundaries.
#[derive(Debug, Clone, Default)]
pub struct BoundaryOptions {
    /// The farm they belong to; none: a farm column, or the file's name.
    pub farm: Option<String>,
    /// Coordinate system; none: what the file says.
    pub crs: Option<Crs>,
    /// Column with the field's name; none: guessed.
    pub name_column: Option<String>,
    /// Layer of a file with several; none: the first with areas.
    pub layer: Option<String>,
    /// Bearing of the tramlines in degrees; none: along the longest edge.
    pub tramline_bearing_deg: Option<f64>,
    /// Spacing of the tramlines in m; none: no tramlines are made.
    pub tramline_spacing_m: Option<f64>,
}

/// How to read scouting.
#[derive(Debug, Clone)]
pub struct ScoutingOptions {
    /// The day of the survey.
    pub date: Date,
    /// Points or zones.
    pub kind: SurveyKind,
    /// Column with the value; none: guessed.
    pub value_column: Option<String>,
    /// What the values count.
    pub unit: DensityUnit,
    /// Coordinate system; none: what the file says.
    pub crs: Option<Crs>,
}

/// Reads field boundaries.
pub fn boundaries(
    records: &Records,
    file: &Path,
    options: &BoundaryOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let _ = (records, file, options, problems, progress);
    todo!()
}

/// Reads gates: points, each given to the nearest field.
pub fn gates(
    records: &Records,
    file: &Path,
    crs: Option<&Crs>,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let _ = (records, file, crs, problems, progress);
    todo!()
}

/// Reads a scouting survey.
pub fn scouting(
    records: &Records,
    file: &Path,
    options: &ScoutingOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let _ = (records, file, options, problems, progress);
    todo!()
}

/// Reads test results. `map` renames columns: (column in the file, heading that Awn knows).
pub fn results(
    records: &Records,
    file: &Path,
    map: &[(String, String)],
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    let _ = (records, file, map, problems, progress);
    todo!()
}

/// What to export.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum What {
    Stops,
    Walks,
    Fields,
    Results,
}

/// A format to export in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Format {
    Gpx,
    GeoJson,
    Csv,
}

/// The bytes of an export for a harvest year; an error says which format to use instead.
pub fn export(records: &Records, year: i32, what: What, format: Format) -> Result<Vec<u8>, String> {
    let _ = (records, year, what, format);
    todo!()
}
