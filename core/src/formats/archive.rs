//! Archives (.zip, .kmz): unpacked into a folder of their own that is thrown away, then read like any other file; archives inside
//! them too, but not deeper.
//!
//! Nothing is unpacked that could not belong to a map, nothing outside that folder, and no more than a map could
//! reasonably hold: what an archive says of its own size is not believed, only what comes out is counted.

use std::io::{Cursor, Read as _};
use std::path::{Path, PathBuf};

use zip::ZipArchive;

use crate::formats::layers::{self};
use crate::formats::{Reading, Row, Table, files, read_by_name};
use crate::problem::Problems;

/// Files that are read on their own, by their ends.
const MAIN: [&str; 15] = [
    "shp", "gpkg", "geojson", "json", "geojsonl", "geojsons", "ndjson", "fgb", "gml", "kml", "gpx", "xml", "csv", "tsv",
    "kmz",
];
/// Files that belong to others.
const BESIDE: [&str; 5] = ["dbf", "shx", "prj", "cpg", "txt"];
/// More files than this are no delivery of maps.
const MOST_FILES: usize = 20_000;
/// Whatever the archive's size, this much may come out, bytes.
const ALWAYS: u64 = 64 << 20;
/// Beyond that, so many times its own size: text packs to a twentieth, hardly to less.
const TIMES: u64 = 60;
/// And never more than this, bytes.
const NEVER: u64 = 8 << 30;

/// Reads the file inside: the one named, or the first with shapes of the kind wanted.
pub(super) fn read(path: &Path, ask: Reading<'_>, problems: &mut Problems) -> Option<Table> {
    let place = files::file_name(path);
    let unpacked = Unpacked::of(path, problems)?;
    let names: Vec<String> = unpacked.main.iter().map(|(name, _)| name.clone()).collect();
    let said = |name: &String, wanted: &str| {
        let stem = Path::new(name).file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        let file = Path::new(name).file_name().map(|file| file.to_string_lossy().into_owned()).unwrap_or_default();
        [name.as_str(), &file, &stem].iter().any(|other| other.eq_ignore_ascii_case(wanted))
    };
    // A name that is no file inside is that of a layer in one of them.
    let (chosen, layer): (Vec<&(String, PathBuf)>, Option<&str>) =
        match ask.layer.filter(|wanted| names.iter().any(|name| said(name, wanted))) {
            Some(wanted) => (unpacked.main.iter().filter(|(name, _)| said(name, wanted)).collect(), None),
            None => (unpacked.main.iter().collect(), ask.layer),
        };
    let mut first: Option<(Option<Table>, Problems)> = None;
    for (name, file) in chosen {
        let mut found = Problems::new();
        let ask = Reading { layer, ..ask };
        let table = read_by_name(file, ask, &mut found).filter(|_| !found.has_errors());
        for problem in &mut found.list {
            problem.place = format!("{place}/{}", problem.place);
        }
        let table = table.map(|table| Table { name: format!("{place}/{}", table.name), ..table });
        let fits = table
            .as_ref()
            .is_some_and(|table| table.rows.iter().filter_map(Row::geometry).any(|geometry| ask.shapes.fits(&geometry)));
        if fits {
            if names.len() > 1 && ask.layer.is_none() {
                layers::note(&place, &names.join(", "), name, problems);
            }
            problems.extend(found);
            return table;
        }
        if first.is_none() {
            first = Some((table, found));
        }
    }
    let (table, found) = first?;
    problems.extend(found);
    table
}

/// Names of the files inside that can be read.
pub(super) fn names(path: &Path, problems: &mut Problems) -> Vec<String> {
    Unpacked::of(path, problems)
        .map(|unpacked| unpacked.main.iter().map(|(name, _)| name.clone()).collect())
        .unwrap_or_default()
}

/// What was unpacked; the folder goes when this does.
struct Unpacked {
    _folder: tempfile::TempDir,
    /// Name inside the archive and path outside of every file that is read on its own.
    main: Vec<(String, PathBuf)>,
    /// Whether an archive lies deeper than is looked.
    deeper: bool,
}

