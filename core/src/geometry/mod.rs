//! Plane and ellipsoid geometry on plain coordinates. Knows nothing of records or files.

mod areas;
pub mod curve;
mod measure;
mod repair;
pub mod wkb;

pub use areas::Areas;
pub use measure::{bearing_of, bounds, geodesic_area_m2, label_point, longest_edge, merged_bounds, straight_edges};
pub use repair::{DOUBLED, Repaired, repair};
