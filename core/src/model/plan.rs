//! A plan: stops, the walk that joins them, and how good the plan is.

use geo::{Coord, LineString, MultiPolygon};
use serde::{Deserialize, Serialize};

use crate::model::settings::words;
use crate::model::{FieldId, GateId, PlanId};

/// How stops are chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Method {
    /// Density-weighted k-means, snapped to the tramlines.
    #[default]
    EvenCover,
    /// A spatially balanced random draw with known inclusion probabilities.
    RandomDraw,
    /// Existing practice: as many stops as near to the gate as tramlines are.
    AtGate,
    /// Existing practice: stops along a W walked across the field.
    WalkedW,
    /// Existing practice: stops along one straight tramline.
    OneTramline,
}

words!(Method, "way of choosing stops",
    Self::EvenCover => "even", Self::RandomDraw => "random", Self::AtGate => "gate", Self::WalkedW => "w",
    Self::OneTramline => "tramline");

impl Method {
    /// What people commonly do, to compare a plan with.
    pub const PRACTICE: [Self; 3] = [Self::AtGate, Self::WalkedW, Self::OneTramline];

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::EvenCover => "Even cover",
            Self::RandomDraw => "Random draw",
            Self::AtGate => "At the gate",
            Self::WalkedW => "Walked W",
            Self::OneTramline => "One tramline",
        }
    }
}

/// What goes into one envelope.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum SampleUnits {
    /// One composite sample for the field.
    #[default]
    Composite,
    /// A sample for each group of patches.
    PatchGroups,
}

words!(SampleUnits, "unit of sampling", Self::Composite => "field", Self::PatchGroups => "patches");

/// What the user may set about a plan. Distances in m.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PlanSettings {
    /// How stops are chosen.
    pub method: Method,
    /// How many stops to take.
    pub stops: usize,
    /// No stop nearer than this to any gate.
    pub gate_exclusion_m: f64,
    /// No two stops nearer than this to each other. 10 m unless set: one head each 10 m along the tramlines is what a survey of English
    /// fields took (protocol of a doctoral thesis, 17 fields, 2012 to 2014).
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
    /// Instead of a limit: the densest ground that holds this share of the population, 0 to 1.
    pub patch_share: Option<f64>,
    /// Smaller patches are left out, m2.
    pub patch_min_m2: f64,
    /// Stops that every patch gets at least, where tramlines lead into it.
    pub per_patch: usize,
    /// What goes into one envelope.
    pub units: SampleUnits,
    /// Patches nearer than this to each other make one group, m.
    pub group_gap_m: f64,
    /// Tramlines that the plan should span where the patch allows.
    pub min_tramlines: usize,
    /// Extent that the plan should span where the patch allows.
    pub min_extent_m: f64,
    /// Walking speed in a crop, km/h.
    pub walking_km_per_h: f64,
    /// Time at a stop, minutes.
    pub minutes_a_stop: f64,
    /// People who share the walk, 1 or 2.
    pub people: usize,
    /// The gate the walk starts from; none: the one that gives the shortest.
    pub start_gate: Option<GateId>,
    /// The gate the walk ends at; none: where it starts.
    pub end_gate: Option<GateId>,
    /// Seeds tested in all, for the detection figure.
    pub seeds_tested: usize,
    /// Frequency of the biotype to detect.
    pub frequency: f64,
    /// Intraclass correlation of seeds from one stop.
    pub rho: f64,
    /// Plants further apart than this have little in common, m. 50 m: the size of black-grass patches goes with the soil over more
    /// than that (Metcalfe et al. 2016, Weed Research 56:1-13); how far resistance is alike has not been published.
    pub alike_m: f64,
    /// Seed of the random starts.
    pub seed: u64,
}

