//! The values of the first band of a TIFF.

use tiff::decoder::{ChunkType, DecodingResult};
use tiff::tags::{
    CompressionMethod, CompressionMethod as Packed, PhotometricInterpretation, PlanarConfiguration, SampleFormat, Tag,
};

use super::geotiff::{Tiff, fault};
use super::{CUT_OFF, Fault};
use crate::problem::Problems;

/// No more bytes than this come out of one by LZW or deflate, whose limits are about 1300 and 1032.
const MOST_UNPACKED: u64 = 1500;

/// How the values are stored.
pub(super) struct Layout {
    /// Values a pixel in one strip or tile.
    per_pixel: usize,
    /// Which value of a pixel says how opaque it is: where that is 0, there is no data.
    opacity: Option<usize>,
    bits: u32,
    photometric: PhotometricInterpretation,
    compression: CompressionMethod,
}

/// How values are stored, if they are numbers that can be read.
pub(super) fn layout(tiff: &mut Tiff, place: &str, problems: &mut Problems) -> Result<Layout, Fault> {
    let mut first = |tag: Tag, usual: u16| {
        let list = tiff.find_tag_unsigned_vec::<u16>(tag).ok().flatten();
        list.and_then(|list| list.first().copied()).unwrap_or(usual)
    };
    let bands = usize::from(first(Tag::SamplesPerPixel, 1));
    let bits = u32::from(first(Tag::BitsPerSample, 1));
    let format = SampleFormat::from_u16_exhaustive(first(Tag::SampleFormat, 1));
    let compression = CompressionMethod::from_u16_exhaustive(first(Tag::Compression, 1));
    let planar = first(Tag::PlanarConfiguration, 1) == PlanarConfiguration::Planar.to_u16();
    let reversed_bits = first(Tag::FillOrder, 1) == 2;
    let predicted = first(Tag::Predictor, 1) != 1;
    let photometric = PhotometricInterpretation::from_u16(first(Tag::PhotometricInterpretation, 1));
    let photometric = photometric.unwrap_or(PhotometricInterpretation::BlackIsZero);

    look_at_colours(photometric, place, problems)?;
    if !matches!(compression, Packed::None | Packed::LZW | Packed::Deflate | Packed::OldDeflate | Packed::PackBits) {
        let hint = "Save it again with LZW, deflate or no compression.";
        return Err((format!("its values are packed by {}, which is not read.", packing(compression)), hint));
    }
    let whole = matches!(format, SampleFormat::Uint) && matches!(bits, 1..=8 | 16 | 32 | 64);
    let signed = matches!(format, SampleFormat::Int) && matches!(bits, 8 | 16 | 32 | 64);
    let real = matches!(format, SampleFormat::IEEEFP) && matches!(bits, 16 | 32 | 64);
    let mixed = bits < 8 && bands > 1;
    if !(whole || signed || real) || mixed || reversed_bits {
        let what = format!("its values are of a kind that is not read ({bands} bands of {bits} bits, {format:?}).");
        return Err((what, "Save it again with one band of whole numbers or 32-bit floating point numbers."));
    }
    if bands > 1 {
        problems.note(place, format!("it has {bands} bands; only the first is used."), "");
    }
    let per_pixel = if planar { 1 } else { usize::from(tiff.colortype().map_err(|error| fault(&error))?.num_samples()) };
    // Of a colour picture the decoder drops further bands, but before it undoes the differences between neighbours.
    if !planar && per_pixel != bands && predicted {
        let hint = "Save it again without a predictor, or only its band of numbers.";
        return Err((format!("its {bands} bands are packed in a way that is not read."), hint));
    }
    let opacity = opacity(tiff, bands);
    if planar && opacity.is_some() {
        let hint = "Export it again with a number for no data instead.";
        problems.warning(place, "its band of opacity is not read: what that hides counts as measured.", hint);
    }
    let opacity = opacity.filter(|band| *band > 0 && *band < per_pixel);
    Ok(Layout { per_pixel, opacity, bits, photometric, compression })
}

