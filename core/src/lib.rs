//! Awn's core: everything the window and the command line share, and nothing that draws a window.
//!
//! The modules stand in the order in which they may import each other: each one only from those above it.
//! `tests/tests/architecture.rs` holds that order.
//!
//! | module | what it is for |
//! |---|---|
//! | [`units`], [`problem`], [`progress`] | small things everything speaks in |
//! | [`geometry`] | areas, label points, repair, buffers on plain coordinates |
//! | [`crs`] | coordinate reference systems and the field's local metre plane |
//! | [`model`] | the records: farm, field, gate, survey, plan, sample, result |
//! | [`density`] | from scouting to a density surface and patches |
//! | [`walk`] | the tramline network and the shortest closed walk |
//! | [`stops`] | where to take seed, and how good a plan is |
//! | [`rating`], [`season`] | what results mean; which fields are due |
//! | [`act`] | what chemistry still does, what it costs, what else could be done; the coming years, patches |
//! | [`project`] | the project file, commands, history, undo |
//! | [`land`] | edits of the land that keep its history: split, merge, gates, no-go areas, tramlines |
//! | [`samples`] | envelopes of seed on their way: codes, stages, what is late |
//! | [`formats`], [`exchange`] | foreign files as neutral tables; tables to records and back |
//! | [`typeset`] | templates and data to PDF pages |
//! | [`report`] | maps and tables for people |

pub mod act;
pub mod crs;
pub mod density;
pub mod exchange;
pub mod formats;
pub mod geometry;
pub mod land;
pub mod model;
pub mod problem;
pub mod progress;
pub mod project;
pub mod rating;
pub mod report;
pub mod samples;
pub mod season;
pub mod stops;
pub mod typeset;
pub mod units;
pub mod walk;
