//! Farm, field, and what lies in a field: gates, no-go areas, tramlines.

use std::sync::OnceLock;

use geo::{Coord, LineString, MultiPolygon};
use serde::{Deserialize, Serialize};

use crate::geometry;
use crate::model::{FarmId, FieldId, GateId, NoGoId, TramlinesId};

/// A farm of a business.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Farm {
    /// Identifier.
    pub id: FarmId,
    /// The business the farm belongs to; may be empty.
    pub business: String,
    /// Name, unique in a project.
    pub name: String,
}

/// A field: a boundary with a history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Field {
    /// Identifier.
    pub id: FieldId,
    /// The farm it belongs to.
    pub farm: FarmId,
    /// Name, as people on the farm say it.
    pub name: String,
    /// Boundary in degrees; holes are ponds, copses and the like.
    pub boundary: MultiPolygon<f64>,
    /// First harvest year in which the field has this shape; none: always.
    pub from_year: Option<i32>,
    /// Last harvest year in which the field has this shape; none: still.
    pub until_year: Option<i32>,
    /// The fields this one was split or merged from.
    pub came_from: Vec<FieldId>,
    /// Notes in the user's words.
    pub note: String,
    /// Shapes and names of earlier years, where an edge moved or the name changed since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub former: Vec<Former>,
    /// Its area, kept once it is asked for.
    #[serde(skip)]
    pub measured: Measured,
}

/// An area that is worked out when it is first asked for: on the ellipsoid that takes long enough to be felt in a project of thousands of
/// fields. A copy of a field starts without one, because it may be given another boundary.
#[derive(Debug, Default)]
pub struct Measured(OnceLock<f64>);

impl Clone for Measured {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl PartialEq for Measured {
    /// It follows from the boundary.
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// What a field was until a harvest year.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Former {
    /// Last harvest year of which this holds.
    pub until_year: i32,
    /// Its name then.
    pub name: String,
    /// Its boundary then, degrees.
    pub boundary: MultiPolygon<f64>,
}

impl Field {
    /// A field with a name and a boundary, without history.
    pub fn new(farm: FarmId, name: impl Into<String>, boundary: MultiPolygon<f64>) -> Self {
        Self {
            id: FieldId::new(),
            farm,
            name: name.into(),
            boundary,
            from_year: None,
            until_year: None,
            came_from: Vec::new(),
            note: String::new(),
            former: Vec::new(),
            measured: Measured::default(),
        }
    }

    /// What the field was in a harvest year, if that was something else than it is now.
    pub fn former_in(&self, year: i32) -> Option<&Former> {
        self.former.iter().filter(|former| year <= former.until_year).min_by_key(|former| former.until_year)
    }

    /// The field with another name and boundary from a harvest year on; what it was stays on record for the years before. A
    /// second change from the same year, or one from an earlier year than the last, corrects what holds now and no more.
    #[must_use]
    pub fn changed_from(&self, year: i32, name: impl Into<String>, boundary: MultiPolygon<f64>) -> Self {
        let mut field = Self { name: name.into(), boundary, ..self.clone() };
        let earlier = self.from_year.is_none_or(|from| from < year);
        let known = self.former.iter().any(|former| former.until_year >= year - 1);
        if earlier && !known && (field.name != self.name || field.boundary != self.boundary) {
            let former = Former { until_year: year - 1, name: self.name.clone(), boundary: self.boundary.clone() };
            field.former.push(former);
        }
        field
    }

    /// Area on the WGS 84 ellipsoid in m2, less holes.
    pub fn area_m2(&self) -> f64 {
        *self.measured.0.get_or_init(|| geometry::geodesic_area_m2(&self.boundary))
    }

    /// Whether the field has this shape in the harvest year.
    pub fn exists_in(&self, year: i32) -> bool {
        self.from_year.is_none_or(|from| from <= year) && self.until_year.is_none_or(|until| year <= until)
    }
}

/// A gate: where the walk starts and ends, and near which no seed is taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Gate {
    /// Identifier.
    pub id: GateId,
    /// The field it opens into.
    pub field: FieldId,
    /// Name; may be empty.
    pub name: String,
    /// Position in degrees.
    pub position: Coord<f64>,
}

/// An area of a field in which no stop is placed and through which the walk does not lead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NoGo {
    /// Identifier.
    pub id: NoGoId,
    /// The field it lies in.
    pub field: FieldId,
    /// Why: "trial plots", "wet hole".
    pub reason: String,
    /// Shape in degrees.
    pub area: MultiPolygon<f64>,
}

/// A set of tramlines of a field: parallel lines at a bearing and a spacing through a stored anchor, so that the lines
/// stay where they are when the boundary is edited, or the lines as they were driven. A field may have several sets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tramlines {
    /// Identifier.
    pub id: TramlinesId,
    /// The field they lie in.
    pub field: FieldId,
    /// A point that one of the lines runs through, degrees.
    pub anchor: Coord<f64>,
    /// Degrees clockwise from true north, 0 to 180.
    pub bearing_deg: f64,
    /// Distance from line to line, m (the sprayer's width).
    pub spacing_m: f64,
    /// Distance of the headland tramline's pass from the boundary, m: lines end there and a loop runs round at half of it.
    pub headland_m: f64,
    /// The part of the field in which the set runs, degrees; none: all of it.
    #[serde(default)]
    pub area: Option<MultiPolygon<f64>>,
    /// The lines as they were driven or drawn, degrees; empty: parallel lines through the anchor.
    #[serde(default)]
    pub lines: Vec<LineString<f64>>,
}
