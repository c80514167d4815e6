//! Changes by hand: stops, gates, shapes, tramlines, plans set aside. What takes long is worked out as a job and then written as one
//! command.

use std::path::{Path, PathBuf};

use awn_core::land::{self, Ground, change_ground};
use awn_core::model::{Crop, DensitySettings, Field, FieldId, PlanId, Record, Records};
use awn_core::project::{Command, Edit as EditOf};
use awn_core::stops;
use awn_core::walk::{FirstLine, suggest_tramlines};
use geo::Coord;

use crate::commands;
use crate::gui::action::Action;
use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::jobs::kind::{Change, JobKind, Outcome};
use crate::gui::photos;
use crate::gui::view::Beside;
use crate::gui::view::beside::{Chart, Comparison};
use crate::gui::view::sketch;
use crate::gui::view::tool::{Corner, Held, Sketch, SketchOf, Tool};

/// The chart goes up to this many stops.
const MOST_IN_CHART: usize = 24;
/// Spacing of tramlines that are drawn or suggested where none are known yet, m: a common width of sprayers (common practice, no
/// source).
pub const USUAL_SPACING_M: f64 = 24.0;

impl App {
    /// Carries out an action that changes something by hand, or begins to.
    pub(in crate::gui) fn edit_by_hand(&mut self, action: Action) {
        let single = self.state.view.single();
        let stop = self.state.view.stop;
        match (action, single) {
            (Action::FinishDrawing, _) => self.finish_sketch(),
            (Action::LastCornerBack, _) => {
                if let Tool::Sketch(sketch) = &mut self.state.view.tool {
                    sketch.corners.pop();
                }
            }
            (Action::DrawField, _) => self.sketch(SketchOf::Boundary),
            (Action::MergeFields, _) => self.merge(),
            (Action::AddStop, Some(field)) => self.take_tool(Tool::AddStop(field)),
            (Action::PinStop, Some(field)) => {
                let pinned =
                    self.state.ctx().single_plan().zip(stop).and_then(|(plan, at)| Some(plan.stops.get(at)?.pinned));
                if let (Some(stop), Some(pinned)) = (stop, pinned) {
                    self.pin_stop(field, stop, !pinned);
                }
            }
            (Action::RemoveStop, Some(field)) => {
                if let Some(corner) = self.state.view.chosen_corner() {
                    self.remove_corner(corner);
                } else if let Some(stop) = stop {
                    self.remove_stop(field, stop);
                }
            }
            (Action::ComparePlans, Some(_)) => {
                self.state.view.walk.comparing = !self.state.view.walk.comparing;
                self.state.view.walk.beside = None;
            }
            (Action::SetPlanAside, Some(field)) => {
                let year = self.state.view.year;
                let command = self
                    .records()
                    .and_then(|records| records.plan_of(field, year).map(|plan| commands::set_aside(records, plan)));
                if let Some(command) = command {
                    self.state.view.walk.comparing = true;
                    self.edit(Edit::Apply(command, Some("A copy of the plan was set aside.".to_owned())));
                }
            }
            (Action::HowManyStops, Some(_)) => self.state.view.walk.charting = !self.state.view.walk.charting,
            (Action::AddGate, Some(field)) => self.take_tool(Tool::AddGate(field)),
            (Action::DrawNoGo, Some(field)) => self.sketch(SketchOf::NoGo(field)),
            (Action::DrawTramlines, Some(field)) => self.sketch(SketchOf::Tramlines(field)),
            (Action::SplitField, Some(field)) => self.sketch(SketchOf::Split(field)),
            (Action::ReshapeField, Some(field)) => self.take_tool(Tool::Reshape(field)),
            (Action::SuggestTramlines, Some(field)) => self.suggest(field),
            (Action::RemoveField, Some(field)) => self.remove_field(field),
            _ => {}
        }
    }

    fn sketch(&mut self, what: SketchOf) {
        self.take_tool(Tool::Sketch(Sketch::new(what)));
    }

    /// Takes a tool up and puts the one in hand away: a press means one thing.
    pub(in crate::gui) fn take_tool(&mut self, tool: Tool) {
        self.state.view.tool = tool;
        self.state.view.corner = None;
    }

