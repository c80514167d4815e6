//! Shift grids of the NTv2 kind (.gsb) from a folder that the user names, for datums that a formula alone meets within
//! metres only.
//!
//! Which file serves which datum: assets/tables/ntv2_grids.csv, the NTv2 transformations of the EPSG dataset with their
//! published accuracies. The files themselves are read by PROJ, which refuses a position outside of them.

use std::path::{Path, PathBuf};
use std::sync::RwLock;

use crate::crs::Crs;

static FOLDER: RwLock<Option<PathBuf>> = RwLock::new(None);

/// Names the folder in which converters made from now on look for grids; none: no grids.
pub fn set_grid_folder(folder: Option<PathBuf>) {
    match FOLDER.write() {
        Ok(mut held) => *held = folder,
        Err(poisoned) => *poisoned.into_inner() = folder,
    }
}

/// The folder named last.
pub fn grid_folder() -> Option<PathBuf> {
    FOLDER.read().map_or_else(|poisoned| poisoned.into_inner().clone(), |held| held.clone())
}

/// A grid that fits a datum.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grid {
    pub file: PathBuf,
    /// The transformation's name in the EPSG dataset.
    pub transformation: String,
    pub accuracy_m: f64,
}

/// The most exact grid in a folder for a geographic system.
pub(super) fn grid_for(folder: &Path, geographic: u32) -> Option<Grid> {
    // PROJ may be asked from another working folder.
    let folder = std::path::absolute(folder).ok()?;
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).ok()?.filter_map(|entry| Some(entry.ok()?.path())).collect();
    files.sort();
    let rows: Vec<Vec<&str>> =
        include_str!("../../../assets/tables/ntv2_grids.csv").lines().skip(1).map(|row| row.split(',').collect()).collect();
    let fitting = files.iter().flat_map(|file| {
        let name = file.file_name().map(|name| name.to_string_lossy().to_lowercase()).unwrap_or_default();
        rows.iter().filter_map(move |row| match row.as_slice() {
            [grid, code, accuracy, transformation] if *grid == name && code.parse() == Ok(geographic) => Some(Grid {
                file: file.clone(),
                transformation: (*transformation).to_owned(),
                accuracy_m: accuracy.parse().ok()?,
            }),
            _ => None,
        })
    });
    fitting.min_by(|a, b| a.accuracy_m.total_cmp(&b.accuracy_m))
}

impl Grid {
    /// What PROJ is asked for: degrees to degrees through the grid.
    pub fn pipeline(&self) -> String {
        let turn = |from: &str, to: &str| format!("+step +proj=unitconvert +xy_in={from} +xy_out={to}");
        let file = self.file.display().to_string().replace('"', "\"\"");
        format!("+proj=pipeline {} +step +proj=hgridshift +grids=\"{file}\" {}", turn("deg", "rad"), turn("rad", "deg"))
    }

    /// Its file name.
    pub fn name(&self) -> String {
        self.file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    }
}

/// The geographic system under a system, by its EPSG code.
pub(super) fn geographic_of(system: &Crs) -> Option<u32> {
    let json = system.projjson().ok()?;
    let base = json.get("base_crs").unwrap_or(&json);
    let code = u32::try_from(base.get("id")?.get("code")?.as_u64()?).ok()?;
    // NTF counted from Paris is NTF but for its zero meridian.
    Some(if code == 4807 { 4275 } else { code })
}
