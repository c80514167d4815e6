//! One geometry of GML to areas, lines or points.

use geo::{Coord, Geometry, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};

use crate::formats::xml;
use crate::geometry::curve;

/// How the numbers of a geometry stand.
#[derive(Debug, Clone, Copy)]
pub(super) struct Axes {
    /// Whether northing or latitude comes first.
    pub north_first: bool,
}

type Read<T> = Result<T, String>;

/// Curves within curves beyond this are damage.
const DEEPEST: usize = 12;

/// The geometry: its areas if it has any, otherwise its lines, otherwise its points.
pub(super) fn shape(node: xml::Node<'_, '_>, axes: Axes) -> Read<Geometry<f64>> {
    let areas = topmost(node, &["Polygon", "PolygonPatch", "Triangle", "Rectangle"]);
    if !areas.is_empty() {
        let mut areas = areas.into_iter().map(|area| polygon(area, axes)).collect::<Read<Vec<_>>>()?;
        return Ok(match areas.len() {
            1 => Geometry::Polygon(areas.remove(0)),
            _ => Geometry::MultiPolygon(MultiPolygon(areas)),
        });
    }
    let lines = topmost(node, &["LineString", "Curve", "CompositeCurve", "OrientableCurve", "LinearRing", "Ring"]);
    if !lines.is_empty() {
        let mut lines = lines.into_iter().map(|part| line(part, axes, 0).map(LineString)).collect::<Read<Vec<_>>>()?;
        return Ok(match lines.len() {
            1 => Geometry::LineString(lines.remove(0)),
            _ => Geometry::MultiLineString(MultiLineString(lines)),
        });
    }
    let points = topmost(node, &["Point"]).into_iter().map(|point| positions(point, axes));
    let points: Vec<Coord<f64>> = points.collect::<Read<Vec<_>>>()?.into_iter().flatten().collect();
    match points.as_slice() {
        [] => Err("it has no positions".to_owned()),
        [one] => Ok(Geometry::Point(Point(*one))),
        several => Ok(Geometry::MultiPoint(MultiPoint(several.iter().map(|at| Point(*at)).collect()))),
    }
}

/// The node itself or those inside it of the names that lie in no other of them.
fn topmost<'a, 'd>(node: xml::Node<'a, 'd>, names: &[&str]) -> Vec<xml::Node<'a, 'd>> {
    let is = |node: &xml::Node<'_, '_>| node.is_element() && names.contains(&node.tag_name().name());
    let outermost =
        |found: &xml::Node<'a, 'd>| *found == node || !found.ancestors().skip(1).take_while(|a| *a != node).any(|a| is(&a));
    let list: Vec<_> = node.descendants().filter(|found| is(found)).collect();
    if is(&node) { vec![node] } else { list.into_iter().filter(outermost).collect() }
}

fn polygon(node: xml::Node<'_, '_>, axes: Axes) -> Read<Polygon<f64>> {
    let (mut outer, mut holes) = (LineString(Vec::new()), Vec::new());
    for boundary in xml::elements(node) {
        let is_outer = matches!(boundary.tag_name().name(), "exterior" | "outerBoundaryIs");
        if !is_outer && !matches!(boundary.tag_name().name(), "interior" | "innerBoundaryIs") {
            continue;
        }
        let ring = xml::elements(boundary).next().map_or_else(|| Ok(Vec::new()), |ring| line(ring, axes, 0))?;
        if is_outer {
            outer = LineString(ring);
        } else {
            holes.push(LineString(ring));
        }
    }
    Ok(Polygon::new(outer, holes))
}

/// The corners of a line, ring or curve.
fn line(node: xml::Node<'_, '_>, axes: Axes, depth: usize) -> Read<Vec<Coord<f64>>> {
    if depth > DEEPEST {
        return Err("it is nested too deep".to_owned());
    }
    match node.tag_name().name() {
        "LinearRing" | "LineString" | "LineStringSegment" | "GeodesicString" | "Geodesic" => positions(node, axes),
        "Arc" | "ArcString" => Ok(curve::through(&positions(node, axes)?)),
        "Circle" => match positions(node, axes)?.as_slice() {
            [a, b, c] => Ok(curve::circle(*a, *b, *c)),
            _ => Err("a circle needs three positions".to_owned()),
        },
        name if name.ends_with("CenterPoint")
            || name.contains("Spline")
            || name.contains("Bezier")
            || name == "Clothoid" =>
        {
            Err(format!("a curve of the kind {name} is not read"))
        }
        name => {
            let mut whole: Vec<Coord<f64>> = Vec::new();
            for part in xml::elements(node) {
                let part = line(part, axes, depth + 1)?;
                let joined = whole.last().is_some_and(|last| part.first() == Some(last));
                whole.extend(part.into_iter().skip(usize::from(joined)));
            }
            if name == "OrientableCurve" && node.attribute("orientation") == Some("-") {
                whole.reverse();
            }
            Ok(whole)
        }
    }
}

/// The positions that stand directly in an element.
fn positions(node: xml::Node<'_, '_>, axes: Axes) -> Read<Vec<Coord<f64>>> {
    let damaged = || "a list of positions is damaged".to_owned();
    let mut list = Vec::new();
    for child in xml::elements(node) {
        let text = xml::text(child);
        let dimension = child.ancestors().find_map(|node| node.attribute("srsDimension").or(node.attribute("dimension")));
        let dimension = dimension.and_then(|number| number.parse().ok()).filter(|number| (2..=4).contains(number));
        match child.tag_name().name() {
            "posList" => {
                let dimension = dimension.unwrap_or_else(|| if closes_in_space(&text) { 3 } else { 2 });
                list.extend(xml::triples(&text, dimension).ok_or_else(damaged)?);
            }
            "pos" => list.extend(xml::triples(&text, text.split_whitespace().count().max(2)).ok_or_else(damaged)?),
            "coordinates" => {
                let mark = |name, usual| child.attribute(name).and_then(|mark| mark.chars().next()).unwrap_or(usual);
                let text = match mark("decimal", '.') {
                    '.' => text,
                    decimal => text.replace(decimal, "."),
                };
                list.extend(xml::tuples(&text, mark("cs", ','), mark("ts", ' ')).ok_or_else(damaged)?);
            }
            "coord" => {
                let number = |name| xml::child_text(child, name).and_then(|text| text.parse().ok());
                list.push(Coord { x: number("X").ok_or_else(damaged)?, y: number("Y").ok_or_else(damaged)? });
            }
            "pointProperty" | "pointRep" => {
                for point in xml::elements(child) {
                    list.extend(positions(point, Axes { north_first: false })?);
                }
            }
            _ => {}
        }
    }
    if axes.north_first {
        for at in &mut list {
            *at = Coord { x: at.y, y: at.x };
        }
    }
    Ok(list)
}

/// Whether a list that does not say how many numbers a position has is a ring of three each: it ends where it began only so.
fn closes_in_space(text: &str) -> bool {
    let numbers: Vec<&str> = text.split_whitespace().collect();
    let count = numbers.len();
    let closes = |each: usize| {
        count > each && count.is_multiple_of(each) && numbers.get(..2) == numbers.get(count - each..count - each + 2)
    };
    closes(3) && !closes(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_that_are_not_announced() {
        assert!(closes_in_space("0 0 5 9 0 5 9 9 5 0 0 5") && closes_in_space("0 0 5 9 0 5 9 9 5 4 4 5 0 0 5"));
        assert!(!closes_in_space("0 0 9 0 9 9 0 0") && !closes_in_space("0 0 9 0 9 9 4 4 5 5 0 0") && !closes_in_space(""));
    }
}
