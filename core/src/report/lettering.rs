//! The one typeface of maps, and how wide its words are.

use std::sync::OnceLock;

use ttf_parser::Face;

/// Lato Regular (SIL Open Font Licence).
pub const REGULAR: &[u8] = include_bytes!("../../../assets/fonts/Lato-Regular.ttf");
/// Lato Bold (SIL Open Font Licence).
pub const BOLD: &[u8] = include_bytes!("../../../assets/fonts/Lato-Bold.ttf");

/// Letters that Lato lacks, mostly Chinese, Japanese and Korean: Droid Sans Fallback (Apache License 2.0).
pub const FALLBACK: &[u8] = include_bytes!("../../../assets/fonts/DroidSansFallback.ttf");

/// Font family for SVG: Lato, or whatever sans-serif a viewer has.
pub const FAMILY: &str = "Lato, sans-serif";

/// Regular, bold, and what stands in for both.
fn faces() -> &'static [Option<Face<'static>>; 3] {
    static FACES: OnceLock<[Option<Face<'static>>; 3]> = OnceLock::new();
    FACES.get_or_init(|| [REGULAR, BOLD, FALLBACK].map(|bytes| Face::parse(bytes, 0).ok()))
}

/// Width of a text in the unit of `size`, without kerning (which only makes it narrower).
pub fn width(words: &str, size: f64, bold: bool) -> f64 {
    let advance_in = |number: usize, c: char| {
        let face = faces()[number].as_ref()?;
        let advance = face.glyph_hor_advance(face.glyph_index(c)?)?;
        Some(f64::from(advance) / f64::from(face.units_per_em()))
    };
    let advance = |c| advance_in(usize::from(bold), c).or_else(|| advance_in(2, c)).unwrap_or(0.6);
    words.chars().map(advance).sum::<f64>() * size
}

/// Whether there is a letter for a character.
fn has(c: char) -> bool {
    let drawn = |number: usize| faces()[number].as_ref().is_some_and(|face| face.glyph_index(c).is_some());
    c == '\n' || c == '\u{a0}' || drawn(0) || drawn(2)
}

/// The text with "?" for what the typeface has no letter for, and without characters that control.
pub fn legible(words: &str) -> String {
    words.chars().filter(|c| *c == '\n' || !c.is_control()).map(|c| if has(c) { c } else { '?' }).collect()
}

/// Whether [`legible`] puts "?" somewhere.
pub fn lacks_letters(words: &str) -> bool {
    words.chars().any(|c| !c.is_control() && !has(c))
}

/// A sentence about texts in which "?" stands for letters; none if there are no such texts.
pub fn unprintable<'a>(texts: impl IntoIterator<Item = &'a str>) -> Option<String> {
    const NAMED: usize = 6;
    let found: std::collections::BTreeSet<&str> = texts.into_iter().filter(|text| lacks_letters(text)).collect();
    if found.is_empty() {
        return None;
    }
    let mut named: Vec<String> =
        found.iter().take(NAMED).map(|text| format!("“{}”", shortened(text, 1.0, false, 30.0))).collect();
    if found.len() > NAMED {
        named.push(format!("{} more", found.len() - NAMED));
    }
    Some(format!(
        "“?” stands for letters that the typeface does not have (it has Latin, Greek, Cyrillic, Chinese, Japanese and Korean): {}.",
        named.join(", ")
    ))
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
    fn letters_of_many_scripts_are_printed_and_others_named() {
        // Names for one field in Polish, Greek, Russian, Chinese, Japanese, Korean; then Arabic, Hebrew, Devanagari.
        for name in ["Długie Pole", "Μακρύ", "Длинное", "长田", "ながい畑", "긴밭"] {
            assert_eq!((legible(name), unprintable([name])), (name.to_owned(), None));
        }
        for name in ["حقل", "שדה", "खेत"] {
            assert!(legible(name).starts_with("???"));
            assert!(unprintable(["Long Acre", name]).is_some_and(|said| said.contains(name) && !said.contains("Long")));
        }
    }

    #[test]
    fn widths_follow_the_face() {
        assert!(width("RRR", 10.0, true) > width("S", 10.0, true));
        assert!((width("aa", 10.0, false) - 2.0 * width("a", 10.0, false)).abs() < 1e-9);
        assert!(wrapped("one two three four five", 3.0, 15.0).iter().all(|line| width(line, 3.0, false) <= 15.0));
        assert!(width(&shortened("A very long title", 3.0, true, 12.0), 3.0, true) <= 12.0);
    }
}
