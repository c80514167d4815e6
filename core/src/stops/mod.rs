//! Where to take seed, and how good a plan is.
//!
//! [`propose`] makes a plan by even cover: [`kmeans`] over the cells of the density surface, weighted by density^g, from many
//! seeded starts; each centre taken to the nearest free candidate on a tramline; [`cover`] then swaps stops with neighbouring
//! candidates while that brings the plan nearer to balance. The start that ends best is kept.
//!
//! Stops depend on gates only through the strip round them in which none is placed: weights and balance are those of the whole
//! field, so the stops stand for all of its population and not for what lies far from the gate.

mod balance;
mod budget;
mod candidates;
mod cover;
mod detection;
mod figures;
mod kmeans;
mod plan;

pub use balance::{balance, shares};
pub use budget::propose_within;
pub use detection::{chance_of_clusters, chance_of_detection, effective_number, needed_for_detection};
pub use figures::figures;
pub use kmeans::{Clusters, inertia, kmeans};
pub use plan::{propose, tramline_lines, with_stops};

use crate::progress::Cancelled;

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
    pub at: geo::Coord<f64>,
    /// The population it stands for: density times area, in any unit.
    pub population: f64,
    /// Its pull on stops: density^g.
    pub weight: f64,
}
