//! Coordinate reference systems: reading them, converting to degrees and back, and the field's local metre plane.

mod local_plane;
mod system;

pub use local_plane::LocalPlane;
pub use system::Crs;
