//! Test results: the assay, its standards, and what each active did to each sample.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::model::{AssayId, AssayKind, Rating, ResultId, SampleId, StandardId};

/// What is rated. The same pots may get another class by plants than by weight, so it is kept with every result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Plants alive, of those sprayed.
    Survival,
    /// Seeds with a shoot, of those sown.
    Shoots,
    /// Fresh weight of foliage, g.
    FreshWeight,
}

impl Measure {
    /// Every measure.
    pub const ALL: [Self; 3] = [Self::Survival, Self::Shoots, Self::FreshWeight];

    /// The words used in files.
    pub fn label(self) -> &'static str {
        match self {
            Self::Survival => "plant survival",
            Self::Shoots => "shoots",
            Self::FreshWeight => "fresh weight",
        }
    }
}

impl std::str::FromStr for Measure {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let plain = text.trim().to_lowercase().replace(['_', '-'], " ");
        match plain.as_str() {
            "plant survival" | "survival" | "mortality" | "plants" | "alive" | "plants alive" => Ok(Self::Survival),
            "shoots" | "shoot" | "germination" | "emergence" => Ok(Self::Shoots),
            "fresh weight" | "weight" | "foliage weight" | "foliage fresh weight" | "biomass" => Ok(Self::FreshWeight),
            _ => Err(format!("“{}” is no measure; use plant survival, shoots or fresh weight", text.trim())),
        }
    }
}

/// One pot or dish.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Replicate {
    /// Plants alive, seeds with a shoot, or grams.
    pub value: f64,
    /// Plants sprayed or seeds sown, for counts.
    pub of: Option<f64>,
}

/// What was counted or weighed, pot by pot.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Raw {
    /// Pots or dishes with the herbicide.
    pub treated: Vec<Replicate>,
    /// Pots or dishes of the same population without.
    pub untreated: Vec<Replicate>,
}

/// One test in which samples stood beside standards.
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
    /// The day it was counted or weighed, if known.
    #[serde(default)]
    pub date: Option<Date>,
    /// Who did it.
    #[serde(default)]
    pub laboratory: String,
    /// What the laboratory says of the whole test.
    #[serde(default)]
    pub comment: String,
}

/// What a standard is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StandardRole {
    /// Known to be susceptible: ratings hang on it.
    Susceptible,
    /// Known to be resistant: shows that the test tells the two apart.
    Resistant,
    /// Another reference population.
    Other,
}

impl StandardRole {
    /// The word used in files.
    pub fn label(self) -> &'static str {
        match self {
            Self::Susceptible => "susceptible",
            Self::Resistant => "resistant",
            Self::Other => "other",
        }
    }
}

impl std::str::FromStr for StandardRole {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim().to_lowercase().as_str() {
            "susceptible" => Ok(Self::Susceptible),
            "resistant" => Ok(Self::Resistant),
            "other" => Ok(Self::Other),
            other => Err(format!("“{other}” is no kind of standard; use susceptible, resistant or other")),
        }
    }
}

/// A reference population with one active in one assay.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Standard {
    /// Identifier.
    pub id: StandardId,
    /// The assay.
    pub assay: AssayId,
    /// Its name or code, as the laboratory wrote it.
    pub name: String,
    /// What it is for.
    pub role: StandardRole,
    /// Active ingredient, as in [`TestResult::active`].
    pub active: String,
    /// Dose as the laboratory wrote it.
    pub dose: Option<String>,
    /// What was rated.
    pub measure: Option<Measure>,
    /// Reduction against its own untreated plants, %.
    pub reduction: f64,
    /// Standard error of the reduction, percentage points.
    pub se: Option<f64>,
    /// Plants or seeds tested.
    pub n: Option<u32>,
    /// What was counted or weighed, if known.
    pub raw: Option<Raw>,
}

/// The year of the table of modes of action that group numbers are from: HRAC numbers of 2020.
pub const HRAC_TABLE: i32 = 2020;

fn hrac_table() -> i32 {
    HRAC_TABLE
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
    /// The year of the table that the group number is from.
    #[serde(default = "hrac_table")]
    pub hrac_table: i32,
    /// Reduction against untreated plants of the same sample, %: as printed, or worked out from `raw`. Below 0 when treated
    /// plants grew better. None: the laboratory gave its rating alone.
    pub reduction: Option<f64>,
    /// Reduction of the susceptible standard in the same assay, %; none: there was none.
    pub standard: Option<f64>,
    /// Standard error of the reduction, percentage points.
    pub se: Option<f64>,
    /// Plants or seeds tested.
    pub n: Option<u32>,
    /// Dose as the laboratory wrote it.
    pub dose: Option<String>,
    /// What was rated.
    #[serde(default)]
    pub measure: Option<Measure>,
    /// What was counted or weighed, if known.
    #[serde(default)]
    pub raw: Option<Raw>,
    /// Rating printed by the laboratory.
    pub lab_rating: Option<Rating>,
    /// What the laboratory says of this result.
    #[serde(default)]
    pub comment: String,
}

impl TestResult {
    /// A result with a reduction and a standard and nothing else known, %.
    pub fn printed(
        sample: SampleId,
        assay: AssayId,
        active: &str,
        group: &str,
        reduction: f64,
        standard: Option<f64>,
    ) -> Self {
        Self {
            id: ResultId::new(),
            sample,
            assay,
            active: active.to_owned(),
            group: group.to_owned(),
            hrac_table: HRAC_TABLE,
            reduction: Some(reduction),
            standard,
            se: None,
            n: None,
            dose: None,
            measure: None,
            raw: None,
            lab_rating: None,
            comment: String::new(),
        }
    }
}

impl Assay {
    /// An assay of which only kind, harvest year and source are known.
    pub fn of(kind: AssayKind, year: i32, source: &str) -> Self {
        Self {
            id: AssayId::new(),
            kind,
            year,
            source: source.to_owned(),
            date: None,
            laboratory: String::new(),
            comment: String::new(),
        }
    }
}
