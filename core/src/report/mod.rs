//! Maps for people: a laid-out sheet as SVG text, and the same as PNG.
//!
//! Takes records and a [`MapRequest`]; gives bytes that are the same for the same input. Fields are drawn in the local metre
//! plane about the fields shown, so lengths on paper are true. Lengths in the drawing are mm.

mod classes;
mod density_key;
mod draw;
mod envelopes;
mod field_card;
mod field_map;
mod furniture;
mod labels;
mod lettering;
pub mod palette;
mod panels;
mod patterns;
mod picture;
mod qr;
mod rating_key;
mod sheet;
mod submission_form;
mod svg;
mod walk_layer;

use std::collections::BTreeSet;

use crate::model::{FieldId, Records};
use crate::rating::RatingOf;

pub use envelopes::{LabelSheet, envelope_labels, label_sheet, label_sheets};
pub use field_card::{CardError, CardSize, field_cards, mug_part};
pub use field_map::field_map_svg;
pub use qr::qr_svg;
pub use rating_key::{Age, OLD_FROM};
pub use submission_form::submission_forms;

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
