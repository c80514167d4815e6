//! SVG to PNG, with the project's own typeface only, so that a picture is the same on every machine.
//!
//! A sheet is drawn in bands side by side, so that a large one needs little room beside the picture itself; paper is white where
//! nothing is drawn. The picture says how many dots go to the metre (ISO/IEC 15948, 11.3.5.3), so that it prints at its size.

use std::sync::{Arc, OnceLock};

use rayon::prelude::*;
use resvg::usvg::{Options, Tree, fontdb::Database};
use resvg::{tiny_skia, usvg};

use crate::report::lettering;

/// Pixels along a side beyond which no picture is made.
const LARGEST: f64 = 20_000.0;
/// Rows of a band.
const BAND: u32 = 512;

/// Draws SVG whose lengths are mm at a resolution in dots per inch.
pub fn png(svg: &str, dpi: f64) -> Result<Vec<u8>, String> {
    if !(10.0..=2_400.0).contains(&dpi) {
        return Err(format!("{dpi} dots per inch cannot be drawn; use 10 to 2400"));
    }
    let options = Options { font_family: "Lato".to_owned(), fontdb: fonts(), dpi: dpi as f32, ..Options::default() };
    let tree = Tree::from_str(svg, &options).map_err(|error| format!("the map cannot be drawn: {error}"))?;
    let (width, height) = (f64::from(tree.size().width()).round(), f64::from(tree.size().height()).round());
    if width > LARGEST || height > LARGEST || width * height > 4e8 {
        return Err(format!(
            "a picture of {width} by {height} pixels is too large; ask for fewer dots per inch or a smaller map"
        ));
    }
    let (width, height) = ((width as u32).max(1), (height as u32).max(1));
    let mut pixels = vec![0; 3 * width as usize * height as usize];
    let bands = pixels.par_chunks_mut(3 * width as usize * BAND as usize).enumerate();
    bands.try_for_each(|(number, pixels)| band(&tree, width, number as u32 * BAND, pixels))?;
    encoded(&pixels, width, height, dpi).map_err(|error| format!("the picture cannot be written: {error}"))
}

/// Draws the rows from `top` on, three bytes a pixel.
fn band(tree: &Tree, width: u32, top: u32, pixels: &mut [u8]) -> Result<(), String> {
    let rows = (pixels.len() / (3 * width as usize)) as u32;
    let canvas = tiny_skia::Pixmap::new(width, rows);
    let mut canvas = canvas.ok_or_else(|| format!("there is no picture of {width} by {rows} pixels"))?;
    canvas.fill(tiny_skia::Color::WHITE);
    resvg::render(tree, usvg::Transform::from_translate(0.0, -(top as f32)), &mut canvas.as_mut());
    for (to, from) in pixels.chunks_exact_mut(3).zip(canvas.data().chunks_exact(4)) {
        to.copy_from_slice(&from[..3]);
    }
    Ok(())
}

fn encoded(pixels: &[u8], width: u32, height: u32, dpi: f64) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Fast);
    // Most rows of a map are as the one above; to try every filter on every row would take as long as all the rest.
    encoder.set_filter(png::Filter::Up);
    let a_metre = (dpi / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: a_metre, yppu: a_metre, unit: png::Unit::Meter }));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(pixels)?;
    writer.finish()?;
    Ok(bytes)
}

fn fonts() -> Arc<Database> {
    static FONTS: OnceLock<Arc<Database>> = OnceLock::new();
    let load = || {
        let mut fonts = Database::new();
        fonts.load_font_data(lettering::REGULAR.to_vec());
        fonts.load_font_data(lettering::BOLD.to_vec());
        fonts.load_font_data(lettering::FALLBACK.to_vec());
        fonts.set_sans_serif_family("Lato");
        Arc::new(fonts)
    };
    FONTS.get_or_init(load).clone()
}
