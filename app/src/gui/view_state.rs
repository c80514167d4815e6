//! What the window shows: lens, harvest year, chosen fields, filter, forms. Kept apart from the records; nothing here is stored
//! in the project.

use std::collections::BTreeSet;
use std::sync::Arc;

use awn_core::model::{FieldId, Plan, PlanSettings};
use geo::Coord;

use crate::gui::import_form::ImportForm;
use crate::gui::results_view::ResultsView;

/// One way of looking at the fields, with its own panel and next step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Lens {
    Fields,
    Scout,
    Walk,
    Results,
}

/// What the colours of the fields mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colouring {
    /// The worst of the latest ratings.
    Rating,
    /// The same, with stipple and hatching for age.
    RatingAndAge,
    /// Harvest years since the last test.
    Age,
    /// Due a test or not.
    Due,
    /// None: the fields stand back behind the density, the stops and the walk.
    Plain,
}

impl Colouring {
    /// The ones the user chooses from.
    pub const CHOICE: [Self; 4] = [Self::Rating, Self::RatingAndAge, Self::Age, Self::Due];

    /// What it is called.
    pub fn label(self) -> &'static str {
        match self {
            Self::Rating => "Last rating",
            Self::RatingAndAge => "Last rating and its age",
            Self::Age => "Years since test",
            Self::Due => "Due a test",
            Self::Plain => "Density",
        }
    }
}

/// A column of the field list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Column {
    Name,
    Farm,
    Area,
    Rating,
    Years,
    Due,
}

/// How the field list is sorted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sort {
    /// By which column.
    pub column: Column,
    /// Largest, worst or last first.
    pub descending: bool,
}

/// What the user has set for the next plans.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanForm {
    /// Settings of the planner.
    pub settings: PlanSettings,
    /// The number of stops follows from the time instead of being given.
    pub by_time: bool,
    /// Minutes on foot for each field.
    pub minutes: f64,
}

/// A stop that is being dragged.
#[derive(Debug, Clone)]
pub struct Drag {
    /// The plan as it was.
    pub plan: Arc<Plan>,
    /// Which stop, counted from 0.
    pub stop: usize,
    /// Where the pointer has it, degrees.
    pub at: Coord<f64>,
    /// The place that the preview was asked for, degrees.
    pub asked: Option<Coord<f64>>,
    /// The newest plan that was worked out, and the place of the stop in it.
    pub preview: Option<(Coord<f64>, Arc<Plan>)>,
    /// The button is up: keep the plan once it has been worked out for this place.
    pub released: bool,
}

/// The state of the window.
#[derive(Debug, Clone)]
pub struct ViewState {
    /// Harvest year.
    pub year: i32,
    /// Lens.
    pub lens: Lens,
    /// Colouring of the lenses that offer a choice.
    pub colouring: Colouring,
    /// Fields chosen in the list or on the map.
    pub selected: BTreeSet<FieldId>,
    /// A field that the list shall scroll to.
    pub scroll_to: Option<FieldId>,
    /// Text that the field list is filtered by.
    pub filter: String,
    /// Whether the list holds only fields that are due.
    pub only_due: bool,
    /// Sorting of the field list.
    pub sort: Sort,
    /// Settings for the next plans.
    pub plan: PlanForm,
    /// The import that is being set up.
    pub form: Option<ImportForm>,
    /// State of the Results lens.
    pub results: ResultsView,
    /// The stop that is being dragged.
    pub drag: Option<Drag>,
    /// Whether the list of problems is open.
    pub problems_open: bool,
    /// Whether the cursor shall go to the find box.
    pub focus_find: bool,
}

impl ViewState {
    /// The state of a window that shows a harvest year.
    pub fn new(year: i32, settings: PlanSettings) -> Self {
        Self {
            year,
            lens: Lens::Fields,
            colouring: Colouring::Rating,
            selected: BTreeSet::new(),
            scroll_to: None,
            filter: String::new(),
            only_due: false,
            sort: Sort { column: Column::Name, descending: false },
            plan: PlanForm { settings, by_time: false, minutes: 45.0 },
            form: None,
            results: ResultsView::default(),
            drag: None,
            problems_open: false,
            focus_find: false,
        }
    }

    /// The colouring that the lens shows.
    pub fn shown_colouring(&self) -> Colouring {
        match self.lens {
            Lens::Fields | Lens::Results => self.colouring,
            Lens::Scout | Lens::Walk => Colouring::Plain,
        }
    }

    /// The one field that is chosen, if it is one.
    pub fn single(&self) -> Option<FieldId> {
        let mut chosen = self.selected.iter();
        chosen.next().copied().filter(|_| chosen.next().is_none())
    }
}
