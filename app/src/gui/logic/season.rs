//! Carrying out what is asked of the season: pins, rules, ripeness checks, rounds.

use awn_core::exchange;
use awn_core::model::{DueRules, FieldId, Mark, RipeCheck, RipeCheckId, RoundSettings, SeasonSettings};
use awn_core::problem::Problems;
use awn_core::project::Command;
use awn_core::season;

use crate::commands;
use crate::commands::write;
use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::jobs::kind::{JobKind, Outcome};
use crate::gui::view::season::{RoundsForm, written};

impl App {
    fn keep_season(&mut self, make: impl FnOnce(&awn_core::model::Records, i32) -> Command) {
        let year = self.state.view.year;
        let Some(records) = self.records().cloned() else { return };
        let command = make(&records, year);
        if !command.changes.is_empty() {
            self.edit(Edit::Apply(command, None));
        }
    }

    pub(in crate::gui) fn mark_field(&mut self, field: FieldId, mark: Option<Mark>, reason: &str) {
        self.keep_season(|records, year| commands::mark(records, &[field], year, mark, reason));
    }

    pub(in crate::gui) fn set_due_rules(&mut self, rules: DueRules) {
        self.keep_season(|records, _| commands::set_due_rules(records, rules));
    }

    pub(in crate::gui) fn set_season_settings(&mut self, settings: SeasonSettings) {
        self.keep_season(|records, _| commands::set_season(records, settings));
    }

    /// Keeps a ripeness check, unless something is wrong with it.
    pub(in crate::gui) fn keep_check(&mut self, check: &RipeCheck) {
        let year = self.state.view.year;
        let Some(records) = self.records().cloned() else { return };
        let mut problems = Problems::new();
        season::look_over(&records, check, year, &mut problems);
        let refused = problems.has_errors();
        self.list("Ripeness check".to_owned(), problems, refused);
        if !refused {
            self.keep_season(|records, _| commands::keep_check(records, check));
        }
    }

    pub(in crate::gui) fn remove_check(&mut self, check: RipeCheckId) {
        self.keep_season(|records, _| match records.ripe_checks.get(&check) {
            Some(held) => commands::remove_check(records, held),
            None => Command { name: String::new(), changes: Vec::new() },
        });
    }

    /// Where the days of the rounds begin and end.
    pub(in crate::gui) fn set_base(&mut self, at: geo::Coord<f64>) {
        let Some(records) = self.records().cloned() else { return };
        let year = self.state.view.year;
        let season = &mut self.state.view.season;
        let form = season.form.get_or_insert_with(|| RoundsForm::of(&records, year));
        form.base = written(at);
    }

    /// Starts working out rounds.
    pub(in crate::gui) fn plan_rounds(&mut self) {
        let Some(document) = &self.state.document else { return };
        let (records, year) = (document.records.clone(), self.state.view.year);
        let form = self.state.view.season.form.clone();
        let form = form.unwrap_or_else(|| RoundsForm::of(&records, year));
        let settings: RoundSettings = match form.checked() {
            Ok(settings) => settings,
            Err(text) => return self.say(text, true),
        };
        self.jobs.start(JobKind::Rounds, "Working out the rounds", true, move |progress| {
            Outcome::Rounds(season::rounds(&records, year, &settings, progress).map_err(|error| error.to_string()))
        });
    }

    /// Keeps rounds that were worked out, and shows the first.
    pub(in crate::gui) fn keep_rounds(&mut self, rounds: &awn_core::model::Rounds) {
        self.state.view.season.round = rounds.days().next().map(|(date, car, _)| (date, car));
        let Some(records) = self.records().cloned() else { return };
        let left = rounds.left_out.len();
        let said = match left {
            0 => format!("Rounds for {}", awn_core::units::count(rounds.visits.len(), "field")),
            left => format!(
                "Rounds for {}; {} left out, each with its reason",
                awn_core::units::count(rounds.visits.len(), "field"),
                awn_core::units::count(left, "field")
            ),
        };
        self.edit(Edit::Apply(commands::keep_rounds(&records, rounds), Some(said)));
    }

    /// Writes the calendar of the year's rounds.
    pub(in crate::gui) fn write_calendar(&mut self, path: std::path::PathBuf) {
        let Some(document) = &self.state.document else { return };
        let (records, year) = (document.records.clone(), self.state.view.year);
        self.jobs.start(JobKind::Export, "Writing the calendar", false, move |_| {
            let rounds = records.rounds_of(year).ok_or_else(|| "There are no rounds of this harvest.".to_owned());
            let bytes = rounds.and_then(|rounds| exchange::rounds_calendar(&records, rounds));
            Outcome::Exported(bytes.and_then(|bytes| {
                let path = if path.extension().is_none() { path.with_extension("ics") } else { path };
                write(&path, &bytes).map(|()| path).map_err(|error| format!("{error:#}"))
            }))
        });
    }

    /// Writes a GPX file for each day and car into a folder.
    pub(in crate::gui) fn write_round_files(&mut self, folder: std::path::PathBuf) {
        let Some(document) = &self.state.document else { return };
        let (records, year) = (document.records.clone(), self.state.view.year);
        self.jobs.start(JobKind::Export, "Writing the rounds", false, move |_| {
            let rounds = records.rounds_of(year).ok_or_else(|| "There are no rounds of this harvest.".to_owned());
            let files = rounds.and_then(|rounds| exchange::rounds_gpx(&records, rounds));
            Outcome::Exported(files.and_then(|files| {
                let each = |file: &exchange::DayFile| write(&folder.join(&file.name), &file.bytes);
                files.iter().try_for_each(each).map(|()| folder).map_err(|error| format!("{error:#}"))
            }))
        });
    }
}
