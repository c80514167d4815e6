//! From scouting to a density surface on a grid in the field's local metre plane, and from there to patches.

mod grid;

pub use grid::Grid;

use crate::crs::LocalPlane;
use crate::model::{DensityUnit, Field, Records};

/// How a surface was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceMethod {
    /// Inverse distance weighting of points.
    InverseDistance,
    /// Zones, weighted by area.
    Zones,
    /// Nothing was scouted: the same density everywhere.
    Even,
}

/// Density over one field.
#[derive(Debug)]
pub struct Surface {
    /// The plane of the grid.
    pub plane: LocalPlane,
    /// Density at cells; NaN outside the field.
    pub grid: Grid,
    /// Unit of the density; [`DensityUnit::Class`] never.
    pub unit: DensityUnit,
    /// How it was made.
    pub method: SurfaceMethod,
    /// What it was made from, in words: "42 points of 12 June 2026".
    pub source: String,
}

/// The density surface of a field from the latest survey up to harvest `year` that covers it; where there is none, an even one.
pub fn surface(records: &Records, field: &Field, year: i32, cell_m: f64) -> Option<Surface> {
    let _ = (records, field, year, cell_m);
    todo!()
}
