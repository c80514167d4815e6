//! What `logic` does each frame: carries out requests, takes in what jobs and dialogs give, and turns wishes into commands. Only here is
//! the project changed.

pub mod act;
pub mod drag;
pub mod edits;
pub mod import;
pub mod outcomes;
pub mod outlook;
pub mod report;
pub mod requests;
pub mod results;
pub mod samples;
pub mod season;