    /// A corner more; a shape that has all the corners it can have is finished.
    pub(in crate::gui) fn add_corner(&mut self, at: Coord<f64>) {
        let Tool::Sketch(sketch) = &mut self.state.view.tool else { return };
        sketch.corners.push(at);
        if matches!(sketch.what, SketchOf::Tramlines(_)) && sketch.is_enough() {
            self.finish_sketch();
        }
    }

    /// Works out what a change comes to, as a job.
    fn change(&mut self, work: impl FnOnce(&Records, i32) -> Result<Change, String> + Send + 'static) {
        let Some(document) = &self.state.document else { return };
        let (records, year) = (document.records.clone(), self.state.view.year);
        self.jobs.start(JobKind::Change, "Working out the change", false, move |_| Outcome::Changed(work(&records, year)));
    }

    pub(in crate::gui) fn changed(&mut self, change: Change) {
        if change.command.changes.is_empty() {
            return;
        }
        if let Some(choose) = change.choose {
            self.state.view.selected = choose.into_iter().collect();
        }
        self.edit(Edit::Apply(change.command, change.said));
    }

    fn finish_sketch(&mut self) {
        let Tool::Sketch(sketch) = std::mem::take(&mut self.state.view.tool) else { return };
        if !sketch.is_enough() {
            self.state.view.tool = Tool::Sketch(sketch);
            return;
        }
        let near = self.state.view.single();
        self.change(move |records, year| sketch::finish(records, &sketch, near, year));
    }

    fn merge(&mut self) {
        let fields: Vec<FieldId> = self.state.view.selected.iter().copied().collect();
        self.change(move |records, year| {
            let command = land::merge(records, &fields, year).map_err(|error| format!("Not merged: {error}."))?;
            let choose = Some(sketch::new_fields(&command));
            Ok(Change { command, said: None, choose })
        });
    }

    fn suggest(&mut self, field: FieldId) {
        self.change(move |records, year| {
            let held = records.fields.get(&field).ok_or("There is no such field any more.")?;
            let before = records.tramlines_of(field).next();
            let spacing = before.map_or(USUAL_SPACING_M, |lines| lines.spacing_m);
            let lines = suggest_tramlines(field, &held.boundary, None, spacing, FirstLine::Half)
                .ok_or("No tramlines fit into this boundary; look at it on the map.")?;
            Ok(sketch::ground_change(records, field, year, &commands::lay_tramlines(records, &lines, true)))
        });
    }

    pub(in crate::gui) fn change_ground(&mut self, field: FieldId, ground: Ground) {
        self.change(move |records, year| {
            let (command, said) = change_ground(records, field, year, &ground);
            Ok(Change { command, said: (!said.is_empty()).then(|| said.join("\n")), choose: None })
        });
    }

    /// The plan of a field with its stops changed: positions, pins, and a name for the undo menu.
    fn change_stops(
        &mut self,
        field: FieldId,
        what: &'static str,
        with: impl FnOnce(&mut Vec<(Coord<f64>, bool)>) + Send + 'static,
    ) {
        self.change(move |records, year| {
            let plan = records.plan_of(field, year).ok_or("No stops are planned in this field.")?;
            let mut positions: Vec<(Coord<f64>, bool)> =
                plan.stops.iter().map(|stop| (stop.position, stop.pinned)).collect();
            with(&mut positions);
            let plan = stops::with_stops(records, plan, &positions).map_err(|error| format!("Not changed: {error}."))?;
            let name = records.fields.get(&field).map_or("", |field| field.name.as_str());
            let mut edit = EditOf::new(records, format!("{what} {name}"));
            edit.put(Record::Plan(plan));
            Ok(Change { command: edit.done(), said: None, choose: None })
        });
    }

    /// Takes the chosen corner out of the shape that is being changed.
    fn remove_corner(&mut self, corner: Corner) {
        let (Tool::Reshape(field), Some(records)) = (&self.state.view.tool, self.records().cloned()) else { return };
        let field = *field;
        match sketch::without_corner(&records, field, corner) {
            Ok(ground) => {
                self.state.view.corner = None;
                self.change_ground(field, ground);
            }
            Err(text) => self.say(text, true),
        }
    }

