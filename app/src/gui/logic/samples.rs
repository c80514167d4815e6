//! Carrying out what the Samples lens asked for.

use std::path::PathBuf;
use std::sync::Arc;

use awn_core::model::{FieldId, Sample, SampleId};
use awn_core::problem::Problems;
use awn_core::project::Command;
use awn_core::report::{CardSize, label_sheet};
use awn_core::samples::{self, plan_samples, reminders};
use awn_core::units::count;

use crate::commands::{
    card_pdf, fields_planned, form_bytes, labels_pdf, samples_alive, submissions, today, who_plans, write,
};
use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::jobs::kind::{JobKind, Outcome};

/// A page to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// Field cards.
    Cards,
    /// Labels for envelopes.
    Labels,
    /// Forms for the laboratory.
    Forms,
}

impl App {
    /// Plans samples for the chosen fields, or for all with planned stops.
    pub(in crate::gui) fn plan_samples(&mut self) {
        let Some(document) = &self.state.document else { return };
        let year = self.state.view.year;
        let fields = self.fields_with_plans();
        let mut problems = Problems::new();
        let person = who_plans(&self.state.view.samples.person);
        let planned = plan_samples(&document.records, &fields, year, today(), &person, &mut problems);
        let mut said = format!("{} planned", count(planned.samples.len(), "sample"));
        if planned.there > 0 {
            said.push_str(&format!("; {} there already", planned.there));
        }
        self.list("Planning samples".to_owned(), problems, false);
        if planned.command.changes.is_empty() {
            return self.say(said, false);
        }
        self.state.view.samples.chosen = planned.samples.iter().map(|sample| sample.id).collect();
        self.edit(Edit::Apply(planned.command, Some(said)));
    }

    /// The chosen fields, or those of the year with planned stops.
    fn fields_with_plans(&self) -> Vec<FieldId> {
        let Some(records) = self.records() else { return Vec::new() };
        let chosen: Vec<FieldId> = self.state.view.selected.iter().copied().collect();
        if chosen.is_empty() { fields_planned(records, self.state.view.year) } else { chosen }
    }

    /// The chosen samples, in the order of the list; or those of the chosen fields; or all that are not given up.
    fn samples_meant(&self) -> Vec<Arc<Sample>> {
        let Some(records) = self.records() else { return Vec::new() };
        let view = &self.state.view;
        let all = records.samples_in(view.year);
        if !view.samples.chosen.is_empty() {
            return all.into_iter().filter(|sample| view.samples.chosen.contains(&sample.id)).cloned().collect();
        }
        let mut alive = samples_alive(records, view.year);
        alive.retain(|sample| view.selected.is_empty() || view.selected.contains(&sample.field));
        alive
    }

    pub(in crate::gui) fn choose_first_samples(&mut self) {
        let lines = &self.state.caches.facts.samples;
        let first = crate::gui::view::samples::SamplesView::first(lines);
        self.state.view.samples.chosen = first.into_iter().collect();
        self.state.view.samples.to = None;
    }

    /// Moves the chosen samples on, or says why not.
    pub(in crate::gui) fn move_samples(&mut self) {
        let Some(document) = &self.state.document else { return };
        let view = &self.state.view.samples;
        let ids: Vec<SampleId> = view.chosen.iter().copied().collect();
        let Some(stage) = view.target(&self.state.caches.facts.samples) else { return };
        let mut problems = Problems::new();
        let command = match view.checked(stage) {
            Ok(to) => samples::move_on(&document.records, &ids, &to, today(), &mut problems),
            Err(wrong) => {
                problems.error("", wrong, "");
                None
            }
        };
        let said = format!("{}: {}", count(ids.len(), "sample"), stage.meaning());
        self.moved(command, problems, said);
    }

    /// Takes the last stage of the chosen samples back.
    pub(in crate::gui) fn samples_back(&mut self) {
        let Some(document) = &self.state.document else { return };
        let ids: Vec<SampleId> = self.state.view.samples.chosen.iter().copied().collect();
        let mut problems = Problems::new();
        let command = samples::step_back(&document.records, &ids, &mut problems);
        self.moved(command, problems, format!("Took back the last stage of {}", count(ids.len(), "sample")));
    }

