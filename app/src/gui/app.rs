//! The application: `logic` takes in finished jobs, carries out what was asked and keeps caches fresh; `ui` draws and queues.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use awn_core::model::Records;
use eframe::Frame;
use egui::{CentralPanel, Context, Event, Ui};

use crate::gui::action::Action;
use crate::gui::ctx::JobLine;
use crate::gui::dialogs::Dialogs;
use crate::gui::document::Document;
use crate::gui::jobs::Jobs;
use crate::gui::jobs::kind::{JobKind, Outcome};
use crate::gui::map::{self, Camera, DensityLayer, Drawn};
use crate::gui::notices::TOAST_SECONDS;
use crate::gui::request::Request;
use crate::gui::state::State;
use crate::gui::view::chooser::{self, Chooser};
use crate::gui::view::import_form::to_offer;
use crate::gui::view::layers::LayerList;
use crate::gui::view::{Colouring, Lens, Scouted};
use crate::gui::{jobs::work, panels, recent, style};

/// Jobs of the window.
pub type WindowJobs = Jobs<JobKind, Outcome>;

/// The application.
pub struct App {
    pub(super) state: State,
    pub(super) camera: Camera,
    drawn: Drawn,
    pub(super) jobs: WindowJobs,
    pub(super) dialogs: Box<dyn Dialogs>,
    /// Counts opened projects, so that caches of one are not taken for those of the next.
    pub(super) opened: u64,
    /// Counts messages.
    pub(super) toast_count: u64,
    /// Zoom to all fields when the next facts arrive.
    pub(super) fit_next: bool,
    /// Where choosing a file began or ended last.
    pub(super) last_folder: PathBuf,
    /// Where the list of recent projects is kept; none: nowhere.
    pub(super) recent_file: Option<PathBuf>,
    title: String,
}

/// The name under which the layers of the map are kept for each user.
pub(super) const LAYERS: &str = "layers";

impl App {
    /// An application; `jobs` and `dialogs` are real ones or test doubles.
    pub fn new(ctx: &Context, jobs: WindowJobs, dialogs: Box<dyn Dialogs>, recent_file: Option<PathBuf>) -> Self {
        style::apply(ctx);
        let opened_before = recent_file.as_deref().map(recent::read).unwrap_or_default();
        Self {
            state: State::new(work::present_harvest(), opened_before),
            camera: Camera::default(),
            drawn: Drawn::default(),
            jobs,
            dialogs,
            opened: 0,
            toast_count: 0,
            fit_next: false,
            last_folder: chooser::home(),
            recent_file,
            title: String::new(),
        }
    }

    /// Asks for something, as a panel would.
    pub fn ask(&self, request: Request) {
        self.state.queue.push(request);
    }

    /// Opens a project or a file to import, as dropping it on the window does.
    pub fn open(&self, path: &Path) {
        self.ask(Request::Open(path.to_owned()));
    }

    /// Shows, orders and fades layers as they were left.
    pub fn recall_layers(&mut self, text: &str) {
        if let Some(layers) = LayerList::read(text) {
            self.state.view.layers = layers;
        }
    }

    /// Shared state, for tests and pictures.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// What the window shows, for tests and pictures.
    pub fn view(&self) -> &crate::gui::view::ViewState {
        &self.state.view
    }

    /// The camera, for tests and pictures.
    pub fn camera(&self) -> &Camera {
        &self.camera
    }

    /// The records, if a project is open.
    pub fn records(&self) -> Option<&Arc<Records>> {
        self.state.document.as_ref().map(|document| &document.records)
    }

