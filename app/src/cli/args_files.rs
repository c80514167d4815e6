//! What can be said on the command line of a file that is read.

use awn_core::crs::Crs;
use awn_core::exchange::{AreaUnit, PlaceColumns};
use awn_core::formats::Letters;
use awn_core::model::DensityUnit;
use clap::Args as ClapArgs;
use jiff::civil::Date;

/// What can be said of any file by hand.
#[derive(Debug, ClapArgs)]
pub struct OfFile {
    /// Coordinate system, such as EPSG:27700; otherwise what the file says
    #[arg(long)]
    pub crs: Option<Crs>,
    /// Layer of a file with several, or file in an archive
    #[arg(long)]
    pub layer: Option<String>,
    /// Encoding of its texts, such as UTF-8, 1252 or 850; otherwise what the file says, or found out
    #[arg(long)]
    pub encoding: Option<Letters>,
}

/// Which columns of a table hold where its points lie. Remembered for files with the same headings.
#[derive(Debug, ClapArgs)]
pub struct PlaceWanted {
    /// Column with the easting or longitude; otherwise by its heading
    #[arg(long = "x-column", value_name = "COLUMN", requires = "y")]
    pub x: Option<String>,
    /// Column with the northing or latitude
    #[arg(long = "y-column", value_name = "COLUMN", requires = "x")]
    pub y: Option<String>,
    /// Column with the whole position: TF 123 456, or latitude and longitude
    #[arg(long = "place-column", value_name = "COLUMN", conflicts_with_all = ["x", "y"])]
    pub whole: Option<String>,
}

impl PlaceWanted {
    /// As the core is told.
    pub fn columns(&self) -> PlaceColumns {
        PlaceColumns { x: self.x.clone(), y: self.y.clone(), whole: self.whole.clone() }
    }
}

/// Which columns of a boundary file hold what; "-" for none. Remembered for files with the same headings.
#[derive(Debug, ClapArgs)]
pub struct ColumnsWanted {
    /// Column with the field's name; otherwise by its heading
    #[arg(long)]
    pub name_column: Option<String>,
    /// Column with the farm's name
    #[arg(long, conflicts_with = "farm")]
    pub farm_column: Option<String>,
    /// Column with the crop, kept for the harvest year of --year or of the date column
    #[arg(long)]
    pub crop_column: Option<String>,
    /// Column with the stated area, compared with what is drawn
    #[arg(long)]
    pub area_column: Option<String>,
    /// Unit of the stated area: ha, m2 or acres; otherwise by heading, or what fits
    #[arg(long)]
    pub area_unit: Option<AreaUnit>,
    /// Column with the harvest year, or a day in it
    #[arg(long)]
    pub date_column: Option<String>,
    /// Column with the density of the weed in the whole field
    #[arg(long)]
    pub density_column: Option<String>,
    /// Unit of the density: heads/m2, plants/m2 or class; otherwise by heading
    #[arg(long)]
    pub density_unit: Option<DensityUnit>,
    /// Day on which the densities were seen, for rows that do not say it
    #[arg(long)]
    pub date: Option<Date>,
}
