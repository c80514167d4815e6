//! What panels and the map ask for: they draw from shared references and put their wishes in a queue that is worked off in
//! the next `logic`.

use std::cell::RefCell;
use std::path::PathBuf;

use awn_core::land::Ground;
use awn_core::model::{
    Crop, DensitySettings, DueRules, Field, FieldId, Mark, Plan, PlanId, ResultSettings, RipeCheck, RipeCheckId, Sample,
    SeasonSettings,
};
use awn_core::rating::RatingOf;
use geo::{Coord, Rect};

use crate::backdrop::Background;
use crate::gui::action::Action;
use crate::gui::dialogs::Question;
use crate::gui::jobs::kind::JobKind;
use crate::gui::view::act::ActRequest;
use crate::gui::view::chooser::Chooser;
use crate::gui::view::import_form::ImportForm;
use crate::gui::view::layers::LayerList;
use crate::gui::view::outlook::OutlookWish;
use crate::gui::view::palette::Palette;
use crate::gui::view::report::ReportView;
use crate::gui::view::results::ResultsView;
use crate::gui::view::samples::SamplesView;
use crate::gui::view::season::SeasonView;
use crate::gui::view::tool::{Corner, Held, Tool};
use crate::gui::view::{Beside, Colouring, PlanForm, Scouted, Sort};

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
    /// Take ratings from these results.
    SetRatingOf(RatingOf),
    /// Harvests after which a field is due again.
    SetInterval(i32),
    SetLayers(LayerList),
    SetLayersOpen(bool),
    SetBackground(Background),
    /// Choose these fields; `add` keeps those chosen before.
    SelectMany {
        fields: Vec<FieldId>,
        add: bool,
    },
    SetFilter(String),
    SetOnlyDue(bool),
    SetSort(Sort),
    SetPlanForm(PlanForm),
    SetForm(Option<Box<ImportForm>>),
    /// Read the file of the form and show what it would bring.
    LookAtImport,
    /// Change what the Results lens shows.
    SetResults(ResultsView),
    /// Change what the Samples lens shows.
    SetSamples(Box<SamplesView>),
    /// Keep a sample that was changed on its page.
    ChangeSample(Box<Sample>),
    /// Something of the Act lens.
    Act(ActRequest),
    /// Change what the next report shall hold.
    SetReport(Box<ReportView>),
    /// Draw these pages of the report, counted from 0.
    DrawPages(Vec<usize>),
    /// Keep the result that was typed.
    KeepTyped,
    /// Rate results by these settings.
    SetResultSettings(ResultSettings),
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
    /// A click on the map does this from now on.
    SetTool(Tool),
    /// The next corner of the shape being drawn, degrees.
    AddCorner(Coord<f64>),
    ChooseStop(Option<usize>),
    ChooseCorner(Option<Corner>),
    /// Add a stop to the plan of a field at the tramline place nearest to this.
    AddStopAt(FieldId, Coord<f64>),
    RemoveStop(FieldId, usize),
    /// Pin a stop, or let go of it.
    PinStop(FieldId, usize, bool),
    /// A gate or corner follows the pointer.
    Grab(Held, Coord<f64>),
    /// The gate or corner was let go.
    LetGo,
    /// Change what lies in a field.
    ChangeGround(FieldId, Ground),
    /// Show one of the other plans beside the one in use.
    ShowBeside(Option<Beside>),
    /// Take a plan into use.
    UsePlan(Box<Plan>),
    DiscardPlan(PlanId),
    ChartFigure(&'static str),
    SetDensity(DensitySettings),
    ShowScouted(Scouted),
    ZoomTo(FieldId),
    /// Show these bounds on the map, degrees.
    ShowPlace(Rect<f64>),
    /// Go back, or forward again, to where so many steps of the history are done.
    GoToStep(usize),
    ShowHistory(bool),
    SetPalette(Option<Palette>),
    /// Change the card that asks for a file, or close it.
    SetChooser(Option<Box<Chooser>>),
    /// What was chosen on that card.
    Chosen(Question, PathBuf),
    /// Change the name, farm or note of a field.
    EditField(Box<Field>),
    /// Ask for a photo of a field.
    AddPhoto(FieldId),
    /// Show a photo with the system's viewer.
    OpenPhoto(PathBuf),
    /// Change or add what was grown in a field.
    EditCrop(Box<Crop>),
    RemoveField(FieldId),
    /// Something about the coming years.
    Outlook(OutlookWish),
    /// Change what the window shows of the season.
    SetSeason(Box<SeasonView>),
    /// Pin or veto a field for this harvest, or take that back.
    MarkField {
        field: FieldId,
        mark: Option<Mark>,
        reason: String,
    },
    SetDueRules(Box<DueRules>),
    SetSeasonSettings(Box<SeasonSettings>),
    KeepCheck(Box<RipeCheck>),
    RemoveCheck(RipeCheckId),
    /// The days of the rounds begin and end here, degrees.
    SetBase(Coord<f64>),
    Cancel(JobKind),
    Open(PathBuf),
    /// Offer more files for import, each after the one before.
    Wait(Vec<PathBuf>),
    /// Leave out the files that wait.
    LeaveWaiting,
    CloseProblems,
    ClearProblems,
    DismissToast(u64),
    /// Say that something cannot be done, and why.
    Say(String),
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
