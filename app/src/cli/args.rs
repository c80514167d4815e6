//! What can be asked on the command line.

use std::path::PathBuf;

use awn_core::model::DensityUnit;
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

use super::args_act::{ActWhat, TableWanted};
pub use super::args_files::{ColumnsWanted, OfFile, PlaceWanted};
pub use super::args_outlook::{CostsWanted, OutlookWanted, PatchesWanted};
pub use super::args_planning::{HowManyWanted, Kind, OneField, SetWanted, StopsWanted, TramlinesWanted};
use super::args_report::ReportWanted;
use super::args_results::RateWanted;
use super::args_samples::{CardWanted, FormWanted, LabelsWanted, SamplesWanted, WalkedWanted};
pub use super::args_season::{DueWanted, RipeWanted, RoundsWanted};

/// The version, and the notices that others' work inside the program asks for.
const NOTICES: &str = concat!(env!("CARGO_PKG_VERSION"), "\n\n", include_str!("../../../assets/notices.txt"));

/// Plan, record and map herbicide-resistance testing of grass weeds.
///
/// Without a verb, opens the window. A rating is no recommendation: the product label and a qualified adviser decide.
#[derive(Debug, Parser)]
#[command(name = "awn", version, long_version = NOTICES, args_conflicts_with_subcommands = true)]
pub struct Args {
    /// Project file to open in the window
    pub project: Option<PathBuf>,

    #[command(subcommand)]
    pub verb: Option<Verb>,

    /// Answer with one JSON object; problems go to standard error as JSON
    #[arg(long, global = true)]
    pub json: bool,

    /// Folder with datum shift grids (NTv2, .gsb) for coordinate systems that need one
    #[arg(long, global = true, value_name = "DIR")]
    pub grids: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Write the sample farm into a folder, run the whole job on it, and open it
    Demo {
        /// Folder; made if missing
        dir: PathBuf,
        /// Write the outputs only
        #[arg(long)]
        no_window: bool,
    },
    /// Make an empty project file (a GeoPackage)
    New {
        /// Project file to make
        project: PathBuf,
    },
    /// Read a file into a project
    Add {
        #[command(subcommand)]
        what: AddWhat,
        /// Say what would be done, and change nothing
        #[arg(long, global = true)]
        dry_run: bool,
    },
    /// Which fields are due a test, and why; pins, vetoes, rules and what a budget leaves out
    Due(Box<DueWanted>),
    /// When seed is ripe: add a look at how much has shed, or show the dates
    Ripe(RipeWanted),
    /// Fields to days and the order of each day, inside their ripe dates
    Rounds(Box<RoundsWanted>),
    /// Propose stops and a walk, and keep them in the project
    Stops(StopsWanted),
    /// What 1, 2, 3 … stops in a field come to: figures and minutes
    HowMany(HowManyWanted),
    /// The plan of a field beside every other way of choosing as many stops
    Compare(OneField),
    /// How the density of a field was worked out, and its patches
    Density(OneField),
    /// Lay tramlines in fields, or more than one set
    Tramlines(TramlinesWanted),
    /// How densities are made from surveys
    Set(SetWanted),
    /// Rate every result by the published limits; trends, modes of action and doses
    Rate(RateWanted),
    /// What still works in each field, what it costs, and what else could be done
    Act {
        #[command(subcommand)]
        what: ActWhat,
    },
    /// The coming years of fields under scenarios: density, control needed, yield and money lost, as ranges
    Outlook(OutlookWanted),
    /// The scenarios of a project
    Scenarios {
        /// Project file
        project: PathBuf,
        /// Take this one out
        #[arg(long, value_name = "NAME")]
        remove: Option<String>,
    },
    /// Set prices, yields and costs of outlooks and patches, and figures of the model
    Costs(CostsWanted),
    /// What taking patches out before seed sheds costs, against what they would return; patches for a sprayer
    Patches(PatchesWanted),
    /// Every field: farm, area, latest ratings, years since its last test
    Fields {
        /// Project file
        project: PathBuf,
        /// Harvest year; the latest in the project if not given
        #[arg(long)]
        year: Option<i32>,
    },
    /// Draw a map
    Map(MapWanted),
    /// Write a report as PDF: summary, maps, tables, a page for each field
    Report(ReportWanted),
    /// Write stops, walks, fields or results for other programs
    Export(ExportWanted),
    /// Samples: plan envelopes, move them on from collected to reported, list what is next and what is late
    Samples(SamplesWanted),
    /// Field cards as PDF: map, stops, seed, cautions, room for notes
    Card(CardWanted),
    /// Labels for envelopes as PDF, with the code as QR
    Labels(LabelsWanted),
    /// Forms for the laboratory as PDF or CSV: sample, field, crops and herbicides; and what of it is not known
    Form(FormWanted),
    /// Read the track of the day, and say how good the walk was beside its plan
    Walked(WalkedWanted),
    /// Look for damage and for problems in the data
    Check {
        /// Project file
        project: PathBuf,
    },
}

