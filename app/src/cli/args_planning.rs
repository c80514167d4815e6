//! What can be asked about planning on the command line.

use std::path::PathBuf;

use awn_core::model::{Between, Combine, Method, SampleUnits, SurveyKind};
use awn_core::stops::Target;
use clap::{ArgGroup, Args as ClapArgs, ValueEnum};

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Kind {
    /// A value at each point
    Points,
    /// A value for each area
    Zones,
    /// Places where the weed was seen, without values
    Places,
    /// GeoTIFF or ASCII grid
    Raster,
}

impl From<Kind> for SurveyKind {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::Points => Self::Points,
            Kind::Zones => Self::Zones,
            Kind::Places => Self::Places,
            Kind::Raster => Self::Raster,
        }
    }
}

#[derive(Debug, ClapArgs)]
#[command(group(ArgGroup::new("which").required(true).multiple(false)))]
#[command(group(ArgGroup::new("how many").multiple(false)))]
pub struct StopsWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year
    #[arg(long)]
    pub year: i32,
    /// Name of the field, or farm/field
    #[arg(long, group = "which")]
    pub field: Option<String>,
    /// Every field that is due
    #[arg(long, group = "which")]
    pub due: bool,
    /// Every field of the year
    #[arg(long, group = "which")]
    pub all: bool,
    /// Number of stops in each field
    #[arg(long, group = "how many")]
    pub stops: Option<usize>,
    /// Most minutes on foot in each field; as many stops as fit
    #[arg(long, group = "how many")]
    pub minutes: Option<f64>,
    /// The fewest stops that reach a figure, such as detection=0.9 or distance_95_m=40
    #[arg(long, group = "how many", value_name = "FIGURE=VALUE")]
    pub target: Option<Target>,
    /// How stops are chosen: even, random; or as people commonly do: gate, w, tramline
    #[arg(long, default_value = "even")]
    pub method: Method,
    /// Seed of the random numbers; the same seed gives the same stops
    #[arg(long)]
    pub seed: Option<u64>,
    /// Weight of density: 0 even over the ground, 2 in proportion to density
    #[arg(long)]
    pub exponent: Option<f64>,
    /// No stop nearer to a gate, m
    #[arg(long)]
    pub gate_exclusion: Option<f64>,
    /// No two stops nearer to each other, m
    #[arg(long)]
    pub min_spacing: Option<f64>,
    /// Stops that every patch gets at least
    #[arg(long)]
    pub per_patch: Option<usize>,
    /// Least density of a patch, in the unit of the survey
    #[arg(long, conflicts_with = "patch_share")]
    pub patch_limit: Option<f64>,
    /// Patches are the densest ground that holds this share of the population, 0 to 1
    #[arg(long)]
    pub patch_share: Option<f64>,
    /// One sample for the field, or a sample for each group of patches: field, patches
    #[arg(long)]
    pub sample: Option<SampleUnits>,
    /// People who share the walk, 1 or 2
    #[arg(long)]
    pub people: Option<usize>,
    /// Name of the gate where the walk starts
    #[arg(long)]
    pub start_gate: Option<String>,
    /// Name of the gate where the walk ends
    #[arg(long)]
    pub end_gate: Option<String>,
    /// A stop that stays where it is, in degrees; may be given again and again
    #[arg(long, value_name = "LON,LAT", value_parser = position, allow_hyphen_values = true)]
    pub pin: Vec<geo::Coord<f64>>,
    /// Keep the plan beside the one in use, to compare with
    #[arg(long)]
    pub set_aside: bool,
}

#[derive(Debug, ClapArgs)]
pub struct OneField {
    /// Project file
    pub project: PathBuf,
    /// Harvest year
    #[arg(long)]
    pub year: i32,
    /// Name of the field, or farm/field
    #[arg(long)]
    pub field: String,
}

#[derive(Debug, ClapArgs)]
pub struct HowManyWanted {
    #[command(flatten)]
    pub one: OneField,
    /// Most stops looked at
    #[arg(long, default_value_t = 20)]
    pub most: usize,
    /// How stops are chosen
    #[arg(long, default_value = "even")]
    pub method: Method,
}

#[derive(Debug, ClapArgs)]
#[command(group(ArgGroup::new("which").required(true).multiple(false)))]
pub struct TramlinesWanted {
    /// Project file
    pub project: PathBuf,
    /// Name of the field, or farm/field
    #[arg(long, group = "which")]
    pub field: Option<String>,
    /// Every field
    #[arg(long, group = "which")]
    pub all: bool,
    /// Distance from line to line in metres (the sprayer's width)
    #[arg(long)]
    pub spacing: f64,
    /// Degrees clockwise from north; otherwise along the longest edge
    #[arg(long)]
    pub bearing: Option<f64>,
    /// Where the first line lies from the edge: half a spacing or a whole one
    #[arg(long, value_enum, default_value = "half")]
    pub first: First,
    /// Width of the headland in metres; otherwise the spacing
    #[arg(long)]
    pub headland: Option<f64>,
    /// Add a set beside those that are there, instead of replacing them
    #[arg(long)]
    pub another: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum First {
    /// Half a spacing from the edge
    Half,
    /// A whole spacing from the edge
    Whole,
}

#[derive(Debug, ClapArgs)]
pub struct SetWanted {
    /// Project file
    pub project: PathBuf,
    /// Which surveys make a density: latest, mean or maximum
    #[arg(long)]
    pub surveys: Option<Combine>,
    /// How values between points are found: automatic, kriging or inverse-distance
    #[arg(long)]
    pub between: Option<Between>,
    /// Bandwidth for bare places in metres; 0: from the places
    #[arg(long)]
    pub bandwidth: Option<f64>,
    /// Sign or code in front of sums of money, such as £ or EUR
    #[arg(long)]
    pub currency: Option<String>,
}

pub fn position(text: &str) -> Result<geo::Coord<f64>, String> {
    let hint = || format!("“{text}” is no position; write longitude,latitude in degrees, such as -0.41,52.63");
    let (x, y) = text.split_once(',').ok_or_else(hint)?;
    match (x.trim().parse::<f64>(), y.trim().parse::<f64>()) {
        (Ok(x), Ok(y)) if x.abs() <= 180.0 && y.abs() <= 90.0 => Ok(geo::Coord { x, y }),
        _ => Err(hint()),
    }
}
