//! The season: which fields are due a test, when their seed is ripe, and how to get round them.
//!
//! | file | what it is for |
//! |---|---|
//! | `calendar` | the days a harvest year hangs on |
//! | `seen` | what scouting saw in each field |
//! | `due` | which fields are due, why, how urgent; what a budget pays for and leaves out |
//! | `ripe` | season windows of weeds, and ripe days from checks |
//! | `rounds` | fields to days and the order of each day |

mod calendar;
mod due;
mod ripe;
mod rounds;
mod seen;

pub use calendar::{Calendar, Days, calendar};
pub use due::{Budget, Due, Left, Part, Spent, due, spend};
pub use ripe::{
    Basis, Fit, Look, NINE_IN_TEN, Prior, RIPE, RipeDays, Ripeness, SeedWindow, Sown, YearFit, fit, look_over, prior,
    ripeness, seed_window, seed_windows, sown,
};
pub use rounds::{
    Call, Doubt, RoundsError, Schedule, Task, doubts, doubts_in_words, drive_km, drive_minutes, rounds, schedule,
};
pub use seen::{Seen, surveys_by_field, weed_seen};
