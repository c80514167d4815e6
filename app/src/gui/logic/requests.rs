//! Carrying out what was asked, and taking in what dialogs answer.

use std::path::PathBuf;

use awn_core::exchange::{Extent, Treatment, What};
use awn_core::model::{FieldId, Record};
use awn_core::project::{Edit as EditOf, Project};
use awn_core::units;
use egui::{Context, ThemePreference};

use crate::backdrop::Background;
use crate::gui::action::Action;
use crate::gui::app::App;
use crate::gui::dialogs::Question;
use crate::gui::document::{Document, Edit};
use crate::gui::jobs::kind::{JobKind, Outcome};
use crate::gui::logic::samples::Page;
use crate::gui::request::Request;
use crate::gui::view::act::{ActTab, TableForm};
use crate::gui::view::aim::{Aim, Trace};
use crate::gui::view::import_form::{ImportForm, ImportKind};
use crate::gui::view::palette::Palette;
use crate::gui::view::season::SeasonView;
use crate::gui::view::tool::{Grab, Tool};
use crate::gui::view::{Lens, ViewState};
use crate::gui::{jobs::work, recent, style};

impl App {
    pub(in crate::gui) fn handle(&mut self, request: Request, ctx: &Context) {
        match request {
            Request::Do(action) => {
                self.note_changes();
                if action.enabled(&self.state.ctx()) {
                    self.act(action, ctx);
                }
            }
            Request::Select { field, add, scroll } => self.select(field, add, scroll),
            Request::SetYear(year) => {
                self.state.view.year = year;
                self.state.view.season = SeasonView::default();
            }
            Request::SetColouring(colouring) if self.state.view.lens == Lens::Act => {
                self.state.view.act_colouring = colouring;
            }
            Request::SetColouring(colouring) => self.state.view.colouring = colouring,
            Request::SetRatingOf(of) => self.state.view.rating_of = of,
            Request::SetInterval(years) => self.set_interval(years),
            Request::SetLayers(layers) => self.state.view.layers = layers,
            Request::SetLayersOpen(open) => self.state.view.layers_open = open,
            Request::SetBackground(background) => self.state.view.background = background,
            Request::SelectMany { fields, add } => {
                if !add {
                    self.state.view.selected.clear();
                }
                self.state.view.selected.extend(fields);
            }
            Request::SetFilter(filter) => self.state.view.filter = filter,
            Request::SetOnlyDue(only) => self.state.view.only_due = only,
            Request::SetSort(sort) => self.state.view.sort = sort,
            Request::SetPlanForm(form) => self.state.view.plan = form,
            Request::SetForm(Some(form)) => self.set_form(Some(*form)),
            Request::SetForm(None) => {
                self.set_form(None);
                self.offer_next();
            }
            Request::Wait(files) => self.state.view.waiting.extend(files.into_iter().map(|file| (file, None))),
            Request::LeaveWaiting => self.state.view.waiting.clear(),
            Request::LookAtImport => self.look_at_import(),
            Request::SetResults(view) => self.state.view.results = view,
            Request::SetSamples(view) => self.state.view.samples = *view,
            Request::ChangeSample(sample) => self.change_sample(&sample),
            Request::Act(request) => self.handle_act(request),
            Request::SetReport(view) => self.state.view.report = *view,
            Request::DrawPages(pages) => self.draw_pages(pages),
            Request::KeepTyped => self.keep_typed(),
            Request::SetResultSettings(settings) => self.set_result_settings(settings),
            Request::Import => self.import(),
            Request::Propose(fields) => self.propose(fields),
            Request::DragStop { plan, stop, at } => self.drag(plan, stop, at),
            Request::DropStop => {
                if let Some(drag) = &mut self.state.view.drag {
                    drag.released = true;
                }
                self.settle_drag();
            }
            Request::SetTool(tool) => self.take_tool(tool),
            Request::AddCorner(at) => self.add_corner(at),
            Request::ChooseStop(stop) => self.state.view.stop = stop,
            Request::ChooseCorner(corner) => self.state.view.corner = corner,
            Request::AddStopAt(field, at) => self.add_stop(field, at),
            Request::RemoveStop(field, stop) => self.remove_stop(field, stop),
            Request::PinStop(field, stop, pinned) => self.pin_stop(field, stop, pinned),
            Request::Grab(held, at) => self.state.view.grab = Some(Grab { held, at }),
            Request::LetGo => self.let_go(),
            Request::ChangeGround(field, ground) => self.change_ground(field, ground),
            Request::ShowBeside(beside) => self.state.view.walk.beside = beside,
            Request::UsePlan(plan) => self.use_plan(&plan),
            Request::DiscardPlan(plan) => self.discard_plan(plan),
            Request::ChartFigure(key) => self.state.view.walk.chart_figure = key,
            Request::SetDensity(density) => self.set_density(density),
            Request::ShowScouted(shown) => self.state.view.scout = shown,
            Request::ZoomTo(field) => {
                if let Some(row) = self.state.caches.facts.row(field) {
                    self.camera.show(row.bounds);
                }
            }
            Request::ShowPlace(bounds) => self.camera.show(with_surroundings(bounds)),
            Request::GoToStep(done) => self.edit(Edit::GoTo(done)),
            Request::ShowHistory(open) => self.state.view.open.history = open,
            Request::SetPalette(palette) => self.state.view.palette = palette,
            Request::SetChooser(chooser) => self.state.view.chooser = chooser,
            Request::Chosen(question, path) => {
                self.state.view.chooser = None;
                if let Some(folder) = path.parent() {
                    folder.clone_into(&mut self.last_folder);
                }
                self.answered(question, Some(path), ctx);
            }
            Request::EditField(field) => self.edit_field(*field),
            Request::AddPhoto(field) => self.dialogs.ask(Question::Photo(field), ctx.clone()),
            Request::OpenPhoto(photo) => self.open_photo(&photo),
            Request::EditCrop(crop) => self.edit_crop(*crop),
            Request::RemoveField(field) => self.remove_field(field),
            Request::Outlook(wish) => self.wish(wish, ctx),
            Request::SetSeason(season) => self.state.view.season = *season,
            Request::MarkField { field, mark, reason } => self.mark_field(field, mark, &reason),
            Request::SetDueRules(rules) => self.set_due_rules(*rules),
            Request::SetSeasonSettings(settings) => self.set_season_settings(*settings),
            Request::KeepCheck(check) => self.keep_check(&check),
            Request::RemoveCheck(check) => self.remove_check(check),
            Request::SetBase(at) => self.set_base(at),
            Request::Cancel(kind) => self.jobs.ask_to_stop(kind),
            Request::Open(path) => self.open_any(path),
            Request::CloseProblems => self.state.view.problems_open = false,
            Request::ClearProblems => {
                self.state.problems.clear();
                self.state.view.problems_open = false;
            }
            Request::Say(why) => self.say(why, true),
            Request::DismissToast(id) => self.state.toasts.retain(|toast| toast.id != id),
            Request::ListScrolled => self.state.view.scroll_to = None,
            Request::FindFocused => self.state.view.focus_find = false,
        }
    }

