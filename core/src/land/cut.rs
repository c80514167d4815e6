//! Cutting a shape along a line, in metres.

use geo::{Area as _, BooleanOps as _, BoundingRect as _, Coord, LineString, MultiPolygon, Polygon, Validation as _};

/// Parts smaller than this are no fields but slips of the hand, m2.
const LEAST_PART_M2: f64 = 50.0;

/// Why a line does not cut a shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CutError {
    /// Fewer than two different corners.
    #[error("a cut needs two different places at least")]
    NoLine,
    /// It crosses itself.
    #[error("the line crosses itself; draw it without a loop")]
    CrossesItself,
    /// Everything lies on one side.
    #[error("the line leaves the field in one piece; draw it right across, from outside to outside")]
    OnePiece,
}

/// The parts of a shape on either side of a line, largest first. The ends of the line are lengthened until they leave the shape's
/// surroundings, so that a line drawn a little short still cuts. Coordinates in metres.
pub fn cut(shape: &MultiPolygon<f64>, line: &LineString<f64>) -> Result<Vec<Polygon<f64>>, CutError> {
    let bounds = shape.bounding_rect().ok_or(CutError::OnePiece)?;
    let mut corners: Vec<Coord<f64>> = line.0.clone();
    corners.dedup();
    let (Some(first), Some(last)) = (corners.first().copied(), corners.last().copied()) else {
        return Err(CutError::NoLine);
    };
    if corners.len() < 2 {
        return Err(CutError::NoLine);
    }
    // Far enough that both ends lie outside whatever is cut.
    let far = 4.0 * (bounds.width() + bounds.height() + length(bounds.center() - first) + length(bounds.center() - last));
    let start = beyond(corners[1], first, far);
    let end = beyond(corners[corners.len() - 2], last, far);
    corners.insert(0, start);
    corners.push(end);
    // The side to the left of the line: closed round the far side.
    let turn = |c: Coord<f64>| (c.y - bounds.center().y).atan2(c.x - bounds.center().x);
    let (from, to) = (turn(end), turn(start));
    let sweep = (to - from).rem_euclid(std::f64::consts::TAU);
    let radius = length(end - bounds.center()).max(length(start - bounds.center()));
    let round = (1..16).map(|step| {
        let angle = from + sweep * f64::from(step) / 16.0;
        bounds.center() + Coord { x: angle.cos(), y: angle.sin() } * radius
    });
    corners.extend(round);
    let left = Polygon::new(LineString(corners), vec![]);
    if !left.is_valid() {
        return Err(CutError::CrossesItself);
    }
    let left = MultiPolygon(vec![left]);
    let sides = [shape.intersection(&left), shape.difference(&left)];
    let mut parts: Vec<Polygon<f64>> =
        sides.into_iter().flat_map(|side| side.0).filter(|part| part.unsigned_area() >= LEAST_PART_M2).collect();
    if parts.len() < 2 {
        return Err(CutError::OnePiece);
    }
    parts.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
    Ok(parts)
}

fn length(c: Coord<f64>) -> f64 {
    c.x.hypot(c.y)
}

/// The place `far` beyond `end`, coming from `before`.
fn beyond(before: Coord<f64>, end: Coord<f64>, far: f64) -> Coord<f64> {
    let along = end - before;
    end + along * (far / length(along).max(1e-9))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    fn square() -> MultiPolygon<f64> {
        MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 300.0, y: 0.0), (x: 300.0, y: 200.0), (x: 0.0, y: 200.0)]])
    }

    #[test]
    fn parts_add_up_to_the_whole() {
        let line = LineString::from(vec![(100.0, -10.0), (120.0, 90.0), (80.0, 210.0)]);
        for reversed in [false, true] {
            let mut line = line.clone();
            if reversed {
                line.0.reverse();
            }
            let parts = cut(&square(), &line).unwrap();
            assert_eq!(parts.len(), 2);
            let sum: f64 = parts.iter().map(geo::Area::unsigned_area).sum();
            assert!((sum - 60_000.0).abs() < 1e-3, "{sum}");
            // By hand: to the left of the line lie 100*100 + (100+120)/2 ... trapezoids of the two pieces.
            let west = (100.0 + 2.0 + 120.0) / 2.0 * 90.0 + (120.0 + 80.0 + 40.0 / 12.0) / 2.0 * 110.0;
            assert!(parts.iter().any(|part| (part.unsigned_area() - west).abs() < 1.0), "{west} {parts:?}");
        }
    }

    #[test]
    fn a_line_drawn_short_is_lengthened_and_one_beside_the_field_is_refused() {
        let short = LineString::from(vec![(150.0, 60.0), (150.0, 140.0)]);
        assert_eq!(cut(&square(), &short).unwrap().len(), 2);
        let beside = LineString::from(vec![(400.0, -10.0), (400.0, 210.0)]);
        assert_eq!(cut(&square(), &beside), Err(CutError::OnePiece));
        assert_eq!(cut(&square(), &LineString(vec![Coord { x: 1.0, y: 1.0 }; 3])), Err(CutError::NoLine));
    }

    #[test]
    fn a_cut_across_both_arms_of_a_u_gives_three_parts() {
        let u = polygon![
            (x: 0.0, y: 0.0), (x: 300.0, y: 0.0), (x: 300.0, y: 200.0), (x: 200.0, y: 200.0), (x: 200.0, y: 100.0),
            (x: 100.0, y: 100.0), (x: 100.0, y: 200.0), (x: 0.0, y: 200.0)
        ];
        let parts = cut(&MultiPolygon(vec![u]), &LineString::from(vec![(-10.0, 150.0), (310.0, 150.0)])).unwrap();
        let areas: Vec<f64> = parts.iter().map(|part| part.unsigned_area().round()).collect();
        assert_eq!(areas, [40_000.0, 5_000.0, 5_000.0]);
    }
}
