//! What the Samples lens shows: which samples are chosen, which one is open, and what is typed to move them on.

use std::collections::BTreeSet;

use awn_core::model::{SampleId, Stage};
use awn_core::samples::{Details, Line, Move};
use jiff::civil::Date;

/// The state of the lens.
#[derive(Debug, Clone, PartialEq)]
pub struct SamplesView {
    /// Words that code, field or farm must hold.
    pub words: String,
    /// Only samples that are late.
    pub late: bool,
    /// Chosen samples.
    pub chosen: BTreeSet<SampleId>,
    /// The sample whose page is open.
    pub open: Option<SampleId>,
    /// What the chosen samples come to; none: what follows for them.
    pub to: Option<Stage>,
    /// The day, as typed.
    pub date: String,
    /// Who did it.
    pub person: String,
    /// What is worth knowing.
    pub note: String,
    /// How much seed, mugs.
    pub mugs: String,
    /// How much had shed, %.
    pub shed: String,
    /// Share of the field, %.
    pub stands_for: String,
    /// The weather.
    pub weather: String,
    /// What was wrong when they were to be moved on.
    pub wrong: Vec<String>,
    /// Cards on A5.
    pub small_cards: bool,
    /// The sheet of labels, by its name.
    pub sheet: String,
    /// The label of the first sheet to begin at.
    pub from: usize,
}

impl Default for SamplesView {
    fn default() -> Self {
        Self {
            words: String::new(),
            late: false,
            chosen: BTreeSet::new(),
            open: None,
            to: None,
            date: crate::commands::today().map(|day| day.to_string()).unwrap_or_default(),
            person: String::new(),
            note: String::new(),
            mugs: String::new(),
            shed: String::new(),
            stands_for: String::new(),
            weather: String::new(),
            wrong: Vec::new(),
            small_cards: false,
            sheet: "3x7".to_owned(),
            from: 1,
        }
    }
}

impl SamplesView {
    /// The stage that the chosen samples come to: as chosen, or the one that follows for the least advanced of them.
    pub fn target(&self, lines: &[Line]) -> Option<Stage> {
        let chosen = lines.iter().filter(|line| self.chosen.contains(&line.sample.id));
        self.to.or_else(|| chosen.filter_map(|line| line.status.next).min())
    }

    /// The samples that should be dealt with first: those that are late, seed in hand before seed in the field, or else those whose
    /// turn comes next.
    pub fn first(lines: &[Line]) -> Vec<SampleId> {
        let open = || lines.iter().filter(|line| !line.status.stage.is_end());
        let late = open()
            .filter(|line| line.status.is_late())
            .min_by_key(|line| (line.status.stage == Stage::Planned, line.status.stage));
        let Some(lead) = late.or_else(|| open().min_by_key(|line| (line.status.by, line.status.stage))) else {
            return Vec::new();
        };
        let same = |line: &&Line| line.status.stage == lead.status.stage && line.status.is_late() == lead.status.is_late();
        open().filter(same).map(|line| line.sample.id).collect()
    }

    /// What was typed, or the sentence that says what is wrong.
    pub fn checked(&self, stage: Stage) -> Result<Move, String> {
        let date: Date = self
            .date
            .trim()
            .parse()
            .map_err(|_not_a_date: jiff::Error| "Give the day as year-month-day, such as 2027-07-14.".to_owned())?;
        let taken = stage == Stage::Collected;
        let number = |typed: &str, what: &str| {
            let typed = typed.trim().replace(',', ".");
            if typed.is_empty() || !taken {
                return Ok(None);
            }
            typed
                .parse()
                .map(Some)
                .map_err(|_no_number: std::num::ParseFloatError| format!("{what} is a number; “{typed}” is none."))
        };
        Ok(Move {
            stage,
            date,
            person: self.person.clone(),
            note: self.note.clone(),
            details: Details {
                mugs: number(&self.mugs, "Seed in mugs")?,
                shed_percent: number(&self.shed, "Seed shed")?,
                stands_for_percent: number(&self.stands_for, "The share of the field")?,
                weather: if taken { self.weather.clone() } else { String::new() },
                patches: String::new(),
            },
        })
    }
}
