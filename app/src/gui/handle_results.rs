//! Carrying out what the Results lens asked for.

use std::path::Path;
use std::sync::Arc;

use awn_core::exchange::{self, ImportError};
use awn_core::problem::Problems;

use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::import_form::{ImportForm, ImportKind};

/// Larger files are not looked at while the form is open, bytes.
const LOOKED_AT: u64 = 2 << 20;

impl App {
    /// Checks the typed result and keeps it, or says what is wrong.
    pub(super) fn keep_typed(&mut self) {
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

    /// Puts a form on show; for results with what the file would be read as.
    pub(super) fn set_form(&mut self, mut form: Option<ImportForm>) {
        let year = self.state.view.year;
        if let Some(form) = form.as_mut().filter(|form| form.kind == ImportKind::Walk && form.year.is_empty()) {
            form.year = year.to_string();
        }
        if let (Some(form), Some(document)) = (&mut form, &self.state.document)
            && form.kind == ImportKind::Results
        {
            let map = form.mapping().unwrap_or_default();
            if form.looked_at.as_ref().is_none_or(|(held, _)| *held != map) {
                let small = size(&form.file) <= LOOKED_AT;
                let preview = small.then(|| Arc::new(exchange::preview(&document.records, &form.file, &map)));
                form.looked_at = preview.map(|preview| (map, preview));
            }
        }
        self.state.view.form = form;
    }
}

fn size(file: &Path) -> u64 {
    std::fs::metadata(file).map_or(0, |data| data.len())
}
