//! Samples, ratings and kinds of assay.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::model::{FieldId, PlanId, SampleId, Stage, StageEvent};

/// Resistance rating of Moss et al. 1999 (Proc. BCPC Conf. Weeds, 179-184); worst is greatest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Rating {
    /// Susceptible.
    S,
    /// Early signs that resistance may be developing.
    #[serde(rename = "R?")]
    RQuestion,
    /// Resistance confirmed, probably lowering performance.
    RR,
    /// Resistance confirmed, highly likely to lower performance.
    RRR,
}

impl Rating {
    /// All ratings, best first.
    pub const ALL: [Self; 4] = [Self::S, Self::RQuestion, Self::RR, Self::RRR];

    /// The rating as printed.
    pub fn label(self) -> &'static str {
        match self {
            Self::S => "S",
            Self::RQuestion => "R?",
            Self::RR => "RR",
            Self::RRR => "RRR",
        }
    }

    /// What the rating says, in a few plain words.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::S => "susceptible",
            Self::RQuestion => "early signs of resistance",
            Self::RR => "resistant, control probably reduced",
            Self::RRR => "resistant, control very likely reduced",
        }
    }
}

impl std::str::FromStr for Rating {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        // "R ?", "r?", "(RR)" and "RR*" are all seen in tables.
        let plain: String = text.to_uppercase().chars().filter(|c| c.is_alphanumeric() || *c == '?').collect();
        match plain.as_str() {
            "S" | "SUSCEPTIBLE" => Ok(Self::S),
            "R?" => Ok(Self::RQuestion),
            "RR" => Ok(Self::RR),
            "RRR" => Ok(Self::RRR),
            _ => Err(format!("“{}” is no rating; use S, R?, RR or RRR", text.trim())),
        }
    }
}

/// One envelope of seed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sample {
    /// Identifier.
    pub id: SampleId,
    /// The code on the envelope, unique in a project.
    pub code: String,
    /// The field the seed was taken from.
    pub field: FieldId,
    /// Harvest year.
    pub year: i32,
    /// The day it was taken, if known.
    pub taken: Option<Date>,
    /// The plan it was taken by, if any.
    pub plan: Option<PlanId>,
    /// Notes in the user's words.
    pub note: String,
    /// Which of the plan's envelopes it is, counted from 1.
    #[serde(default = "first")]
    pub unit: usize,
    /// The weed, as its EPPO code.
    #[serde(default = "black_grass")]
    pub species: String,
    /// From which patches, in words; empty: not said.
    #[serde(default)]
    pub patches: String,
    /// How much seed, mugs.
    #[serde(default)]
    pub mugs: Option<f64>,
    /// How much had shed from the heads, %.
    #[serde(default)]
    pub shed_percent: Option<f64>,
    /// The weather when it was taken.
    #[serde(default)]
    pub weather: String,
    /// Share of the field that the sampled plants stand for, %.
    #[serde(default)]
    pub stands_for_percent: Option<f64>,
    /// The kinds of test wanted.
    #[serde(default)]
    pub tests: Vec<AssayKind>,
    /// The actives to test, in words.
    #[serde(default)]
    pub actives: String,
    /// What became of it, oldest first.
    #[serde(default)]
    pub events: Vec<StageEvent>,
}

fn first() -> usize {
    1
}

fn black_grass() -> String {
    "ALOMY".to_owned()
}

impl Sample {
    /// A sample of which nothing is known but its code, field and harvest year.
    pub fn new(code: impl Into<String>, field: FieldId, year: i32) -> Self {
        Self {
            id: SampleId::new(),
            code: code.into(),
            field,
            year,
            taken: None,
            plan: None,
            note: String::new(),
            unit: 1,
            species: black_grass(),
            patches: String::new(),
            mugs: None,
            shed_percent: None,
            weather: String::new(),
            stands_for_percent: None,
            tests: Vec::new(),
            actives: String::new(),
            events: Vec::new(),
        }
    }

    /// The stage it came to last; none: nothing was noted.
    pub fn last_event(&self) -> Option<&StageEvent> {
        self.events.last()
    }

    /// The day it came to a stage, if it did and the day is known.
    pub fn day_of(&self, stage: Stage) -> Option<Date> {
        let event = self.events.iter().rev().find(|event| event.stage == stage);
        let taken = self.taken.filter(|_| stage == Stage::Collected);
        event.and_then(|event| event.date).or(taken)
    }
}

/// How plants are tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AssayKind {
    /// Seeds germinated in dishes with herbicide.
    Petri,
    /// Plants sprayed in pots.
    Pot,
}

impl AssayKind {
    /// The word used in files.
    pub fn label(self) -> &'static str {
        match self {
            Self::Petri => "petri",
            Self::Pot => "pot",
        }
    }
}

impl std::str::FromStr for AssayKind {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim().to_ascii_lowercase().as_str() {
            "petri" | "petri dish" | "petri-dish" | "dish" | "dish test" | "petri test" | "seed" | "seed test" => {
                Ok(Self::Petri)
            }
            "pot" | "pots" | "pot test" | "pot assay" | "plant" | "plant test" | "glasshouse" => Ok(Self::Pot),
            other => Err(format!("“{other}” is no kind of assay; use petri or pot")),
        }
    }
}
