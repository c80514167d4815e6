//! ESRI ASCII grids: a heading of names and numbers in any order and case, then the values from the north-western corner.
//!
//! Names: ncols, nrows, xllcorner or xllcenter, yllcorner or yllcenter, cellsize (or dx and dy), NODATA_value; without the
//! last, -9999 is no data, as the format's description has it. The coordinate system stands in a .prj file beside it.

use std::collections::BTreeMap;
use std::path::Path;

use super::{CUT_OFF, Fault, Raster, size, usable};
use crate::formats::{code_page, prj};
use crate::problem::Problems;

const NAMES: [&str; 11] =
    ["ncols", "nrows", "xllcorner", "xllcenter", "yllcorner", "yllcenter", "cellsize", "dx", "dy", "nodata_value", "nodata"];

/// No data where the heading does not name another number.
const USUAL_NO_DATA: f64 = -9999.0;

/// Whether a file begins with a name of the heading.
pub(super) fn is_grid(bytes: &[u8]) -> bool {
    let start = code_page::text_of(bytes.get(..200.min(bytes.len())).unwrap_or_default());
    start.split_whitespace().next().is_some_and(|word| NAMES.contains(&word.to_ascii_lowercase().as_str()))
}

/// Reads a file's bytes.
pub(super) fn read(path: &Path, place: &str, bytes: &[u8], problems: &mut Problems) -> Result<Raster, Fault> {
    let text = code_page::text_of(bytes);
    let mut words = text.lines().zip(1..).flat_map(|(line, number)| line.split_whitespace().map(move |word| (word, number)));
    let mut heading = BTreeMap::new();
    let mut ahead = None;
    while let Some((word, line)) = words.next() {
        let name = word.to_ascii_lowercase();
        if !NAMES.contains(&name.as_str()) {
            ahead = Some((word, line));
            break;
        }
        let value = words.next().and_then(|(word, _)| number(word));
        let value = value.ok_or_else(|| (format!("line {line}: {word} is not followed by a number."), CUT_OFF))?;
        heading.insert(name, value);
    }
    let (columns, rows) = size(whole(&heading, "ncols")?, whole(&heading, "nrows")?)?;
    let to_world = place_of(&heading, rows)?;
    let no_data = heading.get("nodata_value").or(heading.get("nodata")).copied().unwrap_or(USUAL_NO_DATA);

    let wanted = columns * rows;
    // Every value takes a digit and a blank, so no more room is taken than a file of this length can fill.
    let mut values = Vec::with_capacity(wanted.min(bytes.len() / 2 + 1));
    for (word, line) in ahead.into_iter().chain(words) {
        let value = number(word).ok_or_else(|| (format!("line {line}: “{}” is no number.", shortened(word)), CUT_OFF))?;
        if values.len() == wanted {
            let what = format!("line {line}: there are more values than the {columns} times {rows} of its heading.");
            return Err((what, "Export it again, or mend ncols and nrows."));
        }
        values.push(if value == no_data || !value.is_finite() { f64::NAN } else { value });
    }
    if values.len() < wanted {
        return Err((format!("it has {} values, not the {columns} times {rows} of its heading.", values.len()), CUT_OFF));
    }
    Ok(Raster { name: place.to_owned(), columns, rows, to_world, values, crs: prj::beside(path, problems) })
}

/// A number with a decimal point or comma.
fn number(word: &str) -> Option<f64> {
    word.parse().ok().or_else(|| word.replacen(',', ".", 1).parse().ok())
}

fn shortened(word: &str) -> String {
    word.chars().take(20).collect()
}

fn held(heading: &BTreeMap<String, f64>, names: &[&str]) -> Result<f64, Fault> {
    let found = names.iter().find_map(|name| heading.get(*name)).copied();
    found.ok_or_else(|| (format!("its heading lacks {}.", names.join(" or ")), "Add the line, or export it again."))
}

fn whole(heading: &BTreeMap<String, f64>, name: &str) -> Result<u64, Fault> {
    let value = held(heading, &[name])?;
    let is_count = value.fract() == 0.0 && (0.0..1e15).contains(&value);
    is_count.then_some(value as u64).ok_or_else(|| (format!("{name} is {value}, which is no count."), CUT_OFF))
}

/// The transformation from pixel corners.
fn place_of(heading: &BTreeMap<String, f64>, rows: usize) -> Result<[f64; 6], Fault> {
    let width = held(heading, &["cellsize", "dx"])?;
    let height = held(heading, &["cellsize", "dy"])?;
    if !(width > 0.0 && height > 0.0) {
        return Err((format!("its cells are {width} wide and {height} high, which are no lengths."), CUT_OFF));
    }
    let half = |centre: &str, side: f64| if heading.contains_key(centre) { side / 2.0 } else { 0.0 };
    let west = held(heading, &["xllcenter", "xllcorner"])? - half("xllcenter", width);
    let south = held(heading, &["yllcenter", "yllcorner"])? - half("yllcenter", height);
    usable([width, 0.0, west, 0.0, -height, south + height * rows as f64])
}
