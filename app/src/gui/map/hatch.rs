//! Hatching and stipple inside outlines with holes: parallel lines cut at every crossing with a ring, even-odd.

use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, Vec2, vec2};

/// The parts of parallel lines that lie inside the rings. `along` is the direction of the lines (length 1), `phase` a place
/// that one of the lines runs through; only lines that cross `clip` are given.
pub fn lines_inside(rings: &[Vec<Pos2>], along: Vec2, spacing: f32, phase: Pos2, clip: Rect) -> Vec<[Pos2; 2]> {
    let across = along.rot90();
    let of = |pos: Pos2| (pos - phase).dot(across) / spacing;
    let corners = [clip.left_top(), clip.right_top(), clip.left_bottom(), clip.right_bottom()].map(of);
    let (mut low, mut high) = (f32::INFINITY, f32::NEG_INFINITY);
    for pos in rings.iter().flatten() {
        low = low.min(of(*pos));
        high = high.max(of(*pos));
    }
    let first = low.max(corners.iter().copied().fold(f32::INFINITY, f32::min)).ceil() as i64;
    let last = high.min(corners.iter().copied().fold(f32::NEG_INFINITY, f32::max)).floor() as i64;
    if first > last {
        return Vec::new();
    }
    let mut crossings: Vec<Vec<f32>> = vec![Vec::new(); (last - first + 1) as usize];
    for ring in rings {
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            let (ua, ub) = (of(*a), of(*b));
            // Half-open, so that a corner is counted once.
            let from = (ua.min(ub).ceil() as i64).max(first);
            let to = (ua.max(ub).ceil() as i64 - 1).min(last);
            for line in from..=to {
                let part = (line as f32 - ua) / (ub - ua);
                let at = *a + (*b - *a) * part;
                crossings[(line - first) as usize].push((at - phase).dot(along));
            }
        }
    }
    let mut inside = Vec::new();
    for (line, cuts) in crossings.iter_mut().enumerate() {
        cuts.sort_by(f32::total_cmp);
        let start = phase + across * ((line as i64 + first) as f32 * spacing);
        for pair in cuts.as_chunks::<2>().0 {
            inside.push([start + along * pair[0], start + along * pair[1]]);
        }
    }
    inside
}

/// Diagonal of a hatch, from bottom left to top right.
const DIAGONAL: Vec2 = vec2(std::f32::consts::FRAC_1_SQRT_2, -std::f32::consts::FRAC_1_SQRT_2);

/// Diagonal hatching.
pub fn hatch(painter: &Painter, rings: &[Vec<Pos2>], spacing: f32, phase: Pos2, stroke: Stroke) {
    let lines = lines_inside(rings, DIAGONAL, spacing, phase, painter.clip_rect());
    painter.extend(lines.into_iter().map(|points| Shape::line_segment(points, stroke)));
}

/// Hatching both ways.
pub fn cross_hatch(painter: &Painter, rings: &[Vec<Pos2>], spacing: f32, phase: Pos2, stroke: Stroke) {
    hatch(painter, rings, spacing, phase, stroke);
    let lines = lines_inside(rings, vec2(DIAGONAL.x, -DIAGONAL.y), spacing, phase, painter.clip_rect());
    painter.extend(lines.into_iter().map(|points| Shape::line_segment(points, stroke)));
}

/// A fine stipple: dots on lines, every other line shifted by half.
pub fn stipple(painter: &Painter, rings: &[Vec<Pos2>], spacing: f32, phase: Pos2, colour: Color32) {
    let clip = painter.clip_rect();
    for [from, to] in lines_inside(rings, vec2(1.0, 0.0), spacing, phase, clip) {
        let row = ((from.y - phase.y) / spacing).round() as i64;
        let shift = if row.rem_euclid(2) == 1 { spacing / 2.0 } else { 0.0 };
        let first = ((from.x.max(clip.left()) - phase.x - shift) / spacing).ceil();
        let mut x = phase.x + shift + first * spacing;
        while x <= to.x.min(clip.right()) {
            painter.rect_filled(Rect::from_center_size(Pos2::new(x, from.y), Vec2::splat(1.6)), 0.0, colour);
            x += spacing;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    #[test]
    fn lines_stop_at_holes_and_cover_the_area() {
        let square = |low: f32, high: f32| vec![pos2(low, low), pos2(high, low), pos2(high, high), pos2(low, high)];
        let rings = [square(0.0, 100.0), square(40.0, 60.0)];
        let clip = Rect::from_min_max(pos2(-500.0, -500.0), pos2(500.0, 500.0));
        for along in [vec2(1.0, 0.0), DIAGONAL] {
            let lines = lines_inside(&rings, along, 0.5, pos2(0.25, 0.25), clip);
            let length: f32 = lines.iter().map(|[a, b]| (*b - *a).length()).sum();
            // Length of lines times their spacing is the area: 100 x 100 less 20 x 20.
            assert!((length * 0.5 - 9600.0).abs() < 20.0, "{}", length * 0.5);
        }
    }
}
