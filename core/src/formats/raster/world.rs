//! World files: six numbers in a text beside a picture that say where it lies.
//!
//! Order of the lines: x of a column, y of a column, x of a row, y of a row, x and y of the middle of the first pixel.

use std::path::Path;

use super::{Fault, usable};
use crate::formats::{code_page, files};
use crate::problem::Problems;

/// Endings of world files beside a picture.
fn endings(path: &Path) -> [&'static str; 4] {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    match ending.as_str() {
        "png" => ["pgw", "pngw", "wld", "pgwx"],
        "jpg" | "jpeg" => ["jgw", "jpgw", "jpegw", "wld"],
        _ => ["tfw", "tifw", "tiffw", "wld"],
    }
}

/// The transformation from pixel corners in the world file beside a picture; none if there is none.
pub(super) fn beside(path: &Path, problems: &mut Problems) -> Result<Option<[f64; 6]>, Fault> {
    let Some(file) = endings(path).iter().find_map(|end| files::beside(path, end)) else {
        return Ok(None);
    };
    let Some(text) = files::bytes(&file, problems) else { return Ok(None) };
    let text = code_page::text_of(&text);
    let numbers: Vec<f64> = text.split_whitespace().map_while(|word| word.replace(',', ".").parse().ok()).collect();
    let [a, d, b, e, x, y] = numbers[..] else {
        let name = files::file_name(&file);
        return Err((format!("the world file {name} beside it does not hold six numbers."), "Export both again."));
    };
    usable([a, b, x - f64::midpoint(a, b), d, e, y - f64::midpoint(d, e)]).map(Some)
}
