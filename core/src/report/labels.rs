//! Names and letters in the fields: as large as there is room, never over one another.

use geo::{BoundingRect as _, Contains as _, Coord, MultiPolygon, Point};

use crate::geometry::label_point;
use crate::report::lettering;
use crate::report::palette::{self, Rgb};
use crate::report::svg::{self, Anchor, Box, Type};

/// What lies under a label, so that it can be read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Backing {
    /// A plain colour: nothing needs to be put between.
    Plain(Rgb),
    /// Hatching or stipple over a colour: a patch of that colour goes under the words.
    Drawn(Rgb),
    /// Many colours: the letters get a white rim.
    Mixed,
}

/// Sizes of the letter tried, mm, and the name's size beside it.
const SIZES: [(f64, f64); 5] = [(4.2, 3.2), (3.5, 2.7), (3.0, 2.3), (2.5, 2.0), (2.1, 1.8)];

/// A label that has been given its place.
#[derive(Debug)]
pub struct Label {
    lines: Vec<(String, f64, bool)>,
    frame: Box,
    colour: Rgb,
    backing: Backing,
}

/// Finds a place for a field's name and mark: inside the field, clear of `taken`. The name goes before the mark does.
pub fn placed(shape: &MultiPolygon<f64>, name: &str, mark: &str, backing: Backing, taken: &[Box]) -> Option<Label> {
    let centres = centres(shape);
    let both = SIZES.iter().map(|(large, small)| vec![(name.to_owned(), *small, false), (mark.to_owned(), *large, true)]);
    let alone = SIZES.iter().map(|(large, _)| vec![(mark.to_owned(), *large, true)]);
    for lines in both.chain(alone).filter(|lines| lines.iter().any(|line| !line.0.is_empty())) {
        for centre in &centres {
            let frame = frame(&lines, *centre);
            if inside(shape, &frame) && !taken.iter().any(|other| other.overlaps(&frame)) {
                return Some(label(lines, frame, backing));
            }
        }
    }
    let smallest = vec![(mark.to_owned(), 1.8, true)];
    let frame = frame(&smallest, *centres.first()?);
    (!taken.iter().any(|other| other.overlaps(&frame))).then(|| label(smallest, frame, backing))
}

fn label(lines: Vec<(String, f64, bool)>, frame: Box, backing: Backing) -> Label {
    let colour = match backing {
        Backing::Plain(colour) | Backing::Drawn(colour) => palette::text_on(colour),
        Backing::Mixed => palette::INK,
    };
    Label { lines, frame, colour, backing }
}

/// Where the label's middle may be: the middle of the largest circle, then places around it.
fn centres(shape: &MultiPolygon<f64>) -> Vec<Coord<f64>> {
    let Some(middle) = label_point_on_paper(shape) else { return Vec::new() };
    let reach = shape.bounding_rect().map_or(0.0, |rect| rect.width().min(rect.height()));
    let mut centres = vec![middle];
    for step in [0.06, 0.12, 0.2, 0.3] {
        for (x, y) in [(0.0, -1.0), (0.0, 1.0), (-1.0, 0.0), (1.0, 0.0)] {
            centres.push(Coord { x: middle.x + x * step * reach, y: middle.y + y * step * reach });
        }
    }
    centres
}

/// [`label_point`] takes small numbers for degrees, so the shape is moved far from them.
fn label_point_on_paper(shape: &MultiPolygon<f64>) -> Option<Coord<f64>> {
    const FAR: f64 = 10_000.0;
    let far = geo::MapCoords::map_coords(shape, |c| Coord { x: c.x + FAR, y: c.y + FAR });
    label_point(&far).map(|c| Coord { x: c.x - FAR, y: c.y - FAR })
}

fn frame(lines: &[(String, f64, bool)], centre: Coord<f64>) -> Box {
    let width = lines.iter().map(|(words, size, bold)| lettering::width(words, *size, *bold)).fold(0.0, f64::max) + 0.6;
    let height: f64 = lines.iter().map(|line| line.1 * 1.15).sum();
    Box { x: centre.x - width / 2.0, y: centre.y - height / 2.0, width, height }
}

fn inside(shape: &MultiPolygon<f64>, frame: &Box) -> bool {
    (0..=6).all(|i| {
        let x = frame.x + frame.width * f64::from(i) / 6.0;
        [0.0, 0.5, 1.0].iter().all(|v| shape.contains(&Point::new(x, frame.y + frame.height * v)))
    })
}

impl Label {
    /// The room it takes.
    pub fn frame(&self) -> Box {
        self.frame
    }

    /// The label as SVG.
    pub fn svg(&self) -> String {
        let b = self.frame;
        let frame = [b.x, b.y, b.width, b.height].map(svg::number).join(" ");
        let rim = if self.backing == Backing::Mixed {
            let white = svg::colour(palette::RAISED);
            format!(" stroke=\"{white}\" stroke-width=\"0.70\" stroke-linejoin=\"round\" paint-order=\"stroke\"")
        } else {
            String::new()
        };
        let mut out = format!("<g class=\"label\" data-box=\"{frame}\"{rim}>\n");
        if let Backing::Drawn(colour) = self.backing {
            out.push_str(&svg::rect(b, 0.8, colour));
        }
        let mut base = b.y;
        for (words, size, bold) in &self.lines {
            let look = Type { size: *size, bold: *bold, colour: self.colour, anchor: Anchor::Middle };
            out.push_str(&svg::text(Coord { x: b.x + b.width / 2.0, y: base + size * 0.92 }, look, words));
            base += size * 1.15;
        }
        out.push_str("</g>\n");
        out
    }
}
