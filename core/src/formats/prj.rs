//! The coordinate system in the .prj file beside another file.

use std::path::Path;

use crate::crs::Crs;
use crate::formats::{code_page, files};
use crate::problem::Problems;

/// The system that the .prj file beside `path` names; none if there is none, or with a problem if it says nothing usable.
pub(super) fn beside(path: &Path, problems: &mut Problems) -> Option<Crs> {
    let prj = files::beside(path, "prj")?;
    let text = files::bytes(&prj, problems)?;
    match Crs::from_wkt(&code_page::text_of(&text)) {
        Ok(crs) => Some(crs),
        Err(why) => {
            problems.warning(files::file_name(&prj), format!("{why}."), "Give the coordinate system yourself.");
            None
        }
    }
}
