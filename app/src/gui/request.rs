//! What panels and the map ask for: they draw from shared references and put their wishes in a queue that is worked off in
//! the next `logic`.

use std::cell::RefCell;
use std::path::PathBuf;

use awn_core::model::{FieldId, PlanId};
use geo::Coord;

use crate::gui::action::Action;
use crate::gui::import_form::ImportForm;
use crate::gui::jobs_kind::JobKind;
use crate::gui::results_view::ResultsView;
use crate::gui::view_state::{Colouring, PlanForm, Sort};

/// A wish.
#[derive(Debug, Clone)]
#[allow(missing_docs)]
pub enum Request {
    Do(Action),
    /// Choose a field, or none; `add` keeps those chosen before; `scroll` brings it into view in the list.
    Select {
        field: Option<FieldId>,
        add: bool,
        scroll: bool,
    },
    SetYear(i32),
    SetColouring(Colouring),
    SetFilter(String),
    SetOnlyDue(bool),
    SetSort(Sort),
    SetPlanForm(PlanForm),
    SetForm(Option<ImportForm>),
    /// Change what the Results lens shows.
    SetResults(ResultsView),
    /// Keep the result that was typed.
    KeepTyped,
    /// Read the file of the form.
    Import,
    /// Propose stops for these fields.
    Propose(Vec<FieldId>),
    /// A stop follows the pointer.
    DragStop {
        plan: PlanId,
        stop: usize,
        at: Coord<f64>,
    },
    /// The stop was let go.
    DropStop,
    ZoomTo(FieldId),
    Cancel(JobKind),
    Open(PathBuf),
    CloseProblems,
    ClearProblems,
    DismissToast(u64),
    ListScrolled,
    FindFocused,
}

/// The wishes of one frame.
#[derive(Debug, Default)]
pub struct Queue(RefCell<Vec<Request>>);

impl Queue {
    /// Adds a wish.
    pub fn push(&self, request: Request) {
        self.0.borrow_mut().push(request);
    }

    /// Takes all wishes, oldest first.
    pub fn take(&self) -> Vec<Request> {
        std::mem::take(&mut *self.0.borrow_mut())
    }

    /// Whether there is a wish.
    pub fn is_waiting(&self) -> bool {
        !self.0.borrow().is_empty()
    }
}
