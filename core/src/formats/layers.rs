//! Files with several layers: which one an import takes.

use geo::Geometry;

use crate::formats::{Reading, Row, Shapes, Table};
use crate::problem::Problems;

/// The layers of task data with fields, and with what lies in them and is not to be entered.
pub(super) const PARTFIELDS: &str = "partfields";
/// See [`PARTFIELDS`].
pub(super) const NOT_ENTERED: &str = "areas not to be entered";

/// One layer of a file.
pub(super) struct Layer {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub table: Table,
}

impl Shapes {
    /// Whether a geometry holds such shapes.
    pub(super) fn fits(self, geometry: &Geometry<f64>) -> bool {
        match geometry {
            Geometry::GeometryCollection(parts) => parts.iter().any(|part| self.fits(part)),
            Geometry::Point(_) | Geometry::MultiPoint(_) => matches!(self, Self::Any | Self::Points),
            Geometry::Line(_) | Geometry::LineString(_) | Geometry::MultiLineString(_) => {
                matches!(self, Self::Any | Self::Lines)
            }
            _ => matches!(self, Self::Any | Self::Areas | Self::NoGo),
        }
    }
}

/// The layer by name, or the first with shapes of the kind wanted, or the first that is not empty.
pub(super) fn choose(place: &str, mut layers: Vec<Layer>, ask: Reading<'_>, problems: &mut Problems) -> Option<Table> {
    if ask.shapes == Shapes::NoGo && ask.layer.is_none() && layers.iter().any(|layer| layer.name == PARTFIELDS) {
        // A whole field is never what is not to be entered.
        let found = layers.into_iter().find(|layer| layer.name == NOT_ENTERED);
        if found.is_none() {
            problems.error(
                place,
                "it has fields, but nothing in them that is not to be entered.",
                "Give a file with such areas.",
            );
        }
        return found.map(|layer| layer.table);
    }
    let names = layers.iter().map(|layer| layer.name.as_str()).collect::<Vec<_>>().join(", ");
    let fits = |layer: &&Layer| layer.table.rows.iter().filter_map(Row::geometry).any(|g| ask.shapes.fits(&g));
    let chosen = match ask.layer {
        Some(name) => layers.iter().position(|layer| layer.name.eq_ignore_ascii_case(name)),
        None => layers
            .iter()
            .position(|layer| fits(&layer))
            .or_else(|| layers.iter().position(|layer| !layer.table.rows.is_empty())),
    };
    let Some(index) = chosen else {
        match ask.layer {
            Some(name) => problems.error(place, format!("it has no layer “{name}”."), format!("Its layers are: {names}.")),
            None => problems.error(place, "nothing in it has a position.", "Give a file with boundaries, lines or points."),
        }
        return None;
    };
    if ask.layer.is_none() && layers.len() > 1 {
        note(place, &names, layers.get(index).map_or("", |layer| &layer.name), problems);
    }
    Some(layers.swap_remove(index).table)
}

/// Says which of several layers was taken.
pub(super) fn note(place: &str, names: &str, chosen: &str, problems: &mut Problems) {
    problems.note(place, format!("of its layers ({names}), “{chosen}” was read."), "Name another layer to read that one.");
}
