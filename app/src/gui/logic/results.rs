//! Carrying out what the Results lens asked for.

use std::path::Path;
use std::sync::Arc;

use awn_core::exchange::{self, ImportError};
use awn_core::model::{Record, ResultSettings, Settings};
use awn_core::problem::Problems;
use awn_core::project::Edit as EditOf;

use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::jobs::kind::{JobKind, Outcome};
use crate::gui::view::import_form::{ImportForm, ImportKind, Mapping};

impl App {
    /// Checks the typed result and keeps it, or says what is wrong.
    pub(in crate::gui) fn keep_typed(&mut self) {
        let (Some(document), Some(entry)) = (&self.state.document, self.state.view.results.entry.clone()) else { return };
        let mut problems = Problems::new();
        match exchange::typed(&document.records, &entry.lines, &mut problems) {
            Ok(import) => {
                let what = if import.updated > 0 { "Result replaced" } else { "Result kept" };
                let mut command = import.command;
                "Type a result".clone_into(&mut command.name);
                if let Some(document) = &mut self.state.document {
                    document.waiting.push_back(Edit::Apply(command, Some(what.to_owned())));
                }
                self.state.view.results.entry = None;
            }
            Err(error @ (ImportError::Problems | ImportError::Cancelled(_))) => {
                let mut wrong: Vec<String> =
                    problems.errors().map(|problem| format!("{} {}", problem.what, problem.hint)).collect();
                if wrong.is_empty() {
                    wrong.push(error.to_string());
                }
                if let Some(entry) = &mut self.state.view.results.entry {
                    entry.wrong = wrong;
                }
            }
        }
    }

    /// Puts a form on show; what a results table would be read as is worked out beside it.
    pub(in crate::gui) fn set_form(&mut self, mut form: Option<ImportForm>) {
        let year = self.state.view.year;
        if let Some(form) = form.as_mut().filter(|form| form.kind == ImportKind::Walk && form.year.is_empty()) {
            form.year = year.to_string();
        }
        if let (Some(form), Some(document)) = (&mut form, &self.state.document)
            && form.kind == ImportKind::Results
        {
            let map = form.mapping().unwrap_or_default();
            let held = form.looked_at.as_ref().is_some_and(|(held, _)| *held == map);
            if held {
                form.looking = None;
                self.jobs.cancel(JobKind::LookAtResults);
            } else if form.looking.as_ref() != Some(&map) {
                form.looking = Some(map.clone());
                let (records, file) = (document.records.clone(), form.file.clone());
                let title = format!("Looking at {}", form.file_name());
                self.jobs.start(JobKind::LookAtResults, title, true, move |progress| {
                    let preview = Arc::new(exchange::preview(&records, &file, &map, progress));
                    Outcome::LookedAtResults { file, map, preview }
                });
            }
        } else {
            self.jobs.cancel(JobKind::LookAtResults);
        }
        self.state.view.form = form;
    }

    /// Takes in what a results table would be read as, if its form is still open with that mapping.
    pub(in crate::gui) fn looked_at_results(&mut self, file: &Path, map: Mapping, preview: Arc<exchange::Preview>) {
        let Some(form) = self.state.view.form.as_mut().filter(|form| form.file == file) else { return };
        if form.looking.as_ref() == Some(&map) {
            form.looking = None;
            form.looked_at = Some((map, preview));
        }
    }

    /// Rates results by other settings; every rating follows.
    pub(in crate::gui) fn set_result_settings(&mut self, results: ResultSettings) {
        let Some(document) = &self.state.document else { return };
        let held = &document.records.settings.results;
        let [low, high] = results.expected_standard;
        let name = match (held.must_differ, results.must_differ) {
            (false, true) => "Ask RR and RRR to differ from the standard".to_owned(),
            (true, false) => "Do not ask RR and RRR to differ from the standard".to_owned(),
            _ => format!("Expect standards of {low:.0} to {high:.0} %"),
        };
        let mut edit = EditOf::new(&document.records, name);
        edit.put(Record::Settings(Settings { results, ..document.records.settings.clone() }));
        let command = edit.done();
        if !command.changes.is_empty() {
            self.edit(Edit::Apply(command, None));
        }
    }
}
