//! Maps for people: a laid-out sheet as SVG text, and the same as PNG.
//!
//! Takes records and a [`MapRequest`]; gives bytes that are the same for the same input. Fields are drawn in the local metre
//! plane about the fields shown, so lengths on paper are true. Lengths in the drawing are mm.

mod act_key;
mod backdrop;
mod book;
mod classes;
pub mod content;
mod density_key;
mod draw;
mod dress;
mod envelopes;
mod field_card;
mod field_map;
mod field_order;
mod furniture;
mod inset;
mod labels;
mod legend;
mod lettering;
mod outlines;
pub mod palette;
mod panels;
mod patterns;
mod picture;
mod qr;
mod rating_key;
mod request;
mod sheet;
mod stage_key;
mod submission_form;
mod svg;
mod tracks;
mod walk_layer;
mod words;

use std::collections::BTreeSet;

use crate::model::{FieldId, Records};
use crate::rating::RatingOf;
use crate::typeset::{self, Archival, Manuscript};

pub use backdrop::{Backdrop, Drawn, Ground, Ink, Piece, Under};
pub use book::{Report, ReportError};
pub use content::Content;
pub use dress::{Drawing, Dress, Expected, Form, Layer, Layers, View};
pub use envelopes::{LabelSheet, envelope_labels, label_sheet, label_sheets};
pub use field_card::{CardError, CardSize, field_cards, mug_part};
pub use field_map::field_map_svg;
pub use field_order::{field_order_pdf, field_order_text};
pub use qr::qr_svg;
pub use rating_key::{Age, OLD_FROM};
pub use request::{Cover, Paper, Part, ReportRequest, Version};
pub use submission_form::submission_forms;
pub use words::Words;

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
    /// Where samples are on their way.
    Stage,
    /// Control left of the planned programmes.
    ControlLeft,
    /// Money at risk a hectare in the planned programmes.
    AtRisk,
    /// Heads expected in some years, as handed in with the [`Dress`].
    Expected,
    /// Nothing: the fields stand back behind stops and walks.
    Plain,
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
    draw_map(records, request, &Dress::default()).svg
}

/// The map in a dress of its own: as a figure for a page, with a date, or as the window shows it.
pub fn draw_map(records: &Records, request: &MapRequest, dress: &Dress) -> Drawing {
    sheet::draw(records, request, dress)
}

/// A map as a page of its own size in PDF.
pub fn map_pdf(records: &Records, request: &MapRequest, dress: &Dress, date: jiff::civil::Date) -> Result<Vec<u8>, String> {
    drawing_pdf(records, request, draw_map(records, request, dress), date)
}

/// A drawn map as a page of its own size in PDF, with its letters as text; archival if the typesetter's checks allow it.
pub fn drawing_pdf(
    records: &Records,
    request: &MapRequest,
    drawing: Drawing,
    date: jiff::civil::Date,
) -> Result<Vec<u8>, String> {
    let (width, height) = sheet::paper(request.size_mm);
    let data = serde_json::json!({
        "title": sheet::title_of(records, request), "width": width, "height": height, "described": drawing.described,
    });
    let files = [("data.json".to_owned(), data.to_string().into_bytes()), ("map.svg".to_owned(), drawing.svg.into_bytes())];
    let template = include_str!("../../../assets/pages/map.typ");
    let pages = typeset::typeset(&Manuscript { template, files: files.into(), date }).map_err(|error| error.to_string())?;
    pages.pdf(Archival::A2a).or_else(|_| pages.pdf(Archival::No)).map_err(|error| error.to_string())
}

/// A drawing as PNG at a resolution in dots per inch.
pub fn drawing_png(drawing: &Drawing, dpi: f64) -> Result<Vec<u8>, String> {
    picture::png(&drawing.svg, dpi)
}

/// The map as PNG at a resolution in dots per inch.
pub fn map_png(records: &Records, request: &MapRequest, dpi: f64) -> Result<Vec<u8>, String> {
    picture::png(&map_svg(records, request), dpi)
}