#[derive(Debug, Subcommand)]
pub enum AddWhat {
    /// Field boundaries: shapefile, GeoPackage, GeoJSON, KML, GPX, GML, FlatGeobuf, task data or a .zip of one
    Boundaries {
        project: PathBuf,
        file: PathBuf,
        /// Farm they belong to; otherwise a farm column or the file's name
        #[arg(long)]
        farm: Option<String>,
        #[command(flatten)]
        of_file: OfFile,
        #[command(flatten)]
        columns: ColumnsWanted,
        /// Bearing of the tramlines in degrees from north; otherwise along the longest edge
        #[arg(long, requires = "tramline_spacing")]
        tramline_bearing: Option<f64>,
        /// Spacing of the tramlines in metres
        #[arg(long)]
        tramline_spacing: Option<f64>,
        /// Harvest year from which they hold: fields are matched by their land, and split or merged ones keep their history
        #[arg(long)]
        year: Option<i32>,
        /// Fields of the same farms that are not in the file end with the year before
        #[arg(long, requires = "year")]
        close_missing: bool,
    },
    /// Gates: points, each given to the nearest field
    Gates {
        project: PathBuf,
        file: PathBuf,
        #[command(flatten)]
        of_file: OfFile,
        #[command(flatten)]
        place: PlaceWanted,
    },
    /// Areas without stops and walks: polygons, each given to the fields it lies in
    NoGo {
        project: PathBuf,
        file: PathBuf,
        #[command(flatten)]
        of_file: OfFile,
    },
    /// Tramlines as they were driven: lines, each given to the field it lies in
    Tramlines {
        project: PathBuf,
        file: PathBuf,
        /// Distance from line to line in metres; otherwise measured
        #[arg(long)]
        spacing: Option<f64>,
        /// Width of the headland in metres; otherwise the spacing
        #[arg(long)]
        headland: Option<f64>,
        #[command(flatten)]
        of_file: OfFile,
    },
    /// A scouting survey: points or zones with a density or a class, bare places, or a raster
    Scouting {
        project: PathBuf,
        file: PathBuf,
        /// Day of the survey, such as 2026-06-12
        #[arg(long, required_unless_present = "date_column")]
        date: Option<Date>,
        /// Column with the day of each row, where the file holds several surveys
        #[arg(long)]
        date_column: Option<String>,
        #[arg(long, value_enum)]
        kind: Kind,
        /// Column with the value; otherwise guessed
        #[arg(long)]
        value_column: Option<String>,
        /// heads/m2, plants/m2 or class
        #[arg(long)]
        unit: DensityUnit,
        /// Values are counts in a frame of this size, m2
        #[arg(long)]
        frame_m2: Option<f64>,
        #[command(flatten)]
        of_file: OfFile,
        #[command(flatten)]
        place: PlaceWanted,
    },
    /// Scenarios of the coming years: CSV or XLSX, one row a crop year
    Scenarios { project: PathBuf, file: PathBuf },
    /// Test results: CSV, XLSX, ODS or XLS, finished percentages or counts and weights, standards as rows or in a column
    Results {
        project: PathBuf,
        file: PathBuf,
        /// Take VALUE as HEADING for the whole file, such as assay=pot or year=2026; sheet=NAME reads that sheet
        #[arg(long, num_args = 1.., value_name = "HEADING=VALUE", value_parser = column_and_field)]
        set: Vec<(String, String)>,
        /// Only say what would be read as what; change nothing
        #[arg(long)]
        preview: bool,
        /// Read COLUMN of the file as the heading FIELD
        #[arg(long, num_args = 1.., value_name = "COLUMN=FIELD", value_parser = column_and_field)]
        map: Vec<(String, String)>,
        /// Take CODE in the file for the known sample KNOWN, or for a standard: "S standard", "R standard"
        #[arg(long, num_args = 1.., value_name = "CODE=KNOWN", value_parser = column_and_field)]
        same: Vec<(String, String)>,
    },
    /// Herbicide passes: field, active, dose with its unit, date, growth stage, cost, seen result
    Sprays(TableWanted),
    /// Crops: field, year, crop, drilling date, cultivation
    Crops(TableWanted),
    /// Spray programmes, one step a row: expected control (low, likely, high) and cost, your own figures
    Programmes(TableWanted),
}

