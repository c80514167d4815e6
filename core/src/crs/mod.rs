//! Coordinate reference systems: reading them, converting to degrees and back, and the field's local metre plane.

mod axes;
mod convert;
mod grids;
mod local_plane;
mod meant_for;
mod names;
mod national_grid;
mod stray;
mod system;
mod wkt;

pub use convert::{Conversion, Converter, CrsError};
pub use grids::{grid_folder, set_grid_folder};
pub use local_plane::LocalPlane;
pub use meant_for::MeantFor;
pub use national_grid::{PlaceNames, grid_letters};
pub use stray::{BUILT_IN_ONLY, stray_database};
pub use system::Crs;