    fn act(&mut self, action: Action, ctx: &Context) {
        if action == Action::PrintForms {
            self.list_gaps();
        }
        let question = match action {
            Action::NewProject => Question::NewProject,
            Action::OpenProject => Question::OpenProject,
            Action::OpenSampleFarm => Question::SampleFarmFolder,
            Action::StartFromBoundaries => Question::StartBoundaries,
            Action::ImportBoundaries => Question::Import(ImportKind::Boundaries),
            Action::ImportGates => Question::Import(ImportKind::Gates),
            Action::ImportScouting => Question::Import(ImportKind::Scouting),
            Action::ImportResults => Question::Import(ImportKind::Results),
            Action::ImportWalk => Question::Import(ImportKind::Walk),
            Action::PrintCards => Question::SavePages(Page::Cards),
            Action::PrintLabels => Question::SavePages(Page::Labels),
            Action::PrintForms => Question::SavePages(Page::Forms),
            Action::ImportProgrammes => Question::Table(Treatment::Programmes),
            Action::ImportSprays => Question::Table(Treatment::Sprays),
            Action::ImportCrops => Question::Table(Treatment::Crops),
            Action::SaveOrder => Question::SaveOrder,
            Action::OpenBackground => Question::Background,
            Action::ExportWalks => Question::SaveWalks,
            Action::ExportStops => Question::SaveStops,
            Action::ExportCalendar => Question::SaveCalendar,
            Action::ExportRounds => Question::RoundsFolder,
            Action::ExportResults => Question::SaveResults,
            Action::ExportReport => Question::SaveReport,
            Action::ExportMap => Question::SaveMap,
            Action::ExportEverything => Question::SaveEverything,
            Action::ExportShared => Question::SaveShared,
            Action::ChoosePicture => Question::Picture,
            other => return self.act_at_once(other, ctx),
        };
        self.dialogs.ask(question, ctx.clone());
    }

