//! Coordinate reference systems: reading them, converting to degrees and back, and the field's local metre plane.

mod convert;
mod local_plane;
mod national_grid;
mod stray;
mod system;
mod wkt;

pub use convert::{Conversion, Converter, CrsError};
pub use local_plane::LocalPlane;
pub use national_grid::{PlaceNames, grid_letters};
pub use stray::{BUILT_IN_ONLY, stray_database};
pub use system::Crs;
