//! What can be asked about the season on the command line.

use std::path::PathBuf;

use awn_core::model::{DueRule, DueRules, DueSign};
use clap::Args as ClapArgs;
use geo::Coord;
use jiff::civil::{Date, Time};

#[derive(Debug, ClapArgs)]
pub struct DueWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year
    #[arg(long)]
    pub year: i32,
    /// Most samples to pay for; only the fields they go to are shown
    #[arg(long, value_name = "SAMPLES")]
    pub budget: Option<usize>,
    /// Most money to spend; goes with --price
    #[arg(long)]
    pub money: Option<f64>,
    /// Price of the tests of one sample
    #[arg(long)]
    pub price: Option<f64>,
    /// Keep this budget and price in the project
    #[arg(long)]
    pub keep_budget: bool,
    /// Test this field whatever the rules say: its name, or farm/field; may be given again and again
    #[arg(long, value_name = "FIELD")]
    pub pin: Vec<String>,
    /// Do not test this field whatever the rules say
    #[arg(long, value_name = "FIELD")]
    pub veto: Vec<String>,
    /// Take a pin or a veto back
    #[arg(long, value_name = "FIELD")]
    pub release: Vec<String>,
    /// Why, for pins and vetoes
    #[arg(long, default_value = "")]
    pub reason: String,
    /// Harvests after which a field is due again
    #[arg(long, value_name = "HARVESTS")]
    pub interval: Option<i32>,
    /// Change a rule, as NAME=POINTS, NAME=POINTS,SOONER (harvests by which it brings the test forward) or NAME=off
    #[arg(long, value_name = "RULE=POINTS", value_parser = rule)]
    pub rule: Vec<(DueSign, Change)>,
    /// Harvests running in which the same mode of action counts as repeated
    #[arg(long, value_name = "HARVESTS")]
    pub repeat_years: Option<i32>,
    /// HRAC groups looked at for that, joined by commas: 1,2
    #[arg(long, value_name = "GROUPS", value_delimiter = ',')]
    pub repeat_groups: Vec<String>,
    /// Density has risen when it is so many times that of the survey before
    #[arg(long, value_name = "TIMES")]
    pub rise: Option<f64>,
    /// Fields this near, in m, are neighbours
    #[arg(long, value_name = "M")]
    pub neighbours: Option<f64>,
    /// All rules as they are before anybody changes them
    #[arg(long)]
    pub usual_rules: bool,
}

/// A change of a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    Off,
    To(f64, Option<i32>),
}

impl Change {
    /// The rule after the change.
    pub fn of(self, rules: &DueRules, sign: DueSign) -> DueRule {
        let held = rules.rule(sign);
        match self {
            Self::Off => DueRule { on: false, ..held },
            Self::To(points, sooner) => DueRule { on: true, points, sooner: sooner.unwrap_or(held.sooner) },
        }
    }
}

#[derive(Debug, ClapArgs)]
pub struct RipeWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year
    #[arg(long)]
    pub year: i32,
    /// Name of the field, or farm/field, that was looked at; without --shed, show this field only
    #[arg(long)]
    pub field: Option<String>,
    /// The day somebody looked, such as 2027-07-09
    #[arg(long, requires = "shed")]
    pub date: Option<Date>,
    /// Seed that has shed, % of all on the heads
    #[arg(long, requires = "field", requires = "date", allow_hyphen_values = true)]
    pub shed: Option<f64>,
    /// Weed, by its EPPO code
    #[arg(long)]
    pub species: Option<String>,
    /// Who looked
    #[arg(long, default_value = "")]
    pub who: String,
    /// Take away the check of this field and day
    #[arg(long, value_name = "DATE", requires = "field", conflicts_with = "shed")]
    pub remove: Option<Date>,
    /// Days by which seed is later than usual this year; below 0: earlier
    #[arg(long, value_name = "DAYS", allow_hyphen_values = true)]
    pub shift: Option<i32>,
    /// The main weed that fields are sampled for, by its EPPO code
    #[arg(long, value_name = "SPECIES")]
    pub main_species: Option<String>,
}

#[derive(Debug, ClapArgs)]
pub struct RoundsWanted {
    /// Project file
    pub project: PathBuf,
    /// Harvest year
    #[arg(long)]
    pub year: i32,
    /// First day; without it, the rounds that are kept are shown
    #[arg(long, requires = "to", requires = "base")]
    pub from: Option<Date>,
    /// Last day
    #[arg(long)]
    pub to: Option<Date>,
    /// Hours a day, from leaving the base to being back
    #[arg(long, default_value_t = 8.0, allow_hyphen_values = true)]
    pub hours: f64,
    /// People
    #[arg(long, default_value_t = 1)]
    pub people: usize,
    /// Where the days begin and end, degrees
    #[arg(long, value_name = "LON,LAT", value_parser = super::args_planning::position, allow_hyphen_values = true)]
    pub base: Option<Coord<f64>>,
    /// All in one car, sharing the walks; otherwise each in a car of his own
    #[arg(long)]
    pub together: bool,
    /// When a day begins
    #[arg(long, default_value = "08:00")]
    pub start: Time,
    /// Saturdays and Sundays too
    #[arg(long)]
    pub weekends: bool,
    /// Cleanest fields first on each round, the worst rated last
    #[arg(long)]
    pub cleanest_first: bool,
    /// Days before and after its ripe dates on which a field may be visited
    #[arg(long, default_value_t = 0)]
    pub spare_days: i32,
    /// Minutes at a field beside the walk
    #[arg(long, default_value_t = 10.0)]
    pub minutes_a_field: f64,
    /// Way by road for each metre in a straight line
    #[arg(long, default_value_t = 1.4)]
    pub detour: f64,
    /// Speed between fields, km/h
    #[arg(long, default_value_t = 40.0)]
    pub speed: f64,
    /// Write the calendar (.ics)
    #[arg(long, value_name = "FILE")]
    pub ics: Option<PathBuf>,
    /// Write a GPX file for each day and car into this folder
    #[arg(long, value_name = "DIR")]
    pub gpx: Option<PathBuf>,
}

fn rule(text: &str) -> Result<(DueSign, Change), String> {
    let hint = || format!("“{text}” changes no rule; write NAME=POINTS, NAME=POINTS,HARVESTS or NAME=off");
    let (name, value) = text.split_once('=').ok_or_else(hint)?;
    let sign: DueSign = name.parse()?;
    if value.trim().eq_ignore_ascii_case("off") {
        return Ok((sign, Change::Off));
    }
    let (points, sooner) = match value.split_once(',') {
        Some((points, sooner)) => (points, Some(sooner.trim().parse::<i32>().map_err(|_unread| hint())?)),
        None => (value, None),
    };
    let points: f64 = points.trim().parse().map_err(|_unread| hint())?;
    if !(0.0..=1000.0).contains(&points) || sooner.is_some_and(|sooner| !(0..=30).contains(&sooner)) {
        return Err("points are from 0 to 1000, harvests from 0 to 30".to_owned());
    }
    Ok((sign, Change::To(points, sooner)))
}
