//! A plan: stops, the walk that joins them, and how good the plan is.

use geo::{Coord, LineString, MultiPolygon};
use serde::{Deserialize, Serialize};

use crate::model::{FieldId, PlanId};

/// How stops are chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Method {
    /// Density-weighted k-means, snapped to the tramlines.
    EvenCover,
}

impl Method {
    /// The word used on the command line and in files.
    pub fn label(self) -> &'static str {
        match self {
            Self::EvenCover => "even",
        }
    }
}

/// What the user may set about a plan. Distances in m.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PlanSettings {
    /// How many stops to take.
    pub stops: usize,
    /// No stop nearer than this to any gate.
    pub gate_exclusion_m: f64,
    /// No two stops nearer than this to each other.
    pub min_spacing_m: f64,
    /// Distance between candidates along a tramline.
    pub candidate_step_m: f64,
    /// Cell of the density grid.
    pub cell_m: f64,
    /// Exponent g of the weight density^g: 0 spreads evenly over the ground, 2 in proportion to density.
    pub exponent: f64,
    /// Seeded starts of k-means.
    pub starts: usize,
    /// Lower limit of a patch in the surface's unit; none: a tenth of the surface's maximum.
    pub patch_limit: Option<f64>,
    /// Tramlines that the plan should span where the patch allows.
    pub min_tramlines: usize,
    /// Extent that the plan should span where the patch allows.
    pub min_extent_m: f64,
    /// Walking speed in a crop, km/h.
    pub walking_km_per_h: f64,
    /// Time at a stop, minutes.
    pub minutes_a_stop: f64,
    /// Seeds tested in all, for the detection figure.
    pub seeds_tested: usize,
    /// Frequency of the biotype to detect.
    pub frequency: f64,
    /// Intraclass correlation of seeds from one stop.
    pub rho: f64,
    /// Seed of the random starts.
    pub seed: u64,
}

impl Default for PlanSettings {
    fn default() -> Self {
        Self {
            stops: 8,
            gate_exclusion_m: 50.0,
            min_spacing_m: 15.0,
            candidate_step_m: 2.5,
            cell_m: 5.0,
            exponent: 2.0,
            starts: 12,
            patch_limit: None,
            min_tramlines: 3,
            min_extent_m: 100.0,
            walking_km_per_h: 3.0,
            minutes_a_stop: 4.0,
            seeds_tested: 100,
            frequency: 0.05,
            rho: 0.25,
            seed: 1,
        }
    }
}

/// A place on a tramline where seed is taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stop {
    /// Position in degrees.
    pub position: Coord<f64>,
    /// Share of the seed to take here, 0 to 1; the shares of a plan add up to 1.
    pub share: f64,
    /// Number of the tramline, counted from the field's western or southern side; none: no tramlines known.
    pub tramline: Option<i32>,
}

/// The closed walk of a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Walk {
    /// From the gate, past the stops in order, back to the gate; degrees.
    pub line: LineString<f64>,
    /// Length in m.
    pub length_m: f64,
    /// Minutes, walking and stops.
    pub minutes: f64,
    /// Whether the order of the stops is proved shortest.
    pub exact: bool,
}

/// A connected area above a density limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Patch {
    /// Outline in degrees.
    pub outline: MultiPolygon<f64>,
    /// Area in m2, counted in cells.
    pub area_m2: f64,
    /// Mean density inside, in the surface's unit.
    pub mean_density: f64,
    /// Share of the field's population inside, 0 to 1.
    pub population_share: f64,
}

/// How good a plan is. Definitions and sources: [`crate::stops::figures`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// Spatial balance B (Stevens and Olsen 2004); 0 is perfect.
    pub balance: f64,
    /// Density-weighted mean distance to the nearest stop, m.
    pub weighted_distance_m: f64,
    /// Density-weighted 95th percentile of the distance to the nearest stop, m.
    pub distance_95_m: f64,
    /// Number of different tramlines with a stop.
    pub tramlines: usize,
    /// Largest distance between two stops, m.
    pub extent_m: f64,
    /// Distance from the nearest gate to the nearest stop, m; none: no gate known.
    pub gate_distance_m: Option<f64>,
    /// Share of the population within 25 m of a stop, 0 to 1.
    pub population_within_25_m: f64,
    /// Chance that the sample holds the biotype at the set frequency.
    pub detection: f64,
    /// Seeds tested, as if they were independent.
    pub n_eff: f64,
}

/// Stops and walk for one field and harvest year.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Identifier.
    pub id: PlanId,
    /// The field.
    pub field: FieldId,
    /// Harvest year.
    pub year: i32,
    /// How the stops were chosen.
    pub method: Method,
    /// The settings used, with the seed.
    pub settings: PlanSettings,
    /// Stops in walking order.
    pub stops: Vec<Stop>,
    /// The gate the walk starts from, degrees; none: the walk starts at the first stop.
    pub gate: Option<Coord<f64>>,
    /// The walk.
    pub walk: Walk,
    /// Patches above the limit.
    pub patches: Vec<Patch>,
    /// Figures of the plan.
    pub figures: Figures,
    /// Figures of the same number of stops taken at the gate; none: no gate known.
    pub gate_figures: Option<Figures>,
    /// What the planner could not do and why, one sentence each.
    pub notes: Vec<String>,
}
