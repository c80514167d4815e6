//! The mean of a raster over a small four-cornered piece of ground: every pixel counts by the area of it that is covered.
//!
//! Pixels without data do not count. The piece is cut along the edges of rows and columns (Sutherland & Hodgman 1974, "Reentrant
//! polygon clipping", Communications of the ACM 17(1)); of a convex piece, pixels that lie wholly inside are not cut at all,
//! so that pixels of centimetres cost little.

use geo::{AffineTransform, Coord};

/// The mean over `quad`, and the share of the quad that has data, above 0 and at most 1. None where there is no data.
///
/// `values` are `columns * rows` numbers row by row, NaN for no data; `to_pixel` takes the quad's coordinates to (column, row)
/// counted from the outer corner of the first pixel; `quad` has its corners in order round it, either way.
pub fn mean_over(
    values: &[f64],
    columns: usize,
    rows: usize,
    to_pixel: &AffineTransform<f64>,
    quad: [Coord<f64>; 4],
) -> Option<(f64, f64)> {
    let quad = quad.map(|corner| to_pixel.apply(corner));
    let whole = area(&quad);
    if !(whole > 0.0 && whole.is_finite()) {
        return None;
    }
    let convex = is_convex(&quad);
    let (mut strip, mut pixel, mut spare) = (Vec::with_capacity(8), Vec::with_capacity(8), Vec::with_capacity(8));
    let (mut covered, mut sum) = (0.0, 0.0);
    for row in touched(quad.iter().map(|corner| corner.y), rows) {
        let (top, bottom) = (row as f64, (row + 1) as f64);
        cut(&quad, Axis::Y, (top, bottom), &mut strip, &mut spare);
        let inside = if convex { inside(&strip, top, bottom) } else { (0.0, 0.0) };
        let line = values.get(row * columns..(row + 1) * columns).unwrap_or_default();
        for column in touched(strip.iter().map(|corner| corner.x), line.len()) {
            let Some(value) = line.get(column).filter(|value| value.is_finite()) else { continue };
            let (left, right) = (column as f64, (column + 1) as f64);
            let share = if inside.0 <= left && right <= inside.1 {
                1.0
            } else {
                cut(&strip, Axis::X, (left, right), &mut pixel, &mut spare);
                area(&pixel)
            };
            covered += share;
            sum += share * value;
        }
    }
    (covered > 0.0).then(|| (sum / covered, (covered / whole).min(1.0)))
}

#[derive(Clone, Copy)]
enum Axis {
    X,
    Y,
}

impl Axis {
    fn of(self, at: Coord<f64>) -> f64 {
        match self {
            Self::X => at.x,
            Self::Y => at.y,
        }
    }

    /// Where the line from `a` to `b` crosses a value, exactly at it on this axis.
    fn crossing(self, a: Coord<f64>, b: Coord<f64>, at: f64) -> Coord<f64> {
        let share = (at - self.of(a)) / (self.of(b) - self.of(a));
        let between = a + (b - a) * share;
        match self {
            Self::X => Coord { x: at, ..between },
            Self::Y => Coord { y: at, ..between },
        }
    }
}

/// Rows or columns that positions reach into, out of `count`.
fn touched(positions: impl Iterator<Item = f64>, count: usize) -> std::ops::Range<usize> {
    let (low, high) = positions.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
    // Conversion to a whole number ends at its limits, so far away positions do no harm.
    (low.floor().max(0.0) as usize)..(high.ceil().max(0.0) as usize).min(count)
}

/// The part of a ring between two values of an axis, into `kept`.
fn cut(ring: &[Coord<f64>], axis: Axis, (from, to): (f64, f64), kept: &mut Vec<Coord<f64>>, spare: &mut Vec<Coord<f64>>) {
    half(ring, axis, from, false, spare);
    half(spare, axis, to, true, kept);
}

/// The part of a ring on one side of a value of an axis.
fn half(ring: &[Coord<f64>], axis: Axis, at: f64, below: bool, kept: &mut Vec<Coord<f64>>) {
    kept.clear();
    let is_kept = |corner: Coord<f64>| if below { axis.of(corner) <= at } else { axis.of(corner) >= at };
    let Some(mut last) = ring.last().copied() else { return };
    for corner in ring.iter().copied() {
        if is_kept(corner) != is_kept(last) {
            kept.push(axis.crossing(last, corner, at));
        }
        if is_kept(corner) {
            kept.push(corner);
        }
        last = corner;
    }
}

