//! In which order the naming authority puts the two numbers of a position.

use serde_json::Value;

use crate::crs::stray::with_proj;
use crate::crs::{Crs, CrsError};

impl Crs {
    /// Whether positions of an EPSG code begin with the northing or latitude, as its coordinate system in the EPSG dataset
    /// says. Files that follow the authority's order (GML by URN) are to be turned round then.
    pub fn north_first(code: u32) -> Result<bool, CrsError> {
        let json = Self::Epsg(code).projjson()?;
        Ok(is_north_first(&json))
    }

    /// The system as PROJJSON.
    pub(super) fn projjson(&self) -> Result<Value, CrsError> {
        let unknown = |why: String| CrsError::Unknown(self.label(), why);
        let system = with_proj(|builder| builder.proj(&self.definition()))?.map_err(|error| unknown(error.to_string()))?;
        let json = system.to_projjson(None, None, None).map_err(|error| unknown(error.to_string()))?;
        serde_json::from_str(&json).map_err(|error| unknown(error.to_string()))
    }
}

/// The same of a system as PROJJSON; of one with heights its horizontal part counts.
fn is_north_first(system: &Value) -> bool {
    let horizontal = system.get("components").and_then(|parts| parts.get(0)).unwrap_or(system);
    let axes = horizontal.get("coordinate_system").and_then(|system| system.get("axis"));
    let direction = |index: usize| axes?.get(index)?.get("direction")?.as_str();
    match (direction(0), direction(1)) {
        (Some("north"), Some(second)) => second != "north",
        // Polar systems name the meridian of an axis instead: both run north or both south.
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_of_the_epsg_dataset() {
        // EPSG coordinate systems 6422 (lat, long), 4400 (E, N), 4530 (X north, Y east), 4532 (N, E), as published.
        for (code, north_first) in
            [(4326, true), (25832, false), (31467, true), (3035, true), (2180, true), (28992, false), (27700, false)]
        {
            assert_eq!(Crs::north_first(code), Ok(north_first), "EPSG:{code}");
        }
        assert!(Crs::north_first(999_999).is_err());
    }
}
