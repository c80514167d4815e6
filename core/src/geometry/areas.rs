//! Which of many areas holds a position: an R-tree of their bounds (Guttman 1984, packed as by Leutenegger et al. 1997 in crate
//! `rstar`), then the rings themselves.

use geo::{BoundingRect as _, Coord, Intersects as _, MultiPolygon};
use rayon::prelude::*;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Areas, ready to be asked. Positions and areas are in one plane, whichever it is.
pub struct Areas<'a> {
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
    shapes: Vec<&'a MultiPolygon<f64>>,
}

impl std::fmt::Debug for Areas<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Areas({})", self.shapes.len())
    }
}

impl<'a> Areas<'a> {
    /// Areas in an order by which they are answered.
    pub fn new(shapes: impl Iterator<Item = &'a MultiPolygon<f64>>) -> Self {
        let shapes: Vec<_> = shapes.collect();
        let entry = |(index, shape): (usize, &&MultiPolygon<f64>)| {
            let rect = shape.bounding_rect()?;
            let corners = Rectangle::from_corners([rect.min().x, rect.min().y], [rect.max().x, rect.max().y]);
            Some(GeomWithData::new(corners, index))
        };
        Self { tree: RTree::bulk_load(shapes.iter().enumerate().filter_map(entry).collect()), shapes }
    }

    /// The first of the areas that holds the position or has it on its edge.
    pub fn holding(&self, at: Coord<f64>) -> Option<usize> {
        let here = AABB::from_point([at.x, at.y]);
        let candidates = self.tree.locate_in_envelope_intersecting(&here).map(|entry| entry.data);
        candidates.filter(|index| self.shapes.get(*index).is_some_and(|shape| shape.intersects(&at))).min()
    }

    /// The same for many positions at once.
    pub fn holding_each(&self, positions: &[Coord<f64>]) -> Vec<Option<usize>> {
        positions.par_iter().with_min_len(1024).map(|at| self.holding(*at)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Rect, coord};

    #[test]
    fn the_first_area_that_holds_a_position() {
        let square =
            |x: f64| MultiPolygon(vec![Rect::new(coord! { x: x, y: 0.0 }, coord! { x: x + 10.0, y: 10.0 }).to_polygon()]);
        let shapes = [square(0.0), square(20.0), square(5.0), MultiPolygon(vec![])];
        let areas = Areas::new(shapes.iter());
        let at = |x: f64, y: f64| Coord { x, y };
        assert_eq!(
            areas.holding_each(&[at(7.0, 5.0), at(25.0, 5.0), at(12.0, 5.0), at(17.0, 5.0), at(20.0, 0.0)]),
            [Some(0), Some(1), Some(2), None, Some(1)]
        );
    }
}
