//! Carrying out what was asked, and taking in what jobs and dialogs answer.

use std::path::PathBuf;
use std::sync::Arc;

use awn_core::exchange::{ImportError, What};
use awn_core::model::{FieldId, Plan, Record};
use awn_core::problem::Problems;
use awn_core::project::{Edit as EditOf, Project};
use awn_core::units;
use egui::{Context, ThemePreference};

use crate::commands;
use crate::gui::action::Action;
use crate::gui::app::App;
use crate::gui::dialogs::Question;
use crate::gui::document::{Document, Edit};
use crate::gui::import_form::{ImportForm, ImportKind};
use crate::gui::jobs::Finished;
use crate::gui::jobs_kind::{JobKind, Outcome};
use crate::gui::notices::{ProblemList, Toast};
use crate::gui::request::Request;
use crate::gui::view_state::{Drag, ViewState};
use crate::gui::{recent, work};

impl App {
    pub(super) fn handle(&mut self, request: Request, ctx: &Context) {
        match request {
            Request::Do(action) => {
                if action.enabled(&self.state.ctx()) {
                    self.act(action, ctx);
                }
            }
            Request::Select { field, add, scroll } => self.select(field, add, scroll),
            Request::SetYear(year) => self.state.view.year = year,
            Request::SetColouring(colouring) => self.state.view.colouring = colouring,
            Request::SetFilter(filter) => self.state.view.filter = filter,
            Request::SetOnlyDue(only) => self.state.view.only_due = only,
            Request::SetSort(sort) => self.state.view.sort = sort,
            Request::SetPlanForm(form) => self.state.view.plan = form,
            Request::SetForm(form) => self.set_form(form),
            Request::SetResults(view) => self.state.view.results = view,
            Request::KeepTyped => self.keep_typed(),
            Request::Import => self.import(),
            Request::Propose(fields) => self.propose(fields),
            Request::DragStop { plan, stop, at } => self.drag(plan, stop, at),
            Request::DropStop => {
                if let Some(drag) = &mut self.state.view.drag {
                    drag.released = true;
                }
                self.settle_drag();
            }
            Request::ZoomTo(field) => {
                if let Some(row) = self.state.caches.facts.row(field) {
                    self.camera.show(row.bounds);
                }
            }
            Request::Cancel(kind) => self.jobs.ask_to_stop(kind),
            Request::Open(path) => self.open_any(path),
            Request::CloseProblems => self.state.view.problems_open = false,
            Request::ClearProblems => {
                self.state.problems.clear();
                self.state.view.problems_open = false;
            }
            Request::DismissToast(id) => self.state.toasts.retain(|toast| toast.id != id),
            Request::ListScrolled => self.state.view.scroll_to = None,
            Request::FindFocused => self.state.view.focus_find = false,
        }
    }

    fn act(&mut self, action: Action, ctx: &Context) {
        let question = match action {
            Action::NewProject => Question::NewProject,
            Action::OpenProject => Question::OpenProject,
            Action::OpenSampleFarm => Question::SampleFarmFolder,
            Action::StartFromBoundaries => Question::StartBoundaries,
            Action::ImportBoundaries => Question::Import(ImportKind::Boundaries),
            Action::ImportGates => Question::Import(ImportKind::Gates),
            Action::ImportScouting => Question::Import(ImportKind::Scouting),
            Action::ImportResults => Question::Import(ImportKind::Results),
            Action::ExportWalks => Question::SaveWalks,
            Action::ExportStops => Question::SaveStops,
            other => return self.act_at_once(other, ctx),
        };
        self.dialogs.ask(question, ctx.clone());
    }