    /// Takes in all that has happened until nothing is left to do now.
    fn pump(&mut self, ctx: &Context) {
        // Each round may give rise to the next; a job on a thread ends the chain until it wakes the window.
        for _ in 0..64 {
            let mut busy = false;
            while let Some((question, path)) = self.dialogs.answer() {
                self.answered(question, path, ctx);
                busy = true;
            }
            if let Some(question) = self.dialogs.not_put() {
                self.state.view.chooser = Some(Box::new(Chooser::new(question, &self.last_folder)));
                busy = true;
            }
            while let Some((kind, finished)) = self.jobs.take() {
                self.finished(kind, finished);
                busy = true;
            }
            for request in self.state.queue.take() {
                self.handle(request, ctx);
                busy = true;
            }
            busy |= self.write_next();
            busy |= self.refresh_facts();
            busy |= self.refresh_density();
            busy |= self.follow_drag();
            busy |= self.refresh_comparison();
            busy |= self.refresh_chart();
            busy |= self.refresh_order_of_fields();
            busy |= self.refresh_report();
            busy |= self.refresh_outlook();
            busy |= self.refresh_expected();
            if !busy {
                break;
            }
            ctx.request_repaint();
        }
        if let Some(chooser) = &mut self.state.view.chooser {
            chooser.refresh();
        }
        self.refresh_order();
    }

    /// Starts working out the facts when the records or the year have changed; true if it was started.
    fn refresh_facts(&mut self) -> bool {
        let Some(document) = &self.state.document else { return false };
        let wanted = (self.opened, document.generation, self.state.view.year);
        if self.state.caches.facts_for == Some(wanted) {
            return false;
        }
        self.state.caches.facts_for = Some(wanted);
        let (records, year) = (document.records.clone(), self.state.view.year);
        self.jobs.start(JobKind::Facts, "Working out what is known", false, move |_| work::facts(&records, year));
        true
    }

    /// Starts working out the density when a lens shows it and boundaries, surveys or the year have changed.
    fn refresh_density(&mut self) -> bool {
        let Some(document) = &self.state.document else { return false };
        let coloured = self.state.view.shown_colouring() == Colouring::Density;
        if !coloured && self.state.view.lens != Lens::Walk {
            return false;
        }
        let year = self.state.view.year;
        let error = self.state.view.lens == Lens::Scout && self.state.view.scout == Scouted::Error;
        let fresh = self.state.caches.density_for.as_ref().is_some_and(|(opened, of_year, of_error, records)| {
            *opened == self.opened && *of_year == year && *of_error == error && same_ground(records, &document.records)
        });
        if fresh {
            return false;
        }
        let records = document.records.clone();
        self.state.caches.density_for = Some((self.opened, year, error, records.clone()));
        self.state.caches.density_number += 1;
        let number = self.state.caches.density_number;
        self.jobs.start(JobKind::Density, "Working out the density", true, move |progress| {
            Outcome::Density(Arc::new(DensityLayer::of(&records, year, number, error, progress)))
        });
        true
    }

    fn refresh_order(&mut self) {
        let (view, caches) = (&self.state.view, &mut self.state.caches);
        let key = (caches.facts_number, view.filter.clone(), view.only_due, view.sort, view.season.week.clone());
        if caches.order_for.as_ref() != Some(&key) {
            caches.order = caches.facts.order(view);
            caches.order_for = Some(key);
        }
    }

    /// Notes whether a change is being worked out or written, so that it can be taken back before it is done.
    pub(super) fn note_changes(&mut self) {
        let waiting = self.state.document.as_ref().is_some_and(|document| !document.waiting.is_empty());
        let at_work = JobKind::CHANGES.into_iter().any(|kind| self.jobs.is_running(kind));
        self.state.changing = waiting || at_work || self.jobs.is_running(JobKind::Write);
    }

    /// Turns keys into actions, in the order in which they were pressed.
    fn shortcuts(&self, ctx: &Context) {
        let typing = ctx.text_edit_focused();
        let now = self.state.ctx();
        let mut asked = false;
        ctx.input_mut(|input| {
            input.events.retain(|event| {
                let Event::Key { key, pressed: true, modifiers, .. } = event else { return true };
                let Some((action, keys)) = Action::of_keys(*key, *modifiers) else { return true };
                // A key that does nothing now is left to what has the focus: Enter presses a button. What can be done after the first
                // of several keys is seen when it is done.
                if typing && keys.modifiers.is_none() || !asked && !action.enabled(&now) {
                    return true;
                }
                asked = true;
                self.ask(Request::Do(action));
                false
            });
        });
        let dropped: Vec<PathBuf> =
            ctx.input(|input| input.raw.dropped_files.iter().map(|file| file.path().to_owned()).collect());
        let mut files = to_offer(dropped).into_iter();
        if let Some(first) = files.next() {
            self.open(&first);
            let others: Vec<PathBuf> = files.collect();
            if !others.is_empty() {
                self.ask(Request::Wait(others));
            }
        }
    }

