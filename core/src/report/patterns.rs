//! Stipple and hatching as SVG patterns, in ink for light colours and in white for dark ones.

use std::collections::BTreeMap;

use geo::{Coord, MultiPolygon};

use crate::report::classes::Over;
use crate::report::palette::{self, Rgb};
use crate::report::svg;

/// Sine and cosine of 45 degrees.
const HALF_TURN: f64 = std::f64::consts::FRAC_1_SQRT_2;
/// Distance of level lines, mm: as in the window, so that neighbours are told apart by their grey.
const ROWS: [&str; 5] = ["4.00", "2.45", "1.65", "1.20", "0.90"];

/// The patterns' definitions.
pub fn definitions() -> String {
    let mut out = String::from("<defs>\n");
    for (name, ink) in [("ink", palette::INK), ("white", palette::RAISED)] {
        let ink = svg::colour(ink);
        let frame = |kind: &str, side: &str, inner: String| {
            format!(
                "<pattern id=\"{kind}-{name}\" patternUnits=\"userSpaceOnUse\" width=\"{side}\" height=\"{side}\" \
                 patternTransform=\"rotate(45)\">{inner}</pattern>\n"
            )
        };
        let line = |side: &str, at: &str, width: &str| {
            format!("<path d=\"M{at} 0V{side}\" stroke=\"{ink}\" stroke-width=\"{width}\" fill=\"none\"/>")
        };
        out.push_str(&frame("stipple", "1.60", format!("<circle cx=\"0.80\" cy=\"0.80\" r=\"0.17\" fill=\"{ink}\"/>")));
        out.push_str(&frame("hatch", "1.50", line("1.50", "0.75", "0.18")));
        out.push_str(&frame("wide", "3.20", line("3.20", "1.60", "0.28")));
        for (number, side) in ROWS.iter().enumerate() {
            out.push_str(&format!(
                "<pattern id=\"rows-{number}-{name}\" patternUnits=\"userSpaceOnUse\" width=\"{side}\" height=\"{side}\">\
                 <path d=\"M0 0.10H{side}\" stroke=\"{ink}\" stroke-width=\"0.20\" fill=\"none\"/></pattern>\n"
            ));
        }
    }
    let muted = svg::colour(palette::MUTED);
    out.push_str(&format!(
        "<pattern id=\"no-go\" patternUnits=\"userSpaceOnUse\" width=\"1.40\" height=\"1.40\" patternTransform=\"rotate(45)\">\
         <path d=\"M0.70 0V1.40M0 0.70H1.40\" stroke=\"{muted}\" stroke-width=\"0.16\" fill=\"none\"/></pattern>\n</defs>\n"
    ));
    out
}

/// The pattern drawn over a shape as lines and dots of its own. As one fill, each pattern costs whoever draws it more than all else
/// on the map; and lines stay lines in print. They lie on one lattice over the whole paper, as the patterns do.
pub fn over_shape(over: Over, colour: Rgb, shape: &MultiPolygon<f64>) -> String {
    let ink = if palette::text_on(colour) == palette::RAISED { palette::RAISED } else { palette::INK };
    let turned = |side: f64, width: f64, more: &str| {
        let (along, across) = (Coord { x: HALF_TURN, y: HALF_TURN }, Coord { x: -HALF_TURN, y: HALF_TURN });
        (side, width, more.to_owned(), along, across)
    };
    let (side, width, more, along, across) = match over {
        Over::Nothing => return String::new(),
        // Dots: strokes without length, ended round.
        Over::Stipple => turned(1.6, 0.34, "stroke-linecap=\"round\" stroke-dasharray=\"0.01 1.59\""),
        Over::Hatch => turned(1.5, 0.18, ""),
        Over::WideHatch => turned(3.2, 0.28, ""),
        Over::Rows(number) => {
            let side = ROWS[usize::from(number.min(4))].parse().unwrap_or(1.0);
            (side, 0.2, String::new(), Coord { x: 1.0, y: 0.0 }, Coord { x: 0.0, y: 1.0 })
        }
    };
    let dotted = over == Over::Stipple;
    let mut path = String::new();
    for (number, cuts) in cuts(shape, side, along, across) {
        for pair in cuts.chunks_exact(2) {
            let (mut from, mut to) = (pair[0], pair[1]);
            if dotted {
                // From the first dot inside to the last; a little room keeps whole dots inside.
                from = ((from + 0.2) / side - 0.5).ceil().mul_add(side, side / 2.0);
                to = ((to - 0.2) / side - 0.5).floor().mul_add(side, side / 2.0) + 0.02;
            }
            if from < to {
                let place = |t: f64| along * t + across * ((number as f64 + 0.5) * side);
                path.push_str(&svg::points(&[place(from), place(to)], false));
            }
        }
    }
    if path.is_empty() { path } else { svg::stroke(&path, width, ink, &format!("class=\"pattern\" {more}")) }
}

