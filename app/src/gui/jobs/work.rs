//! What jobs do: functions of snapshots, each giving an [`Outcome`]. Nothing here touches the window.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use awn_core::exchange::{self, Format, Import, ImportError, What};
use awn_core::formats;
use awn_core::model::{FieldId, Plan, Records};
use awn_core::problem::Problems;
use awn_core::progress::Progress;
use awn_core::project::Project;
use awn_core::stops::{self, PlanError};
use geo::Coord;
use rayon::prelude::*;

use crate::commands::write;
use crate::gui::facts::Facts;
use crate::gui::jobs::kind::Outcome;
use crate::gui::map::{self, Finds};
use crate::gui::view::import_form::{Checked, ImportForm};
use crate::gui::view::import_preview::Preview;
use crate::gui::view::{HowMany, PlanForm};

pub use crate::commands::today;

/// The harvest that work is now done for: from August on, the next year's.
pub fn present_harvest() -> i32 {
    today().map_or(2027, |today| i32::from(today.year()) + i32::from(today.month() >= 8))
}

/// Opens a project file.
pub fn open(path: &Path) -> Outcome {
    let project = Project::open(path).map(Box::new).map_err(|error| error.to_string());
    Outcome::Opened { project, then: None }
}

/// Makes a project file, into which a boundary file will be read.
pub fn create(path: &Path, then: Option<PathBuf>) -> Outcome {
    let mut path = path.to_owned();
    if path.extension().is_none() {
        path.set_extension("gpkg");
    }
    let project = Project::create(&path).map(Box::new).map_err(|error| error.to_string());
    Outcome::Opened { project, then }
}

/// Writes the sample farm into a folder and opens it.
pub fn sample_farm(folder: &Path, progress: &dyn Progress) -> Outcome {
    let written = crate::demo::write_sample_farm(folder, progress).map_err(|error| format!("{error:#}"));
    let project = written.and_then(|path| Project::open(&path).map_err(|error| error.to_string()));
    Outcome::Opened { project: project.map(Box::new), then: None }
}

/// Whether a file is one of our projects: a GeoPackage whose first pages name our table.
pub fn is_project(path: &Path) -> bool {
    use std::io::Read as _;
    let mut head = Vec::new();
    let Ok(file) = std::fs::File::open(path) else { return false };
    // The schema of a SQLite file stands on its first pages.
    if file.take(256 * 1024).read_to_end(&mut head).is_err() || !head.starts_with(b"SQLite format 3\0") {
        return false;
    }
    head.windows(8).any(|word| word == b"awn_meta")
}

/// A name for a new project beside a file, not taken yet.
pub fn free_name(beside: &Path) -> PathBuf {
    let stem = beside.file_stem().map_or_else(|| "farm".to_owned(), |stem| stem.to_string_lossy().into_owned());
    let names = std::iter::once(format!("{stem}-project.gpkg")).chain((2..).map(|n| format!("{stem}-project-{n}.gpkg")));
    names.map(|name| beside.with_file_name(name)).find(|path| !path.exists()).unwrap_or_else(|| beside.with_extension("new"))
}

/// What panels and map show of a harvest year.
pub fn facts(records: &Records, year: i32) -> Outcome {
    let fields = records.fields_in(year);
    let tramlines = || fields.par_iter().map(|field| (field.id, stops::tramline_lines(records, field.id))).collect();
    let drawn = || rayon::join(|| map::Shapes::of(records, year), || Finds::of(records, year));
    let (facts, (tramlines, (shapes, finds))) = rayon::join(|| Facts::of(records, year), || rayon::join(tramlines, drawn));
    Outcome::Facts { facts: Box::new(facts), shapes: (Arc::new(shapes), tramlines), finds: Arc::new(finds) }
}

/// Reads a file for import; nothing is changed yet.
pub fn import(records: &Records, form: &ImportForm, checked: &Checked, progress: &dyn Progress) -> Outcome {
    let (result, problems) = read(records, form, checked, progress);
    Outcome::Imported { file: form.file_name(), result: Box::new(result), problems }
}

/// Reads a file to show what it would bring.
pub fn look(records: &Records, form: &ImportForm, checked: &Checked, progress: &dyn Progress) -> Outcome {
    let (result, problems) = read(records, form, checked, progress);
    let mut preview = match result {
        Ok(import) => Preview::of(&import),
        Err(error) => Preview { refused: true, said: vec![error.to_string()], ..Preview::default() },
    };
    preview.problems = problems.list.len();
    preview.layers = formats::layers(&form.file);
    preview.read_columns(form);
    Outcome::Looked { file: form.file.clone(), preview: Arc::new(preview), problems }
}

