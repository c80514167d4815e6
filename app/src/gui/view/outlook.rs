//! What the window knows of the coming years: what is on show, what was worked out, and wishes about it.

use std::collections::BTreeMap;

use awn_core::act::outlook::{Band, FieldOutlook, GivenStart, MOST_SCENARIOS, MOST_YEARS, Overall, PatchCost, YearOutlook};
use awn_core::model::{Cultivation, FieldId, OutlookSettings, Patch, Records, Scenario, ScenarioId};

/// A figure of the coming years.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// Heads/m2.
    Heads,
    /// Seeds/m2 in the soil.
    Seeds,
    /// Control that holds the heads of the year before.
    Hold,
    /// Yield lost.
    Loss,
    /// Money lost and spent.
    Money,
}

impl Figure {
    /// All, in the order offered.
    pub const ALL: [Self; 5] = [Self::Heads, Self::Seeds, Self::Hold, Self::Loss, Self::Money];

    /// What it is called, with its unit.
    pub fn label(self) -> &'static str {
        match self {
            Self::Heads => "Heads/m2",
            Self::Seeds => "Seeds/m2 in the soil",
            Self::Hold => "Control to stand still, %",
            Self::Loss => "Yield lost, %",
            Self::Money => "Lost and spent, money/ha",
        }
    }

    /// What it means.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Heads => "Heads in June, mean of the field, left standing after control and after any were taken out.",
            Self::Seeds => "Viable seeds in the soil in early autumn, top and below, mean of the field.",
            Self::Hold => {
                "Control of the plants in the crop that would have kept each part of the field at the heads of the year before."
            }
            Self::Loss => {
                "By the hyperbola of Cousens (1985) on the plants left; the other published relations stand on the line's hover."
            }
            Self::Money => {
                "What the weed takes of the crop, with what programme and cultivation cost; prices and costs are your own."
            }
        }
    }

    /// Its band in a year; none where it is not known.
    pub fn of(self, year: &YearOutlook) -> Option<Band> {
        match self {
            Self::Heads => Some(year.heads),
            Self::Seeds => Some(year.seeds),
            Self::Hold => Some(year.hold),
            Self::Loss => Some(year.loss),
            Self::Money => {
                let (lost, cost) = (year.money.lost_to_weed?, year.money.cost?);
                Some(Band { low: lost.low + cost, median: lost.likely + cost, high: lost.high + cost })
            }
        }
    }
}

/// What the window shows of the coming years.
#[derive(Debug, Clone, PartialEq)]
pub struct OutlookView {
    /// Scenarios compared; empty: the first four of the project.
    pub chosen: Vec<ScenarioId>,
    /// Harvests ahead.
    pub years: usize,
    /// The figure in chart and table.
    pub figure: Figure,
    /// A field that starts from a density said by hand, and that density.
    pub start: Option<(FieldId, GivenStart)>,
    /// Cultivation before the crop after a patch.
    pub cultivation: Cultivation,
    /// The scenario being changed.
    pub editing: Option<Scenario>,
    /// Prices and costs being changed.
    pub costs: Option<OutlookSettings>,
    /// Patches chosen for the sprayer, counted from 0.
    pub patches: Vec<usize>,
    /// Spray volume inside the patches, l/ha; 0: not given.
    pub litres: f64,
    /// What is wrong with what was typed.
    pub wrong: Vec<String>,
}

impl Default for OutlookView {
    fn default() -> Self {
        Self {
            chosen: Vec::new(),
            years: MOST_YEARS,
            figure: Figure::Heads,
            start: None,
            cultivation: Cultivation::default(),
            editing: None,
            costs: None,
            patches: Vec::new(),
            litres: 0.0,
            wrong: Vec::new(),
        }
    }
}

impl OutlookView {
    /// What is said by hand of where a field starts from.
    pub fn start_of(&self, field: FieldId) -> Option<GivenStart> {
        self.start.filter(|(held, _)| *held == field).map(|(_, start)| start)
    }

    /// The scenarios compared, in the order they were made.
    pub fn scenarios(&self, records: &Records) -> Vec<ScenarioId> {
        let all = records.scenarios.keys().copied();
        let list: Vec<_> = all.filter(|id| self.chosen.is_empty() || self.chosen.contains(id)).collect();
        list.into_iter().take(MOST_SCENARIOS).collect()
    }
}

/// The coming years of the chosen field.
#[derive(Debug, Clone)]
pub struct OutlookFound {
    /// The field.
    pub field: FieldId,
    /// What was worked out; none if it could not be.
    pub found: Option<FieldOutlook>,
    /// Patches of the harvest on show, with what follows.
    pub patches: Vec<(Patch, PatchCost)>,
    /// Why the coming years are missing.
    pub why: Vec<String>,
    /// Why there are no patches.
    pub no_patches: Vec<String>,
}

/// Density expected on every field at the end of the years, under the first scenario compared.
#[derive(Debug, Clone)]
pub struct Expected {
    /// The scenario's name.
    pub scenario: String,
    /// The harvest.
    pub harvest: i32,
    /// Heads/m2 by field; fields without a density are missing.
    pub heads: BTreeMap<FieldId, Band>,
    /// The scenarios compared, over all these fields.
    pub all: Vec<Overall>,
}

/// A wish about the coming years.
#[derive(Debug, Clone)]
pub enum OutlookWish {
    /// Show this.
    Show(Box<OutlookView>),
    /// Keep a scenario, new or changed.
    Keep(Box<Scenario>),
    /// Take a scenario out.
    Remove(ScenarioId),
    /// Keep prices and costs.
    KeepCosts(Box<OutlookSettings>),
    /// Write the chosen patches for a sprayer.
    WritePatches,
}
