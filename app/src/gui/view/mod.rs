//! What the window shows: lens, harvest year, chosen fields, filter, forms. Kept apart from the records; nothing here is stored
//! in the project.

pub mod act;
pub mod aim;
pub mod beside;
pub mod chooser;
pub mod import_form;
pub mod import_preview;
pub mod layers;
pub mod outlook;
pub mod palette;
pub mod report;
pub mod results;
pub mod samples;
pub mod season;
pub mod sketch;
pub mod tool;

use std::collections::{BTreeSet, VecDeque};
use std::path::PathBuf;
use std::sync::Arc;

use awn_core::model::{FieldId, Method, Plan, PlanId, PlanSettings};
use awn_core::rating::RatingOf;
use awn_core::stops::Target;
use geo::Coord;

use crate::backdrop::Background;
use crate::gui::view::act::ActView;
use crate::gui::view::chooser::Chooser;
use crate::gui::view::import_form::{ImportForm, ImportKind};
use crate::gui::view::layers::LayerList;
use crate::gui::view::outlook::OutlookView;
use crate::gui::view::palette::Palette;
use crate::gui::view::report::ReportView;
use crate::gui::view::results::ResultsView;
use crate::gui::view::samples::SamplesView;
use crate::gui::view::season::SeasonView;
use crate::gui::view::tool::{Corner, Grab, Tool};

/// One way of looking at the fields, with its own panel and next step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[allow(missing_docs)]
pub enum Lens {
    Fields,
    Scout,
    Walk,
    Samples,
    Results,
    Act,
    Report,
}

/// What the colours of the fields mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colouring {
    /// The last rating.
    Rating,
    /// The same, with stipple and hatching for age.
    RatingAndAge,
    /// The last rating against the one before.
    Change,
    /// Harvest years since the last test.
    Age,
    /// Due a test or not, and why.
    Due,
    /// How thick the weed stands: the surface itself.
    Density,
    /// Where samples are on their way.
    Stage,
    /// Control left of the planned programme.
    ControlLeft,
    /// Money at risk a hectare.
    AtRisk,
    /// Heads expected in the coming years.
    Expected,
    /// None: the fields stand back behind the density, the stops and the walk.
    Plain,
}

impl Colouring {
    /// The ones the user chooses from.
    pub const CHOICE: [Self; 6] = [Self::Rating, Self::RatingAndAge, Self::Change, Self::Age, Self::Due, Self::Density];

    /// The ones the user chooses from in the Act lens.
    pub const ACT_CHOICE: [Self; 5] = [Self::AtRisk, Self::ControlLeft, Self::Expected, Self::Rating, Self::Density];

    /// Whether it shows ratings, which can be those of one mode of action.
    pub fn is_of_ratings(self) -> bool {
        matches!(self, Self::Rating | Self::RatingAndAge | Self::Change)
    }

    /// What it is called.
    pub fn label(self) -> &'static str {
        match self {
            Self::Rating => "Last rating",
            Self::RatingAndAge => "Last rating and its age",
            Self::Change => "Change since the test before",
            Self::Age => "Years since test",
            Self::Due => "Due a test",
            Self::Density => "Density",
            Self::Stage => "Stage of samples",
            Self::ControlLeft => "Control left",
            Self::AtRisk => "Money at risk a hectare",
            Self::Expected => "Heads expected",
            Self::Plain => "None",
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
    /// What the number of stops follows from.
    pub how_many: HowMany,
    /// Minutes on foot for each field.
    pub minutes: f64,
    /// The figure to reach.
    pub target: Target,
}

/// What the number of stops follows from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HowMany {
    /// It is given.
    Given,
    /// As many as fit the minutes.
    Minutes,
    /// As few as reach the target.
    Target,
}

/// A plan that is shown beside the one in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// One that was set aside.
    Aside(PlanId),
    /// One worked out in another way, to compare with.
    Way(Method),
}

/// What stands beside a plan in the Walk lens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WalkView {
    /// Whether other plans stand beside the one in use.
    pub comparing: bool,
    /// The one of them that the map shows as well.
    pub beside: Option<Beside>,
    /// Whether the chart of figures against the number of stops is open.
    pub charting: bool,
    /// The figure that the chart shows, by its key.
    pub chart_figure: &'static str,
}

