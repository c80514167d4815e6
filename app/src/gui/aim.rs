//! What a press on the map is for: looking, measuring, or choosing many fields.

use geo::Coord;

/// What the pointer does on the map.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Aim {
    /// Chooses, pans, and takes hold of what can be moved.
    #[default]
    Look,
    /// Measures along a line; closed, it measures the area too.
    Measure(Sketch),
    /// Chooses the fields in a rectangle, drawn by dragging.
    Rectangle {
        /// Where the drag began, degrees.
        from: Option<Coord<f64>>,
    },
    /// Chooses the fields that lie mostly inside an outline.
    Outline(Sketch),
}

/// A line that is being drawn, corner by corner, degrees.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sketch {
    /// Corners.
    pub corners: Vec<Coord<f64>>,
    /// The line has ended; the next press begins another.
    pub ended: bool,
    /// It ended at its first corner.
    pub closed: bool,
}

impl Sketch {
    /// With one corner more; a line that had ended begins anew.
    pub fn with(&self, corner: Coord<f64>) -> Self {
        let mut next = if self.ended { Self::default() } else { self.clone() };
        next.corners.push(corner);
        next
    }

    /// Ended, and closed if asked and there are corners enough.
    pub fn end(&self, closed: bool) -> Self {
        Self { ended: true, closed: closed && self.corners.len() > 2, ..self.clone() }
    }

    /// Without the last corner.
    pub fn without_last(&self) -> Self {
        let mut next = self.clone();
        next.corners.pop();
        (next.ended, next.closed) = (false, false);
        next
    }
}
