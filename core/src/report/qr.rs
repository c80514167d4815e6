//! A sample's code as a QR code (ISO/IEC 18004), drawn as SVG with the quiet zone of four modules that the standard asks for.

use std::fmt::Write as _;

use qrcode::{Color, EcLevel, QrCode};

use crate::report::{palette, svg};

/// Quiet zone on each side, modules (ISO/IEC 18004).
const QUIET: usize = 4;

/// The SVG; none if the text is too long for a code.
pub fn qr_svg(text: &str) -> Option<String> {
    // Level M still reads with about 15 % of it dirty or torn.
    let code = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::M).ok()?;
    let width = code.width();
    let colours = code.to_colors();
    let mut path = String::new();
    for (y, row) in colours.chunks(width).enumerate() {
        let mut x = 0;
        while x < width {
            let from = x;
            while x < width && row.get(x) == Some(&Color::Dark) {
                x += 1;
            }
            if x > from {
                let _ = write!(path, "M{} {}h{}v1h-{}z", from + QUIET, y + QUIET, x - from, x - from);
            }
            x += 1;
        }
    }
    let side = width + 2 * QUIET;
    let (dark, light) = (svg::colour(palette::BLACK), svg::colour(palette::RAISED));
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\" shape-rendering=\"crispEdges\">\
         <rect width=\"{side}\" height=\"{side}\" fill=\"{light}\"/><path d=\"{path}\" fill=\"{dark}\"/></svg>"
    ))
}