/// From where to where a convex piece, cut to a row, covers the row's whole height: what both of its edges are covered by.
fn inside(strip: &[Coord<f64>], top: f64, bottom: f64) -> (f64, f64) {
    let covered = |edge: f64| {
        let on_edge = strip.iter().filter(|corner| corner.y == edge).map(|corner| corner.x);
        on_edge.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
    };
    let ((top_from, top_to), (bottom_from, bottom_to)) = (covered(top), covered(bottom));
    (top_from.max(bottom_from), top_to.min(bottom_to))
}

/// Area by the surveyor's formula, about the first corner so that far away rings lose no digits.
fn area(ring: &[Coord<f64>]) -> f64 {
    let Some(first) = ring.first().copied() else { return 0.0 };
    let twice: f64 = ring.windows(2).map(|pair| cross(pair[0] - first, pair[1] - first)).sum();
    (twice / 2.0).abs()
}

fn cross(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.y - a.y * b.x
}

/// Whether a ring turns the same way at every corner.
fn is_convex(quad: &[Coord<f64>; 4]) -> bool {
    let turn = |k: usize| cross(quad[(k + 1) % 4] - quad[k], quad[(k + 2) % 4] - quad[(k + 1) % 4]);
    let turns = [turn(0), turn(1), turn(2), turn(3)];
    turns.iter().all(|turn| *turn >= 0.0) || turns.iter().all(|turn| *turn <= 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> [Coord<f64>; 4] {
        [(x, y), (x + side, y), (x + side, y + side), (x, y + side)].map(|(x, y)| Coord { x, y })
    }

    /// North-up pixels of 2 m from (100, 206): rows 0 and 1 and 2 from the north.
    fn north_up() -> AffineTransform<f64> {
        AffineTransform::new(2.0, 0.0, 100.0, 0.0, -2.0, 206.0).inverse().unwrap()
    }

    const VALUES: [f64; 9] = [1.0, 2.0, 3.0, 4.0, f64::NAN, 6.0, 7.0, 8.0, 9.0];

    fn mean(quad: [Coord<f64>; 4]) -> Option<(f64, f64)> {
        mean_over(&VALUES, 3, 3, &north_up(), quad)
    }

    #[test]
    fn a_pixel_a_part_of_it_and_several() {
        assert_eq!(mean(square(100.0, 204.0, 2.0)), Some((1.0, 1.0)));
        assert_eq!(mean(square(100.5, 204.5, 0.5)), Some((1.0, 1.0)));
        // A quarter of each of four pixels, one of them without data.
        let (value, share) = mean(square(101.0, 203.0, 2.0)).unwrap();
        assert!((value - (1.0 + 2.0 + 4.0) / 3.0).abs() < 1e-12 && (share - 0.75).abs() < 1e-12);
        // Half of it beyond the raster's eastern edge.
        let (value, share) = mean(square(105.0, 204.0, 2.0)).unwrap();
        assert!((value - 3.0).abs() < 1e-12 && (share - 0.5).abs() < 1e-12);
    }

    #[test]
    fn nothing_is_said_where_there_is_no_data() {
        assert_eq!(mean(square(102.0, 202.0, 2.0)), None);
        for (x, y) in [(0.0, 0.0), (1e12, 203.0), (106.0, 203.0), (f64::NAN, 203.0), (f64::INFINITY, 203.0)] {
            assert_eq!(mean(square(x, y, 2.0)), None, "{x}, {y}");
        }
        assert_eq!(mean([Coord { x: 101.0, y: 203.0 }; 4]), None);
        assert_eq!(mean_over(&[], 3, 3, &north_up(), square(100.0, 204.0, 2.0)), None);
    }

    #[test]
    fn either_way_round_and_whatever_the_shape() {
        let quad = [(100.3, 200.4), (105.2, 201.1), (104.9, 205.0), (100.8, 204.2)].map(|(x, y)| Coord { x, y });
        let mut reversed = quad;
        reversed.reverse();
        let (there, back) = (mean(quad).unwrap(), mean(reversed).unwrap());
        assert!((there.0 - back.0).abs() < 1e-12 && (there.1 - back.1).abs() < 1e-12);
        // An arrowhead, hollow towards the south.
        let arrow = [(100.0, 200.0), (103.0, 202.0), (106.0, 200.0), (103.0, 206.0)].map(|(x, y)| Coord { x, y });
        let ones = mean_over(&[1.0; 9], 3, 3, &north_up(), arrow).unwrap();
        assert!((ones.0 - 1.0).abs() < 1e-12 && (ones.1 - 1.0).abs() < 1e-12);
    }
}
