//! What stands round a map: title, scale bar, north mark, sources, the word of caution.

use geo::Coord;

use jiff::civil::Date;

use crate::report::classes::Key;
use crate::report::svg::{self, Anchor, Type};
use crate::report::{lettering, palette};

/// Size of small letters, and the distance of their lines, mm.
pub const TEXT: f64 = 2.9;
/// See [`TEXT`].
pub const LINE: f64 = 3.9;

/// The sentence under every map.
pub const CAUTION: &str = "A rating describes the plants that were tested. It is no recommendation: the product label and a \
                           qualified adviser decide.";

/// Plain letters of a size.
pub fn plain(size: f64, anchor: Anchor) -> Type {
    Type { size, bold: false, colour: palette::INK, anchor }
}

/// A place on paper.
pub fn at(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

/// Title and what it belongs to, from the top left corner.
pub fn heading(title: &str, belongs: &str, margin: f64, width: f64) -> String {
    let title = lettering::shortened(title, 6.4, true, width - 2.0 * margin);
    let look = Type { size: 6.4, bold: true, colour: palette::INK, anchor: Anchor::Start };
    let below = Type { size: 3.4, bold: false, colour: palette::MUTED, anchor: Anchor::Start };
    svg::text(at(margin, margin + 5.4), look, &title) + &svg::text(at(margin, margin + 10.6), below, belongs)
}

/// What lengths on the paper are, one sentence.
pub const TRUE_ON_THE_GROUND: &str =
    "Lengths and areas are true on the ground (WGS 84, transverse Mercator about each map).";

/// The day of the drawing, one sentence.
pub fn drawn_on(date: Option<Date>) -> Option<String> {
    date.map(|date| format!("Drawn on {}.", date.strftime("%-d %B %Y")))
}

/// Sources and date, and the word of caution, at the foot; lines from top to bottom.
pub fn foot_lines(key: &Key, credit: Option<&str>, date: Option<Date>, width: f64) -> Vec<(String, bool)> {
    let mut said = key.sources.clone();
    said.extend(credit.map(|credit| format!("Background: {}.", credit.trim_end_matches('.'))));
    said.push(TRUE_ON_THE_GROUND.to_owned());
    said.extend(drawn_on(date));
    let text = said.join(" ");
    let mut lines: Vec<_> = lettering::wrapped(&text, TEXT, width).into_iter().map(|line| (line, false)).collect();
    lines.extend(lettering::wrapped(CAUTION, TEXT * 1.08, width).into_iter().map(|line| (line, true)));
    lines
}

/// Height of the foot, mm.
pub fn foot_height(lines: &[(String, bool)]) -> f64 {
    lines.len() as f64 * LINE + 3.0
}

/// The foot as SVG.
pub fn foot(lines: &[(String, bool)], left: f64, top: f64, width: f64) -> String {
    let rule = svg::points(&[at(left, top), at(left + width, top)], false);
    let mut out = svg::stroke(&rule, 0.2, palette::LINE, "");
    for (number, (line, bold)) in lines.iter().enumerate() {
        let look = Type { bold: *bold, ..plain(TEXT, Anchor::Start) };
        out.push_str(&svg::text(at(left, top + LINE * (number as f64 + 1.0)), look, line));
    }
    out
}

/// A round length of ground, m: 1, 2 or 5 times a power of ten, not longer than `limit_m`.
pub fn round_length(limit_m: f64) -> f64 {
    let mut best = 1e-3;
    for power in -3..7 {
        for digit in [1.0, 2.0, 5.0] {
            let length = digit * libm::pow(10.0, f64::from(power));
            if length <= limit_m {
                best = length;
            }
        }
    }
    best
}

/// Scale bar with its left end at a position, and the scale in figures. `paper`: mm of true paper for a mm of the drawing.
pub fn scale_bar(mm_per_m: f64, paper: f64, left: Coord<f64>, room: f64) -> String {
    let metres = round_length(room / mm_per_m);
    let length = metres * mm_per_m;
    let bar = svg::points(&[left, at(left.x + length, left.y)], false);
    let half = svg::points(&[left, at(left.x + length / 2.0, left.y)], false);
    let ticks: String = [0.0, 0.5, 1.0]
        .iter()
        .map(|t| svg::points(&[at(left.x + length * t, left.y - 1.3), at(left.x + length * t, left.y + 0.5)], false))
        .collect();
    let look = plain(2.7, Anchor::Middle);
    let scale = 1000.0 / (mm_per_m * paper);
    let step = libm::pow(10.0, libm::floor(libm::log10(scale)) - 2.0);
    let scale = (scale / step).round() * step;
    let muted = Type { colour: palette::MUTED, ..plain(2.6, Anchor::Start) };
    svg::stroke(&bar, 0.3, palette::INK, &format!("class=\"scale-bar\" data-metres=\"{metres}\""))
        + &svg::stroke(&half, 1.0, palette::INK, "")
        + &svg::stroke(&ticks, 0.3, palette::INK, "")
        + &svg::text(at(left.x, left.y - 2.2), look, "0")
        + &svg::text(at(left.x + length, left.y - 2.2), look, &length_words(metres))
        + &svg::text(at(left.x, left.y + 4.6), muted, &format!("about 1:{}", thousands(scale)))
}

fn length_words(metres: f64) -> String {
    if metres >= 1000.0 { format!("{} km", metres / 1000.0) } else { format!("{metres} m") }
}

fn thousands(value: f64) -> String {
    let digits = format!("{value:.0}");
    let mut grouped = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            grouped.push(',');
        }
        grouped.push(c);
    }
    grouped
}

/// North mark round a middle.
pub fn north(middle: Coord<f64>) -> String {
    let needle = svg::points(
        &[
            at(middle.x, middle.y - 5.0),
            at(middle.x + 1.7, middle.y + 3.0),
            at(middle.x, middle.y + 1.6),
            at(middle.x - 1.7, middle.y + 3.0),
        ],
        true,
    );
    let look = Type { bold: true, ..plain(3.0, Anchor::Middle) };
    format!("<path class=\"north\" d=\"{needle}\" fill=\"{}\"/>\n", svg::colour(palette::INK))
        + &svg::text(at(middle.x, middle.y + 6.6), look, "N")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_lengths() {
        assert_eq!([9.0, 10.0, 49.0, 777.0, 2_400.0].map(round_length), [5.0, 10.0, 20.0, 500.0, 2_000.0]);
        assert_eq!(thousands(1_234_567.0), "1,234,567");
    }
}
