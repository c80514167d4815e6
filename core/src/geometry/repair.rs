//! Boundaries that break the rules of simple polygons, made whole.
//!
//! Repair follows Ledoux, Arroyo Ohori and Meijers 2014 (Computers & Geosciences 66:121-131) as crate `geo` has it: what
//! an edge encloses an odd number of times is inside. Works in whatever plane the coordinates are in.

use geo::algorithm::validation::{InvalidPolygon, RingRole};
use geo::{Area as _, Coord, LineString, MakeValid as _, MultiPolygon, Orient as _, Polygon, Validation as _};

/// The fault of corners given twice in a row, which changes no area.
pub const DOUBLED: &str = "corners given twice in a row";

/// A shape after repair, and what was wrong with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Repaired {
    /// The sound shape: rings closed, outer ones anticlockwise, no edge crossing another; may be empty.
    pub shape: MultiPolygon<f64>,
    /// What was wrong, one phrase each; empty if nothing was.
    pub faults: Vec<&'static str>,
}

/// Makes a shape sound. Parts smaller than a millionth of the shape that repair leaves over are dropped.
pub fn repair(shape: &MultiPolygon<f64>) -> Repaired {
    let mut faults = Vec::new();
    let mut fault = |words: &'static str| {
        if !faults.contains(&words) {
            faults.push(words);
        }
    };
    let mut parts: Vec<Polygon<f64>> = Vec::new();
    for polygon in shape {
        let (clean, doubled) = without_doubles(polygon);
        if doubled {
            fault(DOUBLED);
        }
        let Some(clean) = clean else {
            fault("a part without an area");
            continue;
        };
        if clean.is_valid() {
            parts.push(clean);
            continue;
        }
        for error in clean.validation_errors() {
            fault(words(&error));
        }
        if let Ok(made) = clean.make_valid() {
            parts.extend(made);
        }
    }
    let mut whole = MultiPolygon(parts);
    if whole.0.len() > 1 && !whole.is_valid() {
        fault("parts that overlap or share an edge");
        whole = geo::unary_union(&whole.0);
    }
    if !faults.is_empty() {
        let least = whole.unsigned_area() * 1e-6;
        whole.0.retain(|part| part.unsigned_area() > least);
    }
    Repaired { shape: whole.orient(geo::orient::Direction::Default), faults }
}

/// A fault in words.
fn words(error: &InvalidPolygon) -> &'static str {
    match error {
        InvalidPolygon::TooFewPointsInRing(_) => "a ring of fewer than three corners",
        InvalidPolygon::SelfIntersection(RingRole::Exterior) => "edges that cross or touch",
        InvalidPolygon::SelfIntersection(RingRole::Interior(_)) => "a hole whose edges cross or touch",
        InvalidPolygon::NonFiniteCoord(..) => "a corner without a position",
        InvalidPolygon::InteriorRingNotContainedInExteriorRing(_) => "a hole that reaches outside",
        InvalidPolygon::IntersectingRingsOnALine(..) => "rings that share an edge",
        InvalidPolygon::IntersectingRingsOnAnArea(..) => "holes that overlap",
    }
}

/// The polygon with every corner once; none if too few are left. Also whether a corner was doubled.
fn without_doubles(polygon: &Polygon<f64>) -> (Option<Polygon<f64>>, bool) {
    let mut doubled = false;
    let mut clean = |ring: &LineString<f64>| {
        let mut corners: Vec<Coord<f64>> = ring.0.clone();
        corners.dedup();
        doubled |= corners.len() < ring.0.len();
        (corners.len() >= 4).then_some(LineString(corners))
    };
    let outer = clean(polygon.exterior());
    let holes: Vec<_> = polygon.interiors().iter().filter_map(clean).collect();
    let polygon = outer.map(|outer| Polygon::new(outer, holes)).filter(|polygon| polygon.exterior().0.len() >= 4);
    (polygon, doubled)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    #[test]
    fn a_bow_tie_becomes_two_triangles() {
        let tie = polygon![(x: 0.0, y: 0.0), (x: 0.0, y: 10.0), (x: 10.0, y: 0.0), (x: 10.0, y: 10.0)];
        let repaired = repair(&MultiPolygon(vec![tie]));
        assert_eq!((repaired.shape.0.len(), repaired.shape.unsigned_area()), (2, 50.0));
        assert_eq!(repaired.faults, ["edges that cross or touch"]);
        assert!(repaired.shape.is_valid());
    }

    #[test]
    fn every_fault_is_named() {
        // A bow tie with a hole outside of it.
        let tie = polygon!(
            exterior: [(x: 0.0, y: 0.0), (x: 0.0, y: 10.0), (x: 10.0, y: 0.0), (x: 10.0, y: 10.0)],
            interiors: [[(x: 20.0, y: 0.0), (x: 21.0, y: 0.0), (x: 21.0, y: 1.0)]],
        );
        let repaired = repair(&MultiPolygon(vec![tie]));
        assert_eq!(repaired.faults, ["edges that cross or touch", "a hole that reaches outside"]);
        assert!(repaired.shape.is_valid());
    }

    #[test]
    fn a_sound_shape_is_left_alone_but_for_its_direction() {
        let square = polygon![(x: 0.0, y: 0.0), (x: 0.0, y: 1.0), (x: 1.0, y: 1.0), (x: 1.0, y: 0.0)];
        let repaired = repair(&MultiPolygon(vec![square]));
        assert!(repaired.faults.is_empty());
        assert_eq!(repaired.shape.0[0].signed_area(), 1.0);
    }

    #[test]
    fn doubled_corners_overlaps_and_flat_parts() {
        let doubled = polygon![(x: 0.0, y: 0.0), (x: 2.0, y: 0.0), (x: 2.0, y: 0.0), (x: 2.0, y: 2.0), (x: 0.0, y: 2.0)];
        let other = polygon![(x: 1.0, y: 0.0), (x: 3.0, y: 0.0), (x: 3.0, y: 2.0), (x: 1.0, y: 2.0)];
        let flat = polygon![(x: 5.0, y: 5.0), (x: 6.0, y: 6.0), (x: 5.0, y: 5.0)];
        let repaired = repair(&MultiPolygon(vec![doubled, other, flat]));
        assert!((repaired.shape.unsigned_area() - 6.0).abs() < 1e-6);
        assert_eq!(repaired.faults.len(), 3, "{:?}", repaired.faults);
        assert!(repair(&MultiPolygon(vec![])).shape.0.is_empty());
    }
}