impl Default for PlanSettings {
    fn default() -> Self {
        Self {
            method: Method::EvenCover,
            stops: 8,
            gate_exclusion_m: 50.0,
            min_spacing_m: 10.0,
            candidate_step_m: 2.5,
            cell_m: 5.0,
            exponent: 2.0,
            starts: 12,
            patch_limit: None,
            patch_share: None,
            patch_min_m2: 100.0,
            per_patch: 0,
            units: SampleUnits::Composite,
            group_gap_m: 50.0,
            min_tramlines: 3,
            min_extent_m: 100.0,
            walking_km_per_h: 3.0,
            minutes_a_stop: 4.0,
            people: 1,
            start_gate: None,
            end_gate: None,
            seeds_tested: 100,
            frequency: 0.05,
            rho: 0.25,
            alike_m: 50.0,
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
    /// Set by the user: proposing again leaves it where it is.
    #[serde(default)]
    pub pinned: bool,
    /// Who takes it, 1 or 2.
    #[serde(default = "first")]
    pub person: usize,
    /// The sample its seed goes into, counted from 1; one composite: 1.
    #[serde(default = "first")]
    pub unit: usize,
    /// Chance that the draw had of taking this place, for a random draw.
    #[serde(default)]
    pub inclusion: Option<f64>,
}

fn first() -> usize {
    1
}

/// The walk of one person.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Walk {
    /// From the gate, past the person's stops in order, back to the gate or to the one at which the walk ends; degrees.
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
    /// Greatest density inside, in the surface's unit.
    #[serde(default)]
    pub greatest_density: f64,
    /// The group of near patches it belongs to, counted from 1.
    #[serde(default = "first")]
    pub group: usize,
}

/// An estimate of the field's mean density from a random draw.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MeanEstimate {
    /// Horvitz-Thompson mean over the ground that the draw was made from, in the surface's unit.
    pub mean: f64,
    /// Its standard error by differences of neighbouring stops.
    pub standard_error: f64,
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
    /// Share of the population in patches with a stop, 0 to 1; none: there are no patches.
    #[serde(default)]
    pub population_in_sampled_patches: Option<f64>,
    /// Share of the population on the ground where stops may lie, 0 to 1: off the headland and no-go areas.
    #[serde(default = "whole")]
    pub population_reached: f64,
    /// Chance that the sample holds the biotype at the set frequency.
    pub detection: f64,
    /// Seeds tested, as if they were independent.
    pub n_eff: f64,
    /// How many stops at random the plan is worth; none: not worked out, or the whole field is alike.
    #[serde(default)]
    pub random_stops: Option<f64>,
}

fn whole() -> f64 {
    1.0
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
    /// Stops in walking order, the second person's after the first's.
    pub stops: Vec<Stop>,
    /// The gate the walk starts from, degrees; none: the walk starts at the first stop.
    pub gate: Option<Coord<f64>>,
    /// The walk, of the first person.
    pub walk: Walk,
    /// The walk of the second person.
    #[serde(default)]
    pub second_walk: Option<Walk>,
    /// Patches above the limit, the most populous first.
    pub patches: Vec<Patch>,
    /// Whether one sample or several, and why.
    #[serde(default)]
    pub advice: String,
    /// How many stops the tramlines inside the patches hold at the least spacing; none: there are no patches.
    #[serde(default)]
    pub patches_hold: Option<usize>,
    /// For a random draw: the mean density that its stops stand for, read from the surface.
    #[serde(default)]
    pub estimate: Option<MeanEstimate>,
    /// Kept beside the plan in use, to compare with.
    #[serde(default)]
    pub set_aside: bool,
    /// Figures of the plan.
    pub figures: Figures,
    /// Figures of the same number of stops taken at the gate; none: no gate known.
    pub gate_figures: Option<Figures>,
    /// What the planner could not do and why, one sentence each.
    pub notes: Vec<String>,
}

impl Plan {
    /// Metres on foot, of all people together.
    pub fn length_m(&self) -> f64 {
        self.walk.length_m + self.second_walk.as_ref().map_or(0.0, |walk| walk.length_m)
    }

    /// Minutes until the last one is back.
    pub fn minutes(&self) -> f64 {
        self.walk.minutes.max(self.second_walk.as_ref().map_or(0.0, |walk| walk.minutes))
    }

    /// The walks, the first person's first.
    pub fn walks(&self) -> impl Iterator<Item = &Walk> {
        std::iter::once(&self.walk).chain(&self.second_walk)
    }

    /// How many samples the stops are put into.
    pub fn samples(&self) -> usize {
        self.stops.iter().map(|stop| stop.unit).max().unwrap_or(1)
    }

    /// Positions of the pinned stops, degrees.
    pub fn pinned(&self) -> Vec<Coord<f64>> {
        self.stops.iter().filter(|stop| stop.pinned).map(|stop| stop.position).collect()
    }
}
