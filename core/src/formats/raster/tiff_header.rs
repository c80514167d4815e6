//! The first directory of a TIFF, looked at before the decoder sees it.
//!
//! The decoder multiplies sizes and reserves room for lists before it can compare them with the file; a damaged header must
//! not get that far. Layout: TIFF 6.0 section 2, and the BigTIFF extension with offsets of 8 bytes.

use super::{CUT_OFF, Fault, size};

const WIDTH: u16 = 256;
const LENGTH: u16 = 257;
const SAMPLES: u16 = 277;
const TILE_WIDTH: u16 = 322;
const TILE_LENGTH: u16 = 323;

/// More bands than any raster of measurements has.
const MOST_BANDS: u64 = 1000;

/// Whether a file begins as a TIFF of either byte order and either size of offsets.
pub(super) fn is_tiff(bytes: &[u8]) -> bool {
    matches!(bytes.get(..4), Some(b"II\x2a\0" | b"MM\0\x2a" | b"II\x2b\0" | b"MM\0\x2b"))
}

/// An entry of a directory.
struct Entry {
    tag: u16,
    /// Bytes of one value.
    length: u64,
    /// Values.
    count: u64,
    /// Where the value stands, or the place of the values if they do not fit there.
    at: u64,
}

/// Bytes with their order and the width of offsets.
struct Header<'a> {
    bytes: &'a [u8],
    little: bool,
    big_tiff: bool,
}

impl Header<'_> {
    /// An unsigned number of `length` bytes, at most 8.
    fn number(&self, at: u64, length: u64) -> Option<u64> {
        let start = usize::try_from(at).ok()?;
        let raw = self.bytes.get(start..start.checked_add(length as usize)?)?;
        let join = |sum: u64, byte: &u8| (sum << 8) | u64::from(*byte);
        Some(if self.little { raw.iter().rev().fold(0, join) } else { raw.iter().fold(0, join) })
    }

    /// The entries of the first directory.
    fn entries(&self) -> Option<Vec<Entry>> {
        let (directory, count_length, entry_length, field) =
            if self.big_tiff { (self.number(8, 8)?, 8, 20, 12) } else { (self.number(4, 4)?, 2, 12, 8) };
        let count = self.number(directory, count_length)?;
        let first = directory.checked_add(count_length)?;
        let mut list = Vec::new();
        for index in 0..count {
            let entry = first.checked_add(index.checked_mul(entry_length)?)?;
            let length = match self.number(entry + 2, 2)? {
                1 | 2 | 6 | 7 => 1,
                3 | 8 => 2,
                4 | 9 | 11 | 13 => 4,
                5 | 10 | 12 | 16 | 17 | 18 => 8,
                // The decoder passes over kinds it does not know, but in a BigTIFF it then loses its place.
                _ if self.big_tiff => return None,
                _ => continue,
            };
            let (tag, count) = (self.number(entry, 2)? as u16, self.number(entry + 4, field - 4)?);
            list.push(Entry { tag, length, count, at: entry + field });
        }
        Some(list)
    }
}

/// The entry of a tag; as in the decoder, the last of several stands.
fn last(entries: &[Entry], tag: u16) -> Option<&Entry> {
    entries.iter().rev().find(|entry| entry.tag == tag)
}

impl<'a> Header<'a> {
    fn of(bytes: &'a [u8]) -> Self {
        let big_tiff = bytes.get(2..4).is_some_and(|version| version.contains(&43));
        Self { bytes, little: bytes.first() == Some(&b'I'), big_tiff }
    }
}

/// Columns and rows, if the header asks for nothing that the file cannot hold.
pub(super) fn check(bytes: &[u8]) -> Result<(usize, usize), Fault> {
    let header = Header::of(bytes);
    let entries = header.entries().ok_or_else(|| ("its list of contents is not there.".to_owned(), CUT_OFF))?;
    if let Some(entry) = entries.iter().find(|entry| entry.count.saturating_mul(entry.length) > bytes.len() as u64) {
        return Err((format!("entry {} of its list of contents is longer than the file.", entry.tag), CUT_OFF));
    }
    let value = |tag: u16| last(&entries, tag).and_then(|entry| header.number(entry.at, entry.length));
    let lacking = |what: &str| (format!("it does not say how {what} it is."), CUT_OFF);
    let (columns, rows) = size(value(WIDTH).ok_or(lacking("wide"))?, value(LENGTH).ok_or(lacking("high"))?)?;
    let bands = value(SAMPLES).unwrap_or(1);
    if bands > MOST_BANDS || bands * rows as u64 > u64::from(u32::MAX) {
        return Err((format!("it says that it has {bands} bands."), CUT_OFF));
    }
    Ok((columns, rows))
}

/// Rounds the size in the header up to whole tiles, so that the decoder takes each tile in one piece.
///
/// Tiles that reach beyond the edge it would take row by row, and that ends some sound LZW tiles with "no lzw end code found"
/// (crate tiff 0.11 with weezl 0.1, issue 395 of image-tiff).
pub(super) fn make_tiles_whole(bytes: &mut [u8]) {
    for (size, tile) in [(WIDTH, TILE_WIDTH), (LENGTH, TILE_LENGTH)] {
        let header = Header::of(bytes);
        let rounded = header.entries().and_then(|entries| {
            let value = |tag: u16| last(&entries, tag).and_then(|entry| header.number(entry.at, entry.length));
            let side = value(tile).filter(|side| *side > 0)?;
            let rounded = value(size)?.checked_next_multiple_of(side)?;
            let Entry { length, at, .. } = last(&entries, size)?;
            let fits = rounded >> (length * 8 - 1) == 0 && u32::try_from(rounded).is_ok();
            fits.then_some((rounded, *length as usize, *at as usize, header.little))
        });
        let Some((rounded, length, at, little)) = rounded else { continue };
        let Some(place) = bytes.get_mut(at..at + length) else { continue };
        let (low_first, high_first) = (rounded.to_le_bytes(), rounded.to_be_bytes());
        place.copy_from_slice(if little { &low_first[..length] } else { &high_first[8 - length..] });
    }
}
