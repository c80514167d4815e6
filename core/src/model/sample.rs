//! Samples, assays and test results.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::model::{AssayId, FieldId, PlanId, ResultId, SampleId};

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
        match text.trim().to_ascii_uppercase().as_str() {
            "S" => Ok(Self::S),
            "R?" => Ok(Self::RQuestion),
            "RR" => Ok(Self::RR),
            "RRR" => Ok(Self::RRR),
            other => Err(format!("“{other}” is no rating; use S, R?, RR or RRR")),
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
            "petri" | "petri dish" | "dish" => Ok(Self::Petri),
            "pot" => Ok(Self::Pot),
            other => Err(format!("“{other}” is no kind of assay; use petri or pot")),
        }
    }
}

/// One test in which samples stood beside a susceptible standard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Assay {
    /// Identifier.
    pub id: AssayId,
    /// Dish or pot.
    pub kind: AssayKind,
    /// Harvest year of the samples in it.
    pub year: i32,
    /// The file it came from.
    pub source: String,
}

/// What one active did to one sample in one assay.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TestResult {
    /// Identifier.
    pub id: ResultId,
    /// The sample.
    pub sample: SampleId,
    /// The assay.
    pub assay: AssayId,
    /// Active ingredient, or several joined by "+", lower case.
    pub active: String,
    /// HRAC group number of the active: "1", "2", …
    pub group: String,
    /// Reduction against untreated plants of the same sample, %; below 0 when treated grew better.
    pub reduction: f64,
    /// Reduction of the susceptible standard in the same assay, %.
    pub standard: f64,
    /// Standard error of the reduction, percentage points.
    pub se: Option<f64>,
    /// Plants or seeds tested.
    pub n: Option<u32>,
    /// Dose as the laboratory wrote it.
    pub dose: Option<String>,
    /// Rating printed by the laboratory.
    pub lab_rating: Option<Rating>,
}
