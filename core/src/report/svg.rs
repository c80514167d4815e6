//! Writing SVG text: numbers with two decimals, escaped text, paths. Lengths are mm of paper.

use std::fmt::Write as _;

use geo::{Coord, LineString, MultiPolygon};

use crate::report::lettering;
use crate::report::palette::{self, Rgb};

/// A number with two decimals, never "-0.00".
pub fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    if text == "-0.00" { "0.00".to_owned() } else { text }
}

/// A colour as `#rrggbb`.
pub fn colour(rgb: Rgb) -> String {
    format!("#{:02x}{:02x}{:02x}", rgb[0], rgb[1], rgb[2])
}

/// Text with the characters escaped that XML needs for itself; control characters become spaces.
pub fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => safe.push(' '),
            c => safe.push(c),
        }
    }
    safe
}

/// Path data of a line.
pub fn line_path(line: &LineString<f64>) -> String {
    points(&line.0, false)
}

/// Path data of a shape with its holes; fill it with the even-odd rule.
pub fn shape_path(shape: &MultiPolygon<f64>) -> String {
    let rings = shape.iter().flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    rings.map(|ring| points(&ring.0[..ring.0.len().saturating_sub(1)], true)).collect()
}

/// Path data of a closed ring or an open line.
pub fn points(points: &[Coord<f64>], closed: bool) -> String {
    let mut data = String::new();
    for (i, p) in points.iter().enumerate() {
        let _ = write!(data, "{}{} {}", if i == 0 { "M" } else { "L" }, number(p.x), number(p.y));
    }
    if closed && !points.is_empty() {
        data.push('Z');
    }
    data
}

/// A box on paper, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Box {
    /// Left.
    pub x: f64,
    /// Top.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Box {
    /// Whether two boxes share any room.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.x < other.x + other.width
            && other.x < self.x + self.width
            && self.y < other.y + other.height
            && other.y < self.y + self.height
    }
}

/// A filled box with rounded corners.
pub fn rect(b: Box, radius: f64, fill: Rgb) -> String {
    let [x, y, width, height] = [b.x, b.y, b.width, b.height].map(number);
    let (radius, fill) = (number(radius), colour(fill));
    format!(
        "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" rx=\"{radius}\" fill=\"{fill}\" stroke=\"none\"/>\n"
    )
}

/// A stroked path without fill; `more` holds further attributes.
pub fn stroke(data: &str, width: f64, ink: Rgb, more: &str) -> String {
    format!("<path d=\"{data}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" {more}/>\n", colour(ink), number(width))
}

/// A place that was scouted: a disc where the weed was found, an open ring where none was.
pub fn find(at: Coord<f64>, value: f64) -> String {
    let (x, y, ink) = (number(at.x), number(at.y), colour(palette::INK));
    if value > 0.0 {
        format!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"0.55\" fill=\"{ink}\" stroke=\"{}\" stroke-width=\"0.20\"/>\n",
            colour(palette::GROUND)
        )
    } else {
        format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"0.50\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"0.20\"/>\n")
    }
}

/// Where a text's given position is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// At its left end.
    Start,
    /// At its middle.
    Middle,
    /// At its right end.
    End,
}

/// How a text looks.
#[derive(Debug, Clone, Copy)]
pub struct Type {
    /// Size, mm.
    pub size: f64,
    /// Bold or regular.
    pub bold: bool,
    /// Colour.
    pub colour: Rgb,
    /// Where its position is.
    pub anchor: Anchor,
}

/// A text element on its base line.
pub fn text(at: Coord<f64>, look: Type, words: &str) -> String {
    let anchor = match look.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let weight = if look.bold { " font-weight=\"700\"" } else { "" };
    format!(
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{weight} text-anchor=\"{anchor}\" fill=\"{}\">{}</text>\n",
        number(at.x),
        number(at.y),
        number(look.size),
        colour(look.colour),
        escaped(&lettering::legible(words))
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_two_decimals_and_no_negative_nought() {
        assert_eq!((number(-0.001), number(1.0), number(-2.345)), ("0.00".into(), "1.00".into(), "-2.35".into()));
    }

    #[test]
    fn text_is_safe() {
        assert_eq!(escaped("a<b & \"c\"\u{0}"), "a&lt;b &amp; &quot;c&quot; ");
    }
}
