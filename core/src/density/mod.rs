//! From scouting to a density surface on a grid in the field's local metre plane, and from there to patches.
//!
//! The surface comes from the surveys up to the harvest year asked for that have something to say of the field: the latest, or
//! the mean or the maximum of those of the last years ([`crate::model::DensitySettings`]).
//!
//! | survey | surface |
//! |---|---|
//! | points | ordinary kriging or inverse distance, by the number of points and what leaving each out shows ([`choice`]) |
//! | bare places | kernel density with edge correction ([`kernel`]) |
//! | zones | the value of each zone by the area it covers of a cell ([`zones`]) |
//! | raster | the mean of its pixels over a cell, by area ([`raster`]) |
//!
//! Classes stand for the middle of their published limits ([`crate::model::DensityClass`]).

mod choice;
mod grid;
mod interpolate;
mod kernel;
mod kriging;
mod kriging_system;
mod patches;
pub mod raster;
mod surface;
mod transform;
mod validation;
mod variogram;
mod zones;

pub use choice::{Choice, Interpolator, choose};
pub use grid::Grid;
pub use interpolate::inverse_distance;
pub use kernel::{bandwidth, kernel_density};
pub use kriging::{Kriging, KrigingError};
pub use kriging_system::Estimate;
pub use patches::{PatchRule, Patches, patches};
pub use surface::{PointIndex, Surface, SurfaceMethod, field_bearing, surface, surface_among};
pub use transform::Scale;
pub use validation::{CrossValidation, leave_one_out_idw};
pub use variogram::{Variogram, VariogramBin, VariogramShape, fit_shape, fit_variogram, sample_variogram};
