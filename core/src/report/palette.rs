//! The colours of maps, red, green, blue. Strong colour belongs to data alone.
//!
//! Contrast of text was computed by WCAG 2.1. Tests hold steps between classes to a least CIEDE2000 distance under simulated
//! protan, deutan and tritan vision, and their order in grey.

/// A colour: red, green, blue.
pub type Rgb = [u8; 3];

/// Paper of maps and the window.
pub const GROUND: Rgb = [0xf5, 0xf1, 0xe6];
/// Cards and panels.
pub const PANEL: Rgb = [0xfb, 0xf9, 0xf3];
/// Fields without a class.
pub const RAISED: Rgb = [0xff, 0xff, 0xff];
/// Lines that only part things.
pub const LINE: Rgb = [0xd8, 0xd2, 0xc0];
/// Text and outlines.
pub const INK: Rgb = [0x23, 0x26, 0x1f];
/// Text on middling colours, where ink is too light.
pub const BLACK: Rgb = [0, 0, 0];
/// Secondary text, tramlines.
pub const MUTED: Rgb = [0x5f, 0x63, 0x57];

/// Ratings, best first: S, R?, RR, RRR.
pub const RATING: [Rgb; 4] = [[0xf0, 0xe9, 0xc0], [0xf2, 0xb9, 0x5a], [0xd9, 0x5f, 0x19], [0x7f, 0x1f, 0x29]];
/// Harvests since the last test: this one, 1, 2, 3, 4, at or past the interval.
pub const AGE: [Rgb; 6] =
    [[0x0b, 0x35, 0x5d], [0x1a, 0x5d, 0x8b], [0x3a, 0x84, 0xa8], [0x66, 0xa9, 0xbd], [0x9a, 0xcd, 0xd6], [0xe2, 0xf4, 0xf3]];
/// Density classes, lowest first.
pub const DENSITY: [Rgb; 5] =
    [[0xed, 0xf5, 0xe7], [0xb8, 0xda, 0xa5], [0x69, 0xb2, 0x7a], [0x20, 0x7e, 0x5d], [0x00, 0x49, 0x3e]];
/// Control left of a programme, the most first: A (95 % and more) to E (less than half).
pub const CONTROL_LEFT: [Rgb; 5] =
    [[0xf2, 0xee, 0xf7], [0xcf, 0xbc, 0xe2], [0xa4, 0x80, 0xc4], [0x75, 0x47, 0x9b], [0x3c, 0x14, 0x5e]];
/// Money at risk a hectare, the least first: A to E.
pub const AT_RISK: [Rgb; 5] =
    [[0xf4, 0xec, 0xe2], [0xdd, 0xc0, 0xa2], [0xb9, 0x8a, 0x61], [0x86, 0x55, 0x30], [0x45, 0x25, 0x0c]];
/// Water and other ground in a background of vectors.
pub const WATER: Rgb = [0xd3, 0xdf, 0xe2];
/// See [`WATER`].
pub const COUNTRY: Rgb = [0xe6, 0xe4, 0xd2];
/// Fields due a test.
pub const DUE: Rgb = RATING[1];

/// Ink, white or black on a colour: ink where small letters can be read in it (4.5 to 1, WCAG 2.1, criterion 1.4.3), otherwise
/// the easier of the other two. Black or white is always readable: on no colour do both fall below 4.58.
pub fn text_on(colour: Rgb) -> Rgb {
    if contrast(colour, INK) >= 4.5 {
        INK
    } else if contrast(colour, BLACK) >= contrast(colour, RAISED) {
        BLACK
    } else {
        RAISED
    }
}

/// Contrast ratio of two colours, 1 to 21 (WCAG 2.1, relative luminance of sRGB).
pub fn contrast(a: Rgb, b: Rgb) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn luminance(colour: Rgb) -> f64 {
    let linear = |channel: u8| {
        let c = f64::from(channel) / 255.0;
        if c <= 0.03928 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
    };
    0.2126 * linear(colour[0]) + 0.7152 * linear(colour[1]) + 0.0722 * linear(colour[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_can_be_read_on_every_class() {
        // WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for small letters.
        for colour in
            RATING.into_iter().chain(AGE).chain(DENSITY).chain(CONTROL_LEFT).chain(AT_RISK).chain([GROUND, PANEL, RAISED])
        {
            let ratio = contrast(colour, text_on(colour));
            assert!(ratio >= 4.5, "{colour:?}: {ratio}");
        }
        assert_eq!(text_on(RATING[3]), RAISED);
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    }
}