/// Refuses pictures whose values measure nothing; a picture of bands may hold measurements, so it is only spoken of.
fn look_at_colours(photometric: PhotometricInterpretation, place: &str, problems: &mut Problems) -> Result<(), Fault> {
    let picture = "Give the raster of numbers that the picture was made from.";
    match photometric {
        PhotometricInterpretation::BlackIsZero | PhotometricInterpretation::WhiteIsZero => {}
        PhotometricInterpretation::RGB => {
            problems.warning(
                place,
                "it is stored as a colour picture; the values of its first band, red, are used.",
                picture,
            );
        }
        PhotometricInterpretation::RGBPalette => {
            return Err(("it is a picture whose values are numbers of colours, not of weeds.".to_owned(), picture));
        }
        other => return Err((format!("it is a picture ({other:?}), not a raster of numbers."), picture)),
    }
    Ok(())
}

/// The band that holds opacity (TIFF 6.0, ExtraSamples 1 and 2).
fn opacity(tiff: &mut Tiff, bands: usize) -> Option<usize> {
    let extra = tiff.find_tag_unsigned_vec::<u16>(Tag::ExtraSamples).ok().flatten()?;
    let at = extra.iter().position(|kind| matches!(kind, 1 | 2))?;
    (bands + at).checked_sub(extra.len())
}

fn packing(method: CompressionMethod) -> String {
    match method {
        CompressionMethod::ModernJPEG | CompressionMethod::JPEG => "JPEG".to_owned(),
        CompressionMethod::Unknown(34887) => "LERC".to_owned(),
        CompressionMethod::Unknown(34925) => "LZMA".to_owned(),
        CompressionMethod::Unknown(number) => format!("method {number}"),
        other => format!("{other:?}"),
    }
}

/// The values of the first band, row by row; NaN for no data. `length` is the file's, in bytes.
pub(super) fn values(
    tiff: &mut Tiff,
    layout: &Layout,
    (columns, rows): (usize, usize),
    no_data: Option<f64>,
    length: u64,
) -> Result<Vec<f64>, Fault> {
    let (width, height) = tiff.chunk_dimensions();
    let across = columns.div_ceil(width as usize);
    let stored = stored(tiff, layout, (columns, rows), length)?;
    // Strips and tiles that were left out hold no data, or 0 where the file has no number for no data.
    let left_out = if no_data.is_some() { f64::NAN } else { 0.0 };
    let mut values = vec![left_out; columns * rows];
    for (index, _) in stored.iter().enumerate().filter(|(_, stored)| **stored) {
        let mut data = tiff.read_chunk(index as u32).map_err(|error| fault(&error))?;
        if layout.photometric == PhotometricInterpretation::WhiteIsZero {
            turn_round(&mut data);
        }
        let (left, top) = (index % across * width as usize, index / across * height as usize);
        let used = (width as usize).min(columns - left);
        let stride = tiff.chunk_data_dimensions(index as u32).0 as usize;
        for (line, row) in (top..rows.min(top + height as usize)).enumerate() {
            let Some(target) = values.get_mut(row * columns + left..row * columns + left + used) else { continue };
            for (column, value) in target.iter_mut().enumerate() {
                let pixel = line * stride + column;
                let number = match layout.bits {
                    1..8 => packed(&data, layout.bits as usize, (line, column), stride),
                    _ => number(&data, pixel * layout.per_pixel),
                };
                let clear = layout.opacity.is_some_and(|band| self::number(&data, pixel * layout.per_pixel + band) == 0.0);
                let missing = clear || no_data.is_some_and(|no_data| number == as_stored(&data, no_data));
                *value = if missing || !number.is_finite() { f64::NAN } else { number };
            }
        }
    }
    Ok(values)
}

