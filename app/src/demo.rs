//! The sample farm: written as files and read in like anybody's files.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use awn_core::exchange::{self, BoundaryOptions, FileOptions, Import, ImportError, ScoutingOptions};
use awn_core::model::{DensityUnit, Records, SurveyKind};
use awn_core::problem::Problems;
use awn_core::progress::{Progress, Quiet};
use awn_core::project::Project;

use crate::commands;

/// Name of the project file in the sample farm's folder.
const PROJECT: &str = "sample-farm.gpkg";

/// The project file of a sample farm written into `dir`.
pub fn project_path(dir: &Path) -> PathBuf {
    dir.join(PROJECT)
}

/// Writes the sample farm's input files into `dir`/inputs, reads them into a new project beside them, and returns its path. A
/// sample farm that is there already is kept as it is.
pub fn write_sample_farm(dir: &Path, progress: &dyn Progress) -> anyhow::Result<PathBuf> {
    let path = project_path(dir);
    if path.exists() {
        return Ok(path);
    }
    let inputs = dir.join("inputs");
    std::fs::create_dir_all(&inputs).with_context(|| format!("{} cannot be made", inputs.display()))?;
    let files = awn_sample_farm::files();
    for file in &files {
        commands::write(&inputs.join(file.name), &file.bytes)?;
    }
    let mut project = Project::create(&path)?;
    let steps = files.len() + 1;
    for (done, file) in files.iter().enumerate() {
        progress.check(done, steps)?;
        read_in(&mut project, &inputs.join(file.name))?;
        if done + 1 == files.iter().filter(|file| is_map(file.name)).count() {
            let extras = awn_sample_farm::extras(project.records());
            project.apply(extras)?;
        }
    }
    let programmes = awn_sample_farm::programmes();
    commands::write(&inputs.join(programmes.name), &programmes.bytes)?;
    read_in(&mut project, &inputs.join(programmes.name))?;
    let planned = awn_sample_farm::planned(project.records());
    project.apply(planned)?;
    progress.step(steps, steps);
    Ok(path)
}

/// Whether a sample file holds boundaries or gates, which the records made by the generator refer to.
fn is_map(name: &str) -> bool {
    name.starts_with("boundaries") || name.starts_with("gates")
}

/// Reads one input file by what its name says.
fn read_in(project: &mut Project, file: &Path) -> anyhow::Result<()> {
    let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let records = project.records().clone();
    let mut problems = Problems::new();
    let import = import(&records, file, &name, &mut problems);
    match import {
        Ok(import) => Ok(project.apply(import.command)?),
        Err(error) => {
            let list: Vec<_> = problems.list.iter().map(ToString::to_string).collect();
            bail!("{name}: {error}: {}", list.join("; "))
        }
    }
}

fn import(records: &Records, file: &Path, name: &str, problems: &mut Problems) -> Result<Import, ImportError> {
    if name.starts_with("boundaries") {
        exchange::boundaries(records, file, &BoundaryOptions::default(), problems, &Quiet)
    } else if name.starts_with("gates") {
        exchange::gates(records, file, &FileOptions::default(), problems, &Quiet)
    } else if name.starts_with("scouting") {
        let zones = name.contains("zones");
        let options = ScoutingOptions::new(
            awn_sample_farm::date_in(name),
            if zones { SurveyKind::Zones } else { SurveyKind::Points },
            if zones { DensityUnit::Class } else { DensityUnit::HeadsPerM2 },
        );
        exchange::scouting(records, file, &options, problems, &Quiet)
    } else if name.starts_with("programmes") {
        let source = exchange::TreatmentSource::File(file.to_owned());
        exchange::treatments(records, exchange::Treatment::Programmes, &source, &[], problems, &Quiet)
    } else {
        exchange::results(records, file, &[], problems, &Quiet)
    }
}
