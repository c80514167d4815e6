//! What the Results lens shows: filter, opened result, and the result being typed.

use awn_core::exchange::Meaning;
use awn_core::model::{Rating, ResultId};

use crate::gui::facts::ResultRow;

/// Table, chart, or land by class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[allow(missing_docs)]
pub enum ResultsTab {
    #[default]
    Table,
    Chart,
    Land,
}

/// The state of the lens.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ResultsView {
    /// Which of them is on show.
    pub tab: ResultsTab,
    /// Words that sample, field or active must hold.
    pub words: String,
    /// Only this HRAC group.
    pub group: Option<String>,
    /// Only this rating.
    pub rating: Option<Rating>,
    /// Only results whose rating the laboratory does not share.
    pub disputed: bool,
    /// The result whose arithmetic is shown.
    pub open: Option<ResultId>,
    /// The result being typed.
    pub entry: Option<Entry>,
    /// Whether the settings of ratings are open.
    pub settings_open: bool,
}

impl ResultsView {
    /// Whether a result passes the filter.
    pub fn shows(&self, row: &ResultRow) -> bool {
        let text = format!("{} {} {} {}", row.sample, row.farm, row.field_name, row.active).to_lowercase();
        self.words.to_lowercase().split_whitespace().all(|word| text.contains(word))
            && self.group.as_ref().is_none_or(|group| *group == row.group)
            && self.rating.is_none_or(|rating| row.found.counted.is_some_and(|counted| counted.rating == rating))
            && (!self.disputed || row.found.agrees() == Some(false))
    }

    /// Whether anything is filtered away.
    pub fn is_filtered(&self) -> bool {
        !self.words.trim().is_empty() || self.group.is_some() || self.rating.is_some() || self.disputed
    }
}

/// A result as it is typed: each line is a meaning and its text.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Lines, in the order they are asked for.
    pub lines: Vec<(Meaning, String)>,
    /// Whether pots are typed in place of a percentage.
    pub pots: bool,
    /// What was wrong when it was to be kept.
    pub wrong: Vec<String>,
}

/// What is asked of every result.
const ALWAYS: [Meaning; 5] = [Meaning::Sample, Meaning::Field, Meaning::Year, Meaning::Assay, Meaning::Active];
/// What is asked of a finished percentage.
const FINISHED: [Meaning; 4] = [Meaning::Reduction, Meaning::StandardReduction, Meaning::StandardError, Meaning::Number];
/// What is asked of pots.
const POTS: [Meaning; 7] = [
    Meaning::Alive,
    Meaning::UntreatedAlive,
    Meaning::Shoots,
    Meaning::UntreatedShoots,
    Meaning::Weight,
    Meaning::UntreatedWeight,
    Meaning::StandardReduction,
];
/// What may be added to either.
const LAST: [Meaning; 5] = [Meaning::Dose, Meaning::Date, Meaning::Laboratory, Meaning::LabRating, Meaning::Comment];

impl Entry {
    /// An empty entry for a field (its name, or farm/field) and harvest year.
    pub fn new(field: Option<&str>, year: i32) -> Self {
        let mut entry = Self { lines: Vec::new(), pots: false, wrong: Vec::new() };
        entry.set_pots(false);
        for (meaning, text) in &mut entry.lines {
            match meaning {
                Meaning::Year => *text = year.to_string(),
                Meaning::Field => field.unwrap_or_default().clone_into(text),
                Meaning::Assay => "pot".clone_into(text),
                _ => {}
            }
        }
        entry
    }

    /// Asks for pots, or for a percentage; what was typed stays.
    pub fn set_pots(&mut self, pots: bool) {
        let middle: &[Meaning] = if pots { &POTS } else { &FINISHED };
        let held = std::mem::take(&mut self.lines);
        let text = |meaning: Meaning| held.iter().find(|(held, _)| *held == meaning).map(|(_, text)| text.clone());
        self.pots = pots;
        self.lines =
            ALWAYS.iter().chain(middle).chain(&LAST).map(|meaning| (*meaning, text(*meaning).unwrap_or_default())).collect();
    }
}
