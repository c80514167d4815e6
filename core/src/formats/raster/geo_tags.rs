//! Where a GeoTIFF lies and in which coordinate system (OGC 19-008 r4, GeoTIFF 1.1, sections 7.1 to 7.4 and annex B).
//!
//! A place is a scale with a tie point, or a transformation, or three and more tie points, to which an affine
//! transformation is fitted by least squares. Tags that speak of the middles of pixels are moved to their corners.

use tiff::tags::Tag;

use super::geotiff::Tiff;
use super::{Fault, affine, usable};
use crate::crs::Crs;
use geo::Coord;

// Keys and values of the key directory.
const MODEL_TYPE: u16 = 1024;
const RASTER_TYPE: u16 = 1025;
const CITATION: u16 = 1026;
const GEOGRAPHIC_TYPE: u16 = 2048;
const GEOGRAPHIC_CITATION: u16 = 2049;
const PROJECTED_TYPE: u16 = 3072;
const PROJECTED_CITATION: u16 = 3073;
const MODEL_PROJECTED: u16 = 1;
const MODEL_GEOGRAPHIC: u16 = 2;
const PIXEL_IS_POINT: u16 = 2;

/// Codes that EPSG gives; 0 and 32767 stand for "undefined" and "user-defined", between and above are private ones.
const EPSG_CODES: std::ops::Range<u16> = 1024..32767;

/// Where some writers put well-known text, after these words in a citation.
const WELL_KNOWN_TEXT: &str = "ESRI PE String = ";

/// Tie points may be this far from where the transformation puts them, pixels.
const MOST_STRAY: f64 = 0.5;

const WARP: &str = "Rectify it to a north-up raster in a coordinate system first.";

/// Pixel (column, row) and place of a tie point.
type TiePoint = (Coord<f64>, Coord<f64>);

/// The transformation from pixel corners that the tags give; none if they give no place.
pub(super) fn to_world(tiff: &mut Tiff) -> Result<Option<[f64; 6]>, Fault> {
    let mut list = |tag| tiff.find_tag(tag).ok().flatten().and_then(|value| value.into_f64_vec().ok()).unwrap_or_default();
    let scale = list(Tag::ModelPixelScaleTag);
    let matrix = list(Tag::ModelTransformationTag);
    let ties: Vec<TiePoint> = list(Tag::ModelTiepointTag)
        .chunks_exact(6)
        .map(|six| (Coord { x: six[0], y: six[1] }, Coord { x: six[3], y: six[4] }))
        .collect();
    let found = match (scale[..].get(..2), &ties[..], &matrix[..]) {
        (Some([x, y]), [first, ..], _) if *x != 0.0 && *y != 0.0 => scaled(*x, *y, first, &ties)?,
        (_, _, [a, b, _, c, d, e, _, f, ..]) => [*a, *b, *c, *d, *e, *f],
        (_, [_, _, _, ..], _) => fitted(&ties)?,
        (_, [], _) => return Ok(None),
        _ => return Err(("it has too few tie points to say how large its pixels are.".to_owned(), WARP)),
    };
    let [a, b, c, d, e, f] = found;
    let middle = if number_key(tiff, RASTER_TYPE) == Some(PIXEL_IS_POINT) { 0.5 } else { 0.0 };
    usable([a, b, c - middle * (a + b), d, e, f - middle * (d + e)]).map(Some)
}

/// The transformation of a scale and a tie point; further tie points have to agree.
fn scaled(x: f64, y: f64, first: &TiePoint, ties: &[TiePoint]) -> Result<[f64; 6], Fault> {
    // Rows go south. Some writers give that as a scale below zero, others mean the same by one above.
    let y = y.abs();
    let (pixel, place) = first;
    agreeing([x, 0.0, place.x - x * pixel.x, 0.0, -y, place.y + y * pixel.y], ties)
}

