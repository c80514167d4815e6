//! Which fields are due a test, and why.

mod calendar;
mod due;
mod seen;

pub use calendar::{Calendar, Days, calendar};
pub use due::{Due, due};
pub use seen::{Seen, weed_seen};
