//! What panels and the map may see: shared references and the queue of wishes. Nothing here changes a record.

use awn_core::model::{FieldId, Plan, Records};

use crate::gui::action::Action;
use crate::gui::facts::{Facts, Order};
use crate::gui::jobs::kind::JobKind;
use crate::gui::notices::{ProblemList, Toast};
use crate::gui::request::{Queue, Request};
use crate::gui::view::ViewState;
use crate::gui::view::beside::{Chart, Comparison};
use crate::gui::view::outlook::{Expected, OutlookFound};

/// A job as people see it.
#[derive(Debug, Clone)]
pub struct JobLine {
    /// Which.
    pub kind: JobKind,
    /// What it does.
    pub title: String,
    /// Part done, 0 to 1, once known.
    pub part: Option<f32>,
}

/// What a frame is drawn from.
pub struct Ctx<'a> {
    /// Whether a project is open.
    pub is_open: bool,
    /// The project's name.
    pub title: &'a str,
    /// Who else has the file, if it is read-only here.
    pub held_by: Option<&'a str>,
    /// The records.
    pub records: &'a Records,
    /// What was worked out from them.
    pub facts: &'a Facts,
    /// Other plans beside the chosen field's, once worked out.
    pub comparison: Option<&'a Comparison>,
    /// Figures against the number of stops of the chosen field, once worked out.
    pub chart: Option<&'a Chart>,
    /// The fields from cleanest to worst, once worked out.
    pub field_order: Option<&'a Order>,
    /// The coming years of the chosen field, once drawn.
    pub outlook: Option<&'a OutlookFound>,
    /// Density expected on every field, once drawn.
    pub expected: Option<&'a Expected>,
    /// Indices into the facts' rows: what the field list shows, in order.
    pub order: &'a [usize],
    /// State of the window.
    pub view: &'a ViewState,
    /// Whether a change is being worked out or written.
    pub changing: bool,
    /// What undo takes back.
    pub undo: Option<&'a str>,
    /// What redo does again.
    pub redo: Option<&'a str>,
    /// Every step of the history, oldest first: its name and when it was made; and how many are done.
    pub history: (&'a [(String, String)], usize),
    /// Jobs that people see.
    pub jobs: &'a [JobLine],
    /// Short messages.
    pub toasts: &'a [Toast],
    /// Problems of the files read.
    pub problems: &'a [ProblemList],
    /// Projects opened before.
    pub recent: &'a [std::path::PathBuf],
    /// The queue of wishes.
    pub queue: &'a Queue,
}

impl Ctx<'_> {
    /// Whether the project may be changed.
    pub fn can_write(&self) -> bool {
        self.is_open && self.held_by.is_none()
    }

    /// Asks for something.
    pub fn ask(&self, request: Request) {
        self.queue.push(request);
    }

    /// Asks for an action.
    pub fn act(&self, action: Action) {
        self.queue.push(Request::Do(action));
    }

    /// The fields to propose stops for: those chosen, or all that are due.
    pub fn fields_to_plan(&self) -> Vec<FieldId> {
        if self.view.selected.is_empty() {
            self.facts.rows.iter().filter(|row| row.due).map(|row| row.id).collect()
        } else {
            self.view.selected.iter().copied().filter(|id| self.facts.row(*id).is_some()).collect()
        }
    }

    /// The chosen field's plan for this harvest, if one field is chosen and it has one.
    pub fn single_plan(&self) -> Option<&Plan> {
        self.view.single().and_then(|field| self.plan(field))
    }

    /// The plan that is on show for a field: the one being dragged, or the stored one.
    pub fn plan(&self, field: FieldId) -> Option<&Plan> {
        let drag = self.view.drag.as_ref().filter(|drag| drag.plan.field == field);
        match drag {
            Some(drag) => Some(drag.preview.as_ref().map_or(&drag.plan, |(_, plan)| plan)),
            None => self.records.plan_of(field, self.view.year).map(|plan| &**plan),
        }
    }
}
