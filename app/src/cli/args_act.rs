//! Arguments of `awn act` and of the tables that feed it.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Subcommand};

#[derive(Debug, Subcommand)]
pub enum ActWhat {
    /// What is left of the planned programmes in each field, and the money at risk
    Check(CheckWanted),
    /// Put a programme, and measures besides, on fields for a harvest
    Put(PutWanted),
    /// The programmes of the project with their steps
    Programmes {
        /// Project file
        project: PathBuf,
    },
    /// How often each mode of action was used, field by year, and what was used again and again
    Uses {
        /// Project file
        project: PathBuf,
        /// Only this field, or farm/field
        #[arg(long)]
        field: Option<String>,
        /// Last harvest year; the latest in the project if not given
        #[arg(long)]
        year: Option<i32>,
        /// Harvests to look back, the last one included
        #[arg(long, default_value_t = 8)]
        harvests: i32,
    },
    /// Published effects of non-chemical measures, with their ranges and sources
    Measures,
    /// The fields from cleanest to worst, in which to harvest and cultivate
    Order {
        /// Project file
        project: PathBuf,
        /// Harvest year; the latest in the project if not given
        #[arg(long)]
        year: Option<i32>,
        /// Only this farm
        #[arg(long)]
        farm: Option<String>,
        /// File to write, .pdf or .txt
        #[arg(short, long)]
        output: Option<PathBuf>,
    },
}

#[derive(Debug, ClapArgs)]
pub struct CheckWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year of the crop
    #[arg(long)]
    pub year: i32,
    /// Only this field, or farm/field: in sentences, with every step
    #[arg(long)]
    pub field: Option<String>,
    /// Only this farm
    #[arg(long, conflicts_with = "field")]
    pub farm: Option<String>,
    /// As if this programme were planned in all of them
    #[arg(long, value_name = "NAME")]
    pub programme: Option<String>,
}

#[derive(Debug, ClapArgs)]
pub struct PutWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year of the crop
    #[arg(long)]
    pub year: i32,
    /// Programme by its name; none: takes what is planned away
    #[arg(long, value_name = "NAME")]
    pub programme: Option<String>,
    /// Fields by name, or farm/field
    #[arg(long, num_args = 1..)]
    pub field: Vec<String>,
    /// All fields of this farm
    #[arg(long)]
    pub farm: Option<String>,
    /// All fields with this crop in the harvest year
    #[arg(long)]
    pub crop: Option<String>,
    /// All fields
    #[arg(long)]
    pub all: bool,
    /// Non-chemical measures besides, by the keys that `awn act measures` lists
    #[arg(long, num_args = 1.., value_name = "KEY")]
    pub measure: Vec<String>,
}

/// A table of sprays, crops or programmes.
#[derive(Debug, ClapArgs)]
pub struct TableWanted {
    /// Project file
    pub project: PathBuf,
    /// CSV or XLSX file; - reads text from standard input, as it is copied from a spreadsheet
    pub file: PathBuf,
    /// Take VALUE as HEADING for the whole table, such as year=2026 or unit=g/ha
    #[arg(long, num_args = 1.., value_name = "HEADING=VALUE", value_parser = super::args::column_and_field)]
    pub set: Vec<(String, String)>,
    /// Only say what would be read as what; change nothing
    #[arg(long)]
    pub preview: bool,
    /// Read COLUMN of the table as the heading FIELD
    #[arg(long, num_args = 1.., value_name = "COLUMN=FIELD", value_parser = super::args::column_and_field)]
    pub map: Vec<(String, String)>,
}