/// What the Scout lens shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scouted {
    /// How thick the weed stands.
    Density,
    /// The standard error of that.
    Error,
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

/// Cards that may be open.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Open {
    /// The history.
    pub history: bool,
}

/// The state of the window.
#[derive(Debug, Clone)]
#[allow(clippy::struct_excessive_bools)] // each is a switch of its own
pub struct ViewState {
    /// Harvest year.
    pub year: i32,
    /// Lens.
    pub lens: Lens,
    /// The lens whose map was seen last.
    pub lens_before: Lens,
    /// What the next report shall hold.
    pub report: ReportView,
    /// Colouring of the lenses that offer a choice.
    pub colouring: Colouring,
    /// Which results ratings are taken from.
    pub rating_of: RatingOf,
    /// Layers of the map.
    pub layers: LayerList,
    /// Whether the card of layers is open.
    pub layers_open: bool,
    /// What lies under the fields.
    pub background: Background,
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
    /// Files that wait for theirs, with what they hold where that was said.
    pub waiting: VecDeque<(PathBuf, Option<ImportKind>)>,
    /// State of the Results lens.
    pub results: ResultsView,
    /// State of the Samples lens.
    pub samples: SamplesView,
    /// State of the Act lens.
    pub act: ActView,
    /// Colouring of the Act lens.
    pub act_colouring: Colouring,
    /// The stop that is being dragged.
    pub drag: Option<Drag>,
    /// What a click on the map does.
    pub tool: Tool,
    /// The chosen stop of the chosen field's plan, counted from 0.
    pub stop: Option<usize>,
    /// The chosen corner while a shape is changed.
    pub corner: Option<Corner>,
    /// A gate or corner that is being dragged.
    pub grab: Option<Grab>,
    /// What stands beside a plan in the Walk lens.
    pub walk: WalkView,
    /// What the Scout lens shows.
    pub scout: Scouted,
    /// The coming years.
    pub outlook: OutlookView,
    /// What it shows of the season.
    pub season: SeasonView,
    /// The list of actions, while it is open.
    pub palette: Option<Palette>,
    /// The card that asks for a file, where the system has no dialog.
    pub chooser: Option<Box<Chooser>>,
    /// Which cards and lists are open.
    pub open: Open,
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
            lens_before: Lens::Fields,
            report: ReportView::default(),
            colouring: Colouring::Rating,
            rating_of: RatingOf::Worst,
            layers: LayerList::default(),
            layers_open: false,
            background: Background::default(),
            selected: BTreeSet::new(),
            scroll_to: None,
            filter: String::new(),
            only_due: false,
            sort: Sort { column: Column::Name, descending: false },
            plan: PlanForm { settings, how_many: HowMany::Given, minutes: 45.0, target: Target::Balance(0.01) },
            form: None,
            waiting: VecDeque::new(),
            results: ResultsView::default(),
            samples: SamplesView::default(),
            act: ActView::default(),
            act_colouring: Colouring::AtRisk,
            drag: None,
            tool: Tool::Choose,
            stop: None,
            corner: None,
            grab: None,
            walk: WalkView { comparing: false, beside: None, charting: false, chart_figure: "weighted_distance_m" },
            scout: Scouted::Density,
            outlook: OutlookView::default(),
            season: SeasonView::default(),
            palette: None,
            chooser: None,
            open: Open::default(),
            problems_open: false,
            focus_find: false,
        }
    }

    /// The colouring that the lens shows.
    pub fn shown_colouring(&self) -> Colouring {
        self.colouring_of(self.lens)
    }

    /// The colouring that a lens shows.
    pub fn colouring_of(&self, lens: Lens) -> Colouring {
        match lens {
            Lens::Fields | Lens::Results | Lens::Report => self.colouring,
            Lens::Scout => Colouring::Density,
            Lens::Walk => Colouring::Plain,
            Lens::Samples => Colouring::Stage,
            Lens::Act => self.act_colouring,
        }
    }

    /// The corner that is chosen while a shape is changed.
    pub fn chosen_corner(&self) -> Option<Corner> {
        self.corner.filter(|_| matches!(self.tool, Tool::Reshape(_)))
    }

    /// The one field that is chosen, if it is one.
    pub fn single(&self) -> Option<FieldId> {
        let mut chosen = self.selected.iter();
        chosen.next().copied().filter(|_| chosen.next().is_none())
    }
}