    fn act_at_once(&mut self, action: Action, ctx: &Context) {
        match action {
            Action::Undo => self.undo(),
            Action::Redo => self.edit(Edit::Redo),
            Action::ProposeStops => {
                let fields = self.state.ctx().fields_to_plan();
                self.propose(fields);
            }
            Action::PlanRounds => self.plan_rounds(),
            Action::PlanSamples => self.plan_samples(),
            Action::ChooseFirstSamples => self.choose_first_samples(),
            Action::MoveSamples => self.move_samples(),
            Action::SamplesBack => self.samples_back(),
            Action::PasteTable => self.open_table(TableForm::new(Treatment::Sprays, None)),
            Action::PlanProgrammes => {
                self.state.view.lens = Lens::Act;
                self.state.view.act.tab = ActTab::Programmes;
            }
            Action::ChooseWorst => self.choose_worst(),
            Action::ShowPalette => self.state.view.palette = Some(Palette::default()),
            Action::ShowHistory => self.state.view.open.history = !self.state.view.open.history,
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
            Action::SelectNone if self.state.view.chooser.is_some() => self.state.view.chooser = None,
            Action::SelectNone if self.state.view.palette.is_some() => self.state.view.palette = None,
            Action::SelectNone => {
                // What is in hand is put away first.
                if self.state.view.tool == Tool::Choose {
                    self.state.view.selected.clear();
                    self.state.view.stop = None;
                }
                self.state.view.tool = Tool::Choose;
                self.state.view.corner = None;
            }
            Action::ChooseRectangle => self.take_tool(Tool::Aim(Aim::Rectangle { from: None })),
            Action::ChooseOutline => self.take_tool(Tool::Aim(Aim::Outline(Trace::default()))),
            Action::Measure => self.take_tool(Tool::Aim(Aim::Measure(Trace::default()))),
            Action::ShowLayers => self.state.view.layers_open = !self.state.view.layers_open,
            Action::ZoomToFarm => {
                let chosen = self.state.view.selected.iter().filter_map(|id| self.state.caches.facts.row(*id));
                let farms: std::collections::BTreeSet<String> = chosen.map(|row| row.farm.clone()).collect();
                let rows = self.state.caches.facts.clone();
                self.show_fields(|field| rows.row(field).is_some_and(|row| farms.contains(&row.farm)));
            }
            Action::ShowProblems => self.state.view.problems_open = true,
            Action::LightTheme => ctx.set_theme(ThemePreference::Light),
            Action::DarkTheme => ctx.set_theme(ThemePreference::Dark),
            Action::SystemTheme => ctx.set_theme(ThemePreference::System),
            Action::LargerText => {
                let (now, next) = (ctx.zoom_factor(), style::next_size(ctx.zoom_factor(), true));
                // Panels and map need room beside each other.
                if ctx.content_rect().width() * now / next < style::LEAST_WINDOW {
                    self.say("The window is too small for larger text; make the window larger first.".to_owned(), false);
                } else {
                    ctx.set_zoom_factor(next);
                }
            }
            Action::SmallerText => ctx.set_zoom_factor(style::next_size(ctx.zoom_factor(), false)),
            Action::UsualText => ctx.set_zoom_factor(1.0),
            other => match other.lens() {
                Some(lens) => {
                    if self.state.view.lens != Lens::Report {
                        self.state.view.lens_before = self.state.view.lens;
                    }
                    self.state.view.lens = lens;
                    self.state.view.form = None;
                    // A measure or a choice goes on in the next lens.
                    if !matches!(self.state.view.tool, Tool::Aim(_)) {
                        self.state.view.tool = Tool::Choose;
                    }
                }
                None => self.edit_by_hand(other),
            },
        }
    }