    pub(in crate::gui) fn add_stop(&mut self, field: FieldId, at: Coord<f64>) {
        // Put there by hand, it stays there.
        self.change_stops(field, "Add a stop to", move |stops| stops.push((at, true)));
    }

    pub(in crate::gui) fn remove_stop(&mut self, field: FieldId, stop: usize) {
        self.state.view.stop = None;
        self.change_stops(field, "Remove a stop of", move |stops| {
            if stop < stops.len() {
                stops.remove(stop);
            }
        });
    }

    /// Pins change neither walk nor figures.
    pub(in crate::gui) fn pin_stop(&mut self, field: FieldId, stop: usize, pinned: bool) {
        let year = self.state.view.year;
        let Some(records) = self.records().cloned() else { return };
        let Some(plan) = records.plan_of(field, year) else { return };
        let name = records.fields.get(&field).map_or("", |field| field.name.as_str());
        let what = if pinned { "Pin" } else { "Let go of" };
        let mut edit = EditOf::new(&records, format!("{what} stop {} of {name}", stop + 1));
        let mut plan = (**plan).clone();
        if let Some(stop) = plan.stops.get_mut(stop) {
            stop.pinned = pinned;
        }
        edit.put(Record::Plan(plan));
        self.apply(edit.done());
    }

    fn apply(&mut self, command: Command) {
        if !command.changes.is_empty() {
            self.edit(Edit::Apply(command, None));
        }
    }

    /// Keeps what was dragged where it is now.
    pub(in crate::gui) fn let_go(&mut self) {
        let Some(grab) = self.state.view.grab.take() else { return };
        let Some(records) = self.records().cloned() else { return };
        match grab.held {
            Held::Gate(gate) => {
                let Some(gate) = records.gates.get(&gate) else { return };
                let at = records.fields.get(&gate.field).map_or(grab.at, |field| sketch::on_edge(&field.boundary, grab.at));
                self.change_ground(gate.field, commands::move_gate(&records, gate, at));
            }
            Held::Corner { field, corner, new } => match sketch::with_corner(&records, field, corner, new, grab.at) {
                Ok(ground) => self.change_ground(field, ground),
                Err(text) => self.say(text, true),
            },
        }
    }

    pub(in crate::gui) fn use_plan(&mut self, plan: &awn_core::model::Plan) {
        if let Some(records) = self.records().cloned() {
            self.state.view.walk.beside = None;
            self.apply(commands::use_plan(&records, plan));
        }
    }

    pub(in crate::gui) fn discard_plan(&mut self, plan: PlanId) {
        let Some(records) = self.records().cloned() else { return };
        if let Some(plan) = records.plans.get(&plan) {
            self.state.view.walk.beside = None;
            self.apply(commands::discard(&records, plan));
        }
    }

    /// Keeps a field with another name, farm or note.
    pub(in crate::gui) fn edit_field(&mut self, field: Field) {
        let Some(records) = self.records().cloned() else { return };
        let Some(held) = records.fields.get(&field.id) else { return };
        let what = match () {
            () if held.name != field.name => "Rename",
            () if held.farm != field.farm => "Change the farm of",
            () => "Change the notes of",
        };
        let mut edit = EditOf::new(&records, format!("{what} {}", held.name));
        edit.put(Record::Field(field));
        self.apply(edit.done());
    }

    pub(in crate::gui) fn add_photo(&mut self, field: FieldId, photo: PathBuf) {
        let Some(field) = self.records().and_then(|records| records.fields.get(&field)).cloned() else { return };
        let mut photos = photos::of(&field.note);
        if !photos.contains(&photo) {
            photos.push(photo);
        }
        self.edit_field(Field { note: photos::note(&photos::words(&field.note), &photos), ..(*field).clone() });
    }