/// The affine transformation nearest to tie points: least squares about their middle.
fn fitted(ties: &[TiePoint]) -> Result<[f64; 6], Fault> {
    let n = ties.len() as f64;
    let mean = |of: fn(&TiePoint) -> Coord<f64>| ties.iter().map(of).fold(Coord::zero(), |sum, at| sum + at) / n;
    let (pixel_mean, place_mean) = (mean(|tie| tie.0), mean(|tie| tie.1));
    let sum = |of: &dyn Fn(Coord<f64>, Coord<f64>) -> f64| -> f64 {
        ties.iter().map(|(pixel, place)| of(*pixel - pixel_mean, *place - place_mean)).sum()
    };
    let (uu, uv, vv) = (sum(&|p, _| p.x * p.x), sum(&|p, _| p.x * p.y), sum(&|p, _| p.y * p.y));
    let determinant = uu * vv - uv * uv;
    // Relative to the spread: points in one line leave the direction across open.
    if determinant.is_nan() || determinant <= 1e-9 * uu * vv {
        return Err(("its tie points lie in one line.".to_owned(), WARP));
    }
    let solve = |by_u: f64, by_v: f64| ((by_u * vv - by_v * uv) / determinant, (by_v * uu - by_u * uv) / determinant);
    let (a, b) = solve(sum(&|p, at| p.x * at.x), sum(&|p, at| p.y * at.x));
    let (d, e) = solve(sum(&|p, at| p.x * at.y), sum(&|p, at| p.y * at.y));
    let c = place_mean.x - a * pixel_mean.x - b * pixel_mean.y;
    let f = place_mean.y - d * pixel_mean.x - e * pixel_mean.y;
    agreeing([a, b, c, d, e, f], ties)
}

/// The transformation, if it puts every tie point where it belongs.
fn agreeing(to_world: [f64; 6], ties: &[TiePoint]) -> Result<[f64; 6], Fault> {
    let to_pixel = affine(usable(to_world)?).inverse();
    let stray = |(pixel, place): &TiePoint| {
        let off = to_pixel.map_or(Coord { x: f64::NAN, y: f64::NAN }, |to_pixel| to_pixel.apply(*place) - *pixel);
        off.x.hypot(off.y)
    };
    let worst = ties.iter().map(stray).fold(0.0, |worst: f64, off| if off <= worst { worst } else { off });
    if worst <= MOST_STRAY {
        return Ok(to_world);
    }
    let far = if worst < 1e6 { format!("{worst:.1}") } else { "millions of".to_owned() };
    Err((format!("its tie points bend it: one is {far} pixels from where the others put it."), WARP))
}

/// Entries of the key directory: key, place of the value (0: in the entry itself, else a tag), count, value or index.
fn keys(tiff: &mut Tiff) -> Vec<[u16; 4]> {
    let directory = tiff.find_tag_unsigned_vec::<u16>(Tag::GeoKeyDirectoryTag).ok().flatten().unwrap_or_default();
    let count = directory.get(3).copied().map_or(0, usize::from);
    directory.chunks_exact(4).skip(1).take(count).filter_map(|four| four.try_into().ok()).collect()
}

/// A key whose value stands in the directory.
fn number_key(tiff: &mut Tiff, wanted: u16) -> Option<u16> {
    keys(tiff).into_iter().find(|[key, place, ..]| (*key, *place) == (wanted, 0)).map(|[.., value]| value)
}

/// The coordinate system that the keys name; none if they name none or one of the writer's own.
pub(super) fn crs(tiff: &mut Tiff) -> Option<Crs> {
    // The geographic system of a projected one is only what that is built on.
    let is_projected = match number_key(tiff, MODEL_TYPE) {
        Some(MODEL_PROJECTED) => true,
        Some(MODEL_GEOGRAPHIC) => false,
        _ => number_key(tiff, PROJECTED_TYPE).is_some(),
    };
    let (code, own_citation) =
        if is_projected { (PROJECTED_TYPE, PROJECTED_CITATION) } else { (GEOGRAPHIC_TYPE, GEOGRAPHIC_CITATION) };
    if let Some(code) = number_key(tiff, code).filter(|code| EPSG_CODES.contains(code)) {
        return Some(Crs::from_epsg(code.into()));
    }
    [own_citation, CITATION].into_iter().find_map(|key| {
        let text = citation(tiff, key)?;
        let start = text.find(WELL_KNOWN_TEXT)? + WELL_KNOWN_TEXT.len();
        Crs::from_wkt(text.get(start..)?).ok()
    })
}

/// A key whose value is a text, ended by a bar.
fn citation(tiff: &mut Tiff, wanted: u16) -> Option<String> {
    let ascii = Tag::GeoAsciiParamsTag;
    let [.., count, start] = keys(tiff).into_iter().find(|[key, place, ..]| (*key, *place) == (wanted, ascii.to_u16()))?;
    let text = tiff.find_tag(ascii).ok().flatten()?.into_string().ok()?;
    let text = text.get(usize::from(start)..(usize::from(start) + usize::from(count)).min(text.len()))?;
    Some(text.trim_end_matches(['|', '\0']).to_owned())
}
