//! Rasters of numbers: GeoTIFF and ESRI ASCII grids, recognised by what is in them.
//!
//! Of a file with several bands the first is read. Values that the file marks as no data, and numbers that are not finite,
//! are NaN. A file that names no coordinate system is read without one; a file that does not say where it lies is refused.

mod ascii_grid;
mod geo_tags;
mod geotiff;
mod pixels;
mod tiff_header;
mod world;

use std::path::Path;

use geo::{AffineTransform, Coord};

use crate::crs::Crs;
use crate::formats::{files, prj};
use crate::problem::Problems;

/// A raster of more pixels is refused: its values alone would fill 800 MB.
pub const MOST_PIXELS: u64 = 100_000_000;

/// What is wrong with a whole file, and what to do about it.
type Fault = (String, &'static str);

const CUT_OFF: &str = "The file is cut off or damaged: copy it again from where it came from.";
const TOO_LARGE: &str = "Cut out the part over the fields, or save it with larger pixels.";

/// A raster of numbers and where it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster {
    /// File name: the beginning of every message.
    pub name: String,
    /// Pixels in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// From pixel corners to the coordinate system, `[a, b, c, d, e, f]`: x = a column + b row + c, y = d column + e row + f.
    /// Row 0 is the first in the file, commonly the northern edge; (0, 0) is the outer corner of the first pixel.
    pub to_world: [f64; 6],
    /// `columns * rows` values, row by row; NaN for no data.
    pub values: Vec<f64>,
    /// Coordinate system the file names; none: it names none.
    pub crs: Option<Crs>,
}

impl Raster {
    /// From coordinates to pixels, the inverse of [`Raster::to_world`]; what [`read`] gives always has one.
    pub fn to_pixel(&self) -> Option<AffineTransform<f64>> {
        affine(self.to_world).inverse()
    }

    /// The four outer corners in the coordinate system, in order round the raster from the first pixel.
    pub fn corners(&self) -> [Coord<f64>; 4] {
        let (right, bottom) = (self.columns as f64, self.rows as f64);
        [(0.0, 0.0), (right, 0.0), (right, bottom), (0.0, bottom)].map(|(x, y)| affine(self.to_world).apply(Coord { x, y }))
    }

    /// The value of a pixel; none outside the raster or where there is no data.
    pub fn value(&self, column: usize, row: usize) -> Option<f64> {
        let index = (column < self.columns).then_some(row * self.columns + column)?;
        self.values.get(index).copied().filter(|value| !value.is_nan())
    }
}

/// Where a picture lies, without what is in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// From pixel corners to the coordinate system, as in [`Raster::to_world`].
    pub to_world: [f64; 6],
    /// Coordinate system that the file or a .prj beside it names; none: neither does.
    pub crs: Option<Crs>,
}

impl Placed {
    /// The place of a pixel's corner in the coordinate system.
    pub fn at(&self, column: f64, row: f64) -> Coord<f64> {
        affine(self.to_world).apply(Coord { x: column, y: row })
    }
}

/// Where a picture lies: by the tags of a GeoTIFF, or by the world file beside it. None if there is an error in `problems`.
pub fn placed(path: &Path, problems: &mut Problems) -> Option<Placed> {
    let bytes = files::bytes(path, problems)?;
    let found = if tiff_header::is_tiff(&bytes) { geotiff::place(path, &bytes, problems) } else { beside(path, problems) };
    found.map_err(|(what, hint)| problems.error(files::file_name(path), what, hint)).ok()
}

fn beside(path: &Path, problems: &mut Problems) -> Result<Placed, Fault> {
    let to_world = world::beside(path, problems)?.ok_or_else(|| {
        let hint = "Copy its world file (.pgw, .jgw or .tfw) of the same name beside it.";
        ("it does not say where on the ground it lies.".to_owned(), hint)
    })?;
    Ok(Placed { to_world, crs: prj::beside(path, problems) })
}

/// Reads a file. None if there is an error in `problems`.
pub fn read(path: &Path, problems: &mut Problems) -> Option<Raster> {
    let bytes = files::bytes(path, problems)?;
    read_bytes(path, bytes, problems)
}

/// Reads the bytes of a file of this name; a .prj or a world file beside it counts. None if there is an error in `problems`.
pub fn read_bytes(path: &Path, mut bytes: Vec<u8>, problems: &mut Problems) -> Option<Raster> {
    let mut found = Problems::new();
    let place = files::file_name(path);
    let raster = if tiff_header::is_tiff(&bytes) {
        geotiff::read(path, &place, &mut bytes, &mut found)
    } else if ascii_grid::is_grid(&bytes) {
        ascii_grid::read(path, &place, &bytes, &mut found)
    } else {
        Err(not_a_raster(path))
    };
    let raster = raster.map_err(|(what, hint)| found.error(place, what, hint)).ok().filter(|_| !found.has_errors());
    problems.extend(found);
    raster
}

fn not_a_raster(path: &Path) -> Fault {
    let extension = path.extension().map(|extension| extension.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    match extension.as_str() {
        "tif" | "tiff" => ("it is no TIFF: it does not begin as one.".to_owned(), CUT_OFF),
        "asc" => ("it is no ESRI ASCII grid: it does not begin with ncols, nrows and the like.".to_owned(), CUT_OFF),
        _ => ("this kind of raster is not read.".to_owned(), "Give a GeoTIFF (.tif, .tiff) or an ESRI ASCII grid (.asc)."),
    }
}

/// Columns and rows as sizes, if a raster may be that large.
fn size(columns: u64, rows: u64) -> Result<(usize, usize), Fault> {
    if columns == 0 || rows == 0 {
        return Err((format!("it is {columns} pixels wide and {rows} high, so it holds nothing."), CUT_OFF));
    }
    if columns.checked_mul(rows).is_none_or(|pixels| pixels > MOST_PIXELS) {
        let most = MOST_PIXELS / 1_000_000;
        return Err((format!("it is {columns} pixels wide and {rows} high; {most} million are read at most."), TOO_LARGE));
    }
    Ok((columns as usize, rows as usize))
}

fn affine([a, b, c, d, e, f]: [f64; 6]) -> AffineTransform<f64> {
    AffineTransform::new(a, b, c, d, e, f)
}

/// The transformation, if it is one: finite, and with pixels that cover ground.
fn usable(to_world: [f64; 6]) -> Result<[f64; 6], Fault> {
    let inverse = affine(to_world).inverse();
    let inverse = inverse.map(|it| [it.a(), it.b(), it.xoff(), it.d(), it.e(), it.yoff()]);
    let finite = to_world.into_iter().chain(inverse.unwrap_or([f64::NAN; 6])).all(f64::is_finite);
    finite.then_some(to_world).ok_or_else(|| ("its pixels have no size or no place on the ground.".to_owned(), CUT_OFF))
}
