//! One picture that says where it lies: a GeoTIFF, or PNG, JPEG or TIFF with a world file beside it.
//!
//! Its coordinate system comes from the GeoTIFF or from a .prj beside the picture. It comes in pieces, each with a net of places, so
//! that it can be drawn true in any projection.

use std::path::Path;

use awn_core::crs::Converter;
use awn_core::formats::raster::{Placed, placed};
use awn_core::problem::Problems;
use awn_core::report::Piece;
use image::{DynamicImage, RgbaImage};
use tiff::ColorType;
use tiff::decoder::{Decoder, DecodingResult, Limits};

/// Side of a piece of the picture on the graphics card, pixels.
const PIECE: u32 = 2048;
/// A picture of more pixels is shown coarser: this many take 256 MB.
const MOST_PIXELS: u64 = 64_000_000;
/// A picture of more pixels is not read: decoding it alone would take 2 GB.
const TOO_MANY: u64 = 500_000_000;
/// Corners along a side of a piece's net.
const NET: usize = 9;

/// Reads a picture and its place; the error is a sentence for people.
pub fn read(path: &Path) -> Result<Vec<Piece>, String> {
    let mut problems = Problems::new();
    let place = placed(path, &mut problems).ok_or_else(|| {
        let first = problems.list.iter().find(|problem| !problem.what.is_empty());
        first.map_or_else(String::new, |problem| format!("{}: {} {}", problem.place, problem.what, problem.hint))
    })?;
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let image = pixels(path).map_err(|error| format!("{name} cannot be read as a picture: {error}"))?;
    pieces(&image, &place).map_err(|error| format!("{name} cannot be put in its place: {error}."))
}

/// The picture's pixels.
fn pixels(path: &Path) -> Result<RgbaImage, String> {
    let is_tiff = path.extension().is_some_and(|ending| ending.to_string_lossy().to_lowercase().starts_with("tif"));
    if is_tiff {
        return tiff_pixels(path);
    }
    let reader = image::ImageReader::open(path).and_then(image::ImageReader::with_guessed_format);
    let mut reader = reader.map_err(|error| error.to_string())?;
    let mut limits = image::Limits::default();
    limits.max_alloc = Some(4 * TOO_MANY);
    reader.limits(limits);
    reader.decode().map(DynamicImage::into_rgba8).map_err(|error| error.to_string())
}

/// Pixels of a TIFF with 8 bits to the band, grey or coloured.
fn tiff_pixels(path: &Path) -> Result<RgbaImage, String> {
    let file = std::fs::File::open(path).map_err(|error| error.to_string())?;
    let mut limits = Limits::default();
    limits.decoding_buffer_size = TOO_MANY as usize;
    limits.intermediate_buffer_size = TOO_MANY as usize;
    let decoder = Decoder::new(std::io::BufReader::new(file)).map_err(|error| error.to_string())?;
    let mut decoder = decoder.with_limits(limits);
    let (width, height) = decoder.dimensions().map_err(|error| error.to_string())?;
    if u64::from(width) * u64::from(height) > TOO_MANY {
        return Err("it is too large; cut out the part over the fields.".to_owned());
    }
    let bands = match decoder.colortype().map_err(|error| error.to_string())? {
        ColorType::Gray(8) => 1,
        ColorType::GrayA(8) => 2,
        ColorType::RGB(8) => 3,
        ColorType::RGBA(8) => 4,
        ColorType::Multiband { bit_depth: 8, num_samples } => usize::from(num_samples),
        other => {
            return Err(format!("its pixels are {other:?}; save it with 8 bits to the band, as PNG or JPEG if need be."));
        }
    };
    let DecodingResult::U8(values) = decoder.read_image().map_err(|error| error.to_string())? else {
        return Err("its pixels are not bytes.".to_owned());
    };
    let mut rgba = Vec::with_capacity(4 * width as usize * height as usize);
    for pixel in values.chunks_exact(bands) {
        match *pixel {
            [grey] => rgba.extend([grey, grey, grey, 255]),
            [grey, alpha] => rgba.extend([grey, grey, grey, alpha]),
            [red, green, blue] => rgba.extend([red, green, blue, 255]),
            // A fourth band of an aerial picture is infra-red, not alpha, unless the file says so.
            [red, green, blue, last, ..] => rgba.extend([red, green, blue, if bands == 4 { last } else { 255 }]),
            [] => {}
        }
    }
    RgbaImage::from_raw(width, height, rgba).ok_or_else(|| "it holds fewer pixels than it says.".to_owned())
}