    fn select(&mut self, field: Option<FieldId>, add: bool, scroll: bool) {
        self.state.view.stop = None;
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

    pub(in crate::gui) fn show_fields(&mut self, wanted: impl Fn(FieldId) -> bool) {
        let rows = self.state.caches.facts.rows.iter().filter(|row| wanted(row.id));
        if let Some(bounds) = awn_core::geometry::merged_bounds(rows.map(|row| row.bounds)) {
            self.camera.show(bounds);
        }
    }

    /// Keeps another retest interval; what is due follows from it.
    fn set_interval(&mut self, years: i32) {
        let Some(document) = &self.state.document else { return };
        let mut settings = document.records.settings.clone();
        settings.retest_interval_years = years.clamp(1, 30);
        let mut edit = EditOf::new(
            &document.records,
            format!("Set the retest interval to {}", units::count(years.max(0) as usize, "harvest")),
        );
        edit.put(Record::Settings(settings));
        let command = edit.done();
        if !command.changes.is_empty() {
            self.edit(Edit::Apply(command, None));
        }
    }

    pub(in crate::gui) fn answered(&mut self, question: Question, path: Option<PathBuf>, ctx: &Context) {
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
            Question::Background => self.state.view.background = Background::of_file(path),
            Question::Import(kind) => {
                self.state.view.waiting.extend(self.dialogs.more().into_iter().map(|file| (file, Some(kind))));
                self.set_form(Some(ImportForm::new(path, Some(kind))));
            }
            Question::Table(kind) => self.open_table(TableForm::new(kind, Some(path))),
            Question::SaveOrder => self.save_order(&path),
            Question::SaveWalks => self.export(path, What::Walks),
            Question::SaveStops => self.export(path, What::Stops),
            Question::SaveCalendar => self.write_calendar(path),
            Question::RoundsFolder => self.write_round_files(path),
            Question::SaveResults => self.export(path, What::Results),
            Question::Photo(field) => self.add_photo(field, path),
            Question::SavePages(page) => self.print(page, path),
            Question::SaveReport => self.export_report(path),
            Question::SaveMap => self.export_map(path),
            Question::SaveEverything => self.export_data(path, Extent::Everything),
            Question::SaveShared => self.export_data(path, Extent::Shared),
            Question::Picture => self.take_picture(path),
            Question::SavePatches => self.write_patches(&path),
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

    pub(in crate::gui) fn opened_project(&mut self, project: Project, then: Option<PathBuf>) {
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
        // How the map is drawn is the user's, not the project's.
        let (layers, waiting) = (std::mem::take(&mut self.state.view.layers), std::mem::take(&mut self.state.view.waiting));
        self.state.view = ViewState { layers, waiting, ..ViewState::new(year, settings) };
        self.state.view.form = then.map(|file| ImportForm::new(file, Some(ImportKind::Boundaries)));
        self.offer_next();
        self.state.caches =
            crate::gui::state::Caches { density_number: self.state.caches.density_number, ..Default::default() };
        for kind in [
            JobKind::Facts,
            JobKind::Density,
            JobKind::Propose,
            JobKind::Import,
            JobKind::LookAtResults,
            JobKind::Adjust,
            JobKind::Change,
            JobKind::Compare,
            JobKind::Chart,
            JobKind::Rounds,
            JobKind::Order,
            JobKind::Report,
            JobKind::Pages,
            JobKind::Outlook,
            JobKind::Expected,
        ] {
            self.jobs.cancel(kind);
        }
        self.fit_next = true;
        self.remind();
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

    /// Takes back the last thing asked for: what is still being worked out is stopped, what is done is undone.
    fn undo(&mut self) {
        let running = JobKind::CHANGES.into_iter().filter(|kind| self.jobs.is_running(*kind)).collect::<Vec<_>>();
        if running.is_empty() {
            return self.edit(Edit::Undo);
        }
        for kind in running {
            self.jobs.cancel(kind);
        }
        self.state.view.drag = None;
        self.say("Stopped before it was done; nothing was changed.".to_owned(), false);
    }

    pub(in crate::gui) fn edit(&mut self, edit: Edit) {
        if let Some(document) = &mut self.state.document {
            document.waiting.push_back(edit);
        }
    }

    /// Starts writing the next edit that waits; true if one was started.
    pub(in crate::gui) fn write_next(&mut self) -> bool {
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
}

/// Degrees shown on every side of a place, about 50 m, so that a point is not a map without end.
const SURROUNDINGS: f64 = 0.0005;

/// Bounds with some land round them.
fn with_surroundings(bounds: geo::Rect<f64>) -> geo::Rect<f64> {
    let by = geo::Coord { x: SURROUNDINGS, y: SURROUNDINGS };
    geo::Rect::new(bounds.min() - by, bounds.max() + by)
}
