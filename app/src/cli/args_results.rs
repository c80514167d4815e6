//! Arguments of `awn rate`.

use std::path::PathBuf;

use clap::{Args as ClapArgs, ValueEnum};

#[derive(Debug, ClapArgs)]
pub struct RateWanted {
    /// Project file
    pub project: PathBuf,
    /// What to show
    #[arg(long, value_enum, default_value_t = Show::Results)]
    pub show: Show,
    /// Only this field, or farm/field
    #[arg(long)]
    pub field: Option<String>,
    /// Only samples of this harvest year; for trend, modes and farms: as known in it
    #[arg(long)]
    pub year: Option<i32>,
    /// Only this active
    #[arg(long)]
    pub active: Option<String>,
    /// Only this HRAC group
    #[arg(long)]
    pub group: Option<String>,
    /// Only results where the laboratory's rating differs
    #[arg(long)]
    pub disputed: bool,
    /// The arithmetic of each result, step by step
    #[arg(long)]
    pub steps: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Show {
    /// Every result, rated
    Results,
    /// Every field and active over the years
    Trend,
    /// Which modes of action still work in each field, and what the pattern suggests
    Modes,
    /// Tested land of each farm by class and mode of action
    Farms,
    /// Dose-response curves of samples tested at several doses
    Doses,
}
