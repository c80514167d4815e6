//! Carrying out what the Act lens asks for.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use awn_core::exchange::{self, Import, ImportError, Treatment};
use awn_core::model::{Record, Records};
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::{Change, Command, Edit as EditOf};
use awn_core::report;

use crate::commands;
use crate::commands::write;
use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::facts::Order;
use crate::gui::jobs::kind::{JobKind, Outcome};
use crate::gui::jobs::work;
use crate::gui::view::Lens;
use crate::gui::view::act::{ActRequest, ActTab, ActView, TableForm};

/// Tables larger than this are not looked at before they are read, bytes.
const LOOKED_AT: u64 = 2_000_000;

impl App {
    pub(in crate::gui) fn handle_act(&mut self, request: ActRequest) {
        let Some(records) = self.records().cloned() else { return };
        let year = self.state.view.year;
        match request {
            ActRequest::Show(view) => self.show_act(*view),
            ActRequest::KeepEntry => self.keep_entry(&records),
            ActRequest::KeepTable => self.keep_table(&records),
            ActRequest::KeepDraft => self.keep_draft(&records),
            ActRequest::Forget(record) => {
                let what = if matches!(*record, Record::Crop(_)) { "crop" } else { "spray" };
                let mut edit = EditOf::new(&records, format!("Remove a {what}"));
                edit.remove(&record);
                self.apply_act(edit.done(), Some(format!("Removed the {what}; undo brings it back")));
            }
            ActRequest::Copy(id) => {
                let Some(programme) = records.programmes.get(&id) else { return };
                let copy = commands::copy_programme(&records, programme);
                self.state.view.act.open = Some(copy.id);
                let mut edit = EditOf::new(&records, format!("Copy {}", programme.name));
                edit.put(Record::Programme(copy));
                self.apply_act(edit.done(), None);
            }
            ActRequest::Remove(id) => {
                let Some(programme) = records.programmes.get(&id) else { return };
                let said = format!("Removed {}; undo brings it back", programme.name);
                self.apply_act(commands::remove_programme(&records, programme), Some(said));
            }
            ActRequest::Put { fields, programme, measures } => {
                let fields: BTreeSet<_> = fields.into_iter().collect();
                self.apply_act(commands::put_programme(&records, &fields, year, programme, measures.as_deref()), None);
            }
            ActRequest::Currency(currency) => {
                let mut settings = records.settings.clone();
                settings.act.currency = currency;
                let mut edit = EditOf::new(&records, "Change the currency");
                edit.put(Record::Settings(settings));
                self.apply_act(edit.done(), None);
            }
        }
    }

    fn apply_act(&mut self, command: Command, said: Option<String>) {
        if !command.changes.is_empty() {
            self.edit(Edit::Apply(command, said));
        }
    }

    /// Shows what is asked for, with what a table would be read as.
    fn show_act(&mut self, mut view: ActView) {
        if let (Some(form), Some(records)) = (&mut view.table, self.records()) {
            let key = form.key();
            if form.looked_at.as_ref().is_none_or(|(held, _)| *held != key) {
                let small = form.file.as_deref().is_none_or(|file| size(file) <= LOOKED_AT);
                form.looked_at = (form.is_filled() && small).then(|| {
                    let preview = exchange::treatment_preview(records, form.kind, &form.source(), &form.mapping());
                    (key, Arc::new(preview))
                });
            }
        }
        self.state.view.act = view;
    }

    /// Opens the form for a table: a file, or text to be pasted.
    pub(in crate::gui) fn open_table(&mut self, form: TableForm) {
        self.state.view.lens = Lens::Act;
        self.state.view.form = None;
        let tab = if form.kind == Treatment::Programmes { ActTab::Programmes } else { ActTab::History };
        let view = ActView { tab, table: Some(form), entry: None, draft: None, ..self.state.view.act.clone() };
        self.show_act(view);
    }

    fn keep_entry(&mut self, records: &Records) {
        let Some(entry) = self.state.view.act.entry.clone() else { return };
        let mut problems = Problems::new();
        match exchange::typed_treatment(records, entry.kind, &entry.lines, &mut problems) {
            Ok(import) => {
                let mut command = import.command;
                command.name =
                    format!("{} a {}", if entry.instead.is_some() { "Change" } else { "Type" }, entry.kind.noun());
                take_place(records, &mut command, entry.instead.as_ref());
                let what = if import.updated > 0 { "brought up to date" } else { "kept" };
                self.apply_act(command, Some(format!("The {} is {what}", entry.kind.noun())));
                self.state.view.act.entry = None;
            }
            Err(error) => {
                if let Some(entry) = &mut self.state.view.act.entry {
                    entry.wrong = wrong(&problems, &error);
                }
            }
        }
    }

