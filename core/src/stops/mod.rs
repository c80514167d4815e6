//! Where to take seed, and how good a plan is.
//!
//! [`propose`] makes a plan. By *even cover*: [`kmeans`] over the cells of the density surface, weighted by density^g, from many
//! seeded starts; each centre taken to the nearest free candidate on a tramline; swaps with neighbouring candidates while that
//! brings the plan nearer to balance; the start that ends best is kept. By *random draw*: the local pivotal method on the
//! candidates themselves ([`local_pivotal`]). Or as people commonly do, to compare with ([`practice`]).
//!
//! A plan speaks for the ground on which stops may lie, the field without its headland and its no-go areas: weights, shares and
//! balance are those of the population there; [`crate::model::Figures::population_reached`] says how much of the field's that is.
//! Gates only keep stops away from them; they change no weights.

mod advice;
mod balance;
mod blocks;
mod candidates;
mod cover;
mod detection;
mod estimate;
mod extension;
mod figures;
mod ground;
mod how_many;
mod kmeans;
mod notes;
mod pivotal;
mod plan;
mod practice;
mod search;
mod walked;

pub use balance::{balance, shares};
pub use detection::{chance_of_clusters, chance_of_detection, effective_number, needed_for_detection, upper_bound_if_none};
pub use estimate::horvitz_thompson;
pub use figures::{DEFINITIONS, Definition, figures};
pub use how_many::{Point, Target, curve, propose_for_target, propose_within};
pub use kmeans::{Clusters, best_kmeans, inertia, kmeans, kmeans_around};
pub use pivotal::{inclusion_probabilities, local_pivotal};
pub use plan::{compare, propose, propose_around, tramline_lines, with_stops};
pub use walked::walked_figures;

use geo::Coord;

use crate::progress::Cancelled;
use crate::walk::Position;

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// The field is missing.
    #[error("there is no such field any more")]
    NoField,
    /// No candidate is left.
    #[error("{field}: no place for a stop is left: {why}")]
    NoRoom {
        /// The field's name.
        field: String,
        /// What takes the room, and what to change.
        why: String,
    },
    /// Settings that cannot be.
    #[error("{0}")]
    Settings(String),
    /// Stopped.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// A cell of the surface as the planner weighs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Its middle, m.
    pub at: Coord<f64>,
    /// The population it stands for: density times area, in any unit.
    pub population: f64,
    /// Its pull on stops: density^g.
    pub weight: f64,
}

/// A place where a stop may be, or is.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Spot {
    /// Where, m.
    at: Coord<f64>,
    /// Number of the tramline; none where tramlines are not known.
    tramline: Option<i32>,
    /// Index of the patch it lies in.
    patch: Option<usize>,
    /// Pinned by the user: it stays.
    pinned: bool,
    /// Its place in the order of candidates; 0 where it is none.
    rank: usize,
}

impl Spot {
    fn new(position: Position, patch: Option<usize>) -> Self {
        Self { at: position.at, tramline: position.tramline, patch, pinned: false, rank: 0 }
    }
}

/// Stops in an order that goes with the field: pinned ones as they were given, then the others as candidates follow each other.
fn sort(stops: &mut [Spot]) {
    stops.sort_by_key(|stop| (!stop.pinned, stop.rank));
}

/// The positions of spots.
fn places_of(spots: &[Spot]) -> Vec<Coord<f64>> {
    spots.iter().map(|spot| spot.at).collect()
}
