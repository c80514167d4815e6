//! Between foreign files and records: imports end in one [`Command`], exports in bytes.
//!
//! An import never changes anything itself. When it finds errors in the data it returns them all in [`Problems`] and no
//! command ([`ImportError::Problems`]).

mod boundaries;
mod boundary_columns;
mod boundary_facts;
mod changes;
mod columns;
mod everything;
mod export;
mod gates;
mod near;
mod new_year;
mod no_go;
mod outline;
mod place;
mod point_columns;
mod position;
mod results;
mod row_errors;
mod scenarios;
mod scouting;
mod scouting_raster;
mod scouting_values;
mod tramlines;
mod treatments;
mod walked;

use geo::MultiPolygon;

use crate::crs::Crs;
use crate::formats::{Letters, Reading, Shapes};
use crate::progress::Cancelled;
use crate::project::Command;

pub use boundaries::{BoundaryOptions, boundaries};
pub use boundary_columns::BoundaryColumns;
pub use boundary_facts::AreaUnit;
pub use changes::ChangeKind;
pub use everything::{DataFormat, Extent, everything, meaning, zipped};
pub use export::{
    DayFile, ExportFile, Format, What, ZoneRate, Zones, export, export_files, rounds_calendar, rounds_gpx, submission_csv,
};
pub use gates::gates;
pub use no_go::no_go;
pub use point_columns::PlaceColumns;
pub use position::place_of_text;
pub use results::{Column, Meaning, Preview, preview, results, typed};
pub use scenarios::scenarios;
pub use scouting::{ScoutingOptions, scouting};
pub use tramlines::{TramlineOptions, tramlines};
pub use treatments::{
    TableColumn, Treatment, TreatmentPreview, TreatmentSource, treatment_preview, treatments, typed_programme,
    typed_treatment,
};
pub use walked::{WalkedOptions, walked};

/// What can be said by hand of any file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FileOptions {
    /// Coordinate system; none: what the file says.
    pub crs: Option<Crs>,
    /// Layer of a file with several; none: the first with shapes of the kind wanted.
    pub layer: Option<String>,
    /// Letters of the file's texts; none: as it says, or found out.
    pub letters: Option<Letters>,
    /// Of points in a table: the columns that hold where they lie.
    pub place: PlaceColumns,
}

impl FileOptions {
    /// How the file is to be read for shapes of a kind.
    fn reading(&self, shapes: Shapes) -> Reading<'_> {
        Reading { layer: self.layer.as_deref(), shapes, letters: self.letters }
    }
}

/// What an import would do.
#[derive(Debug, Clone)]
pub struct Import {
    /// The command to apply.
    pub command: Command,
    /// Records added.
    pub added: usize,
    /// Records that were there already and were written again.
    pub updated: usize,
    /// Rows left out, each with a problem.
    pub skipped: usize,
    /// What was made of the file, for people: coordinate system, method and accuracy, area.
    pub summary: Vec<String>,
    /// Outlines that were broken, before and after.
    pub repaired: Vec<RepairedShape>,
    /// Of boundaries: the columns that were read as what.
    pub columns: Option<BoundaryColumns>,
    /// Of points in a table: the columns from which positions were read.
    pub place: PlaceColumns,
}

impl Import {
    /// An import of a command, with nothing to say of it yet.
    fn of(command: Command) -> Self {
        Self {
            command,
            added: 0,
            updated: 0,
            skipped: 0,
            summary: Vec::new(),
            repaired: Vec::new(),
            columns: None,
            place: PlaceColumns::default(),
        }
    }
}

/// An outline that had to be repaired.
#[derive(Debug, Clone, PartialEq)]
pub struct RepairedShape {
    /// Where it stands in the file.
    pub place: String,
    /// Name of the field.
    pub name: String,
    /// As the file has it, degrees.
    pub before: MultiPolygon<f64>,
    /// As it is read, degrees.
    pub after: MultiPolygon<f64>,
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