/// Which strips or tiles of the first band are in the file. An error if one cannot be as large as it has to be.
fn stored(tiff: &mut Tiff, layout: &Layout, (columns, rows): (usize, usize), length: u64) -> Result<Vec<bool>, Fault> {
    let tiled = tiff.get_chunk_type() == ChunkType::Tile;
    let (offsets, counts) =
        if tiled { (Tag::TileOffsets, Tag::TileByteCounts) } else { (Tag::StripOffsets, Tag::StripByteCounts) };
    let mut list = |tag| tiff.find_tag_unsigned_vec::<u64>(tag).map(Option::unwrap_or_default);
    let offsets = list(offsets).map_err(|error| fault(&error))?;
    let counts = list(counts).map_err(|error| fault(&error))?;
    let (width, height) = tiff.chunk_dimensions();
    let across = columns.div_ceil(width as usize);
    let wanted = across * rows.div_ceil(height as usize);
    let row_bytes = (u64::from(width) * layout.per_pixel as u64).saturating_mul(u64::from(layout.bits)).div_ceil(8);
    let mut stored = Vec::with_capacity(wanted.min(offsets.len()));
    for (index, (offset, count)) in offsets.into_iter().zip(counts).take(wanted).enumerate() {
        let left = rows - index / across * height as usize;
        let lines = if tiled { u64::from(height) } else { u64::from(height).min(left as u64) };
        let unpacked = row_bytes.saturating_mul(lines);
        let most = match layout.compression {
            CompressionMethod::None => count,
            _ => count.saturating_add(64).saturating_mul(MOST_UNPACKED),
        };
        let is_there = (offset, count) != (0, 0);
        if is_there && (offset.saturating_add(count) > length || unpacked > most) {
            let kind = if tiled { "tile" } else { "strip" };
            return Err((format!("{kind} {} of {wanted} is not all there.", index + 1), CUT_OFF));
        }
        stored.push(is_there);
    }
    if stored.len() != wanted || !stored.contains(&true) {
        return Err(("its values are not there.".to_owned(), CUT_OFF));
    }
    Ok(stored)
}

/// Undoes the decoder's turning of "white is zero" into "black is zero": here numbers are measurements, not brightness.
fn turn_round(data: &mut DecodingResult) {
    match data {
        DecodingResult::U8(list) => list.iter_mut().for_each(|value| *value = !*value),
        DecodingResult::U16(list) => list.iter_mut().for_each(|value| *value = !*value),
        DecodingResult::U32(list) => list.iter_mut().for_each(|value| *value = !*value),
        DecodingResult::U64(list) => list.iter_mut().for_each(|value| *value = !*value),
        DecodingResult::F32(list) => list.iter_mut().for_each(|value| *value = 1.0 - *value),
        DecodingResult::F64(list) => list.iter_mut().for_each(|value| *value = 1.0 - *value),
        _ => {}
    }
}

/// A number of a strip or tile; NaN beyond its end.
fn number(data: &DecodingResult, index: usize) -> f64 {
    let number = match data {
        DecodingResult::U8(list) => list.get(index).map(|value| f64::from(*value)),
        DecodingResult::U16(list) => list.get(index).map(|value| f64::from(*value)),
        DecodingResult::U32(list) => list.get(index).map(|value| f64::from(*value)),
        DecodingResult::U64(list) => list.get(index).map(|value| *value as f64),
        DecodingResult::I8(list) => list.get(index).map(|value| f64::from(*value)),
        DecodingResult::I16(list) => list.get(index).map(|value| f64::from(*value)),
        DecodingResult::I32(list) => list.get(index).map(|value| f64::from(*value)),
        DecodingResult::I64(list) => list.get(index).map(|value| *value as f64),
        DecodingResult::F16(list) => list.get(index).map(|value| value.to_f64()),
        DecodingResult::F32(list) => list.get(index).map(|value| f64::from(*value)),
        DecodingResult::F64(list) => list.get(index).copied(),
    };
    number.unwrap_or(f64::NAN)
}

/// A number of fewer than 8 bits: rows begin at whole bytes, the first value in the high bits (TIFF 6.0, FillOrder 1).
fn packed(data: &DecodingResult, bits: usize, (line, column): (usize, usize), stride: usize) -> f64 {
    let DecodingResult::U8(bytes) = data else { return f64::NAN };
    let start = line * (stride * bits).div_ceil(8);
    let bit = |at: usize| bytes.get(start + at / 8).map(|byte| u32::from(byte >> (7 - at % 8) & 1));
    let number = (column * bits..(column + 1) * bits).try_fold(0, |sum, at| Some(sum << 1 | bit(at)?));
    number.map_or(f64::NAN, f64::from)
}

/// The number for no data as the file's own kind of number: written out in decimals it may differ in the last place.
fn as_stored(data: &DecodingResult, no_data: f64) -> f64 {
    match data {
        DecodingResult::F32(_) => f64::from(no_data as f32),
        _ => no_data,
    }
}
