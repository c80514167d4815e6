//! One field as the planner sees it: in metres of its local plane, with what limits where people walk.

use geo::{BooleanOps as _, Coord, LineString, MultiPolygon};

use crate::crs::LocalPlane;
use crate::model::{Field, GateId, Records, Tramlines};

/// A field in metres of its local plane.
#[derive(Debug)]
pub struct Site {
    /// The plane; the same as that of the field's density surface.
    pub plane: LocalPlane,
    /// The boundary with its holes.
    pub boundary: MultiPolygon<f64>,
    /// The boundary less no-go areas: where people walk.
    pub open: MultiPolygon<f64>,
    /// Gates.
    pub gates: Vec<Coord<f64>>,
    /// Identifiers of the gates, in the same order.
    pub gate_ids: Vec<GateId>,
    /// Sets of tramlines; none: they are not known.
    pub tramlines: Vec<TramlineSet>,
}

/// A set of tramlines in metres.
#[derive(Debug, Clone)]
pub struct TramlineSet {
    /// A point on one of the lines.
    pub anchor: Coord<f64>,
    /// Degrees clockwise from north.
    pub bearing_deg: f64,
    /// From line to line, m.
    pub spacing_m: f64,
    /// Width of the headland, m.
    pub headland_m: f64,
    /// The part of the field in which they run; none: all of it.
    pub area: Option<MultiPolygon<f64>>,
    /// The lines as they were driven; empty: parallel lines.
    pub lines: Vec<LineString<f64>>,
}

impl Site {
    /// The site of a field; none if it has no usable shape.
    pub fn of(records: &Records, field: &Field) -> Option<Self> {
        let plane = LocalPlane::over(&field.boundary)?;
        let boundary = plane.to_metres(&field.boundary);
        let open =
            records.no_go_of(field.id).fold(boundary.clone(), |open, area| open.difference(&plane.to_metres(&area.area)));
        let usable = |lines: &Tramlines| lines.spacing_m > 0.5 && lines.bearing_deg.is_finite() && lines.headland_m >= 0.0;
        let tramlines = records
            .tramlines_of(field.id)
            .filter(|lines| usable(lines))
            .map(|lines| TramlineSet {
                anchor: plane.metres(lines.anchor),
                bearing_deg: lines.bearing_deg,
                spacing_m: lines.spacing_m,
                headland_m: lines.headland_m,
                area: lines.area.as_ref().map(|area| plane.to_metres(area)),
                lines: lines.lines.iter().map(|line| plane.to_metres(line)).collect(),
            })
            .collect();
        let gates = records.gates_of(field.id);
        let (gates, gate_ids) = gates.map(|gate| (plane.metres(gate.position), gate.id)).unzip();
        Some(Self { plane, boundary, open, gates, gate_ids, tramlines })
    }

    /// Width of the headland, m: the widest of all sets; 0 without tramlines.
    pub fn headland_m(&self) -> f64 {
        self.tramlines.iter().map(|lines| lines.headland_m).fold(0.0, f64::max)
    }
}