    fn act_at_once(&mut self, action: Action, ctx: &Context) {
        match action {
            Action::Undo => self.edit(Edit::Undo),
            Action::Redo => self.edit(Edit::Redo),
            Action::ProposeStops => {
                let fields = self.state.ctx().fields_to_plan();
                self.propose(fields);
            }
            Action::FindField => self.state.view.focus_find = true,
            Action::ZoomIn => self.camera.zoom_by(0.5),
            Action::ZoomOut => self.camera.zoom_by(-0.5),
            Action::ZoomToAll => self.show_fields(|_| true),
            Action::ZoomToSelection => {
                let chosen = self.state.view.selected.clone();
                self.show_fields(|field| chosen.contains(&field));
            }
            Action::SelectDue => {
                let rows = &self.state.caches.facts.rows;
                self.state.view.selected = rows.iter().filter(|row| row.due).map(|row| row.id).collect();
            }
            Action::SelectNone => self.state.view.selected.clear(),
            Action::ShowProblems => self.state.view.problems_open = true,
            Action::LightTheme => ctx.set_theme(ThemePreference::Light),
            Action::DarkTheme => ctx.set_theme(ThemePreference::Dark),
            Action::SystemTheme => ctx.set_theme(ThemePreference::System),
            lens => {
                if let Some(lens) = lens.lens() {
                    self.state.view.lens = lens;
                    self.state.view.form = None;
                }
            }
        }
    }

    fn select(&mut self, field: Option<FieldId>, add: bool, scroll: bool) {
        let chosen = &mut self.state.view.selected;
        match field {
            Some(field) if add => {
                if !chosen.remove(&field) {
                    chosen.insert(field);
                }
            }
            Some(field) => *chosen = [field].into(),
            None if add => {}
            None => chosen.clear(),
        }
        if scroll {
            self.state.view.scroll_to = field;
        }
    }

    fn show_fields(&mut self, wanted: impl Fn(FieldId) -> bool) {
        let rows = self.state.caches.facts.rows.iter().filter(|row| wanted(row.id));
        if let Some(bounds) = awn_core::geometry::merged_bounds(rows.map(|row| row.bounds)) {
            self.camera.show(bounds);
        }
    }

    pub(super) fn answered(&mut self, question: Question, path: Option<PathBuf>, ctx: &Context) {
        let Some(path) = path else { return };
        match question {
            Question::OpenProject => self.open_project(path),
            Question::NewProject => self.new_project(path, None),
            Question::NewProjectFor(boundaries) => self.new_project(path, Some(boundaries)),
            Question::SampleFarmFolder => {
                self.jobs.start(JobKind::Open, "Writing the sample farm", true, move |progress| {
                    work::sample_farm(&path, progress)
                });
            }
            Question::StartBoundaries => self.dialogs.ask(Question::NewProjectFor(path), ctx.clone()),
            Question::Import(kind) => self.set_form(Some(ImportForm::new(path, Some(kind)))),
            Question::SaveWalks => self.export(path, What::Walks),
            Question::SaveStops => self.export(path, What::Stops),
        }
    }

    /// A file dropped on the window: a project is opened, anything else is offered for import.
    fn open_any(&mut self, path: PathBuf) {
        if work::is_project(&path) {
            self.open_project(path);
        } else if self.state.document.is_some() {
            self.set_form(Some(ImportForm::new(path, None)));
        } else {
            // Without a project, the file starts one beside itself.
            let project = work::free_name(&path);
            self.new_project(project, Some(path));
        }
    }

    fn open_project(&mut self, path: PathBuf) {
        self.jobs.start(JobKind::Open, "Opening the project", true, move |_| work::open(&path));
    }

    fn new_project(&mut self, path: PathBuf, then: Option<PathBuf>) {
        self.jobs.start(JobKind::Open, "Making the project", true, move |_| work::create(&path, then));
    }

    fn opened_project(&mut self, project: Project, then: Option<PathBuf>) {
        let year =
            project.records().latest_year().map_or_else(work::present_harvest, |year| year.max(work::present_harvest()));
        let settings = project.records().settings.plan.clone();
        self.opened += 1;
        let document = Document::new(project);
        if let Some(path) = &document.path {
            recent::add(&mut self.state.recent, path);
            if let Some(file) = &self.recent_file {
                recent::write(file, &self.state.recent);
            }
        }
        if let Some(holder) = &document.held_by {
            self.say(format!("Read-only: {holder} has the project open for writing."), true);
        }
        self.state.document = Some(document);
        self.state.view = ViewState::new(year, settings);
        self.state.view.form = then.map(|file| ImportForm::new(file, Some(ImportKind::Boundaries)));
        self.state.caches = super::state::Caches { density_number: self.state.caches.density_number, ..Default::default() };
        for kind in [JobKind::Facts, JobKind::Density, JobKind::Propose, JobKind::Import, JobKind::Adjust] {
            self.jobs.cancel(kind);
        }
        self.fit_next = true;
    }