    pub(in crate::gui) fn open_photo(&mut self, photo: &Path) {
        match self.dialogs.view(photo) {
            Ok(()) => self.say(format!("Opened {} with the system's viewer", photo.display()), false),
            Err(why) => self.say(why, true),
        }
    }

    pub(in crate::gui) fn edit_crop(&mut self, crop: Crop) {
        let Some(records) = self.records().cloned() else { return };
        let name = records.fields.get(&crop.field).map_or("", |field| field.name.as_str());
        let mut edit = EditOf::new(&records, format!("Change the crop of {name}, harvest {}", crop.year));
        if crop.crop.trim().is_empty() {
            edit.remove(&Record::Crop(crop));
        } else {
            edit.put(Record::Crop(crop));
        }
        self.apply(edit.done());
    }

    /// Ends a field with the harvest before; what is known of it stays.
    pub(in crate::gui) fn remove_field(&mut self, field: FieldId) {
        let Some(records) = self.records().cloned() else { return };
        let Some(held) = records.fields.get(&field) else { return };
        let year = self.state.view.year;
        let mut edit = EditOf::new(&records, format!("Remove {} from harvest {year} on", held.name));
        edit.put(Record::Field(Field { until_year: Some(year - 1), ..(**held).clone() }));
        self.state.view.selected.clear();
        self.apply(edit.done());
    }

    pub(in crate::gui) fn set_density(&mut self, density: DensitySettings) {
        let Some(records) = self.records().cloned() else { return };
        let mut settings = records.settings.clone();
        settings.density = density;
        let mut edit = EditOf::new(&records, "Change how densities are made");
        edit.put(Record::Settings(settings));
        self.apply(edit.done());
    }

    /// Starts working out the other plans when they are wanted and not fresh; true if it was started.
    pub(in crate::gui) fn refresh_comparison(&mut self) -> bool {
        let (Some(document), Some(field), true) =
            (&self.state.document, self.state.view.single(), self.state.view.walk.comparing)
        else {
            return false;
        };
        let year = self.state.view.year;
        let key = (self.opened, document.generation, field, year);
        let records = document.records.clone();
        let Some(plan) = records.plan_of(field, year).cloned() else { return false };
        if self.state.caches.comparison_for == Some(key) || self.state.view.drag.is_some() {
            return false;
        }
        self.state.caches.comparison_for = Some(key);
        self.jobs.start(JobKind::Compare, "Working out other ways", true, move |progress| {
            let aside = records.plans_aside(field, year).map(|plan| (Beside::Aside(plan.id), (**plan).clone()));
            let ways = stops::compare(&records, &plan, progress).map_err(|error| error.to_string());
            Outcome::Compared(ways.map(|ways| {
                let ways = ways.into_iter().map(|plan| (Beside::Way(plan.method), plan));
                Comparison { field, plans: aside.chain(ways).collect() }
            }))
        });
        true
    }

    /// Starts working out the chart when it is wanted and not fresh; true if it was started.
    pub(in crate::gui) fn refresh_chart(&mut self) -> bool {
        let (Some(document), Some(field), true) =
            (&self.state.document, self.state.view.single(), self.state.view.walk.charting)
        else {
            return false;
        };
        let year = self.state.view.year;
        let settings = self.state.view.plan.settings.clone();
        // The number itself is what the chart varies.
        let fixed = awn_core::model::PlanSettings { stops: 1, ..settings };
        let key = (self.opened, document.generation, field, year, fixed.clone());
        if self.state.caches.chart_for.as_ref() == Some(&key) || self.state.view.drag.is_some() {
            return false;
        }
        self.state.caches.chart_for = Some(key);
        let records = document.records.clone();
        self.jobs.start(JobKind::Chart, "Working out numbers of stops", true, move |progress| {
            let pinned = records.plan_of(field, year).map(|plan| plan.pinned()).unwrap_or_default();
            let (points, why) = match stops::curve(&records, field, year, &fixed, MOST_IN_CHART, &pinned, progress) {
                Ok(points) => (points, None),
                Err(error) => (Vec::new(), Some(error.to_string())),
            };
            Outcome::Charted(Chart { field, points, why })
        });
        true
    }
}
