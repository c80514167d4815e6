//! The tramline network and the shortest closed walk over it. Everything in metres of the field's local plane.

mod free;
mod lines;
mod network;
mod route;
mod site;
mod tour;

pub use lines::{TramlinePiece, inset, tramline_pieces};
pub use network::{Network, Position};
pub use route::{Route, shortest_walk};
pub use site::Site;
pub use tour::{EXACT_UP_TO, Tour, shortest_tour};
