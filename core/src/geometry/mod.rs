//! Plane and ellipsoid geometry on plain coordinates. Knows nothing of records or files.

mod measure;
mod repair;
pub mod wkb;

pub use measure::{bounds, geodesic_area_m2, label_point, merged_bounds};
pub use repair::{DOUBLED, Repaired, repair};
