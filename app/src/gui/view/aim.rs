//! Tools that only look: measuring, and choosing many fields.

use geo::Coord;

/// What such a tool does.
#[derive(Debug, Clone, PartialEq)]
pub enum Aim {
    /// Measures along a line; closed, it measures the area too.
    Measure(Trace),
    /// Chooses the fields in a rectangle, drawn by dragging.
    Rectangle {
        /// Where the drag began, degrees.
        from: Option<Coord<f64>>,
    },
    /// Chooses the fields that lie mostly inside an outline.
    Outline(Trace),
}

/// A line that is being drawn, corner by corner, degrees.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Trace {
    /// Corners.
    pub corners: Vec<Coord<f64>>,
    /// The line has ended; the next press begins another.
    pub ended: bool,
    /// It ended at its first corner.
    pub closed: bool,
}

impl Trace {
    /// With one corner more; a line that had ended begins anew.
    #[must_use]
    pub fn with(&self, corner: Coord<f64>) -> Self {
        let mut next = if self.ended { Self::default() } else { self.clone() };
        next.corners.push(corner);
        next
    }

    /// Ended, and closed if asked and there are corners enough.
    #[must_use]
    pub fn end(&self, closed: bool) -> Self {
        Self { ended: true, closed: closed && self.corners.len() > 2, ..self.clone() }
    }

    /// Without the last corner.
    #[must_use]
    pub fn without_last(&self) -> Self {
        let mut next = self.clone();
        next.corners.pop();
        (next.ended, next.closed) = (false, false);
        next
    }
}