    /// Removes messages whose time is over, and wakes the window when the next one goes.
    fn tidy(&mut self, ctx: &Context) {
        let now = ctx.input(|input| input.time);
        for toast in self.state.toasts.iter_mut().filter(|toast| !toast.stays && toast.until.is_none()) {
            toast.until = Some(now + TOAST_SECONDS);
        }
        self.state.toasts.retain(|toast| toast.until.is_none_or(|until| until > now));
        if let Some(next) = self.state.toasts.iter().filter_map(|toast| toast.until).min_by(f64::total_cmp) {
            ctx.request_repaint_after(std::time::Duration::from_secs_f64((next - now).max(0.05)));
        }
        let lines = self.jobs.shown().map(|(kind, job)| JobLine { kind, title: job.title.clone(), part: job.meter.part() });
        self.state.lines = lines.collect();
        if !self.state.lines.is_empty() {
            // Progress is looked at ten times a second while there is any, and never at rest.
            ctx.request_repaint_after(std::time::Duration::from_millis(100));
        }
        let title = match &self.state.document {
            Some(Document { title, .. }) => format!("{title} – Awn"),
            None => "Awn".to_owned(),
        };
        if title != self.title {
            ctx.send_viewport_cmd(egui::ViewportCommand::Title(title.clone()));
            self.title = title;
        }
    }
}

/// Whether all that a density surface is made from is the same in both; its grid lies along the tramlines.
fn same_ground(a: &Arc<Records>, b: &Arc<Records>) -> bool {
    let same = |a: &Records, b: &Records| {
        a.fields.len() == b.fields.len()
            && a.surveys.len() == b.surveys.len()
            && a.settings.density == b.settings.density
            && a.tramlines.len() == b.tramlines.len()
            && a.tramlines.values().zip(b.tramlines.values()).all(|(a, b)| Arc::ptr_eq(a, b))
            && a.fields.values().zip(b.fields.values()).all(|(a, b)| Arc::ptr_eq(a, b))
            && a.surveys.values().zip(b.surveys.values()).all(|(a, b)| Arc::ptr_eq(a, b))
    };
    Arc::ptr_eq(a, b) || same(a, b)
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &Context, _frame: &mut Frame) {
        self.note_changes();
        self.shortcuts(ctx);
        self.pump(ctx);
        self.tidy(ctx);
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut Frame) {
        let ctx = self.state.ctx();
        if ctx.is_open {
            let layers = self.state.layers();
            panels::around_map(ui, &ctx, &layers);
            let (camera, drawn) = (&mut self.camera, &mut self.drawn);
            CentralPanel::no_frame().show(ui, |ui| {
                let rect = ui.max_rect();
                if ctx.view.lens == Lens::Report {
                    panels::pages(ui, &ctx, &self.state.caches.report);
                } else {
                    map::show(ui, camera, drawn, &layers, &ctx);
                    map::tool_card(ui, &ctx, rect);
                }
                panels::notices(ui, &ctx, rect);
                panels::palette(ui, &ctx, rect);
                panels::chooser(ui, &ctx, rect);
            });
        } else {
            CentralPanel::no_frame().show(ui, |ui| {
                let rect = ui.max_rect();
                panels::start(ui, &ctx);
                panels::notices(ui, &ctx, rect);
                panels::palette(ui, &ctx, rect);
                panels::chooser(ui, &ctx, rect);
            });
        }
        // What was asked while drawing is carried out before the next frame.
        let asked = self.state.queue.is_waiting();
        if asked {
            ui.ctx().request_repaint();
        }
    }

    fn save(&mut self, storage: &mut dyn eframe::Storage) {
        storage.set_string(LAYERS, self.state.view.layers.written());
    }

    fn clear_color(&self, visuals: &egui::Visuals) -> [f32; 4] {
        visuals.panel_fill.to_normalized_gamma_f32()
    }
}
