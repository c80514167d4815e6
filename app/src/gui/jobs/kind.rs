//! The kinds of background work and what each comes to.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use awn_core::exchange::{Import, ImportError};
use awn_core::model::{FieldId, Plan, Rounds};
use awn_core::problem::Problems;
use awn_core::project::{Command, Project};
use awn_core::report::{Report, ReportError};
use geo::Coord;

use crate::gui::facts::{Facts, Order};
use crate::gui::map::{DensityLayer, Finds, Lines, Shapes};
use crate::gui::view::beside::{Chart, Comparison};
use crate::gui::view::import_form::Mapping;
use crate::gui::view::import_preview::Preview;
use crate::gui::view::outlook::{Expected, OutlookFound};

/// A kind of work; each has one slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum JobKind {
    Open,
    Write,
    Import,
    LookAtResults,
    Propose,
    Export,
    Facts,
    Density,
    Adjust,
    Change,
    Compare,
    Chart,
    Rounds,
    Order,
    Report,
    Pages,
    Outlook,
    Expected,
}

impl JobKind {
    /// Work that ends in a change of the project.
    pub const CHANGES: [Self; 5] = [Self::Propose, Self::Import, Self::Change, Self::Adjust, Self::Rounds];
}

/// A change by hand.
pub struct Change {
    /// What is written.
    pub command: Command,
    /// What to tell people besides.
    pub said: Option<String>,
    /// The fields that are chosen afterwards; none: as before.
    pub choose: Option<Vec<FieldId>>,
}

/// What a job came to.
#[allow(missing_docs)]
pub enum Outcome {
    /// A project was opened or made; then the boundary file, if any, is read into it.
    Opened {
        project: Result<Box<Project>, String>,
        then: Option<PathBuf>,
    },
    /// A command was written; the sentence is for people.
    Wrote(Result<Option<String>, String>),
    /// A file was read only to be looked at.
    Looked {
        file: PathBuf,
        preview: Arc<Preview>,
        problems: Problems,
    },
    /// A table of results was looked at with a mapping.
    LookedAtResults {
        file: PathBuf,
        map: Mapping,
        preview: Arc<awn_core::exchange::Preview>,
    },
    Imported {
        file: String,
        result: Box<Result<Import, ImportError>>,
        problems: Problems,
    },
    Proposed {
        plans: Vec<Plan>,
        problems: Problems,
        cancelled: bool,
    },
    Exported(Result<PathBuf, String>),
    /// A file was written, but something in it is not as it should be; a sentence each.
    ExportedWith(PathBuf, Vec<String>),
    Facts {
        facts: Box<Facts>,
        shapes: (Arc<Shapes>, BTreeMap<FieldId, Lines>),
        finds: Arc<Finds>,
    },
    Density(Arc<DensityLayer>),
    /// A change by hand, ready to be written, and what to tell people.
    Changed(Result<Change, String>),
    Compared(Result<Comparison, String>),
    Charted(Chart),
    Rounds(Result<Rounds, String>),
    /// The order of fields from cleanest to worst.
    Order(Arc<Order>),
    Reported(Result<Arc<Report>, ReportError>),
    /// The number of a report, and pages of it as pictures.
    Paged(u64, Vec<(usize, egui::ColorImage)>),
    Outlook(Box<OutlookFound>),
    Expected(Result<Arc<Expected>, String>),
    Adjusted {
        at: Coord<f64>,
        plan: Result<Box<Plan>, String>,
    },
}