/// What is being unpacked.
struct Unpacking {
    folder: tempfile::TempDir,
    /// Bytes that may still come out.
    left: u64,
    main: Vec<(String, PathBuf)>,
    deeper: bool,
}

impl Unpacked {
    fn of(path: &Path, problems: &mut Problems) -> Option<Self> {
        let place = files::file_name(path);
        let bytes = files::bytes(path, problems)?;
        match Self::unpack(&bytes) {
            Ok(unpacked) if unpacked.main.is_empty() && unpacked.deeper => {
                let what = "it holds an archive within an archive within an archive.";
                problems.error(place, what, "Unpack the outer ones and import the one inside.");
                None
            }
            Ok(unpacked) if unpacked.main.is_empty() => {
                let hint = "Give an archive of a shapefile, GeoPackage, GeoJSON, KML, GPX, GML, FlatGeobuf or task data.";
                problems.error(place, "no file that could be read is in it.", hint);
                None
            }
            Ok(unpacked) => Some(unpacked),
            Err(why) => {
                problems.error(
                    place,
                    format!("it cannot be unpacked: {why}."),
                    "Unpack it yourself and import the file inside.",
                );
                None
            }
        }
    }

    fn unpack(bytes: &[u8]) -> Result<Self, String> {
        let folder = tempfile::tempdir().map_err(|error| format!("no folder could be made for it: {error}"))?;
        let left = ALWAYS.max(TIMES.saturating_mul(bytes.len() as u64)).min(NEVER);
        let mut unpacking = Unpacking { folder, left, main: Vec::new(), deeper: false };
        unpacking.take(bytes, Path::new(""), true)?;
        let Unpacking { folder, mut main, deeper, .. } = unpacking;
        // Boundaries come as shapefiles or the like; lone .xml files beside them mostly describe them.
        main.sort_by_key(|(name, _)| (name.to_ascii_lowercase().ends_with(".xml"), name.clone()));
        Ok(Self { _folder: folder, main, deeper })
    }
}

impl Unpacking {
    /// Unpacks an archive into a folder below its own; archives in it as well, if `outer`.
    fn take(&mut self, bytes: &[u8], below: &Path, outer: bool) -> Result<(), String> {
        let said = |error: zip::result::ZipError| format!("{error}").trim_end_matches('.').to_owned();
        let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(said)?;
        if archive.len() > MOST_FILES {
            return Err(format!("it holds {} files", archive.len()));
        }
        for index in 0..archive.len() {
            let entry = archive.by_index(index).map_err(said)?;
            let Some(inside) = entry.enclosed_name() else {
                let name = entry.name().map_err(said)?;
                return Err(format!("“{name}” in it names a place outside the archive"));
            };
            let ending = inside.extension().map(|end| end.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
            let hidden = inside.components().any(|part| {
                let part = part.as_os_str().to_string_lossy();
                part.starts_with('.') || part == "__MACOSX"
            });
            let (is_main, is_archive) = (MAIN.contains(&ending.as_str()), ending == "zip");
            if is_archive && !outer && !hidden {
                self.deeper = true;
            }
            let wanted = is_main || BESIDE.contains(&ending.as_str()) || is_archive && outer;
            if !entry.is_file() || hidden || !wanted {
                continue;
            }
            let inside = below.join(inside);
            let mut content = Vec::new();
            entry
                .take(self.left + 1)
                .read_to_end(&mut content)
                .map_err(|error| format!("“{}”: {error}", inside.display()))?;
            self.left = self.left.checked_sub(content.len() as u64).ok_or("more comes out of it than a map can hold")?;
            if is_archive {
                self.take(&content, &inside.with_extension(""), false)?;
                continue;
            }
            let file = self.folder.path().join(&inside);
            let written =
                file.parent().map_or(Ok(()), std::fs::create_dir_all).and_then(|()| std::fs::write(&file, content));
            written.map_err(|error| format!("“{}” could not be written: {error}", inside.display()))?;
            if is_main {
                self.main.push((inside.to_string_lossy().replace('\\', "/"), file));
            }
        }
        Ok(())
    }
}
