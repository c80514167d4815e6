//! What stands round a map: title, legend card, scale bar, north mark, sources, the word of caution.

use geo::Coord;

use crate::report::classes::{Class, Key, Over};
use crate::report::svg::{self, Anchor, Box, Type};
use crate::report::{lettering, palette, patterns};
use crate::units;

/// Width of the legend card, mm.
pub const CARD_MM: f64 = 78.0;
/// Space inside the card, mm.
const PAD: f64 = 4.0;
const TEXT: f64 = 2.9;
const LINE: f64 = 3.9;
const SWATCH: (f64, f64) = (9.0, 5.4);

/// The sentence under every map.
pub const CAUTION: &str = "A rating describes the plants that were tested. It is no recommendation: the product label and a \
                           qualified adviser decide.";

fn plain(size: f64, anchor: Anchor) -> Type {
    Type { size, bold: false, colour: palette::INK, anchor }
}

fn at(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

/// Title and what it belongs to, from the top left corner.
pub fn heading(title: &str, belongs: &str, margin: f64, width: f64) -> String {
    let title = lettering::shortened(title, 6.4, true, width - 2.0 * margin);
    let look = Type { size: 6.4, bold: true, colour: palette::INK, anchor: Anchor::Start };
    let below = Type { size: 3.4, bold: false, colour: palette::MUTED, anchor: Anchor::Start };
    svg::text(at(margin, margin + 5.4), look, &title) + &svg::text(at(margin, margin + 10.6), below, belongs)
}

/// Sources, and the word of caution, at the foot; lines from top to bottom.
pub fn foot_lines(key: &Key, width: f64) -> Vec<(String, bool)> {
    let text =
        key.sources.join(" ") + " Lengths and areas are true on the ground (WGS 84, transverse Mercator about each map).";
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

/// Further signs on the map that the legend explains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// Gates.
    Gate,
    /// Areas without stops.
    NoGo,
    /// Stops, walk and patches.
    Plan,
    /// Tramlines.
    Tramline,
}

/// The legend card; returns it and its height.
pub fn legend(key: &Key, signs: &[Sign], corner: Coord<f64>) -> (String, f64) {
    let mut rows = String::new();
    let right = corner.x + CARD_MM - PAD;
    let left = corner.x + PAD;
    let head = Type { bold: true, ..plain(3.4, Anchor::Start) };
    let small = |anchor| Type { colour: palette::MUTED, ..plain(2.6, anchor) };
    let mut y = corner.y + PAD + 3.0;
    rows.push_str(&svg::text(at(left, y), head, &key.heading));
    y += 4.6;
    rows.push_str(&svg::text(at(right - 13.0, y), small(Anchor::End), key.count_heading));
    rows.push_str(&svg::text(at(right, y), small(Anchor::End), "ha"));
    y += 2.0;
    for class in &key.classes {
        y += class_row(&mut rows, class, left, right, y);
    }
    for (over, label) in &key.overlays {
        y += overlay_row(&mut rows, *over, label, left, y);
    }
    for sign in signs {
        y += sign_row(&mut rows, *sign, left, y);
    }
    let card = Box { x: corner.x, y: corner.y, width: CARD_MM, height: y - corner.y + PAD - 1.5 };
    let frame = svg::points(
        &[
            at(card.x, card.y),
            at(card.x + card.width, card.y),
            at(card.x + card.width, card.y + card.height),
            at(card.x, card.y + card.height),
        ],
        true,
    );
    let back = svg::rect(card, 0.0, palette::PANEL) + &svg::stroke(&frame, 0.2, palette::LINE, "");
    (format!("<g class=\"legend\">\n{back}{rows}</g>\n"), card.height)
}

/// One class: swatch with its letter, words, number of fields, hectares. Returns its height.
fn class_row(out: &mut String, class: &Class, left: f64, right: f64, y: f64) -> f64 {
    let lines = lettering::wrapped(&class.label, TEXT, right - left - SWATCH.0 - 3.0 - 22.0);
    let height = (lines.len() as f64 * LINE).max(SWATCH.1) + 1.5;
    let ha = units::ha(class.area_m2);
    out.push_str(&format!(
        "<g class=\"legend-row\" data-class=\"{}\" data-mark=\"{}\" data-fields=\"{}\" data-ha=\"{ha}\">\n",
        svg::escaped(&class.label),
        svg::escaped(&class.mark),
        class.fields
    ));
    let swatch = Box { x: left, y, width: SWATCH.0, height: SWATCH.1 };
    out.push_str(&swatch_svg(swatch, class.colour, class.over, class.dotted));
    let size = (2.9 * 8.0 / lettering::width(&class.mark, 2.9, true).max(8.0)).min(2.9);
    if class.over != Over::Nothing {
        let width = lettering::width(&class.mark, size, true) + 0.8;
        let backing = Box { x: left + (SWATCH.0 - width) / 2.0, y: y + 1.1, width, height: SWATCH.1 - 2.2 };
        out.push_str(&svg::rect(backing, 0.4, class.colour));
    }
    let mark = Type { size, bold: true, colour: palette::text_on(class.colour), anchor: Anchor::Middle };
    out.push_str(&svg::text(at(left + SWATCH.0 / 2.0, y + SWATCH.1 / 2.0 + size * 0.36), mark, &class.mark));
    words(out, &lines, left + SWATCH.0 + 3.0, y);
    out.push_str(&svg::text(at(right - 13.0, y + 3.7), plain(TEXT, Anchor::End), &class.fields.to_string()));
    out.push_str(&svg::text(at(right, y + 3.7), plain(TEXT, Anchor::End), &ha));
    out.push_str("</g>\n");
    height
}

fn swatch_svg(b: Box, colour: palette::Rgb, over: Over, dotted: bool) -> String {
    let mut out = svg::rect(b, 0.0, colour);
    let corners = [at(b.x, b.y), at(b.x + b.width, b.y), at(b.x + b.width, b.y + b.height), at(b.x, b.y + b.height)];
    let path = svg::points(&corners, true);
    if let Some(pattern) = patterns::over(over, colour) {
        out.push_str(&format!("<path d=\"{path}\" fill=\"{pattern}\"/>\n"));
    }
    let (width, dots) = if dotted { (0.5, "stroke-dasharray=\"0.10 0.90\" stroke-linecap=\"round\"") } else { (0.25, "") };
    out + &svg::stroke(&path, width, palette::INK, dots)
}

fn words(out: &mut String, lines: &[String], x: f64, y: f64) {
    for (number, line) in lines.iter().enumerate() {
        out.push_str(&svg::text(at(x, y + 3.7 + LINE * number as f64), plain(TEXT, Anchor::Start), line));
    }
}

fn overlay_row(out: &mut String, over: Over, label: &str, left: f64, y: f64) -> f64 {
    let swatch = Box { x: left, y, width: SWATCH.0, height: SWATCH.1 };
    out.push_str(&swatch_svg(swatch, palette::RAISED, over, false));
    words(out, &[label.to_owned()], left + SWATCH.0 + 3.0, y);
    SWATCH.1 + 1.5
}

fn sign_row(out: &mut String, sign: Sign, left: f64, y: f64) -> f64 {
    let middle = at(left + SWATCH.0 / 2.0, y + SWATCH.1 / 2.0);
    let flat = |half: f64| svg::points(&[at(middle.x - half, middle.y), at(middle.x + half, middle.y)], false);
    let label = match sign {
        Sign::Gate => {
            out.push_str(&svg::stroke(&flat(4.5), 0.32, palette::INK, ""));
            out.push_str(&svg::stroke(&flat(1.1), 0.7, palette::RAISED, ""));
            let post = |x: f64| svg::points(&[at(x, middle.y - 0.9), at(x, middle.y + 0.9)], false);
            let posts = post(middle.x - 1.1) + &post(middle.x + 1.1);
            out.push_str(&svg::stroke(&posts, 0.38, palette::INK, "stroke-linecap=\"round\""));
            "gate"
        }
        Sign::NoGo => {
            let b = Box { x: left, y: y + 0.7, width: SWATCH.0, height: SWATCH.1 - 1.4 };
            let corners = [at(b.x, b.y), at(b.x + b.width, b.y), at(b.x + b.width, b.y + b.height), at(b.x, b.y + b.height)];
            out.push_str(&format!("<path d=\"{}\" fill=\"url(#no-go)\"/>\n", svg::points(&corners, true)));
            "no stops here"
        }
        Sign::Tramline => {
            out.push_str(&svg::stroke(&flat(4.5), 0.13, palette::MUTED, ""));
            "tramlines; headland pass dashed"
        }
        Sign::Plan => {
            out.push_str(&svg::stroke(&flat(4.5), 0.5, palette::INK, ""));
            let (x, y) = (svg::number(middle.x), svg::number(middle.y));
            let (fill, ink) = (svg::colour(palette::RAISED), svg::colour(palette::INK));
            out.push_str(&format!(
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"1.90\" fill=\"{fill}\" stroke=\"{ink}\" stroke-width=\"0.30\"/>\n"
            ));
            let band = format!("M{x} {}A1.50 1.50 0 0 1 {} {y}", svg::number(middle.y - 1.5), svg::number(middle.x + 1.5));
            out.push_str(&svg::stroke(&band, 0.6, palette::MUTED, ""));
            "walk and stops; band: share of the seed"
        }
    };
    words(out, &[label.to_owned()], left + SWATCH.0 + 3.0, y);
    SWATCH.1 + 1.0
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
