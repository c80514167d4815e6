//! What the tests of imports and exports share.
#![allow(dead_code)] // every test binary uses its own part

use std::path::{Path, PathBuf};

use awn_core::exchange::{self, BoundaryOptions, Import, ImportError};
use awn_core::model::Records;
use awn_core::problem::Problems;
use awn_core::progress::Quiet;
use awn_core::project::Project;

/// A folder that is thrown away, with files in it.
pub struct Folder(tempfile::TempDir);

impl Folder {
    pub fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, content).unwrap();
        path
    }
}

/// A file of tests/data.
pub fn data(name: &str) -> PathBuf {
    awn_tests::project_path("tests/data").join(name)
}

/// Imports boundaries.
pub fn boundaries(records: &Records, file: &Path, options: &BoundaryOptions) -> (Result<Import, ImportError>, Problems) {
    let mut problems = Problems::new();
    let import = exchange::boundaries(records, file, options, &mut problems, &Quiet);
    (import, problems)
}

/// A square of 200 m at an offset in metres from 52.5 N 0.4 W, about, as GeoJSON coordinates.
pub fn square(east: f64, north: f64) -> serde_json::Value {
    let at = |x: f64, y: f64| serde_json::json!([-0.4 + x / 67_760.0, 52.5 + y / 111_280.0]);
    serde_json::json!([[
        at(east, north),
        at(east + 200.0, north),
        at(east + 200.0, north + 200.0),
        at(east, north + 200.0),
        at(east, north)
    ]])
}

/// A collection of squares: farm, name, offset.
pub fn farm_map(fields: &[(&str, &str, f64, f64)]) -> String {
    let features: Vec<_> = fields
        .iter()
        .map(|(farm, name, east, north)| {
            serde_json::json!({ "type": "Feature", "properties": { "farm": farm, "name": name },
                "geometry": { "type": "Polygon", "coordinates": square(*east, *north) } })
        })
        .collect();
    serde_json::json!({ "type": "FeatureCollection", "features": features }).to_string()
}

/// A project in memory with four fields of two farms, two of one name.
pub fn project() -> Project {
    let folder = Folder::new();
    let file = folder.write(
        "map.geojson",
        farm_map(&[
            ("Hill Farm", "Long Acre", 0.0, 0.0),
            ("Hill Farm", "Pit Close", 300.0, 0.0),
            ("Dale Farm", "Long Acre", 2000.0, 0.0),
            ("Dale Farm", "=Mill, lower", 2300.0, 0.0),
        ]),
    );
    let mut project = Project::in_memory();
    let (import, problems) = boundaries(project.records(), &file, &BoundaryOptions::default());
    assert!(problems.is_clean(), "{problems:?}");
    project.apply(import.unwrap().command).unwrap();
    project
}

/// The error whose place holds `place`.
pub fn error_at<'a>(problems: &'a Problems, place: &str) -> &'a awn_core::problem::Problem {
    problems
        .errors()
        .find(|problem| problem.place.contains(place))
        .unwrap_or_else(|| panic!("no error at {place}: {problems:#?}"))
}
