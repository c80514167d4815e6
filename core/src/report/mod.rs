//! Maps for people: a laid-out sheet as SVG text, and the same as PNG.
//!
//! Takes records and a [`MapRequest`]; gives bytes that are the same for the same input. Fields are drawn in the local metre
//! plane about the fields shown, so lengths on paper are true. Lengths in the drawing are mm.

mod classes;
mod density_key;
mod draw;
mod furniture;
mod labels;
mod lettering;
pub mod palette;
mod panels;
mod patterns;
mod picture;
mod sheet;
mod svg;
mod walk_layer;

use std::collections::BTreeSet;

use crate::model::{FieldId, Records};
use crate::rating::Basis;

/// What a map's colours show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colouring {
    /// Worst rating of any mode of action.
    Rating,
    /// Harvests since the last test.
    Age,
    /// Density of the weed.
    Density,
    /// Standard error of the density.
    Uncertainty,
    /// Whether a test is due.
    Due,
}

/// What to draw.
#[derive(Debug, Clone)]
pub struct MapRequest {
    /// Colouring.
    pub colouring: Colouring,
    /// What ratings are of, for [`Colouring::Rating`].
    pub basis: Basis,
    /// Harvest year.
    pub year: i32,
    /// The fields to show; none: all of the year.
    pub fields: Option<BTreeSet<FieldId>>,
    /// Title; empty: made from the colouring and the year.
    pub title: String,
    /// Width and height in mm.
    pub size_mm: (f64, f64),
}

/// The map as SVG text. Same input, same bytes.
pub fn map_svg(records: &Records, request: &MapRequest) -> String {
    sheet::draw(records, request)
}

/// The map as PNG at a resolution in dots per inch.
pub fn map_png(records: &Records, request: &MapRequest, dpi: f64) -> Result<Vec<u8>, String> {
    picture::png(&map_svg(records, request), dpi)
}
