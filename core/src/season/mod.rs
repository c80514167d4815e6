//! Which fields are due a test, and why.

mod due;
mod seen;

pub use due::{Due, due};
pub use seen::{Seen, weed_seen};
