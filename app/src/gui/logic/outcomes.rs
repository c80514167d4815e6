//! Taking in what jobs come to.

use std::sync::Arc;

use awn_core::model::Plan;
use awn_core::problem::Problems;
use awn_core::units;

use crate::commands;
use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::jobs::Finished;
use crate::gui::jobs::kind::{JobKind, Outcome};
use crate::gui::notices::{ProblemList, Toast};

impl App {
    pub(in crate::gui) fn finished(&mut self, kind: JobKind, finished: Finished<Outcome>) {
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
            Outcome::Opened { project: Err(text), .. }
            | Outcome::Exported(Err(text))
            | Outcome::Changed(Err(text))
            | Outcome::Expected(Err(text))
            | Outcome::Compared(Err(text))
            | Outcome::Rounds(Err(text)) => self.say(text, true),
            Outcome::Wrote(result) => self.wrote(result),
            Outcome::Looked { file, preview, problems } => self.looked(&file, preview, problems),
            Outcome::LookedAtResults { file, map, preview } => self.looked_at_results(&file, map, preview),
            Outcome::Imported { file, result, problems } => self.imported(&file, *result, problems),
            Outcome::Proposed { plans, problems, cancelled } => self.proposed(&plans, problems, cancelled),
            Outcome::Exported(Ok(path)) => self.say(format!("Wrote {}", path.display()), false),
            Outcome::ExportedWith(path, faults) => {
                self.say(format!("Wrote {}", path.display()), false);
                let mut problems = Problems::new();
                for fault in faults {
                    problems.warning(path.display().to_string(), fault, "");
                }
                self.list("Writing a file".to_owned(), problems, true);
            }
            Outcome::Facts { facts, shapes, finds } => {
                let first = self.state.caches.facts.rows.is_empty() && !facts.rows.is_empty();
                self.state.view.selected.retain(|field| facts.row(*field).is_some());
                self.state.caches.facts = Arc::from(facts);
                self.state.caches.facts_number += 1;
                self.state.caches.shapes = shapes.0;
                self.state.caches.tramlines = shapes.1;
                self.state.caches.finds = finds;
                if self.fit_next || first {
                    self.fit_next = false;
                    self.show_fields(|_| true);
                }
            }
            Outcome::Density(layer) => self.state.caches.density = Some(layer),
            Outcome::Changed(Ok(change)) => self.changed(change),
            Outcome::Compared(Ok(comparison)) => self.state.caches.comparison = Some(comparison),
            Outcome::Rounds(Ok(rounds)) => self.keep_rounds(&rounds),
            Outcome::Reported(made) => self.reported(made),
            Outcome::Paged(number, pictures) => self.state.caches.report.keep(number, pictures),
            Outcome::Outlook(found) => self.state.caches.outlook = Some(*found),
            Outcome::Expected(Ok(expected)) => {
                self.state.caches.expected = Some(expected);
                self.state.caches.facts_number += 1;
            }
            Outcome::Charted(chart) => self.state.caches.chart = Some(chart),
            Outcome::Order(order) => self.state.caches.field_order = Some(order),
            Outcome::Adjusted { at, plan } => self.adjusted(at, plan),
        }
    }

    pub(in crate::gui) fn wrote(&mut self, result: Result<Option<String>, String>) {
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

    pub(in crate::gui) fn proposed(&mut self, plans: &[Plan], problems: Problems, cancelled: bool) {
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

    /// Shows a short message.
    pub(in crate::gui) fn say(&mut self, text: String, failed: bool) {
        self.toast(text, failed);
    }

    fn toast(&mut self, text: String, failed: bool) {
        self.toast_count += 1;
        // What failed stays until it is closed.
        self.state.toasts.push(Toast { id: self.toast_count, text, failed, stays: failed, until: None });
        if self.state.toasts.len() > 4 {
            self.state.toasts.remove(0);
        }
    }

    /// Adds to the list of problems; `open` shows it at once.
    pub(in crate::gui) fn list(&mut self, title: String, problems: Problems, open: bool) {
        if problems.list.is_empty() {
            return;
        }
        let open = open || !problems.is_clean();
        self.state.problems.push(ProblemList { title, problems: problems.list });
        self.state.view.problems_open |= open;
    }
}