/// Where lines of a lattice cut a shape: the number of each line, and how far along it the cuts lie, in order: in, out, in, out.
fn cuts(shape: &MultiPolygon<f64>, side: f64, along: Coord<f64>, across: Coord<f64>) -> BTreeMap<i64, Vec<f64>> {
    let of = |at: Coord<f64>, way: Coord<f64>| at.x * way.x + at.y * way.y;
    let mut cuts: BTreeMap<i64, Vec<f64>> = BTreeMap::new();
    for line in
        shape.iter().flat_map(|part| part.exterior().lines().chain(part.interiors().iter().flat_map(geo::LineString::lines)))
    {
        let (start, end) = (of(line.start, across) / side - 0.5, of(line.end, across) / side - 0.5);
        let (low, high) = (start.min(end), start.max(end));
        if !(low.is_finite() && high - low < 1e5) {
            continue;
        }
        // A corner on a line belongs to the side above it only, so that each line goes in as often as out.
        for number in low.ceil() as i64..high.ceil() as i64 {
            let part = (number as f64 - start) / (end - start);
            let t = of(line.start, along) + part * (of(line.end, along) - of(line.start, along));
            cuts.entry(number).or_default().push(t);
        }
    }
    for list in cuts.values_mut() {
        list.sort_by(f64::total_cmp);
    }
    cuts
}

/// The pattern to put over a colour, as a fill.
pub fn over(over: Over, colour: Rgb) -> Option<String> {
    let kind = match over {
        Over::Nothing => return None,
        Over::Stipple => "stipple",
        Over::Hatch => "hatch",
        Over::WideHatch => "wide",
        Over::Rows(number) => ["rows-0", "rows-1", "rows-2", "rows-3", "rows-4"][usize::from(number.min(4))],
    };
    let ink = if palette::text_on(colour) == palette::RAISED { "white" } else { "ink" };
    Some(format!("url(#{kind}-{ink})"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_lie_inside_the_shape_and_leave_its_hole_free() {
        let square = |low: f64, high: f64| geo::Rect::new(Coord { x: low, y: low }, Coord { x: high, y: high }).to_polygon();
        let (outer, hole) = (square(0.0, 30.0), square(10.0, 20.0));
        let shape = MultiPolygon(vec![geo::Polygon::new(outer.exterior().clone(), vec![hole.exterior().clone()])]);
        let (along, across) = (Coord { x: 1.0, y: 0.0 }, Coord { x: 0.0, y: 1.0 });
        let found = cuts(&shape, 2.0, along, across);
        // Lines at 1, 3, ... 29: fifteen, of which those at 11 to 19 are cut by the hole.
        assert_eq!(found.keys().copied().collect::<Vec<_>>(), (0..15).collect::<Vec<_>>());
        assert_eq!((&found[&0], &found[&5]), (&vec![0.0, 30.0], &vec![0.0, 10.0, 20.0, 30.0]));
        // The length of lines times their distance is the area.
        let turned = cuts(&shape, 0.05, Coord { x: HALF_TURN, y: HALF_TURN }, Coord { x: -HALF_TURN, y: HALF_TURN });
        let length: f64 = turned.values().flat_map(|list| list.chunks_exact(2)).map(|pair| pair[1] - pair[0]).sum();
        assert!((length * 0.05 - 800.0).abs() < 1.0, "{}", length * 0.05);
        assert!(turned.values().all(|list| list.len() % 2 == 0));
        assert!(over_shape(Over::Stipple, palette::GROUND, &shape).contains("stroke-dasharray"));
        assert_eq!(over_shape(Over::Nothing, palette::GROUND, &shape), "");
    }
}
