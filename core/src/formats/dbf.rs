//! The attribute table of a shapefile (dBASE III with the field types that shapefiles use: C, N, F, L, D).
//!
//! Read here rather than by a general reader because rows marked as deleted must keep their place beside the shapes, and
//! because the letters of old DOS code pages occur in boundary files.

use crate::formats::{Cell, Letters, code_page};
use crate::problem::Problems;

/// Columns and rows; a row marked as deleted is none.
pub(super) struct Attributes {
    pub columns: Vec<String>,
    pub rows: Vec<Option<Vec<Cell>>>,
}

struct Column {
    kind: u8,
    from: usize,
    to: usize,
}

/// Reads a table. `cpg` is the content of the .cpg file, which goes before the code page byte of the table; `letters` go before both.
pub(super) fn read(
    place: &str,
    bytes: &[u8],
    cpg: Option<&str>,
    letters: Option<Letters>,
    problems: &mut Problems,
) -> Option<Attributes> {
    let (Some(count), Some(head), Some(width)) = (number(bytes, 4, 4), number(bytes, 8, 2), number(bytes, 10, 2)) else {
        damaged(place, "it ends within its header.".to_owned(), problems);
        return None;
    };
    let mut page = match (letters, cpg.map(code_page::of_name)) {
        (Some(Letters(page)), _) | (None, Some(Some(page))) => Some(page),
        _ => code_page::of_dbf_byte(bytes.get(29).copied().unwrap_or(0)),
    };
    if let (None, Some(name), None) = (letters, cpg, cpg.and_then(code_page::of_name)) {
        let what = format!("its .cpg file names the encoding “{name}”, which is not known; the letters were guessed.");
        problems.warning(place, what, "Look at the names; give the encoding (--encoding) if letters are wrong.");
    }
    let Some(body) = bytes.get(head..) else {
        damaged(place, "it ends within its header.".to_owned(), problems);
        return None;
    };
    if width == 0 || count.saturating_mul(width) > body.len() {
        damaged(
            place,
            format!("it says that it has {count} rows of {width} bytes, but only {} bytes follow.", body.len()),
            problems,
        );
        return None;
    }
    let rows: Vec<&[u8]> = body.chunks_exact(width).take(count).collect();
    if page.is_none() {
        // No word on the letters: UTF-8 if it is throughout, otherwise the usual Western page.
        let utf8 = rows.iter().all(|row| std::str::from_utf8(row).is_ok());
        page = Some(if utf8 { code_page::UTF_8 } else { code_page::WESTERN });
    }
    let page = page.unwrap_or(code_page::WESTERN);
    let mut names = Vec::new();
    let mut columns = Vec::new();
    let mut from = 1;
    let descriptors = bytes.get(32..head).unwrap_or_default();
    for descriptor in descriptors.chunks_exact(32).take_while(|descriptor| descriptor[0] != 0x0d) {
        let name = descriptor[..11].split(|byte| *byte == 0).next().unwrap_or_default();
        let kind = descriptor[11];
        // Texts longer than 255 use the byte of the decimals as well.
        let long = if kind == b'C' { usize::from(descriptor[17]) << 8 } else { 0 };
        let to = from + usize::from(descriptor[16]) + long;
        if to > width {
            damaged(place, "its columns are wider than its rows.".to_owned(), problems);
            return None;
        }
        names.push(page.decode(name).trim().to_owned());
        columns.push(Column { kind, from, to });
        from = to;
    }
    let read_row = |row: &&[u8]| {
        let deleted = row.first() == Some(&b'*');
        (!deleted).then(|| columns.iter().map(|column| cell(column, row, page)).collect())
    };
    Some(Attributes { columns: names, rows: rows.iter().map(read_row).collect() })
}

fn damaged(place: &str, what: String, problems: &mut Problems) {
    problems.error(place, what, "The file is cut off or damaged: copy it again from where it came from.");
}

fn cell(column: &Column, row: &[u8], page: code_page::CodePage) -> Cell {
    let raw = row.get(column.from..column.to).unwrap_or_default();
    let raw = raw.split(|byte| *byte == 0).next().unwrap_or_default();
    let text = page.decode(raw);
    let text = text.trim();
    match column.kind {
        // Asterisks stand for a number that was too long, or for none.
        b'N' | b'F' if text.starts_with('*') => Cell::Empty,
        b'N' | b'F' => text.replace(',', ".").parse().map_or_else(|_| Cell::text(text), Cell::Number),
        b'D' if text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit()) => {
            if text == "00000000" {
                Cell::Empty
            } else {
                Cell::Text(format!("{}-{}-{}", &text[..4], &text[4..6], &text[6..]))
            }
        }
        b'L' if text == "?" => Cell::Empty,
        _ => Cell::text(text),
    }
}

/// A little-endian number of `len` bytes.
fn number(bytes: &[u8], at: usize, len: usize) -> Option<usize> {
    Some(bytes.get(at..at + len)?.iter().rev().fold(0, |sum, byte| (sum << 8) | usize::from(*byte)))
}
