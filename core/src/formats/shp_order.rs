//! Records of a .shp file in the order of its .shx file, and its length as it is.
//!
//! Records mostly stand one after the other, and then the .shx is not needed. Programs that change a file in place leave gaps, or
//! put a record that has grown at the end; then only the .shx says where each begins (shapefile whitepaper, 1998). What is not
//! used of it is trusted no further than it fits.

/// Length of the header of both files, bytes.
const HEADER: usize = 100;

/// The file with its records one after the other and its length in the header, if that is not how they stand and the index says
/// where they are; none if it is good as it is, or nothing is known.
pub(super) fn in_order(shp: &[u8], shx: Option<&[u8]>) -> Option<Vec<u8>> {
    if is_in_order(shp) {
        // A header that was not brought up to date would hide the last records.
        let said = number(shp, 24)?.checked_mul(2)?;
        return if said < shp.len() { with_length(shp.to_vec()) } else { None };
    }
    let entries = shx?.get(HEADER..)?.chunks_exact(8);
    if entries.len() == 0 {
        return None;
    }
    let mut ordered = shp.get(..HEADER)?.to_vec();
    for entry in entries {
        // Both count 16-bit words; the length leaves out the record's own header of 8 bytes.
        let (from, length) = (number(entry, 0)?.checked_mul(2)?, number(entry, 4)?.checked_mul(2)?.checked_add(8)?);
        let record = shp.get(from..from.checked_add(length)?)?;
        if from < HEADER || number(record, 4)?.checked_mul(2)?.checked_add(8)? != length {
            return None;
        }
        ordered.extend_from_slice(record);
        // Entries that share records could make a small file large.
        if ordered.len() > shp.len() {
            return None;
        }
    }
    with_length(ordered)
}

/// The file with its own length in its header.
fn with_length(mut shp: Vec<u8>) -> Option<Vec<u8>> {
    let words = u32::try_from(shp.len() / 2).ok()?;
    shp.get_mut(24..28)?.copy_from_slice(&words.to_be_bytes());
    Some(shp)
}

/// Whether the records follow each other from the header to the end, numbered from 1.
fn is_in_order(shp: &[u8]) -> bool {
    let mut at = HEADER;
    let mut count = 0;
    while at < shp.len() {
        let Some(record) = shp.get(at..).filter(|rest| rest.len() >= 8) else { return false };
        let (named, length) = (number(record, 0), number(record, 4).and_then(|words| words.checked_mul(2)));
        let Some(length) = length.filter(|_| named == Some(count + 1)) else { return false };
        count += 1;
        at = at.saturating_add(8).saturating_add(length);
    }
    at == shp.len()
}

/// A number of four bytes, the greatest first.
fn number(bytes: &[u8], at: usize) -> Option<usize> {
    usize::try_from(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?)).ok()
}