    fn import(&mut self) {
        let (Some(document), Some(form)) = (&self.state.document, self.state.view.form.clone()) else { return };
        let Ok(checked) = form.checked() else { return };
        let records = document.records.clone();
        let title = format!("Reading {}", form.file_name());
        self.jobs.start(JobKind::Import, title, true, move |progress| work::import(&records, &form, &checked, progress));
    }

    fn propose(&mut self, fields: Vec<FieldId>) {
        let Some(document) = &self.state.document else { return };
        let (records, form, year) = (document.records.clone(), self.state.view.plan.clone(), self.state.view.year);
        let title = format!("Proposing stops for {}", units::count(fields.len(), "field"));
        self.jobs
            .start(JobKind::Propose, title, true, move |progress| work::propose(&records, &fields, year, &form, progress));
    }

    fn export(&mut self, path: PathBuf, what: What) {
        let Some(document) = &self.state.document else { return };
        let (records, year) = (document.records.clone(), self.state.view.year);
        self.jobs.start(JobKind::Export, "Writing the file", false, move |_| work::export(&records, year, what, &path));
    }

    fn edit(&mut self, edit: Edit) {
        if let Some(document) = &mut self.state.document {
            document.waiting.push_back(edit);
        }
    }

    /// Starts writing the next edit that waits; true if one was started.
    pub(super) fn write_next(&mut self) -> bool {
        if self.jobs.is_running(JobKind::Write) {
            return false;
        }
        let Some(document) = &mut self.state.document else { return false };
        let Some(edit) = document.waiting.pop_front() else { return false };
        // Only what takes long enough to be noticed is shown.
        let shown = matches!(&edit, Edit::Apply(command, _) if command.changes.len() > 100);
        let writing = document.writing(edit);
        self.jobs.start(JobKind::Write, "Keeping the changes", shown, move |progress| Outcome::Wrote(writing(progress)));
        true
    }

    pub(super) fn finished(&mut self, kind: JobKind, finished: Finished<Outcome>) {
        let outcome = match finished {
            Finished::Done(outcome) => outcome,
            Finished::Broke(text) => {
                if kind == JobKind::Adjust {
                    self.state.view.drag = None;
                }
                return self.say(text, true);
            }
        };
        match outcome {
            Outcome::Opened { project: Ok(project), then } => self.opened_project(*project, then),
            Outcome::Opened { project: Err(text), .. } | Outcome::Exported(Err(text)) => self.say(text, true),
            Outcome::Wrote(result) => self.wrote(result),
            Outcome::Imported { file, result, problems } => self.imported(&file, result, problems),
            Outcome::Proposed { plans, problems, cancelled } => self.proposed(&plans, problems, cancelled),
            Outcome::Exported(Ok(path)) => self.say(format!("Wrote {}", path.display()), false),
            Outcome::Facts { facts, shapes } => {
                let first = self.state.caches.facts.rows.is_empty() && !facts.rows.is_empty();
                self.state.view.selected.retain(|field| facts.row(*field).is_some());
                self.state.caches.facts = Arc::from(facts);
                self.state.caches.facts_number += 1;
                self.state.caches.shapes = shapes.0;
                self.state.caches.tramlines = shapes.1;
                if self.fit_next || first {
                    self.fit_next = false;
                    self.show_fields(|_| true);
                }
            }
            Outcome::Density(layer) => self.state.caches.density = Some(layer),
            Outcome::Adjusted { at, plan } => self.adjusted(at, plan),
        }
    }

    fn wrote(&mut self, result: Result<Option<String>, String>) {
        self.state.view.drag = None;
        if let Some(document) = &mut self.state.document {
            document.refresh();
        }
        match result {
            Ok(Some(text)) => self.say(text, false),
            Ok(None) => {}
            Err(text) => self.say(text, true),
        }
    }

