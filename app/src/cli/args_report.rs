//! Arguments of `awn report`.

use std::path::PathBuf;

use awn_core::report::{Paper, Part, Version};
use clap::{Args as ClapArgs, ValueEnum};
use jiff::civil::Date;

#[derive(Debug, ClapArgs)]
pub struct ReportWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year: everything as known in it
    #[arg(long)]
    pub year: i32,
    /// File to write, .pdf
    #[arg(short, long)]
    pub output: PathBuf,
    /// For whom: grower or consultant
    #[arg(long = "for", value_enum, default_value_t = For::Consultant)]
    pub version: For,
    /// Only these parts, in the order of the report; may be given again and again, or with commas
    #[arg(long, value_name = "PART", value_delimiter = ',')]
    pub part: Vec<Part>,
    /// Leave out these parts
    #[arg(long, value_name = "PART", value_delimiter = ',')]
    pub without: Vec<Part>,
    /// Only these farms; may be given again and again
    #[arg(long, value_name = "NAME")]
    pub farm: Vec<String>,
    /// Only these fields, by name or farm/field; may be given again and again
    #[arg(long, value_name = "NAME")]
    pub field: Vec<String>,
    /// A page only for these fields; "due" and "resistant" stand for those that are
    #[arg(long, value_name = "NAME")]
    pub page_for: Vec<String>,
    /// Title on the cover
    #[arg(long, default_value = "")]
    pub title: String,
    /// Who answers for it
    #[arg(long, default_value = "")]
    pub author: String,
    /// Picture for the cover: PNG, JPEG, SVG, WebP or GIF
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Size of the paper
    #[arg(long, value_enum, default_value_t = Sheet::A4)]
    pub paper: Sheet,
    /// The day it bears; today if not given. The same day gives the same bytes
    #[arg(long)]
    pub date: Option<Date>,
    /// Set this harvest beside the year
    #[arg(long, value_name = "YEAR")]
    pub beside: Option<i32>,
    /// Words in another language: a table of texts as JSON, over the English ones
    #[arg(long, value_name = "FILE")]
    pub words: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum For {
    Grower,
    Consultant,
}

impl From<For> for Version {
    fn from(wanted: For) -> Self {
        match wanted {
            For::Grower => Self::Grower,
            For::Consultant => Self::Consultant,
        }
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Sheet {
    A4,
    Letter,
}

impl From<Sheet> for Paper {
    fn from(wanted: Sheet) -> Self {
        match wanted {
            Sheet::A4 => Self::A4,
            Sheet::Letter => Self::Letter,
        }
    }
}
