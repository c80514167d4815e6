//! Stipple and hatching as SVG patterns, in ink for light colours and in white for dark ones.

use crate::report::classes::Over;
use crate::report::palette::{self, Rgb};
use crate::report::svg;

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
    }
    let muted = svg::colour(palette::MUTED);
    out.push_str(&format!(
        "<pattern id=\"no-go\" patternUnits=\"userSpaceOnUse\" width=\"1.40\" height=\"1.40\" patternTransform=\"rotate(45)\">\
         <path d=\"M0.70 0V1.40M0 0.70H1.40\" stroke=\"{muted}\" stroke-width=\"0.16\" fill=\"none\"/></pattern>\n</defs>\n"
    ));
    out
}

/// The pattern to put over a colour.
pub fn over(over: Over, colour: Rgb) -> Option<String> {
    let kind = match over {
        Over::Nothing => return None,
        Over::Stipple => "stipple",
        Over::Hatch => "hatch",
        Over::WideHatch => "wide",
    };
    let ink = if palette::text_on(colour) == palette::RAISED { "white" } else { "ink" };
    Some(format!("url(#{kind}-{ink})"))
}
