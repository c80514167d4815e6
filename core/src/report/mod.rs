//! Maps for people: a laid-out sheet as SVG text, and the same as PNG.
//!
//! Takes records and a [`MapRequest`]; gives bytes that are the same for the same input. Fields are drawn in the local metre
//! plane about the fields shown, so lengths on paper are true. Lengths in the drawing are mm.

mod act_key;
mod classes;
mod density_key;
mod draw;
mod field_order;
mod furniture;
mod labels;
mod lettering;
pub mod palette;
mod panels;
mod patterns;
mod picture;
mod rating_key;
mod sheet;
mod svg;
mod walk_layer;

use std::collections::BTreeSet;

use crate::model::{FieldId, Records};
use crate::rating::RatingOf;

pub use field_order::{field_order_pdf, field_order_text};
pub use rating_key::{Age, OLD_FROM};

/// What a map's colours show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colouring {
    /// The last rating.
    Rating,
    /// The last rating and how old it is.
    RatingAndAge,
    /// The last rating against the one before.
    Change,
    /// Harvests since the last test.
    Age,
    /// Density of the weed.
    Density,
    /// Standard error of the density.
    Uncertainty,
    /// Whether a test is due.
    Due,
    /// Control left of the planned programmes.
    ControlLeft,
    /// Money at risk a hectare in the planned programmes.
    AtRisk,
}

/// What to draw.
#[derive(Debug, Clone)]
pub struct MapRequest {
    /// Colouring.
    pub colouring: Colouring,
    /// Which results ratings are taken from.
    pub of: RatingOf,
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
