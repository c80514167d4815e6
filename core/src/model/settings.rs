//! Settings of a project.

use serde::{Deserialize, Serialize};

use crate::model::{AssayKind, DueRules, OutlookSettings, PlanSettings, SeasonSettings};

/// What a project's user has set; one record a project.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Name of the project, shown in the title.
    pub name: String,
    /// A field is due again when its last test is this many harvests ago (common practice, no source).
    pub retest_interval_years: i32,
    /// How density surfaces are made.
    pub density: DensitySettings,
    /// Settings that new plans start from.
    pub plan: PlanSettings,
    /// How results are rated, and how laboratories' tables are laid out.
    pub results: ResultSettings,
    /// What makes a field due a test, and how it is scored.
    pub due: DueRules,
    /// Which weeds, and whether seed is early or late.
    pub season: SeasonSettings,
    /// How samples are coded, and what is said of new ones.
    pub samples: SampleSettings,
    /// How money is written, and how tables of sprays, crops and programmes are laid out.
    pub act: ActSettings,
    /// Figures for the coming years and for patches.
    pub outlook: OutlookSettings,
    /// Layouts of files of the land whose columns were said by hand (boundaries, and points in tables), newest last.
    pub boundary_layouts: Vec<Layout>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            name: String::new(),
            retest_interval_years: 5,
            density: DensitySettings::default(),
            plan: PlanSettings::default(),
            results: ResultSettings::default(),
            due: DueRules::default(),
            season: SeasonSettings::default(),
            act: ActSettings::default(),
            outlook: OutlookSettings::default(),
            boundary_layouts: Vec::new(),
            samples: SampleSettings::default(),
        }
    }
}

/// How samples are coded, and what is said of new ones.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct SampleSettings {
    /// Letters that codes begin with, 2 to 4; empty: the first three of the farm's name.
    pub prefix: String,
    /// The kinds of test wanted of new samples.
    pub tests: Vec<AssayKind>,
    /// The actives to test, in words.
    pub actives: String,
    /// Days that seed dries (about a week: trade notice of July 1999).
    pub dry_days: i32,
    /// Harvests of crops and sprays that a submission form goes back.
    pub history_years: i32,
}

impl Default for SampleSettings {
    fn default() -> Self {
        Self {
            prefix: String::new(),
            tests: vec![AssayKind::Petri, AssayKind::Pot],
            actives: String::new(),
            dry_days: 7,
            history_years: 5,
        }
    }
}

/// What the part of the program that looks at chemistry and money needs to know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct ActSettings {
    /// Sign or code in front of sums of money.
    pub currency: String,
    /// Layouts of tables of sprays, crops and programmes that were read before, newest last.
    pub layouts: Vec<Layout>,
}

impl Default for ActSettings {
    fn default() -> Self {
        Self { currency: "£".to_owned(), layouts: Vec::new() }
    }
}

/// How results are rated.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ResultSettings {
    /// RR and RRR only where the sample differs from the susceptible standard (Dunnett, one-sided, P up to 0.05); R? else.
    /// (In use beside the published limits, from memory, no source.)
    pub must_differ: bool,
    /// Reductions of the susceptible standard that are expected, %, lowest and highest: outside it ratings are doubtful
    /// (our choice, no source).
    pub expected_standard: [f64; 2],
    /// Layouts of tables that were read before, newest last.
    pub layouts: Vec<Layout>,
}

impl Default for ResultSettings {
    fn default() -> Self {
        Self { must_differ: false, expected_standard: [80.0, 100.0], layouts: Vec::new() }
    }
}

/// How the columns of a table were read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Layout {
    /// The headings of the table, plain and in order of the alphabet.
    pub headings: Vec<String>,
    /// Column of the file and what it was read as.
    pub map: Vec<(String, String)>,
}

/// Which surveys a surface is made from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Combine {
    /// The latest that covers the field.
    #[default]
    Latest,
    /// The mean of those of the last years.
    Mean,
    /// The greatest of those of the last years.
    Maximum,
}

/// How values between points are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Between {
    /// By the number of points and what leaving each out in turn shows.
    #[default]
    Automatic,
    /// Ordinary kriging, if a variogram can be fitted.
    Kriging,
    /// Inverse distance.
    InverseDistance,
}

/// How density surfaces are made; one for a project, so that maps and plans agree.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct DensitySettings {
    /// Which surveys.
    pub combine: Combine,
    /// How between points.
    pub between: Between,
    /// Bandwidth of the kernel for bare places, m; none: from the places, 15 to 30 m.
    pub bandwidth_m: Option<f64>,
}

impl DensitySettings {
    /// Harvest years that the mean and the maximum look back, the one asked for included (our choice, no source).
    pub const YEARS: i32 = 5;
}

/// A word of the command line for each choice.
macro_rules! words {
    ($kind:ty, $what:literal, $($value:path => $word:literal),*) => {
        impl $kind {
            /// Every choice.
            pub const ALL: &[Self] = &[$($value),*];

            /// The word used on the command line and in files.
            pub fn label(self) -> &'static str {
                match self {
                    $($value => $word,)*
                }
            }
        }

        impl std::str::FromStr for $kind {
            type Err = String;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                let text = text.trim().to_ascii_lowercase();
                Self::ALL.iter().copied().find(|value| value.label() == text).ok_or_else(|| {
                    let words: Vec<_> = Self::ALL.iter().map(|value| value.label()).collect();
                    format!("“{text}” is no {}; use {}", $what, words.join(", "))
                })
            }
        }
    };
}
pub(super) use words;

words!(Combine, "way to combine surveys", Self::Latest => "latest", Self::Mean => "mean", Self::Maximum => "maximum");
words!(Between, "way to find values between points",
    Self::Automatic => "automatic", Self::Kriging => "kriging", Self::InverseDistance => "inverse-distance");
