//! GeoTIFF (OGC 19-008) over TIFF 6.0 and BigTIFF: strips and tiles, packed by LZW, deflate, PackBits or not at all.
//!
//! Besides the tags of the standard it honours those that most writers add: 42113 names the value for no data, 42112 a
//! factor and an offset for the values. Without a place in its tags, the world file beside it counts.

use std::io::Cursor;
use std::path::Path;

use tiff::TiffError;
use tiff::decoder::{Decoder, Limits};
use tiff::tags::Tag;

use super::{CUT_OFF, Fault, MOST_PIXELS, Placed, Raster, geo_tags, pixels, tiff_header, world};
use crate::formats::prj;
use crate::problem::Problems;

/// A file that is being decoded.
pub(super) type Tiff<'a> = Decoder<Cursor<&'a [u8]>>;

/// Factor, offset and units of values as many writers add them, an XML text.
const METADATA: Tag = Tag::Unknown(42112);

/// Bit of tag 254 of an image that masks another (TIFF 6.0, NewSubfileType).
const IS_MASK: u32 = 4;

/// Further images that are looked at for a mask; copies at lower resolution are fewer.
const MOST_IMAGES: usize = 64;

/// Reads a file's bytes.
pub(super) fn read(path: &Path, place: &str, bytes: &mut [u8], problems: &mut Problems) -> Result<Raster, Fault> {
    let (columns, rows) = tiff_header::check(bytes)?;
    tiff_header::make_tiles_whole(bytes);
    let bytes = &*bytes;
    let mut limits = Limits::default();
    limits.decoding_buffer_size = MOST_PIXELS as usize * size_of::<f64>();
    limits.intermediate_buffer_size = limits.decoding_buffer_size;
    let mut tiff = Decoder::new(Cursor::new(bytes)).map_err(|error| fault(&error))?.with_limits(limits);
    let layout = pixels::layout(&mut tiff, place, problems)?;
    let to_world = match geo_tags::to_world(&mut tiff)? {
        Some(to_world) => to_world,
        None => world::beside(path, problems)?.ok_or_else(|| {
            let hint = "Export it again as a GeoTIFF, or copy its world file (.tfw) of the same name beside it.";
            ("it does not say where on the ground it lies.".to_owned(), hint)
        })?,
    };
    let crs = geo_tags::crs(&mut tiff).or_else(|| prj::beside(path, problems));
    let no_data = no_data(&mut tiff, place, problems);
    let mut values = pixels::values(&mut tiff, &layout, (columns, rows), no_data, bytes.len() as u64)?;
    let (factor, offset) = factor_and_offset(&mut tiff);
    if (factor, offset) != (1.0, 0.0) {
        let what = format!("its values are the numbers stored in it times {factor} plus {offset}, as it says itself.");
        problems.note(place, what, "");
        for value in &mut values {
            *value = *value * factor + offset;
        }
    }
    if has_mask(&mut tiff) {
        let hint = "Export it again with a number for no data instead of a mask.";
        problems.warning(place, "it has a mask, which is not read: what the mask hides counts as measured.", hint);
    }
    Ok(Raster { name: place.to_owned(), columns, rows, to_world, values, crs })
}

/// Where a TIFF lies, without reading its values.
pub(super) fn place(path: &Path, bytes: &[u8], problems: &mut Problems) -> Result<Placed, Fault> {
    let mut tiff = Decoder::new(Cursor::new(bytes)).map_err(|error| fault(&error))?;
    match geo_tags::to_world(&mut tiff)? {
        Some(to_world) => Ok(Placed { to_world, crs: geo_tags::crs(&mut tiff).or_else(|| prj::beside(path, problems)) }),
        None => super::beside(path, problems),
    }
}

/// What the decoder found wrong.
pub(super) fn fault(error: &TiffError) -> Fault {
    match error {
        TiffError::IoError(_) => ("it ends early or is damaged.".to_owned(), CUT_OFF),
        TiffError::UnsupportedError(_) => {
            (format!("it is of a kind that is not read ({error})."), "Save it again as a GeoTIFF with one band of numbers.")
        }
        TiffError::LimitsExceeded => ("it asks for more memory than such a raster needs.".to_owned(), CUT_OFF),
        _ => (format!("it cannot be read as a TIFF ({error})."), CUT_OFF),
    }
}

/// A tag as text; none if it is not there or is no text.
fn text(tiff: &mut Tiff, tag: Tag) -> Option<String> {
    tiff.find_tag(tag).ok().flatten()?.into_string().ok()
}

/// The number that stands for no data.
fn no_data(tiff: &mut Tiff, place: &str, problems: &mut Problems) -> Option<f64> {
    let text = text(tiff, Tag::GdalNodata)?;
    let text = text.trim_matches(|c: char| c.is_whitespace() || c == '\0');
    if text.is_empty() {
        return None;
    }
    let number = text.parse().ok();
    if number.is_none() {
        let what = format!("“{text}”, which it says stands for no data, is no number; every value counts.");
        problems.warning(place, what, "Export it again if it has places without data.");
    }
    number
}

/// What values of the first band are multiplied by, and what is then added: 1 and 0 if the file says nothing.
fn factor_and_offset(tiff: &mut Tiff) -> (f64, f64) {
    let text = text(tiff, METADATA).unwrap_or_default();
    let Ok(xml) = roxmltree::Document::parse(text.trim_matches('\0')) else { return (1.0, 0.0) };
    let of_role = |role: &str| {
        let items = xml.descendants().filter(|node| node.attribute("role") == Some(role));
        let mut first_band = items.filter(|node| node.attribute("sample").is_none_or(|band| band == "0"));
        first_band.find_map(|node| node.text()?.trim().parse::<f64>().ok()).filter(|number| number.is_finite())
    };
    (of_role("scale").filter(|factor| *factor != 0.0).unwrap_or(1.0), of_role("offset").unwrap_or(0.0))
}

/// Whether another image of the file is a mask. Moves on to the last image, so it comes last.
fn has_mask(tiff: &mut Tiff) -> bool {
    (0..MOST_IMAGES).any(|_| {
        let kind = (tiff.more_images() && tiff.next_image().is_ok())
            .then(|| tiff.find_tag_unsigned::<u32>(Tag::NewSubfileType).ok().flatten());
        kind.flatten().is_some_and(|kind| kind & IS_MASK != 0)
    })
}