    fn moved(&mut self, command: Option<Command>, problems: Problems, said: String) {
        // What is wrong with many samples alike is said once.
        let mut told: Vec<(String, String, usize)> = Vec::new();
        for problem in problems.errors() {
            let said = format!("{} {}", problem.what, problem.hint);
            match told.iter_mut().find(|(_, other, _)| *other == said) {
                Some((.., more)) => *more += 1,
                None => told.push((problem.place.clone(), said, 0)),
            }
        }
        let line = |(place, said, more): (String, String, usize)| match (place.as_str(), more) {
            ("", _) => said,
            (place, 0) => format!("{place}: {said}"),
            (place, more) => format!("{place} and {more} more: {said}"),
        };
        let view = &mut self.state.view.samples;
        view.wrong = told.into_iter().map(line).collect();
        let Some(command) = command else { return };
        // What was typed is of these samples, but for the day and the person.
        view.to = None;
        for typed in [&mut view.note, &mut view.mugs, &mut view.shed, &mut view.stands_for, &mut view.weather] {
            typed.clear();
        }
        view.chosen.clear();
        self.list("Samples".to_owned(), problems, false);
        self.edit(Edit::Apply(command, Some(said)));
    }

    /// Keeps a sample that was changed on its page.
    pub(in crate::gui) fn change_sample(&mut self, sample: &Sample) {
        let Some(document) = &self.state.document else { return };
        let mut problems = Problems::new();
        let command = samples::change(&document.records, sample, &mut problems);
        if let Some(error) = problems.errors().next() {
            return self.say(format!("{error}"), true);
        }
        self.list(format!("Sample {}", sample.code), problems, false);
        if let Some(command) = command {
            self.edit(Edit::Apply(command, None));
        }
    }

    /// Writes pages in the background.
    pub(in crate::gui) fn print(&mut self, page: Page, path: PathBuf) {
        let Some(document) = &self.state.document else { return };
        let (records, year, view) = (document.records.clone(), self.state.view.year, self.state.view.samples.clone());
        let (fields, samples) = (self.fields_with_plans(), self.samples_meant());
        let mut path = path;
        if path.extension().is_none() {
            path.set_extension("pdf");
        }
        self.jobs.start(JobKind::Export, "Writing the pages", false, move |_| {
            let written = || -> anyhow::Result<PathBuf> {
                let today = today().ok_or_else(|| anyhow::anyhow!("the clock of this machine gives no day"))?;
                let bytes = match page {
                    Page::Cards => {
                        let size = if view.small_cards { CardSize::A5 } else { CardSize::A4 };
                        card_pdf(&records, &fields, year, size, today)?
                    }
                    Page::Labels => {
                        let sheet = label_sheet(&view.sheet).map_err(|error| anyhow::anyhow!(error))?;
                        labels_pdf(&records, &samples, &sheet, view.from.clamp(1, sheet.places()), today)?
                    }
                    Page::Forms => form_bytes(&submissions(&records, &samples, None), &path, today)?,
                };
                write(&path, &bytes)?;
                Ok(path)
            };
            Outcome::Exported(written().map_err(|error| format!("{error:#}")))
        });
    }

    /// What is not known of the samples whose forms are to be written: told before anybody says where to.
    pub(in crate::gui) fn list_gaps(&mut self) {
        let Some(document) = &self.state.document else { return };
        let mut problems = Problems::new();
        for told in submissions(&document.records, &self.samples_meant(), None) {
            for gap in &told.gaps {
                problems.note(format!("sample {}, {}", told.sample.code, told.field), format!("not known: {gap}"), "");
            }
        }
        self.list("Gaps in the forms".to_owned(), problems, true);
    }

    /// What should have been done with samples by now, when a project is opened.
    pub(in crate::gui) fn remind(&mut self) {
        let Some(records) = self.records() else { return };
        let list = reminders(records, self.state.view.year, today());
        // The whole list stands in the Samples lens; a card over the map is no place for it.
        let Some(first) = list.first() else { return };
        let more = match list.len() - 1 {
            0 => String::new(),
            1 => " One thing more is late.".to_owned(),
            more => format!(" {more} things more are late."),
        };
        self.say(format!("{}.{more} See Samples.", first.text), false);
    }
}
