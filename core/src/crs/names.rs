//! Systems by the names that well-known text gives them, for text without a code.
//!
//! Table: assets/tables/crs_names.csv, the projected systems of Europe in the EPSG dataset with their names there and in
//! .prj files of the ESRI kind (from the database of PROJ). A name alone proves nothing, so a match counts only if both the
//! text and the code put two places within 5 m of each other.

use std::collections::BTreeMap;
use std::sync::{LazyLock, Mutex, PoisonError};

use geo::Coord;

use crate::crs::wkt::Node;
use crate::crs::{Converter, Crs};

/// 5 m in degrees of latitude: another method of the same datum may differ by that, another projection never so little.
const SAME_DEG: f64 = 4.5e-5;

static NAMES: LazyLock<BTreeMap<&str, u32>> = LazyLock::new(|| {
    let rows = include_str!("../../../assets/tables/crs_names.csv").lines().skip(1);
    rows.filter_map(|row| row.split_once(',')).filter_map(|(name, code)| Some((name, code.parse().ok()?))).collect()
});

/// Answers so far by the text: making sure takes PROJ tens of milliseconds, and a delivery has one text for many files.
static KNOWN: Mutex<BTreeMap<String, Option<u32>>> = Mutex::new(BTreeMap::new());
/// So many answers are kept.
const MOST: usize = 64;

/// The EPSG code of a system that has the name and the numbers of one.
pub(super) fn code_of(root: &Node, text: &str) -> Option<u32> {
    let mut known = KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(code) = known.get(text) {
        return *code;
    }
    let code = matched(root, text);
    if known.len() < MOST {
        known.insert(text.to_owned(), code);
    }
    code
}

fn matched(root: &Node, text: &str) -> Option<u32> {
    let plain: String = root.name().to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect();
    let code = *NAMES.get(plain.as_str())?;
    let own = Converter::new(&Crs::Wkt(text.trim().to_owned())).ok()?;
    let known = Converter::new(&Crs::Epsg(code)).ok()?;
    let (east, north) = (root.parameter(&["easting"]).unwrap_or(0.0), root.parameter(&["northing"]).unwrap_or(0.0));
    // Systems that count from the equator are used far from it.
    let up =
        if root.parameter(&["latitude_of_origin", "latitude of natural"]).unwrap_or(0.0) == 0.0 { 5_600_000.0 } else { 0.0 };
    let near = |(dx, dy): (f64, f64)| {
        let place = Coord { x: east + dx, y: north + up + dy };
        let (mut a, mut b) = ([place], [place]);
        own.to_lonlat(&mut a).is_ok()
            && known.to_lonlat(&mut b).is_ok()
            && (a[0].x - b[0].x).abs() < 2.0 * SAME_DEG
            && (a[0].y - b[0].y).abs() < SAME_DEG
    };
    [(10_000.0, 10_000.0), (-60_000.0, 90_000.0)].into_iter().all(near).then_some(code)
}
