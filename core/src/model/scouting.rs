//! Scouting: what was seen of the weed, where and when.

use geo::{Coord, MultiPolygon};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::model::SurveyId;

/// What a scouting value counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum DensityUnit {
    /// Heads (inflorescences) per m2.
    HeadsPerM2,
    /// Plants per m2.
    PlantsPerM2,
    /// A [`DensityClass`], stored as its number 0 to 4.
    Class,
}

impl DensityUnit {
    /// The unit as people write it.
    pub fn label(self) -> &'static str {
        match self {
            Self::HeadsPerM2 => "heads/m2",
            Self::PlantsPerM2 => "plants/m2",
            Self::Class => "class",
        }
    }

    /// Upper limits of the classes absent to high in heads/m2. Published limits are in plants/m2; these are ours, no source.
    pub const HEADS_UPPER: [f64; 4] = [0.05, 1.0, 10.0, 50.0];

    /// Number of the class of a density in this unit, 0 to 4. A surface is nowhere quite nought: less than 0.005 plants/m2
    /// counts as none.
    pub fn class_number(self, density: f64) -> usize {
        match self {
            Self::HeadsPerM2 => Self::HEADS_UPPER.iter().filter(|limit| density > **limit).count(),
            _ if density < 0.005 => 0,
            _ => DensityClass::of_density(density) as usize,
        }
    }

    /// The unit of the density surface made from such values: classes become plants/m2.
    #[must_use]
    pub fn surface_unit(self) -> Self {
        if self == Self::Class { Self::PlantsPerM2 } else { self }
    }
}

impl std::str::FromStr for DensityUnit {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim().to_ascii_lowercase().as_str() {
            "heads/m2" | "heads" => Ok(Self::HeadsPerM2),
            "plants/m2" | "plants" => Ok(Self::PlantsPerM2),
            "class" | "classes" => Ok(Self::Class),
            other => Err(format!("“{other}” is no unit of density; use heads/m2, plants/m2 or class")),
        }
    }
}

/// Density state of a 20 m square by number of plants per 400 m2.
///
/// Limits 0, 1-160, 161-450, 451-1450 and more, from the data workbook of the national survey of black-grass in
/// England (method: Queenborough et al. 2011, J. Appl. Ecol. 48:306-318).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum DensityClass {
    /// No plant seen.
    Absent,
    /// Up to 0.4 plants/m2.
    Low,
    /// Up to 1.125 plants/m2.
    Medium,
    /// Up to 3.625 plants/m2.
    High,
    /// More than 3.625 plants/m2.
    VeryHigh,
}

impl DensityClass {
    /// All classes, lowest first.
    pub const ALL: [Self; 5] = [Self::Absent, Self::Low, Self::Medium, Self::High, Self::VeryHigh];

    /// Upper limits of the first four classes in plants/m2.
    pub const UPPER_PER_M2: [f64; 4] = [0.0, 160.0 / 400.0, 450.0 / 400.0, 1450.0 / 400.0];

    /// The class of a number 0 to 4.
    pub fn from_number(number: f64) -> Option<Self> {
        Self::ALL.into_iter().find(|class| f64::from(*class as u8) == number)
    }

    /// The class that a density in plants/m2 falls in; a value on a limit belongs to the lower class.
    pub fn of_density(plants_per_m2: f64) -> Self {
        let above = Self::UPPER_PER_M2.iter().filter(|limit| plants_per_m2 > **limit).count();
        Self::ALL[above.min(4)]
    }

    /// The density that stands for the class, plants/m2: the middle of its limits; for the open top class half as
    /// much again as its lower limit (our choice, no source).
    pub fn plants_per_m2(self) -> f64 {
        let upper = Self::UPPER_PER_M2;
        match self {
            Self::Absent => 0.0,
            Self::Low => upper[1] / 2.0,
            Self::Medium => f64::midpoint(upper[1], upper[2]),
            Self::High => f64::midpoint(upper[2], upper[3]),
            Self::VeryHigh => 1.5 * upper[3],
        }
    }

    /// The class in words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Absent => "absent",
            Self::Low => "low",
            Self::Medium => "medium",
            Self::High => "high",
            Self::VeryHigh => "very high",
        }
    }
}

/// How a survey was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum SurveyKind {
    /// Values at points.
    Points,
    /// Areas with one value each.
    Zones,
    /// Bare places where the weed was seen, without values.
    Places,
    /// A grid of values, such as a picture classified from the air.
    Raster,
}

/// A scouting survey: one date, one kind, one unit, over any number of fields.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Survey {
    /// Identifier.
    pub id: SurveyId,
    /// The day it was made.
    pub date: Date,
    /// Points or zones.
    pub kind: SurveyKind,
    /// What the values count.
    pub unit: DensityUnit,
    /// The file it came from, or how it was made.
    pub source: String,
    /// Points, if [`SurveyKind::Points`]; places, if [`SurveyKind::Places`], each with the value 1.
    pub points: Vec<ScoutPoint>,
    /// Zones, if [`SurveyKind::Zones`].
    pub zones: Vec<ScoutZone>,
    /// Pieces of the grid, one over each field, if [`SurveyKind::Raster`].
    #[serde(default)]
    pub rasters: Vec<ScoutRaster>,
}

impl Survey {
    /// The harvest year the survey belongs to: surveys from August on belong to the next harvest.
    pub fn harvest_year(&self) -> i32 {
        i32::from(self.date.year()) + i32::from(self.date.month() >= 8)
    }
}

/// One value at a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScoutPoint {
    /// Position in degrees.
    pub position: Coord<f64>,
    /// Value in the survey's unit.
    pub value: f64,
}

/// One value over an area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScoutZone {
    /// Shape in degrees.
    pub area: MultiPolygon<f64>,
    /// Value in the survey's unit.
    pub value: f64,
}

impl ScoutZone {
    /// A zone speaks of a field only if it covers more than this of it, m2: zones drawn along a hedge touch the neighbour too
    /// (our choice, no source).
    pub const SLIVER_M2: f64 = 100.0;
}

/// A piece of a raster over one field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScoutRaster {
    /// Top left, top right and bottom left corner of the piece, degrees.
    pub corners: [Coord<f64>; 3],
    /// Pixels from left to right.
    pub columns: usize,
    /// Values in the survey's unit, row by row from the top left; below 0 where there is none.
    pub values: Vec<f32>,
}

impl ScoutRaster {
    /// Stands for no value: densities are never below 0, and JSON knows no NaN.
    pub const NO_DATA: f32 = -1.0;

    /// Pixels from top to bottom.
    pub fn rows(&self) -> usize {
        self.values.len() / self.columns.max(1)
    }

    /// The outline, degrees.
    pub fn outline(&self) -> geo::Polygon<f64> {
        let [top_left, top_right, bottom_left] = self.corners;
        let bottom_right = top_right + bottom_left - top_left;
        geo::Polygon::new(geo::LineString(vec![top_left, bottom_left, bottom_right, top_right, top_left]), Vec::new())
    }
}