    fn imported(&mut self, file: &str, result: Result<awn_core::exchange::Import, ImportError>, problems: Problems) {
        let title = format!("Import of {file}");
        match result {
            Ok(import) => {
                let mut said = format!("{file}: {} added", import.added);
                if import.updated > 0 {
                    said.push_str(&format!(", {} brought up to date", import.updated));
                }
                if import.skipped > 0 {
                    said.push_str(&format!(", {} left out", import.skipped));
                }
                for line in &import.summary {
                    said.push_str(&format!("\n{line}"));
                }
                self.state.view.form = None;
                self.list(title, problems, false);
                if self.records().is_some_and(|records| records.latest_year().is_none()) {
                    self.fit_next = true;
                }
                self.edit(Edit::Apply(import.command, Some(said)));
            }
            Err(error) => {
                self.say(format!("{file}: {error}."), true);
                self.list(title, problems, true);
            }
        }
    }

    fn proposed(&mut self, plans: &[Plan], problems: Problems, cancelled: bool) {
        if cancelled {
            return self.say("Stopped; no stops were changed.".to_owned(), false);
        }
        self.list("Proposing stops".to_owned(), problems, true);
        let Some(document) = &self.state.document else { return };
        if plans.is_empty() {
            return;
        }
        let command = commands::keep_plans(&document.records, plans);
        let said = format!("Stops proposed for {}", units::count(plans.len(), "field"));
        self.edit(Edit::Apply(command, Some(said)));
    }

    fn drag(&mut self, plan: awn_core::model::PlanId, stop: usize, at: geo::Coord<f64>) {
        match &mut self.state.view.drag {
            Some(drag) if drag.plan.id == plan && !drag.released => drag.at = at,
            Some(_) => {}
            None => {
                let Some(plan) = self.records().and_then(|records| records.plans.get(&plan)).cloned() else { return };
                self.state.view.selected = [plan.field].into();
                self.state.view.drag = Some(Drag { plan, stop, at, asked: None, preview: None, released: false });
            }
        }
    }

    /// Works out the plan for where the dragged stop is now, one place at a time.
    pub(super) fn follow_drag(&mut self) -> bool {
        let Some(document) = &self.state.document else { return false };
        let Some(drag) = &mut self.state.view.drag else { return false };
        if drag.asked == Some(drag.at) || self.jobs.is_running(JobKind::Adjust) {
            return false;
        }
        drag.asked = Some(drag.at);
        let (records, plan, stop, at) = (document.records.clone(), drag.plan.clone(), drag.stop, drag.at);
        self.jobs.start(JobKind::Adjust, "Moving the stop", false, move |_| work::adjust(&records, &plan, stop, at));
        true
    }

    fn adjusted(&mut self, at: geo::Coord<f64>, plan: Result<Box<Plan>, String>) {
        let Some(drag) = &mut self.state.view.drag else { return };
        // At a place where no stop can be, the last good plan stays on show.
        if let Ok(plan) = plan {
            drag.preview = Some((at, Arc::from(plan)));
        }
        self.settle_drag();
    }

    /// Once the stop has been let go and its place worked out, keeps the plan, or puts the stop back.
    fn settle_drag(&mut self) {
        let (Some(drag), Some(document)) = (&self.state.view.drag, &self.state.document) else { return };
        if !drag.released || drag.asked != Some(drag.at) || self.jobs.is_running(JobKind::Adjust) {
            return;
        }
        let Some((_, plan)) = drag.preview.as_ref().filter(|(at, _)| *at == drag.at) else {
            self.state.view.drag = None;
            return self.say("No stop can be there; it went back to its place.".to_owned(), false);
        };
        let records = &document.records;
        let field = records.fields.get(&drag.plan.field).map_or("", |field| field.name.as_str());
        let mut edit = EditOf::new(records, format!("Move stop {} of {field}", drag.stop + 1));
        edit.put(Record::Plan((**plan).clone()));
        let command = edit.done();
        if command.changes.is_empty() {
            self.state.view.drag = None;
        } else {
            self.edit(Edit::Apply(command, None));
        }
    }

    /// Shows a short message.
    pub(super) fn say(&mut self, text: String, failed: bool) {
        self.toast_count += 1;
        self.state.toasts.push(Toast { id: self.toast_count, text, failed, until: None });
        if self.state.toasts.len() > 4 {
            self.state.toasts.remove(0);
        }
    }

    /// Adds to the list of problems; `open` shows it at once.
    fn list(&mut self, title: String, problems: Problems, open: bool) {
        if problems.list.is_empty() {
            return;
        }
        let open = open || !problems.is_clean();
        self.state.problems.push(ProblemList { title, problems: problems.list });
        self.state.view.problems_open |= open;
    }
}
