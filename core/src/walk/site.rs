//! One field as the planner sees it: in metres of its local plane, with what limits where people walk.

use geo::{BooleanOps as _, BoundingRect as _, Coord, MultiPolygon};

use crate::crs::LocalPlane;
use crate::model::{Field, Records, Tramlines};

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
    /// Tramlines, if they are known: a point on one of them, in metres, and the record.
    pub tramlines: Option<(Coord<f64>, Tramlines)>,
}

impl Site {
    /// The site of a field; none if it has no usable shape.
    pub fn of(records: &Records, field: &Field) -> Option<Self> {
        let plane = LocalPlane::around(field.boundary.bounding_rect()?).ok()?;
        let boundary = plane.to_metres(&field.boundary);
        let open =
            records.no_go_of(field.id).fold(boundary.clone(), |open, area| open.difference(&plane.to_metres(&area.area)));
        let gates = records.gates_of(field.id).map(|gate| plane.metres(gate.position)).collect();
        let usable = |lines: &Tramlines| lines.spacing_m > 0.5 && lines.bearing_deg.is_finite() && lines.headland_m >= 0.0;
        let tramlines = records
            .tramlines_of(field.id)
            .filter(|lines| usable(lines))
            .map(|lines| (plane.metres(lines.anchor), (**lines).clone()));
        Some(Self { plane, boundary, open, gates, tramlines })
    }
}
