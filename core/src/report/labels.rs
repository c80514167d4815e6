//! Names and letters in the fields: as large as there is room, never over one another.

use geo::{BoundingRect as _, Contains as _, Coord, Intersects as _, LinesIter as _, MultiPolygon};

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
    lines: Vec<Line>,
    frame: Box,
    colour: Rgb,
    backing: Backing,
}

/// Finds a place for a field's name and mark: inside the field, clear of `taken`. The name goes before the mark does.
pub fn placed(shape: &MultiPolygon<f64>, name: &str, mark: &str, backing: Backing, taken: &[Box]) -> Option<Label> {
    let centres = centres(shape);
    let room = shape.bounding_rect()?;
    let sides: Vec<Line2> = shape.lines_iter().collect();
    // What lies elsewhere need not be looked at for each place anew.
    let whole = Box { x: room.min().x, y: room.min().y, width: room.width(), height: room.height() };
    let near: Vec<&Box> = taken.iter().filter(|other| other.overlaps(&whole)).collect();
    for lines in arrangements(name, mark) {
        for centre in &centres {
            let frame = frame(&lines, *centre);
            if frame.width > room.width() || frame.height > room.height() {
                break;
            }
            if clear_of(&sides, &frame) && !near.iter().any(|other| other.overlaps(&frame)) {
                return Some(label(lines, frame, backing));
            }
        }
    }
    let smallest = vec![(mark.to_owned(), 1.8, true)];
    let clear = |centre: &&Coord<f64>| !taken.iter().any(|other| other.overlaps(&frame(&smallest, **centre)));
    let frame = frame(&smallest, *centres.iter().find(clear)?);
    Some(label(smallest, frame, backing))
}

/// A place for the mark of a field drawn as a disc: to its right, else to its left.
pub fn beside(at: Coord<f64>, disc: f64, mark: &str, taken: &[Box]) -> Option<Label> {
    let lines = vec![(mark.to_owned(), 1.8, true)];
    let away = disc + 0.2 + lettering::width(mark, 1.8, true) / 2.0 + 0.3;
    let sides = [1.0, -1.0].map(|side| frame(&lines, Coord { x: at.x + side * away, y: at.y }));
    let frame = sides.into_iter().find(|frame| !mark.is_empty() && !taken.iter().any(|other| other.overlaps(frame)))?;
    Some(label(lines, frame, Backing::Plain(palette::GROUND)))
}

/// A side of a shape.
type Line2 = geo::Line<f64>;

/// Words, size in mm, bold.
type Line = (String, f64, bool);

/// Ways to write name and mark, the best to read first: on two lines, the name broken, both broken, without the name.
fn arrangements(name: &str, mark: &str) -> Vec<Vec<Line>> {
    let plain = |words: &str| vec![words.to_owned()];
    let broken = |words: &str| words.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let ways = [(plain(name), plain(mark)), (broken(name), plain(mark)), (broken(name), broken(mark))];
    let sized = |(names, marks): &(Vec<String>, Vec<String>), (large, small): (f64, f64)| -> Vec<Line> {
        let names = names.iter().map(|words| (words.clone(), small, false));
        names.chain(marks.iter().map(|words| (words.clone(), large, true))).filter(|line| !line.0.is_empty()).collect()
    };
    let mut list = Vec::new();
    for sizes in [&SIZES[..3], &SIZES[3..]] {
        list.extend(ways.iter().flat_map(|way| sizes.iter().map(move |size| sized(way, *size))));
    }
    let alone = [plain(mark), broken(mark)];
    list.extend(
        alone.into_iter().flat_map(|marks| SIZES.iter().map(move |size| sized(&(Vec::new(), marks.clone()), *size))),
    );
    list.retain(|lines| !lines.is_empty());
    list
}

fn label(lines: Vec<Line>, frame: Box, backing: Backing) -> Label {
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
    for step in [0.07, 0.14, 0.22, 0.32, 0.45] {
        for (x, y) in [(0.0, -1.0), (0.0, 1.0), (-1.0, 0.0), (1.0, 0.0), (-0.7, -0.7), (0.7, 0.7), (-0.7, 0.7), (0.7, -0.7)]
        {
            centres.push(Coord { x: middle.x + x * step * reach, y: middle.y + y * step * reach });
        }
    }
    centres.retain(|centre| shape.contains(&geo::Point(*centre)));
    if centres.is_empty() {
        centres.push(middle);
    }
    centres
}

/// [`label_point`] takes small numbers for degrees, so the shape is moved far from them.
fn label_point_on_paper(shape: &MultiPolygon<f64>) -> Option<Coord<f64>> {
    const FAR: f64 = 10_000.0;
    let far = geo::MapCoords::map_coords(shape, |c| Coord { x: c.x + FAR, y: c.y + FAR });
    label_point(&far).map(|c| Coord { x: c.x - FAR, y: c.y - FAR })
}

fn frame(lines: &[Line], centre: Coord<f64>) -> Box {
    let width = lines.iter().map(|(words, size, bold)| lettering::width(words, *size, *bold)).fold(0.0, f64::max) + 0.6;
    let height: f64 = lines.iter().map(|line| line.1 * 1.15).sum();
    Box { x: centre.x - width / 2.0, y: centre.y - height / 2.0, width, height }
}

/// Whether no side of a shape touches a frame, the middle of which lies in the shape: then all of the frame lies in it.
fn clear_of(sides: &[Line2], frame: &Box) -> bool {
    let corner = Coord { x: frame.x, y: frame.y };
    let other = Coord { x: frame.x + frame.width, y: frame.y + frame.height };
    let frame = geo::Rect::new(corner, other);
    !sides.iter().any(|side| side.intersects(&frame))
}

impl Label {
    /// The room it takes.
    pub fn frame(&self) -> Box {
        self.frame
    }

    /// The words alone, in a colour.
    fn words(&self, colour: Rgb) -> String {
        let b = self.frame;
        let mut out = String::new();
        let mut base = b.y;
        for (words, size, bold) in &self.lines {
            let look = Type { size: *size, bold: *bold, colour, anchor: Anchor::Middle };
            out.push_str(&svg::text(Coord { x: b.x + b.width / 2.0, y: base + size * 0.92 }, look, words));
            base += size * 1.15;
        }
        out
    }

    /// The label as SVG.
    pub fn svg(&self) -> String {
        let b = self.frame;
        let frame = [b.x, b.y, b.width, b.height].map(svg::number).join(" ");
        let mut out = format!("<g class=\"label\" data-box=\"{frame}\">\n");
        if let Backing::Drawn(colour) = self.backing {
            out.push_str(&svg::rect(b, 0.8, colour));
        }
        if self.backing == Backing::Mixed {
            // The rim lies under all letters, so that none covers a part of its neighbour.
            let white = svg::colour(palette::RAISED);
            let rim = format!("stroke=\"{white}\" stroke-width=\"0.70\" stroke-linejoin=\"round\" aria-hidden=\"true\"");
            out.push_str(&format!("<g {rim}>\n{}</g>\n", self.words(palette::RAISED)));
        }
        out.push_str(&self.words(self.colour));
        out.push_str("</g>\n");
        out
    }
}
