//! What the pointer does on the map besides panning and choosing.

use awn_core::model::{FieldId, GateId};
use geo::Coord;

use crate::gui::view::aim::Aim;

/// What a click on the map does.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Tool {
    /// Choose what is there, pan, and take hold of what can be moved.
    #[default]
    Choose,
    /// Measure, or choose many fields: nothing is changed.
    Aim(Aim),
    /// Add a stop to the plan of a field.
    AddStop(FieldId),
    /// Put a gate on the boundary of a field.
    AddGate(FieldId),
    /// Say where the days of the rounds begin and end.
    SetBase,
    /// Draw a shape corner by corner.
    Sketch(Sketch),
    /// Move, add and take away corners of a field's boundary and no-go areas.
    Reshape(FieldId),
}

/// What a drawn shape becomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SketchOf {
    /// A no-go area of a field.
    NoGo(FieldId),
    /// A set of tramlines, by two places on one line.
    Tramlines(FieldId),
    /// The boundary of a new field.
    Boundary,
    /// The line along which a field is split.
    Split(FieldId),
}

impl SketchOf {
    /// The field it belongs to, if there is one yet.
    pub fn field(self) -> Option<FieldId> {
        match self {
            Self::NoGo(field) | Self::Tramlines(field) | Self::Split(field) => Some(field),
            Self::Boundary => None,
        }
    }

    /// Fewest corners.
    pub fn least(self) -> usize {
        match self {
            Self::NoGo(_) | Self::Boundary => 3,
            Self::Tramlines(_) | Self::Split(_) => 2,
        }
    }

    /// Whether the last corner is joined to the first.
    pub fn is_area(self) -> bool {
        matches!(self, Self::NoGo(_) | Self::Boundary)
    }
}

/// A shape being drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Sketch {
    /// What it becomes.
    pub what: SketchOf,
    /// Corners so far, degrees.
    pub corners: Vec<Coord<f64>>,
    /// Typed: distance of the next corner from the last, m.
    pub distance_m: f64,
    /// Typed: bearing of the next corner from the last, degrees clockwise from true north.
    pub bearing_deg: f64,
}

impl Sketch {
    /// A shape without corners yet.
    pub fn new(what: SketchOf) -> Self {
        Self { what, corners: Vec::new(), distance_m: 100.0, bearing_deg: 0.0 }
    }

    /// Whether it may be finished.
    pub fn is_enough(&self) -> bool {
        self.corners.len() >= self.what.least()
    }
}

/// A corner of a field's boundary or of one of its no-go areas.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Corner {
    /// The no-go area it belongs to; none: the boundary.
    pub no_go: Option<awn_core::model::NoGoId>,
    /// Part of the shape.
    pub part: usize,
    /// Ring of the part: 0 the outer one.
    pub ring: usize,
    /// Corner of the ring.
    pub index: usize,
}

/// Something taken hold of, other than a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// A gate.
    Gate(GateId),
    /// A corner of a field's shapes; `new`: it is added in the middle of the side that begins there.
    Corner {
        /// The field.
        field: FieldId,
        /// Which corner.
        corner: Corner,
        /// Added by this drag, after `corner`.
        new: bool,
    },
}

/// A drag of something other than a stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grab {
    /// What.
    pub held: Held,
    /// Where the pointer has it, degrees.
    pub at: Coord<f64>,
}
