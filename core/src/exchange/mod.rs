//! Between foreign files and records: imports end in one [`Command`], exports in bytes.
//!
//! An import never changes anything itself. When it finds errors in the data it returns them all in [`Problems`] and no
//! command ([`ImportError::Problems`]).

mod boundaries;
mod changes;
mod columns;
mod everything;
mod export;
mod gates;
mod near;
mod new_year;
mod no_go;
mod place;
mod position;
mod results;
mod row_errors;
mod scouting;
mod scouting_raster;
mod scouting_values;
mod tramlines;
mod treatments;
mod walked;

use crate::progress::Cancelled;
use crate::project::Command;

pub use boundaries::{BoundaryOptions, boundaries};
pub use changes::ChangeKind;
pub use everything::{DataFormat, Extent, everything, meaning, zipped};
pub use export::{ExportFile, Format, What, export, export_files, submission_csv};
pub use gates::gates;
pub use no_go::no_go;
pub use results::{Column, Meaning, Preview, preview, results, typed};
pub use scouting::{ScoutingOptions, scouting};
pub use tramlines::{TramlineOptions, tramlines};
pub use treatments::{
    TableColumn, Treatment, TreatmentPreview, TreatmentSource, treatment_preview, treatments, typed_programme,
    typed_treatment,
};
pub use walked::{WalkedOptions, walked};

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
