//! Edits of the land that keep its history: a field split or merged, its boundary, gates, no-go areas or tramlines changed.
//!
//! Each gives one [`Command`](crate::project::Command) under a name for the undo menu. A field that ends keeps its samples, results and
//! plans; those that follow it say what they came from. Plans of a field whose ground changes are worked out again around the same
//! stops, in the same command, so that no plan leads through what is no-go and undo takes both back.

mod cut;
mod ground;
mod lineage;

pub use cut::{CutError, cut};
pub use ground::{Ground, change_ground};
pub use lineage::{LandError, merge, split};
