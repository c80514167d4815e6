//! The rows of a table, however they are kept: with cells of their own, or as places in the text of a CSV file, whose rows can be
//! millions of a few letters each.

use std::borrow::Cow;

use geo::{Coord, Geometry, Point};

use crate::formats::Cell;
use crate::formats::csv::Records;

/// Rows in the order of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Rows {
    kept: Kept,
    shapes: Shapes,
}

#[derive(Debug, Clone, PartialEq)]
enum Kept {
    Whole(Vec<RowData>),
    Text(Records),
}

/// Shapes that were made of cells; they go before those that rows have.
#[derive(Debug, Clone, PartialEq)]
enum Shapes {
    OfRows,
    Points(Vec<Coord<f64>>),
    Any(Vec<Option<Geometry<f64>>>),
}

/// A row as a reader makes it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct RowData {
    /// See [`Row::number`].
    pub number: usize,
    /// Geometry in the table's coordinate system.
    pub geometry: Option<Geometry<f64>>,
    /// As many cells as the table has columns.
    pub cells: Vec<Cell>,
}

/// One row.
#[derive(Debug, Clone, Copy)]
pub struct Row<'t> {
    rows: &'t Rows,
    index: usize,
}

impl From<Vec<RowData>> for Rows {
    fn from(list: Vec<RowData>) -> Self {
        Self { kept: Kept::Whole(list), shapes: Shapes::OfRows }
    }
}

impl From<Records> for Rows {
    fn from(records: Records) -> Self {
        Self { kept: Kept::Text(records), shapes: Shapes::OfRows }
    }
}

impl Rows {
    /// How many there are.
    pub fn len(&self) -> usize {
        match &self.kept {
            Kept::Whole(list) => list.len(),
            Kept::Text(records) => records.len(),
        }
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Every row.
    pub fn iter(&self) -> impl Iterator<Item = Row<'_>> + Clone {
        (0..self.len()).map(|index| Row { rows: self, index })
    }

    /// The row at a place in the list.
    pub fn get(&self, index: usize) -> Option<Row<'_>> {
        (index < self.len()).then_some(Row { rows: self, index })
    }

    /// Gives every row the point at its place in the list.
    pub(crate) fn set_points(&mut self, points: Vec<Coord<f64>>) {
        self.shapes = Shapes::Points(points);
    }

    /// Gives every row the shape that was read from a column, which then is empty.
    pub(super) fn set_shapes_of(&mut self, column: usize, shapes: Vec<Option<Geometry<f64>>>) {
        self.shapes = Shapes::Any(shapes);
        match &mut self.kept {
            Kept::Whole(list) => {
                for cell in list.iter_mut().filter_map(|row| row.cells.get_mut(column)) {
                    *cell = Cell::Empty;
                }
            }
            Kept::Text(records) => records.empty(column),
        }
    }
}

impl<'t> Row<'t> {
    /// Number for messages: the line in a text file, the feature counted from 1 elsewhere.
    pub fn number(self) -> usize {
        match &self.rows.kept {
            Kept::Whole(list) => list.get(self.index).map_or(0, |row| row.number),
            Kept::Text(records) => records.number(self.index),
        }
    }

    /// Geometry in the table's coordinate system.
    pub fn geometry(self) -> Option<Cow<'t, Geometry<f64>>> {
        match (&self.rows.shapes, &self.rows.kept) {
            (Shapes::Points(list), _) => list.get(self.index).map(|at| Cow::Owned(Geometry::Point(Point(*at)))),
            (Shapes::Any(list), _) => list.get(self.index)?.as_ref().map(Cow::Borrowed),
            (Shapes::OfRows, Kept::Whole(list)) => list.get(self.index)?.geometry.as_ref().map(Cow::Borrowed),
            (Shapes::OfRows, Kept::Text(_)) => None,
        }
    }

    /// The cell of a column; empty if there is none.
    pub fn cell(self, column: usize) -> Cow<'t, Cell> {
        match &self.rows.kept {
            Kept::Whole(list) => {
                let cell = list.get(self.index).and_then(|row| row.cells.get(column));
                Cow::Borrowed(cell.unwrap_or(&Cell::Empty))
            }
            Kept::Text(records) => Cow::Owned(records.cell(self.index, column)),
        }
    }
}
