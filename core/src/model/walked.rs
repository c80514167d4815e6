//! A walk as it was walked: a recorded track in a field, and how good the places visited are.

use geo::{Coord, LineString, MultiLineString};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::model::{FieldId, Figures, PlanId, WalkedId};

/// Where seed was taken, as far as a track tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TakenAt {
    /// At places marked in the file.
    Marks,
    /// At the stops of the plan that the track reached.
    Stops,
    /// Anywhere along the track: no place was marked and no stop reached.
    Track,
}

/// A track recorded on the day in one field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Walked {
    /// Identifier.
    pub id: WalkedId,
    /// The field.
    pub field: FieldId,
    /// Harvest year.
    pub year: i32,
    /// The plan it was held against, if there was one.
    pub plan: Option<PlanId>,
    /// The day, if known.
    pub date: Option<Date>,
    /// Who walked.
    pub person: String,
    /// The file it came from.
    pub source: String,
    /// The track in and near the field, degrees.
    pub track: MultiLineString<f64>,
    /// How good it was.
    pub figures: WalkedFigures,
}

impl Walked {
    /// The parts of the track, degrees.
    pub fn lines(&self) -> &[LineString<f64>] {
        &self.track.0
    }
}

/// How good a walk was. Lengths in m, areas in m2, shares 0 to 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WalkedFigures {
    /// Length of the track inside the field.
    pub length_m: f64,
    /// From each stop of the plan, in walking order, to the track.
    pub away_m: Vec<f64>,
    /// Where the plan's stops lay, degrees.
    pub stops: Vec<Coord<f64>>,
    /// Different tramlines that the track crossed or ran along, off the headland.
    pub tramlines: usize,
    /// Ground within 25 m of the track, inside the field.
    pub area_m2: f64,
    /// Share of the population within 25 m of the track.
    pub population_within_25_m: f64,
    /// Where seed was taken.
    pub taken_at: TakenAt,
    /// These places, degrees.
    pub places: Vec<Coord<f64>>,
    /// The figures of these places, as those of a plan's stops; none: there are no places.
    pub visited: Option<Figures>,
    /// The plan's figures on the day.
    pub planned: Option<Figures>,
    /// What to know of it, one sentence each.
    pub warnings: Vec<String>,
}

impl WalkedFigures {
    /// A stop counts as reached within this of the track, m.
    pub const REACHED_M: f64 = 15.0;

    /// How many of the plan's stops were reached.
    pub fn reached(&self) -> usize {
        self.away_m.iter().filter(|away| **away <= Self::REACHED_M).count()
    }
}
