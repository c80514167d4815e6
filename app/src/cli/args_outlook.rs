//! What can be asked about the coming years and about patches on the command line.

use std::path::PathBuf;

use awn_core::act::outlook::GivenStart;
use awn_core::model::{Cultivation, LowLikelyHigh};
use clap::{ArgGroup, Args as ClapArgs};

#[derive(Debug, ClapArgs)]
#[command(group(ArgGroup::new("of what").required(true).multiple(false)))]
pub struct OutlookWanted {
    /// Project file
    pub project: PathBuf,
    /// First harvest of the outlook; it starts from the scouting up to the harvest before
    #[arg(long)]
    pub year: i32,
    /// Name of the field, or farm/field
    #[arg(long, group = "of what")]
    pub field: Option<String>,
    /// Every field of the year
    #[arg(long, group = "of what")]
    pub all: bool,
    /// The parameters of the model, with range and source
    #[arg(long, group = "of what")]
    pub parameters: bool,
    /// How many harvests, up to 10
    #[arg(long, default_value_t = 10)]
    pub years: usize,
    /// Scenario by name, up to four; otherwise all of the project
    #[arg(long, num_args = 1..)]
    pub scenario: Vec<String>,
    /// Heads/m2, or a density class (absent, low, medium, high, very-high), to start from instead of the scouting
    #[arg(long, value_name = "HEADS|CLASS", allow_negative_numbers = true)]
    pub start: Option<GivenStart>,
}

#[derive(Debug, ClapArgs)]
pub struct CostsWanted {
    /// Project file
    pub project: PathBuf,
    /// Price a tonne and tonnes a hectare without grass weeds, such as "winter wheat=185,8.5"
    #[arg(long, num_args = 1.., value_name = "CROP=PRICE,YIELD", value_parser = crop_money)]
    pub crop: Vec<(String, [f64; 2])>,
    /// Cost of a cultivation a hectare, such as plough=70
    #[arg(long, num_args = 1.., value_name = "KIND=COST", value_parser = cultivation_cost)]
    pub cultivation: Vec<(Cultivation, f64)>,
    /// Cost of spraying off a hectare, without the crop
    #[arg(long, value_name = "COST")]
    pub spray_off: Option<f64>,
    /// Plants that one person pulls in an hour
    #[arg(long, value_name = "PLANTS")]
    pub pulled_per_hour: Option<f64>,
    /// Cost of an hour
    #[arg(long, value_name = "COST")]
    pub hour_cost: Option<f64>,
    /// Sign or code of the currency
    #[arg(long)]
    pub currency: Option<String>,
    /// Set a parameter of the model, such as decline=0.65,0.75,0.8; KEY=default takes it back
    #[arg(long, num_args = 1.., value_name = "KEY=LOW,LIKELY,HIGH", value_parser = parameter)]
    pub parameter: Vec<(String, Option<LowLikelyHigh>)>,
    /// How often the coming years are drawn
    #[arg(long)]
    pub draws: Option<usize>,
    /// Seed of the draws
    #[arg(long)]
    pub seed: Option<u64>,
}

#[derive(Debug, ClapArgs)]
pub struct PatchesWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year
    #[arg(long)]
    pub year: i32,
    /// Name of the field, or farm/field
    #[arg(long)]
    pub field: String,
    /// Cultivation before the next crop: plough, deep, shallow, direct-drill
    #[arg(long, default_value = "deep")]
    pub cultivation: Cultivation,
    /// Control expected in the next crop, %, such as 80,90,96
    #[arg(long, value_name = "LOW,LIKELY,HIGH", value_parser = range)]
    pub control: Option<LowLikelyHigh>,
    /// Only these patches, by their numbers
    #[arg(long, num_args = 1.., value_name = "NUMBER")]
    pub patch: Vec<usize>,
    /// Write the patches for a sprayer: .shp, .geojson, or .xml for ISO 11783-10 task data
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Spray volume inside the patches, l/ha, as label and adviser say; outside it is 0
    #[arg(long, value_name = "LITRES", requires = "output")]
    pub rate: Option<f64>,
}

fn number(text: &str) -> Result<f64, String> {
    text.trim()
        .parse::<f64>()
        .ok()
        .filter(|value| value.is_finite())
        .ok_or_else(|| format!("“{}” is no number", text.trim()))
}

fn named(text: &str, hint: &str) -> Result<(String, String), String> {
    let (name, value) = text.split_once('=').ok_or_else(|| format!("write {hint}"))?;
    if name.trim().is_empty() { Err(format!("write {hint}")) } else { Ok((name.trim().to_owned(), value.to_owned())) }
}

fn crop_money(text: &str) -> Result<(String, [f64; 2]), String> {
    let hint = "CROP=PRICE,YIELD, such as “winter wheat=185,8.5”";
    let (crop, values) = named(text, hint)?;
    let (price, tonnes) = values.split_once(',').ok_or_else(|| format!("write {hint}"))?;
    Ok((crop, [number(price)?, number(tonnes)?]))
}

fn cultivation_cost(text: &str) -> Result<(Cultivation, f64), String> {
    let (kind, cost) = named(text, "KIND=COST, such as plough=70")?;
    Ok((kind.parse()?, number(&cost)?))
}

fn range(text: &str) -> Result<LowLikelyHigh, String> {
    let values: Vec<f64> = text.split(',').map(number).collect::<Result<_, _>>()?;
    match values[..] {
        [one] => Ok(LowLikelyHigh::fixed(one)),
        [low, likely, high] => Ok(LowLikelyHigh::new(low, likely, high)),
        _ => Err("write LOW,LIKELY,HIGH, or one value".into()),
    }
}

fn parameter(text: &str) -> Result<(String, Option<LowLikelyHigh>), String> {
    let (key, values) = named(text, "KEY=LOW,LIKELY,HIGH, such as decline=0.65,0.75,0.8")?;
    if values.trim() == "default" { Ok((key, None)) } else { Ok((key, Some(range(&values)?))) }
}
