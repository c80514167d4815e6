//! The one typeface of maps, and how wide its words are.

use std::sync::OnceLock;

use ttf_parser::Face;

/// Lato Regular (SIL Open Font Licence).
pub const REGULAR: &[u8] = include_bytes!("../../../assets/fonts/Lato-Regular.ttf");
/// Lato Bold (SIL Open Font Licence).
pub const BOLD: &[u8] = include_bytes!("../../../assets/fonts/Lato-Bold.ttf");

/// Font family for SVG: Lato, or whatever sans-serif a viewer has.
pub const FAMILY: &str = "Lato, sans-serif";

fn faces() -> &'static [Option<Face<'static>>; 2] {
    static FACES: OnceLock<[Option<Face<'static>>; 2]> = OnceLock::new();
    FACES.get_or_init(|| [Face::parse(REGULAR, 0).ok(), Face::parse(BOLD, 0).ok()])
}

/// Width of a text in the unit of `size`, without kerning (which only makes it narrower).
pub fn width(words: &str, size: f64, bold: bool) -> f64 {
    let Some(face) = &faces()[usize::from(bold)] else { return 0.6 * size * words.chars().count() as f64 };
    let em = f64::from(face.units_per_em());
    let advance = |c| face.glyph_index(c).and_then(|glyph| face.glyph_hor_advance(glyph)).map_or(0.6 * em, f64::from);
    words.chars().map(advance).sum::<f64>() * size / em
}

/// The text with "?" for what the typeface has no letter for, and without characters that control.
pub fn legible(words: &str) -> String {
    let Some(face) = &faces()[0] else { return words.to_owned() };
    let has = |c: char| c == '\n' || c == '\u{a0}' || face.glyph_index(c).is_some();
    words.chars().filter(|c| *c == '\n' || !c.is_control()).map(|c| if has(c) { c } else { '?' }).collect()
}

/// The text in lines no wider than `limit`, broken at spaces.
pub fn wrapped(words: &str, size: f64, limit: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, false) <= limit => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// The text, cut with an ellipsis if it is wider than `limit`.
pub fn shortened(words: &str, size: f64, bold: bool, limit: f64) -> String {
    if width(words, size, bold) <= limit {
        return words.to_owned();
    }
    let mut kept = words.to_owned();
    while kept.pop().is_some() {
        let short = format!("{}…", kept.trim_end());
        if width(&short, size, bold) <= limit {
            return short;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_follow_the_face() {
        assert!(width("RRR", 10.0, true) > width("S", 10.0, true));
        assert!((width("aa", 10.0, false) - 2.0 * width("a", 10.0, false)).abs() < 1e-9);
        assert!(wrapped("one two three four five", 3.0, 15.0).iter().all(|line| width(line, 3.0, false) <= 15.0));
        assert!(width(&shortened("A very long title", 3.0, true, 12.0), 3.0, true) <= 12.0);
    }
}