#[derive(Debug, ClapArgs)]
pub struct MapWanted {
    /// Project file
    pub project: PathBuf,
    #[arg(long, value_enum)]
    pub colour: Colour,
    /// Only this mode of action, by its HRAC group number (for rating, rating-and-age and change)
    #[arg(long, value_name = "GROUP", conflicts_with = "active")]
    pub mode: Option<String>,
    /// Only this active (for rating, rating-and-age and change)
    #[arg(long, value_name = "NAME")]
    pub active: Option<String>,
    /// Harvest year; the latest in the project if not given
    #[arg(long)]
    pub year: Option<i32>,
    /// Only this farm
    #[arg(long)]
    pub farm: Option<String>,
    /// Only these fields, by name or farm/field; may be given again and again. One alone has its tramlines, stops and walk
    #[arg(long, value_name = "NAME")]
    pub field: Vec<String>,
    /// Title; otherwise made from the colouring
    #[arg(long, default_value = "")]
    pub title: String,
    /// File to write, .png, .svg or .pdf
    #[arg(short, long)]
    pub output: PathBuf,
    /// Dots per inch of a PNG
    #[arg(long, default_value_t = 150.0)]
    pub dpi: f64,
    /// Width and height in mm, or A5, A4, A3, A2, Letter, each also upright as A4-upright
    #[arg(long, default_value = "A4", value_parser = size, value_name = "SIZE")]
    pub size: (f64, f64),
    /// Picture that says where it lies (GeoTIFF, or with a world file), or PMTiles file, to lie under the fields
    #[arg(long, value_name = "FILE")]
    pub background: Option<PathBuf>,
    /// The day it bears; today if not given. The same day gives the same bytes
    #[arg(long)]
    pub date: Option<Date>,
}

/// A sheet's width and height, mm: by name (ISO 216 or US) lying down, or as WIDTHxHEIGHT.
fn size(text: &str) -> Result<(f64, f64), String> {
    let plain = text.trim().to_lowercase();
    let (name, upright) = plain.strip_suffix("-upright").map_or((plain.as_str(), false), |name| (name, true));
    let (width, height) = match name {
        "a5" => (210.0, 148.0),
        "a4" => (297.0, 210.0),
        "a3" => (420.0, 297.0),
        "a2" => (594.0, 420.0),
        "letter" => (279.4, 215.9),
        _ => {
            let sides = plain.split_once('x').and_then(|(a, b)| Some((a.trim().parse().ok()?, b.trim().parse().ok()?)));
            let fits = |side: f64| (40.0..=2_000.0).contains(&side);
            return sides.filter(|(a, b)| fits(*a) && fits(*b)).ok_or_else(|| {
                format!("“{text}” is no size; use A4, A3-upright or width and height in mm from 40 to 2000, such as 180x120")
            });
        }
    };
    Ok(if upright { (height, width) } else { (width, height) })
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Colour {
    Rating,
    /// Rating as colour, its age as pattern
    RatingAndAge,
    /// Rating against the test before
    Change,
    Age,
    Density,
    Due,
    /// Where samples are on their way
    Stage,
    /// Control left of the planned programmes
    ControlLeft,
    /// Money at risk a hectare in the planned programmes
    MoneyAtRisk,
    /// Standard error of the density, where the method gives one
    Uncertainty,
    /// None: fields stand back behind stops and walks
    Plain,
}

#[derive(Debug, ClapArgs)]
pub struct ExportWanted {
    /// Project file
    pub project: PathBuf,
    #[arg(long, value_enum)]
    pub what: ExportWhat,
    #[arg(long, value_enum)]
    pub format: ExportFormat,
    /// Harvest year; the latest in the project if not given
    #[arg(long)]
    pub year: Option<i32>,
    /// Only this field, or farm/field; may be given several times
    #[arg(long, value_name = "NAME")]
    pub field: Vec<String>,
    /// File to write
    #[arg(short, long)]
    pub output: PathBuf,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum ExportWhat {
    Stops,
    Walks,
    Fields,
    Results,
    /// All data of the project with a dictionary of its columns: gpkg, csv (a folder or a .zip) or xlsx
    Everything,
    /// What tests found, without names, positions, codes, notes and sources: gpkg, csv or xlsx
    Shared,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum ExportFormat {
    Gpx,
    Geojson,
    Csv,
    Shp,
    Gpkg,
    Kml,
    /// Task data of ISO 11783-10 (TASKDATA.XML); fields only
    Taskdata,
    /// A workbook; for results, everything and shared
    Xlsx,
}

pub fn column_and_field(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((column, field)) if !column.is_empty() && !field.is_empty() => Ok((column.into(), field.into())),
        _ => Err("write COLUMN=FIELD, such as Herbicide=active".into()),
    }
}
