//! Everything that panels may see, in one place, so that it can be borrowed while the map's camera changes.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

use awn_core::model::{FieldId, PlanSettings, Records};

use crate::gui::ctx::{Ctx, JobLine};
use crate::gui::document::Document;
use crate::gui::facts::{Facts, Order};
use crate::gui::logic::outlook::OutlookKey;
use crate::gui::map::{DensityLayer, Finds, Layers, Lines, Shapes};
use crate::gui::notices::{ProblemList, Toast};
use crate::gui::request::Queue;
use crate::gui::view::beside::{Chart, Comparison};
use crate::gui::view::outlook::{Expected, OutlookFound};
use crate::gui::view::report::ReportPages;
use crate::gui::view::season::Week;
use crate::gui::view::{Sort, ViewState};

/// What was worked out from the records, and from which state of them.
#[derive(Default)]
pub struct Caches {
    /// What the panels show of each field.
    pub facts: Arc<Facts>,
    /// Counts the facts that arrived.
    pub facts_number: u64,
    /// Project, generation and year that the facts were asked for.
    pub facts_for: Option<(u64, u64, i32)>,
    /// Finds of the surveys on show.
    pub finds: Arc<Finds>,
    /// Fields as triangles and outlines.
    pub shapes: Arc<Shapes>,
    /// Density, once a lens has shown it.
    pub density: Option<Arc<DensityLayer>>,
    /// Project, year, whether its error, and records that the density was asked for.
    pub density_for: Option<(u64, i32, bool, Arc<Records>)>,
    /// Counts the density layers.
    pub density_number: u64,
    /// Tramlines by field.
    pub tramlines: BTreeMap<FieldId, Lines>,
    /// Plans beside the chosen field's.
    pub comparison: Option<Comparison>,
    /// Project, generation, field and year that they were asked for.
    pub comparison_for: Option<(u64, u64, FieldId, i32)>,
    /// Figures of the chosen field against the number of stops.
    pub chart: Option<Chart>,
    /// Project, generation, field, year and settings that they were asked for.
    pub chart_for: Option<(u64, u64, FieldId, i32, PlanSettings)>,
    /// The fields from cleanest to worst, once worked out.
    pub field_order: Option<Arc<Order>>,
    /// Project, generation and year that it was asked for.
    pub field_order_for: Option<(u64, u64, i32)>,
    /// Pages of the last report.
    pub report: ReportPages,
    /// The coming years of the chosen field.
    pub outlook: Option<OutlookFound>,
    /// What they were asked for.
    pub outlook_for: Option<OutlookKey>,
    /// Density expected on every field.
    pub expected: Option<Arc<Expected>>,
    /// What it was asked for.
    pub expected_for: Option<OutlookKey>,
    /// What the field list shows, in order.
    pub order: Vec<usize>,
    /// What the order was made for.
    pub order_for: Option<(u64, String, bool, Sort, Option<Week>)>,
}

/// The shared state.
pub struct State {
    /// The open project.
    pub document: Option<Document>,
    /// What the window shows.
    pub view: ViewState,
    /// What was worked out.
    pub caches: Caches,
    /// Whether a change is being worked out or written.
    pub changing: bool,
    /// Jobs that people see.
    pub lines: Vec<JobLine>,
    /// Short messages.
    pub toasts: Vec<Toast>,
    /// Problems of the files read.
    pub problems: Vec<ProblemList>,
    /// Projects opened before, newest first.
    pub recent: Vec<PathBuf>,
    /// Wishes.
    pub queue: Queue,
}

fn no_records() -> &'static Records {
    static NONE: OnceLock<Records> = OnceLock::new();
    NONE.get_or_init(Records::default)
}

impl State {
    /// The state of a window without a project.
    pub fn new(year: i32, recent: Vec<PathBuf>) -> Self {
        Self {
            document: None,
            view: ViewState::new(year, PlanSettings::default()),
            caches: Caches::default(),
            changing: false,
            lines: Vec::new(),
            toasts: Vec::new(),
            problems: Vec::new(),
            recent,
            queue: Queue::default(),
        }
    }

    /// What panels may see.
    pub fn ctx(&self) -> Ctx<'_> {
        let document = self.document.as_ref();
        Ctx {
            is_open: document.is_some(),
            title: document.map_or("", |document| &document.title),
            held_by: document.and_then(|document| document.held_by.as_deref()),
            records: match document {
                Some(document) => &document.records,
                None => no_records(),
            },
            facts: &self.caches.facts,
            comparison: self.caches.comparison.as_ref(),
            chart: self.caches.chart.as_ref(),
            field_order: self.caches.field_order.as_deref(),
            outlook: self.caches.outlook.as_ref(),
            expected: self.caches.expected.as_deref(),
            order: &self.caches.order,
            view: &self.view,
            changing: self.changing,
            undo: document.and_then(|document| document.undo.as_deref()),
            redo: document.and_then(|document| document.redo.as_deref()),
            history: document.map_or((&[], 0), |document| (document.history.as_slice(), document.done)),
            jobs: &self.lines,
            toasts: &self.toasts,
            problems: &self.problems,
            recent: &self.recent,
            queue: &self.queue,
        }
    }

    /// What the map draws besides the records.
    pub fn layers(&self) -> Layers<'_> {
        Layers {
            facts_number: self.caches.facts_number,
            finds: &self.caches.finds,
            shapes: &self.caches.shapes,
            density: self.caches.density.as_deref(),
            tramlines: &self.caches.tramlines,
        }
    }
}
