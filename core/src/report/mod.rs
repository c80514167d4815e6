//! Maps and tables for people.

use std::collections::BTreeSet;

use crate::model::{FieldId, Records};

/// What a map's colours show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Colouring {
    Rating,
    Age,
    Density,
    Due,
}

/// What to draw.
#[derive(Debug, Clone)]
pub struct MapRequest {
    /// Colouring.
    pub colouring: Colouring,
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
    let _ = (records, request);
    todo!()
}

/// The map as PNG at a resolution in dots per inch.
pub fn map_png(records: &Records, request: &MapRequest, dpi: f64) -> Result<Vec<u8>, String> {
    let _ = (records, request, dpi);
    todo!()
}
