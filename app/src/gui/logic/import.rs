//! Looking at a file and importing it, as the form asks.

use std::path::Path;
use std::sync::Arc;

use awn_core::exchange::{Import, ImportError};
use awn_core::problem::Problems;

use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::jobs::kind::JobKind;
use crate::gui::jobs::work;
use crate::gui::view::import_form::ImportForm;
use crate::gui::view::import_preview::Preview;

impl App {
    pub(in crate::gui) fn look_at_import(&mut self) {
        let (Some(document), Some(form)) = (&self.state.document, self.state.view.form.clone()) else { return };
        let Ok(checked) = form.checked() else { return };
        let records = document.records.clone();
        let title = format!("Looking at {}", form.file_name());
        self.jobs.start(JobKind::Import, title, true, move |progress| work::look(&records, &form, &checked, progress));
    }

    /// Offers the next file that waits, if none is being offered.
    pub(in crate::gui) fn offer_next(&mut self) {
        if self.state.view.form.is_none()
            && let Some((file, kind)) = self.state.view.waiting.pop_front()
        {
            self.set_form(Some(ImportForm::new(file, kind)));
        }
    }

    pub(in crate::gui) fn looked(&mut self, file: &Path, preview: Arc<Preview>, problems: Problems) {
        let Some(form) = self.state.view.form.as_mut().filter(|form| form.file == file) else { return };
        let title = format!("A look at {}", form.file_name());
        if let Some(bounds) = preview.bounds {
            self.camera.show(bounds);
        }
        form.seen = Some(preview.clone());
        form.preview = Some(preview);
        self.list(title, problems, false);
    }

    pub(in crate::gui) fn import(&mut self) {
        let (Some(document), Some(form)) = (&self.state.document, self.state.view.form.clone()) else { return };
        let Ok(checked) = form.checked() else { return };
        let records = document.records.clone();
        let title = format!("Reading {}", form.file_name());
        self.jobs.start(JobKind::Import, title, true, move |progress| work::import(&records, &form, &checked, progress));
    }

    pub(in crate::gui) fn imported(&mut self, file: &str, result: Result<Import, ImportError>, problems: Problems) {
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
                self.offer_next();
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
}