fn read(
    records: &Records,
    form: &ImportForm,
    checked: &Checked,
    progress: &dyn Progress,
) -> (Result<Import, ImportError>, Problems) {
    let mut problems = Problems::new();
    let file = &form.file;
    let result = match checked {
        Checked::Boundaries(options) => exchange::boundaries(records, file, options, &mut problems, progress),
        Checked::Gates(options) => exchange::gates(records, file, options, &mut problems, progress),
        Checked::Tramlines(options) => exchange::tramlines(records, file, options, &mut problems, progress),
        Checked::NoGo(options) => exchange::no_go(records, file, options, &mut problems, progress),
        Checked::Scouting(options) => exchange::scouting(records, file, options, &mut problems, progress),
        Checked::Walk(options) => exchange::walked(records, file, options, &mut problems, progress),
        Checked::Results(renamed) => exchange::results(records, file, renamed, &mut problems, progress),
    };
    (result, problems)
}

/// Tells each field's planner only whether to stop; the window counts fields.
struct StopOnly<'a>(&'a dyn Progress);

impl Progress for StopOnly<'_> {
    fn step(&self, _done: usize, _total: usize) {}

    fn cancelled(&self) -> bool {
        self.0.cancelled()
    }
}

/// Proposes stops for fields; those that get none stand in the problems.
pub fn propose(records: &Records, fields: &[FieldId], year: i32, form: &PlanForm, progress: &dyn Progress) -> Outcome {
    let done = AtomicUsize::new(0);
    progress.step(0, fields.len());
    let one = |field: &FieldId| {
        let stop = StopOnly(progress);
        // Pinned stops stay where they are.
        let pinned = records.plan_of(*field, year).map(|plan| plan.pinned()).unwrap_or_default();
        let settings = &form.settings;
        let plan = match form.how_many {
            HowMany::Given => stops::propose_around(records, *field, year, settings, &pinned, &stop),
            HowMany::Minutes => stops::propose_within(records, *field, year, settings, form.minutes, &pinned, &stop),
            HowMany::Target => stops::propose_for_target(records, *field, year, settings, form.target, &pinned, &stop),
        };
        progress.step(done.fetch_add(1, Ordering::Relaxed) + 1, fields.len());
        plan
    };
    let proposed: Vec<Result<Plan, PlanError>> = fields.par_iter().map(one).collect();
    let (mut plans, mut problems, mut cancelled) = (Vec::new(), Problems::new(), false);
    for (field, plan) in fields.iter().zip(proposed) {
        match plan {
            Ok(plan) => plans.push(plan),
            Err(PlanError::Cancelled(_)) => cancelled = true,
            Err(error) => {
                let field = records.fields.get(field);
                let place = field.map_or_else(String::new, |field| format!("{}, {}", records.farm_name(field), field.name));
                problems.error(place, error.to_string(), "Change the settings or the tramlines of this field.");
                problems.lies_at(field.and_then(|field| geo::BoundingRect::bounding_rect(&field.boundary)));
            }
        }
    }
    Outcome::Proposed { plans, problems, cancelled }
}

/// The plan with one stop at another place.
pub fn adjust(records: &Records, plan: &Plan, stop: usize, at: Coord<f64>) -> Outcome {
    let mut positions: Vec<(Coord<f64>, bool)> = plan.stops.iter().map(|stop| (stop.position, stop.pinned)).collect();
    if let Some(position) = positions.get_mut(stop) {
        position.0 = at;
    }
    let plan = stops::with_stops(records, plan, &positions).map(Box::new).map_err(|error| error.to_string());
    Outcome::Adjusted { at, plan }
}

/// Writes an export; the format follows from the file's name; without an ending it is GPX, for results XLSX.
pub fn export(records: &Records, year: i32, what: What, path: &Path) -> Outcome {
    let mut path = path.to_owned();
    if path.extension().is_none() {
        path.set_extension(if what == What::Results { "xlsx" } else { "gpx" });
    }
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
    let format = match ending.as_str() {
        "csv" => Format::Csv,
        "geojson" | "json" => Format::GeoJson,
        "shp" => Format::Shapefile,
        "gpkg" => Format::GeoPackage,
        "kml" => Format::Kml,
        "xml" => Format::TaskData,
        "xlsx" => Format::Xlsx,
        _ => Format::Gpx,
    };
    let written = exchange::export_files(records, year, what, format).and_then(|files| {
        files.iter().try_for_each(|file| {
            let path = file.ending.map_or_else(|| path.clone(), |ending| path.with_extension(ending));
            write(&path, &file.bytes).map_err(|error| format!("{error:#}"))
        })
    });
    Outcome::Exported(written.map(|()| path))
}