    fn keep_table(&mut self, records: &Records) {
        let Some(form) = self.state.view.act.table.clone() else { return };
        let name = form.file.as_deref().map_or_else(|| "The pasted text".to_owned(), name_of);
        let mut problems = Problems::new();
        let result = exchange::treatments(records, form.kind, &form.source(), &form.mapping(), &mut problems, &Quiet);
        match result {
            Ok(import) => {
                self.state.view.act.table = None;
                let said = said(&name, &import);
                self.list(format!("Import of {name}"), problems, false);
                self.apply_act(import.command, Some(said));
            }
            Err(error) => {
                self.say(format!("{name}: {error}."), true);
                self.list(format!("Import of {name}"), problems, true);
            }
        }
    }

    fn keep_draft(&mut self, records: &Records) {
        let Some(draft) = self.state.view.act.draft.clone() else { return };
        let mut problems = Problems::new();
        let about = [draft.name.trim(), draft.crop.trim(), draft.note.trim()];
        let typed = exchange::typed_programme(records, draft.id, about, &draft.steps, &mut problems);
        match typed {
            Some(programme) => {
                self.state.view.act.open = Some(programme.id);
                self.state.view.act.draft = None;
                let name = if draft.id.is_some() { "Change" } else { "Add" };
                let mut edit = EditOf::new(records, format!("{name} {}", programme.name));
                edit.put(Record::Programme(programme));
                self.apply_act(edit.done(), None);
            }
            // Nothing was changed in it.
            None if !problems.has_errors() => self.state.view.act.draft = None,
            None => {
                if let Some(draft) = &mut self.state.view.act.draft {
                    draft.wrong = wrong(&problems, &ImportError::Problems);
                }
            }
        }
    }

    /// Chooses the field with the most money at risk.
    pub(in crate::gui) fn choose_worst(&mut self) {
        let worst = self.state.caches.facts.act.checks.fields.first().map(|check| check.field);
        self.state.view.lens = Lens::Act;
        self.state.view.act.tab = ActTab::Money;
        if let Some(field) = worst {
            self.state.view.selected = [field].into();
            self.state.view.scroll_to = Some(field);
        }
    }

    /// Starts working out the order of fields when it is on show and what it hangs on has changed; true if it was started.
    pub(in crate::gui) fn refresh_order_of_fields(&mut self) -> bool {
        let Some(document) = &self.state.document else { return false };
        let shown = self.state.view.lens == Lens::Act && self.state.view.act.tab == ActTab::Order;
        let wanted = (self.opened, document.generation, self.state.view.year);
        if !shown || self.state.caches.field_order_for == Some(wanted) {
            return false;
        }
        self.state.caches.field_order_for = Some(wanted);
        let (records, year) = (document.records.clone(), self.state.view.year);
        self.jobs.start(JobKind::Order, "Working out the order of fields", true, move |_| {
            Outcome::Order(Arc::new(Order { year, farms: awn_core::act::order(&records, year) }))
        });
        true
    }

    /// Writes the order of fields as PDF, or as text if the name ends so.
    pub(in crate::gui) fn save_order(&mut self, path: &Path) {
        let (Some(records), Some(order)) = (self.records().cloned(), self.state.caches.field_order.clone()) else { return };
        let path = if path.extension().is_none() { path.with_extension("pdf") } else { path.to_owned() };
        self.jobs.start(JobKind::Export, "Writing the list", false, move |_| {
            let text = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("txt"));
            let bytes = if text {
                Ok(report::field_order_text(&records, order.year, &order.farms).into_bytes())
            } else {
                let today = work::today().unwrap_or(jiff::civil::date(order.year as i16, 7, 1));
                report::field_order_pdf(&records, order.year, &order.farms, today).map_err(|error| error.to_string())
            };
            let written = bytes.and_then(|bytes| write(&path, &bytes).map_err(|error| format!("{error:#}")));
            Outcome::Exported(written.map(|()| path))
        });
    }
}

/// Lets what was typed take the place of a record: the record goes if it was not written over.
fn take_place(records: &Records, command: &mut Command, instead: Option<&Record>) {
    let Some(before) = instead.and_then(|record| records.current(record)) else { return };
    let written = command.changes.iter().filter_map(|change| change.after.as_ref()).any(|after| after.id() == before.id());
    // Nothing in the command: what was typed is what is there, and that is the record itself.
    if !written && !command.changes.is_empty() {
        command.changes.push(Change { before: Some(before), after: None });
    }
}

fn wrong(problems: &Problems, error: &ImportError) -> Vec<String> {
    let list: Vec<String> = problems.errors().map(|problem| format!("{} {}", problem.what, problem.hint)).collect();
    if list.is_empty() { vec![error.to_string()] } else { list }
}

fn said(name: &str, import: &Import) -> String {
    let mut said = format!("{name}: {} added", import.added);
    if import.updated > 0 {
        said.push_str(&format!(", {} brought up to date", import.updated));
    }
    if import.skipped > 0 {
        said.push_str(&format!(", {} left out", import.skipped));
    }
    said
}

fn name_of(file: &Path) -> String {
    file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

fn size(file: &Path) -> u64 {
    std::fs::metadata(file).map_or(0, |data| data.len())
}
