//! SVG to PNG, with the project's own typeface only, so that a picture is the same on every machine.

use std::sync::{Arc, OnceLock};

use resvg::usvg::{Options, Tree, fontdb::Database};
use resvg::{tiny_skia, usvg};

use crate::report::lettering;

/// Pixels along a side beyond which no picture is made.
const LARGEST: f64 = 20_000.0;

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
    let mut canvas = tiny_skia::Pixmap::new(width as u32, height as u32)
        .ok_or_else(|| format!("there is no picture of {width} by {height} pixels"))?;
    resvg::render(&tree, usvg::Transform::identity(), &mut canvas.as_mut());
    canvas.encode_png().map_err(|error| format!("the picture cannot be written: {error}"))
}

fn fonts() -> Arc<Database> {
    static FONTS: OnceLock<Arc<Database>> = OnceLock::new();
    let load = || {
        let mut fonts = Database::new();
        fonts.load_font_data(lettering::REGULAR.to_vec());
        fonts.load_font_data(lettering::BOLD.to_vec());
        fonts.set_sans_serif_family("Lato");
        Arc::new(fonts)
    };
    FONTS.get_or_init(load).clone()
}
