//! A regular grid of values.

use geo::{Centroid as _, Contains as _, Coord, CoordsIter as _, MultiPolygon, Point};

/// No field is cut into more cells than this: a cell size in centimetres would fill the memory.
const MOST_CELLS: f64 = 4_000_000.0;

/// A place this near to a side of a cell, in cells, lies on it; a field this much wider than a whole number of cells is as wide as
/// that number.
const ROUNDING: f64 = 1e-6;

/// Weight this near to the middle of a shape's reach, m, lies in the middle.
const MIDDLE_M: f64 = 1e-3;

/// Square cells in rows; a row runs to the right of `along`, rows follow each other along it. Metres of a local plane.
///
/// The grid is turned with the field, so that what is worked out on it does not depend on how the field lies to north.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// The corner where the first row begins.
    pub origin: Coord<f64>,
    /// Unit vector from row to row; (0, 1) is north.
    pub along: Coord<f64>,
    /// Side of a cell, m.
    pub cell_m: f64,
    /// Cells in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// `columns * rows` values; NaN where there is none.
    pub values: Vec<f64>,
}

impl Grid {
    /// A grid over a shape with rows following each other along `bearing_deg`, clockwise from north, or against it, whichever way
    /// the shape's weight lies: 0 in cells
    /// whose middle lies inside, NaN elsewhere. None if the shape is empty, or the cell no length, or there would be too many
    /// cells.
    pub fn over(shape: &MultiPolygon<f64>, cell_m: f64, bearing_deg: f64) -> Option<Self> {
        let (sin, cos) = bearing_deg.to_radians().sin_cos();
        let along = Coord { x: sin, y: cos };
        let mut grid = Self { origin: Coord { x: 0.0, y: 0.0 }, along, cell_m, columns: 0, rows: 0, values: Vec::new() };
        let (u, v) = grid.reach(shape)?;
        // Of the two directions of a bearing, the one towards which the shape's weight lies: the same however it is turned.
        let middle = |(low, high): (f64, f64)| f64::midpoint(low, high);
        let weight = shape.centroid()?.0;
        if weight.x * along.x + weight.y * along.y < middle(v) - MIDDLE_M {
            grid.along = Coord { x: -along.x, y: -along.y };
            return grid.laid(shape, (-u.1, -u.0), (-v.1, -v.0));
        }
        grid.laid(shape, u, v)
    }

    /// Lays the cells: as many as are needed, centred on the reach of the shape.
    fn laid(mut self, shape: &MultiPolygon<f64>, u: (f64, f64), v: (f64, f64)) -> Option<Self> {
        let (wide, long) = (u.1 - u.0, v.1 - v.0);
        if !(self.cell_m > 0.0 && wide * long / (self.cell_m * self.cell_m) < MOST_CELLS) {
            return None;
        }
        self.columns = (wide / self.cell_m - ROUNDING).ceil().max(1.0) as usize;
        self.rows = (long / self.cell_m - ROUNDING).ceil().max(1.0) as usize;
        let first = |(low, high): (f64, f64), cells: usize| f64::midpoint(low, high) - cells as f64 * self.cell_m / 2.0;
        self.origin = self.across() * first(u, self.columns) + self.along * first(v, self.rows);
        self.values = vec![f64::NAN; self.columns * self.rows];
        for row in 0..self.rows {
            for column in 0..self.columns {
                if shape.contains(&Point(self.centre(column, row))) {
                    self.values[row * self.columns + column] = 0.0;
                }
            }
        }
        Some(self)
    }

    /// Least and greatest place of a shape across the rows' direction and along it, m.
    fn reach(&self, shape: &MultiPolygon<f64>) -> Option<((f64, f64), (f64, f64))> {
        let span = |direction: Coord<f64>| {
            let places = shape.exterior_coords_iter().map(|c| c.x * direction.x + c.y * direction.y);
            places.fold(None, |held: Option<(f64, f64)>, at| {
                Some(held.map_or((at, at), |(low, high)| (low.min(at), high.max(at))))
            })
        };
        Some((span(self.across())?, span(self.along)?))
    }

    /// Unit vector from column to column.
    pub fn across(&self) -> Coord<f64> {
        Coord { x: self.along.y, y: -self.along.x }
    }

    /// A place counted in cells from the origin: whole numbers are corners of cells.
    pub fn place(&self, column: f64, row: f64) -> Coord<f64> {
        self.origin + self.across() * (column * self.cell_m) + self.along * (row * self.cell_m)
    }

    /// Middle of a cell.
    pub fn centre(&self, column: usize, row: usize) -> Coord<f64> {
        self.place(column as f64 + 0.5, row as f64 + 0.5)
    }

    /// The four corners of a cell, one after the other.
    pub fn corners(&self, column: usize, row: usize) -> [Coord<f64>; 4] {
        let (c, r) = (column as f64, row as f64);
        [self.place(c, r), self.place(c + 1.0, r), self.place(c + 1.0, r + 1.0), self.place(c, r + 1.0)]
    }

    /// Column and row of the cell that a position lies in; none outside the grid.
    pub fn cell_at(&self, at: Coord<f64>) -> Option<(usize, usize)> {
        let from = at - self.origin;
        let across = self.across();
        // A place on the side between two cells lies in the later one, whatever the rounding.
        let column = ((from.x * across.x + from.y * across.y) / self.cell_m + ROUNDING).floor();
        let row = ((from.x * self.along.x + from.y * self.along.y) / self.cell_m + ROUNDING).floor();
        let inside = column >= 0.0 && row >= 0.0 && (column as usize) < self.columns && (row as usize) < self.rows;
        inside.then_some((column as usize, row as usize))
    }

    /// Value of a cell; none outside the grid or where there is no value.
    pub fn value(&self, column: usize, row: usize) -> Option<f64> {
        if column >= self.columns || row >= self.rows {
            return None;
        }
        self.values.get(row * self.columns + column).copied().filter(|value| !value.is_nan())
    }

    /// Value of the cell that a position lies in.
    pub fn value_at(&self, at: Coord<f64>) -> Option<f64> {
        self.cell_at(at).and_then(|(column, row)| self.value(column, row))
    }

    /// Middle and value of every cell that has a value, row by row.
    pub fn cells(&self) -> impl Iterator<Item = (Coord<f64>, f64)> + '_ {
        self.values
            .iter()
            .enumerate()
            .filter(|(_, value)| !value.is_nan())
            .map(|(index, value)| (self.centre(index % self.columns, index / self.columns), *value))
    }
}
