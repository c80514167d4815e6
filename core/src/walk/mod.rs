//! The tramline network and the shortest walks over it. Everything in metres of the field's local plane.

mod free;
mod improve;
mod lines;
mod network;
mod noded;
mod reach;
mod route;
mod site;
mod subsets;
mod suggest;
mod table;
mod tour;
mod two;

pub use lines::{TramlinePiece, inset, tramline_pieces};
pub use network::{Network, Position};
pub use route::{Route, WalkWish, shortest_walk, shortest_walks};
pub use site::{Site, TramlineSet};
pub use suggest::{FirstLine, suggest_tramlines};
pub use table::Ends;
pub use tour::{EXACT_UP_TO, Tour, shortest_open_tour, shortest_tour};
pub use two::two_tours;
