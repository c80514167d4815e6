//! What can be asked of samples, cards, labels, forms and walks.

use std::path::PathBuf;

use awn_core::model::{AssayKind, Stage};
use clap::{Args as ClapArgs, ValueEnum};
use jiff::civil::Date;

#[derive(Debug, ClapArgs)]
pub struct SamplesWanted {
    /// Project file
    pub project: PathBuf,
    /// Codes of samples, to move on, take back or list; all of the year if none is given
    pub codes: Vec<String>,
    /// Harvest year; the latest in the project if not given
    #[arg(long)]
    pub year: Option<i32>,
    /// Plan samples: one for each envelope of the fields' plans
    #[arg(long, conflicts_with_all = ["move_to", "back", "codes"])]
    pub plan: bool,
    /// Field, or farm/field, to plan samples for; every field with planned stops if none is given
    #[arg(long, requires = "plan", value_name = "NAME")]
    pub field: Vec<String>,
    /// Move samples on to this stage: collected, dried, sealed, posted, received, reported, lost or withdrawn
    #[arg(long = "move", value_name = "STAGE", conflicts_with = "back")]
    pub move_to: Option<Stage>,
    /// Take the last stage of samples back
    #[arg(long, requires = "codes")]
    pub back: bool,
    /// The day of it, such as 2027-07-14; today if not given
    #[arg(long)]
    pub date: Option<Date>,
    /// Who did it; needed to move samples on. Who plans them is the account at this machine if not given
    #[arg(long, default_value = "")]
    pub person: String,
    /// What is worth knowing; the reason, for samples that are withdrawn
    #[arg(long, default_value = "")]
    pub note: String,
    /// How much seed, in mugs
    #[arg(long)]
    pub mugs: Option<f64>,
    /// How much had shed from the heads, in per cent
    #[arg(long, value_name = "PERCENT")]
    pub shed: Option<f64>,
    /// Share of the field that the sampled plants stand for, in per cent
    #[arg(long, value_name = "PERCENT")]
    pub stands_for: Option<f64>,
    /// The weather when it was taken
    #[arg(long, default_value = "")]
    pub weather: String,
    /// From which patches
    #[arg(long, default_value = "")]
    pub patches: String,
    /// Give the one sample named another code
    #[arg(long, requires = "codes", value_name = "NEW")]
    pub code: Option<String>,
    /// Tests wanted of the samples named, or of new ones if none is named: petri, pot
    #[arg(long, value_delimiter = ',')]
    pub tests: Vec<AssayKind>,
    /// Actives to test, of the samples named, or of new ones if none is named
    #[arg(long)]
    pub actives: Option<String>,
    /// Letters that new codes begin with, 2 to 4; "farm" for the first three of the farm's name
    #[arg(long, value_name = "LETTERS")]
    pub prefix: Option<String>,
    /// The main weed, of which new samples are, by its EPPO code; a field where another was looked for keeps that
    #[arg(long, value_name = "EPPO")]
    pub species: Option<String>,
    /// Only those at this stage
    #[arg(long)]
    pub stage: Option<Stage>,
    /// Only those that are late
    #[arg(long)]
    pub late: bool,
    /// Judge what is late as on this day; today if not given
    #[arg(long, value_name = "DATE")]
    pub on: Option<Date>,
}

#[derive(Debug, ClapArgs)]
pub struct CardWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year; the latest in the project if not given
    #[arg(long)]
    pub year: Option<i32>,
    /// Field, or farm/field; every field with planned stops if none is given
    #[arg(long, value_name = "NAME")]
    pub field: Vec<String>,
    /// Size of the paper
    #[arg(long, value_enum, default_value_t = Paper::A4)]
    pub size: Paper,
    /// File to write, .pdf
    #[arg(short, long)]
    pub output: PathBuf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    A4,
    A5,
}

#[derive(Debug, ClapArgs)]
pub struct LabelsWanted {
    /// Project file
    pub project: PathBuf,
    /// Codes of samples; all of the year that are not lost or withdrawn if none is given
    pub codes: Vec<String>,
    /// Harvest year; the latest in the project if not given
    #[arg(long)]
    pub year: Option<i32>,
    /// Sheet of labels by columns and rows: 3x7, 3x8, 2x7, 2x5, 2x4, single; or ten figures in mm joined by commas: paper width and
    /// height, columns, rows, label width and height, left and top margin, space across and down
    #[arg(long, default_value = "3x7", value_name = "SHEET")]
    pub sheet: String,
    /// Begin at this label of the first sheet
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    pub from: usize,
    /// File to write, .pdf
    #[arg(short, long)]
    pub output: PathBuf,
}

#[derive(Debug, ClapArgs)]
pub struct FormWanted {
    /// Project file
    pub project: PathBuf,
    /// Codes of samples; all of the year that are not lost or withdrawn if none is given
    pub codes: Vec<String>,
    /// Harvest year; the latest in the project if not given
    #[arg(long)]
    pub year: Option<i32>,
    /// Harvests of crops and sprays to tell; 5 if not set otherwise in the project
    #[arg(long)]
    pub years: Option<i32>,
    /// File to write, .pdf or .csv; without it, only what is not known is listed
    #[arg(short, long)]
    pub output: Option<PathBuf>,
}

#[derive(Debug, ClapArgs)]
pub struct WalkedWanted {
    /// Project file
    pub project: PathBuf,
    /// Track of the day: GPX, or lines of any other map file; without it, the walks that are kept are listed
    pub track: Option<PathBuf>,
    /// Harvest year; the latest in the project if not given
    #[arg(long)]
    pub year: Option<i32>,
    /// Field, or farm/field; those that the track was walked in if not given
    #[arg(long, value_name = "NAME")]
    pub field: Option<String>,
    /// The day; otherwise as the file says
    #[arg(long)]
    pub date: Option<Date>,
    /// Who walked
    #[arg(long, default_value = "")]
    pub person: String,
    /// Say what would be kept, and change nothing
    #[arg(long)]
    pub dry_run: bool,
}
