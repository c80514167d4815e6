//! Ways on the map that a plan does not hold: the drive of a day, and walks as they were walked.

use geo::Coord;
use jiff::civil::Date;

use crate::model::{Records, TakenAt, WalkedFigures};
use crate::report::palette;
use crate::report::panels::{Layout, Panel};
use crate::report::svg::{self, Anchor, Type};

/// Stops of a walk are drawn from this scale on, mm for a metre.
const PLACES_FROM: f64 = 0.1;

/// The drive of a day in one car: from the base past the gates in order and back, as straight lines, because roads are not known.
pub fn round(records: &Records, year: i32, (date, car): (Date, usize), layout: &Layout, panel: &Panel) -> String {
    let Some(rounds) = records.rounds_of(year) else { return String::new() };
    let Some((.., visits)) = rounds.days().find(|(day, by, _)| (*day, *by) == (date, car)) else { return String::new() };
    let base = layout.place(panel, rounds.settings.base);
    let gates: Vec<Coord<f64>> = visits.iter().map(|visit| layout.place(panel, visit.gate)).collect();
    let way: Vec<Coord<f64>> = std::iter::once(base).chain(gates.iter().copied()).chain([base]).collect();
    let line = svg::points(&way, false);
    let mut out = svg::stroke(&line, 1.1, palette::GROUND, "stroke-linejoin=\"round\"")
        + &svg::stroke(&line, 0.5, palette::INK, "class=\"round\" stroke-dasharray=\"2.60 1.00\" stroke-linejoin=\"round\"");
    for pair in way.windows(2) {
        out.push_str(&arrow(pair[0], pair[1]));
    }
    let house = [(-2.2, 0.0), (0.0, -2.4), (2.2, 0.0), (2.2, 2.0), (-2.2, 2.0)].map(|(x, y)| base + Coord { x, y });
    out.push_str(&boxed(&svg::points(&house, true)));
    for (visit, gate) in visits.iter().zip(gates) {
        let corners = [(-2.0, -2.0), (2.0, -2.0), (2.0, 2.0), (-2.0, 2.0)].map(|(x, y)| gate + Coord { x, y });
        out.push_str(&boxed(&svg::points(&corners, true)));
        let look = Type { size: 2.8, bold: true, colour: palette::INK, anchor: Anchor::Middle };
        out.push_str(&svg::text(gate + Coord { x: 0.0, y: 1.0 }, look, &visit.number.to_string()));
    }
    out
}

fn boxed(path: &str) -> String {
    let (fill, ink) = (svg::colour(palette::RAISED), svg::colour(palette::INK));
    format!("<path d=\"{path}\" fill=\"{fill}\" stroke=\"{ink}\" stroke-width=\"0.40\"/>\n")
}

/// An arrow half way along a stretch that is long enough for one.
fn arrow(from: Coord<f64>, to: Coord<f64>) -> String {
    let span = to - from;
    let length = libm::hypot(span.x, span.y);
    if length < 12.0 {
        return String::new();
    }
    let (middle, along) = (from + span * 0.5, span / length);
    let across = Coord { x: -along.y, y: along.x } * 1.3;
    let points = svg::points(&[middle + along * 1.6, middle - along * 1.3 + across, middle - along * 1.3 - across], true);
    format!("<path d=\"{points}\" fill=\"{}\"/>\n", svg::colour(palette::INK))
}

/// Walks as they were walked: the track dashed, places where seed was taken, and stops; those not reached are struck out.
pub fn walked(records: &Records, year: i32, layout: &Layout, panel: &Panel) -> String {
    let mut out = String::new();
    let here = |id| panel.fields.iter().any(|field| field.id == id);
    for walk in records.walked.values().filter(|walk| walk.year == year && here(walk.field)) {
        let lines = walk.lines().iter().map(|line| geo::MapCoords::map_coords(line, |at| layout.place(panel, at)));
        let path: String = lines.map(|line| svg::line_path(&geo::Simplify::simplify(&line, 0.05))).collect();
        out.push_str(&svg::stroke(&path, 0.9, palette::GROUND, "stroke-linejoin=\"round\""));
        let dashes = "class=\"walked\" stroke-dasharray=\"1.60 0.80\" stroke-linejoin=\"round\"";
        out.push_str(&svg::stroke(&path, 0.45, palette::INK, dashes));
        if layout.mm_per_m < PLACES_FROM {
            continue;
        }
        for (number, (stop, away)) in walk.figures.stops.iter().zip(&walk.figures.away_m).enumerate() {
            out.push_str(&stop_of_a_walk(layout.place(panel, *stop), number + 1, *away <= WalkedFigures::REACHED_M));
        }
        if walk.figures.taken_at != TakenAt::Stops {
            for place in &walk.figures.places {
                let at = layout.place(panel, *place);
                let corners = [(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)].map(|(x, y)| at + Coord { x, y });
                let (fill, rim) = (svg::colour(palette::INK), svg::colour(palette::RAISED));
                let path = svg::points(&corners, true);
                out.push_str(&format!("<path d=\"{path}\" fill=\"{fill}\" stroke=\"{rim}\" stroke-width=\"0.30\"/>\n"));
            }
        }
    }
    out
}

fn stop_of_a_walk(at: Coord<f64>, number: usize, reached: bool) -> String {
    let [x, y] = [at.x, at.y].map(svg::number);
    let (fill, ink) = (svg::colour(palette::RAISED), svg::colour(palette::INK));
    let look = Type { size: 2.6, bold: true, colour: palette::INK, anchor: Anchor::Middle };
    let mut out =
        format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"2.20\" fill=\"{fill}\" stroke=\"{ink}\" stroke-width=\"0.35\"/>\n")
            + &svg::text(at + Coord { x: 0.0, y: 0.9 }, look, &number.to_string());
    if !reached {
        let half = Coord { x: 2.6, y: -2.6 };
        out.push_str(&svg::stroke(&svg::points(&[at - half, at + half], false), 0.45, palette::INK, "class=\"missed\""));
    }
    out
}
