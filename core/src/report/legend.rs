//! The legend: classes worst first with fields and hectares, what patterns mean, and the signs on the map.

use geo::Coord;

use crate::report::classes::{Class, Key, Over};
use crate::report::furniture::{LINE, TEXT, at, plain};
use crate::report::svg::{self, Anchor, Box, Type};
use crate::report::{lettering, palette, patterns};
use crate::units;

/// Width of the legend card of one column, mm.
pub const CARD_MM: f64 = 78.0;
/// Width of a column of a card with more: what stands beside the card needs room too.
const COLUMN_MM: f64 = 68.0;
/// Space inside the card, mm.
const PAD: f64 = 4.0;
const SWATCH: (f64, f64) = (9.0, 5.4);

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
    /// Scouting points and zones.
    Scouting,
    /// The drive of a day.
    Round,
    /// Walks as walked.
    Walked,
}

/// A row of the card.
enum Line<'a> {
    Class(&'a Class),
    Overlay(Over, &'a str),
    Sign(Sign),
}

impl Line<'_> {
    /// Its height in a column of a width, mm.
    fn height(&self, column: f64) -> f64 {
        match self {
            Self::Class(class) => (words_of(class, column).len() as f64 * LINE).max(SWATCH.1) + 1.5,
            Self::Overlay(..) => SWATCH.1 + 1.5,
            Self::Sign(_) => SWATCH.1 + 1.0,
        }
    }
}

/// The card's width in a number of columns, mm.
pub fn width(columns: usize) -> f64 {
    column_width(columns) * columns.max(1) as f64
}

fn column_width(columns: usize) -> f64 {
    if columns > 1 { COLUMN_MM } else { CARD_MM }
}

/// The legend card in one or more columns of rows; returns it and its height.
pub fn legend(key: &Key, signs: &[Sign], corner: Coord<f64>, columns: usize) -> (String, f64) {
    let mut lines: Vec<Line<'_>> = key.classes.iter().map(Line::Class).collect();
    lines.extend(key.overlays.iter().map(|(over, label)| Line::Overlay(*over, label)));
    lines.extend(signs.iter().map(|sign| Line::Sign(*sign)));
    let wide = column_width(columns);
    let broken = in_columns(lines, columns.max(1), wide);
    let left = corner.x + PAD;
    let head = Type { bold: true, ..plain(3.4, Anchor::Start) };
    let room = width(columns) - 2.0 * PAD;
    let mut rows = String::new();
    let mut top = corner.y + PAD + 3.0;
    for line in lettering::wrapped(&key.heading, 3.55, room) {
        rows.push_str(&svg::text(at(left, top), head, &line));
        top += 4.6;
    }
    let mut bottom = top;
    for (number, column) in broken.iter().enumerate() {
        let left = left + wide * number as f64;
        let right = left + wide - 2.0 * PAD;
        let mut y = top;
        if column.iter().any(|line| matches!(line, Line::Class(_))) {
            let small = Type { colour: palette::MUTED, ..plain(2.6, Anchor::End) };
            rows.push_str(&svg::text(at(right - 13.0, y), small, key.count_heading));
            rows.push_str(&svg::text(at(right, y), small, "ha"));
            y += 2.0;
        }
        for line in column {
            match line {
                Line::Class(class) => class_row(&mut rows, class, (left, right), y),
                Line::Overlay(over, label) => overlay_row(&mut rows, *over, label, left, y),
                Line::Sign(sign) => sign_row(&mut rows, *sign, left, y),
            }
            y += line.height(wide);
        }
        bottom = f64::max(bottom, y);
    }
    let card = Box { x: corner.x, y: corner.y, width: width(columns), height: bottom - corner.y + PAD - 1.5 };
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

/// Rows in columns of about the same height, in order.
fn in_columns(lines: Vec<Line<'_>>, columns: usize, wide: f64) -> Vec<Vec<Line<'_>>> {
    let all: f64 = lines.iter().map(|line| line.height(wide)).sum();
    let mut broken: Vec<Vec<Line<'_>>> = vec![Vec::new()];
    let mut so_far = 0.0;
    for line in lines {
        let middle = so_far + line.height(wide) / 2.0;
        if broken.len() < columns && middle > all * broken.len() as f64 / columns as f64 {
            broken.push(Vec::new());
        }
        so_far += line.height(wide);
        if let Some(column) = broken.last_mut() {
            column.push(line);
        }
    }
    broken
}

/// The class in words, as lines that fit.
fn words_of(class: &Class, column: f64) -> Vec<String> {
    lettering::wrapped(&class.label, TEXT, column - 2.0 * PAD - SWATCH.0 - 3.0 - 22.0)
}

/// One class: swatch with its letter, words, number of fields, hectares.
fn class_row(out: &mut String, class: &Class, (left, right): (f64, f64), y: f64) {
    let lines = words_of(class, right - left + 2.0 * PAD);
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

fn overlay_row(out: &mut String, over: Over, label: &str, left: f64, y: f64) {
    let swatch = Box { x: left, y, width: SWATCH.0, height: SWATCH.1 };
    out.push_str(&swatch_svg(swatch, palette::RAISED, over, false));
    words(out, &[label.to_owned()], left + SWATCH.0 + 3.0, y);
}

fn sign_row(out: &mut String, sign: Sign, left: f64, y: f64) {
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
        Sign::Scouting => {
            for (x, value) in [(-2.5, 1.0), (2.5, 0.0)] {
                out.push_str(&svg::find(at(middle.x + x, middle.y), value));
            }
            "scouted: weed found, none found"
        }
        Sign::Round => {
            out.push_str(&svg::stroke(&flat(4.5), 0.5, palette::INK, "stroke-dasharray=\"2.60 1.00\""));
            "drive of the day, straight; gates by turn"
        }
        Sign::Walked => {
            out.push_str(&svg::stroke(&flat(4.5), 0.45, palette::INK, "stroke-dasharray=\"1.60 0.80\""));
            "walk as walked; struck out: not reached"
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
}
