//! Samples on their way: codes for envelopes, stages from planned to reported, what is late, what to be reminded of.
//!
//! Nothing is erased: a sample is withdrawn with a reason, and every change is a step of the history. Commands are made here and
//! applied by the project; with an error in the problems there is none.

mod book;
mod check;
mod code;
mod moving;
mod planning;
mod reminders;
mod species;
mod submission;

pub use book::{Expected, Line, Status, book, stage_of, status};
pub use check::check;
pub use code::{Verdict, check_letter, code_of, judge, like, next_code, prefix_of};
pub use moving::{Details, Move, change, move_on, step_back};
pub use planning::{Planned, plan_samples};
pub use reminders::{Reminder, reminders};
pub use species::{Species, species, species_codes};
pub use submission::{HistoryYear, Pass, Submission, submission};

/// "14 July 2027".
pub fn day(date: jiff::civil::Date) -> String {
    date.strftime("%-d %B %Y").to_string()
}