/// Cuts a picture into pieces with their nets.
fn pieces(image: &RgbaImage, place: &Placed) -> Result<Vec<Piece>, String> {
    let crs = place.crs.as_ref().ok_or("it names no coordinate system; put its .prj file beside it")?;
    let converter = Converter::new(crs).map_err(|error| error.to_string())?;
    let count = u64::from(image.width()) * u64::from(image.height());
    // Every n-th pixel of a picture that is too large for the graphics card.
    let coarser = (1..=64).find(|n: &u32| count / u64::from(n * n) <= MOST_PIXELS).unwrap_or(64);
    let step = PIECE * coarser;
    let mut pieces = Vec::new();
    for top in (0..image.height()).step_by(step as usize) {
        for left in (0..image.width()).step_by(step as usize) {
            let (width, height) = (step.min(image.width() - left), step.min(image.height() - top));
            let columns = (left..left + width).step_by(coarser as usize);
            let rows = (top..top + height).step_by(coarser as usize);
            let size = (columns.len(), rows.len());
            let rgba = rows.flat_map(|y| columns.clone().flat_map(move |x| image.get_pixel(x, y).0)).collect();
            let mut net = Vec::with_capacity(NET * NET);
            for row in 0..NET {
                for column in 0..NET {
                    let part = |start: u32, length: u32, number: usize| {
                        f64::from(start) + f64::from(length) * number as f64 / (NET - 1) as f64
                    };
                    net.push(place.at(part(left, width, column), part(top, height, row)));
                }
            }
            converter.to_lonlat(&mut net).map_err(|error| error.to_string())?;
            pieces.push(Piece { size, rgba, net });
        }
    }
    Ok(pieces)
}

#[cfg(test)]
mod tests {
    use super::*;
    use awn_core::crs::Crs;
    use geo::Coord;

    #[test]
    fn a_picture_lies_where_its_world_file_says() {
        let folder = std::env::temp_dir().join(format!("awn-picture-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let file = folder.join("aerial.png");
        RgbaImage::from_pixel(100, 50, image::Rgba([10, 120, 30, 255])).save(&file).unwrap();
        // Pixels of 2 m; the middle of the first lies 1 m in from the corner at 500 000, 5 400 000 of UTM 31 north.
        std::fs::write(folder.join("aerial.pgw"), "2\n0\n0\n-2\n500001\n5399999\n").unwrap();
        assert!(read(&file).err().unwrap().contains("no coordinate system"));
        std::fs::write(folder.join("aerial.prj"), crs_text()).unwrap();
        let pieces = read(&file).unwrap();
        std::fs::remove_dir_all(folder).unwrap();
        assert_eq!((pieces.len(), pieces[0].size), (1, (100, 50)));
        let mut corners = [Coord { x: 500_000.0, y: 5_400_000.0 }, Coord { x: 500_200.0, y: 5_399_900.0 }];
        Converter::new(&Crs::Epsg(32_631)).unwrap().to_lonlat(&mut corners).unwrap();
        for (net, corner) in [(pieces[0].net[0], corners[0]), (pieces[0].net[NET * NET - 1], corners[1])] {
            // A degree is 111 km at most: 4e-7 of it is 4 cm.
            assert!((net.x - corner.x).abs() < 4e-7 && (net.y - corner.y).abs() < 4e-7, "{net:?} {corner:?}");
        }
    }

    /// UTM zone 31 north as written into .prj files.
    fn crs_text() -> &'static str {
        r#"PROJCS["WGS_1984_UTM_Zone_31N",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",3.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]"#
    }
}
